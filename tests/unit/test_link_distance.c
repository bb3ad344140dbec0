/* SPDX-License-Identifier: MIT */
/*
 * Every line of the serial link at once, by arithmetic, since the CRC is linear. That polynomial
 * 1021 keeps Hamming distance 4 up to 32 751 bits is from Koopman's published tables of CRC
 * polynomials; here it is proved for our lines, whose CRC travels as hexadecimal digits.
 */
#include <check.h>
#include <stdio.h>
#include <string.h>

#include "protocol/link.h"
#include "tests/suite.h"

/* What is left out here are errors that make or hit a newline or the '='. They change the form: no
 * letter that words use is one bit from a newline, and within three only REFUSED has another word
 * behind it, USED, with a value too many. */

enum { SEALED_MAX = LINK_LINE_MAX - 1 - 5, ERRORS_MAX = 20000 };

struct error {
    uint16_t crc; /* what it changes in the CRC */
    uint8_t byte; /* where, counted from the '=' backward */
    uint8_t bits;
};

/* Errors of one to three bits in one byte that leave a byte which lines use. */
static size_t errors_of_one_byte(struct error *errors)
{
    static const uint8_t used[] = " -0123456789abcdefABCDEFGHIJKLMNOPQRSTUVWXYZ";
    size_t count = sizeof used - 1;
    size_t found = 0;
    for (unsigned mask = 1; mask < 256; mask++) {
        bool hidden = false;
        for (size_t i = 0; i < count; i++)
            hidden = hidden || memchr(used, (int)(used[i] ^ mask), count) != NULL;
        uint8_t bits = (uint8_t)__builtin_popcount(mask);
        for (uint8_t byte = 0; hidden && bits <= 3 && byte < SEALED_MAX; byte++) {
            uint16_t crc = link_crc(0, (uint8_t)mask);
            for (uint8_t i = 0; i < byte; i++)
                crc = link_crc(crc, 0);
            errors[found++] = (struct error){crc, byte, bits};
        }
    }
    return found;
}

/* The fewest bits that must be wrong among the CRC's four digits to change it so. */
static int fewest_bits(uint16_t change)
{
    static const char digits[] = "0123456789abcdef";
    int bits = 0;
    for (unsigned digit = 0; digit < 4; digit++) {
        unsigned delta = change >> (4 * digit) & 15;
        int fewest = 8;
        for (unsigned value = 0; value < 16; value++) {
            int here = __builtin_popcount((unsigned)(digits[value] ^ digits[value ^ delta]));
            fewest = here < fewest ? here : fewest;
        }
        bits += fewest;
    }
    return bits;
}

START_TEST(no_error_of_three_bits_or_fewer_gets_through_any_line)
{
    static struct error errors[ERRORS_MAX];
    static uint8_t fewest[0x10000];
    size_t count = errors_of_one_byte(errors);
    ck_assert_uint_lt(count, ERRORS_MAX);
    for (uint32_t change = 0; change < 0x10000; change++)
        fewest[change] = (uint8_t)fewest_bits((uint16_t)change);
    static bool single[0x10000];
    int least = 99;
    for (size_t i = 0; i < count; i++) {
        int bits = errors[i].bits + fewest[errors[i].crc];
        least = bits < least ? bits : least;
        single[errors[i].crc] = single[errors[i].crc] || errors[i].bits == 1;
    }
    for (size_t i = 0; i < count; i++) {
        for (size_t k = i + 1; errors[i].bits < 3 && k < count; k++) {
            int bits = errors[i].bits + errors[k].bits;
            if (bits > 3 || errors[i].byte == errors[k].byte)
                continue;
            uint16_t change = errors[i].crc ^ errors[k].crc;
            bits += fewest[change];
            least = bits < least ? bits : least;
            if (errors[i].bits + errors[k].bits == 2 && single[change])
                least = least < 3 ? least : 3; /* three bits in three bytes, the CRC as it was */
        }
    }
    printf("the least error that could get through has %d bits or more\n", least);
    ck_assert_int_ge(least, 4);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("link: the distance");
    TCase *all = tcase_create("distance");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, no_error_of_three_bits_or_fewer_gets_through_any_line);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
