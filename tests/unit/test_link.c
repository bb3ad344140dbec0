/* SPDX-License-Identifier: MIT */
/*
 * The lines of the serial link: what is written is read back, and nothing else is read. The check
 * value of CRC-16/MCRF4XX is that of the catalogues of parametrised CRC algorithms.
 */
#include <check.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "protocol/link.h"
#include "tests/rig/avr_unit/chip.h"
#include "tests/suite.h"
#include "tests/unit/link_lines.h"

/* --- The CRC --- */

START_TEST(the_crc_of_123456789_is_6f91)
{
    /* Catalogues of parametrised CRC algorithms: CRC-16/MCRF4XX, check 6f91. */
    uint16_t crc = LINK_CRC_START;
    for (const char *c = "123456789"; *c != '\0'; c++)
        crc = link_crc(crc, (uint8_t)*c);
    ck_assert_uint_eq(crc, 0x6f91);
    ck_assert_uint_eq(other_crc("123456789", 9), 0x6f91);
}
END_TEST

START_TEST(the_crc_agrees_with_an_independent_one)
{
    start_random();
    for (int trial = 0; trial < TRIALS(20000); trial++) {
        char bytes[64];
        uint32_t size = below(sizeof bytes + 1);
        uint16_t crc = LINK_CRC_START;
        for (uint32_t i = 0; i < size; i++) {
            bytes[i] = (char)next_random();
            crc = link_crc(crc, (uint8_t)bytes[i]);
        }
        ck_assert_uint_eq(crc, other_crc(bytes, size));
    }
}
END_TEST

/* --- Words and numbers --- */

START_TEST(every_word_with_every_mix_of_extreme_values_comes_back_the_same)
{
    enum { EXTREMES = 4, LONG_FIELDS = 5 };
    uint8_t longest = 0;
    for (uint8_t word = 0; word < LINK_WORDS; word++) {
        const char *fields = shapes[word].fields;
        ck_assert_uint_eq(link_values(word), strlen(fields));
        ck_assert_uint_le(strlen(fields), LINK_VALUES_MAX);
        uint32_t step = strlen(fields) > LONG_FIELDS ? SPARSE : 1;
        for (uint32_t mix = 0; mix < UINT32_C(1) << (2 * strlen(fields)); mix += step) {
            struct link_line line = {.word = word, .count = (uint8_t)strlen(fields)};
            for (uint8_t i = 0; i < line.count; i++) {
                uint32_t least[EXTREMES] = {0, 1, field_mask(fields[i]), field_mask('s') >> 1};
                uint32_t sign[EXTREMES] = {0, UINT32_C(1) << 31, UINT32_MAX, INT32_MAX};
                uint32_t pick = mix >> (2 * i) & 3;
                line.value[i] = fields[i] == 's' ? sign[pick] : least[pick] & field_mask(fields[i]);
            }
            check_round_trip(&line);
            char text[LINK_LINE_MAX];
            uint8_t size = link_write(&line, text);
            longest = size > longest ? size : longest;
        }
    }
    /* LINK.md says so: the longest line that can be written is a stride's. */
    ck_assert_uint_eq(longest, 44);
}
END_TEST

START_TEST(random_values_of_every_word_come_back_the_same)
{
    start_random();
    for (int trial = 0; trial < TRIALS(40000); trial++) {
        struct link_line line = random_line((uint8_t)below(LINK_WORDS));
        check_round_trip(&line);
    }
}
END_TEST

START_TEST(an_unknown_word_or_a_wrong_number_of_values_is_not_written)
{
    char text[LINK_LINE_MAX];
    ck_assert_uint_eq(link_write(&(struct link_line){.word = LINK_WORDS}, text), 0);
    ck_assert_uint_eq(link_write(&(struct link_line){.word = 255}, text), 0);
    ck_assert_uint_eq(link_write(&(struct link_line){.word = LINK_HAIL, .count = 1}, text), 0);
    ck_assert_uint_eq(link_write(&(struct link_line){.word = LINK_SEE, .count = 6}, text), 0);
    ck_assert_uint_eq(link_values(LINK_WORDS), 0);
    ck_assert_uint_eq(link_values(255), 0);
}
END_TEST

/* With a true CRC each: what is wrong is the form. */
static const char *const misspelt[] = {
    "",                    /* no word */
    "HAI",                 /* half a word */
    "HAILS",               /* more than a word */
    "hail",                /* case */
    "HaIL",                /* case */
    "HAIL ",               /* a space too many */
    " HAIL",               /* a space before */
    "HAIL 0",              /* a field too many */
    "NUDGE 1 2",           /* no such word */
    "USED 1",              /* a field missing */
    "USED",                /* all fields missing */
    "USED 1 2 3",          /* a field too many */
    "USED 1  2",           /* two spaces */
    "USED 1 2 ",           /* a space at the end */
    "USED  1 2",           /* two spaces */
    "USED1 2",             /* no space */
    "USED 1 02",           /* a leading zero */
    "USED 00 2",           /* a leading zero */
    "USED 1 -2",           /* a minus where no sign may be */
    "USED 1-2",            /* the same without a space */
    "USED 1 A2",           /* upper-case digit */
    "USED 1 g2",           /* no digit */
    "USED 12345 2",        /* too many digits */
    "USED 1 123",          /* too many digits */
    "ENDED 1 -1",          /* a space before the minus */
    "ENDED 1-",            /* a minus without a number */
    "ENDED 1-0",           /* minus zero */
    "ENDED 1-01",          /* a leading zero after the minus */
    "ENDED 1--1",          /* two signs */
    "ENDED 1 80000000",    /* over the largest count */
    "ENDED 1 ffffffff",    /* a negative count is written with its sign */
    "ENDED 1-80000001",    /* under the smallest count */
    "ENDED 1-100000000",   /* nine digits */
    "ENDED 1 100000000",   /* nine digits */
    "SET 0 123456789",     /* nine digits */
    "AT 1 2 10 0 0",       /* a state of two digits */
    "USED 1 2=",           /* a second equals sign */
    "USED 1=2",            /* the same inside */
    "USED 1\r2",           /* a carriage return inside */
    "USED 1\t2",           /* a tabulator */
    "ST 0 1 1 1 1 1",      /* a stride with a field too many */
    "SEE 1 2 3 4 5 6",     /* a report with a field missing */
    "POLL 1 2 3 4 5 6 7 8" /* more fields than any word has */
};

START_TEST(what_is_not_spelt_just_so_is_refused)
{
    for (size_t i = 0; i < sizeof misspelt / sizeof *misspelt; i++) {
        char text[64];
        struct link_line line;
        (void)snprintf(text, sizeof text, "%s", misspelt[i]);
        size_t size = seal(text, sizeof text);
        ck_assert_msg(!link_read(text, (uint8_t)size, &line), "was read: '%s'", text);
        struct link_reader reader = {0};
        text[size++] = '\n';
        struct found found = read_all(&reader, text, size);
        ck_assert_msg(found.lines == 0 && found.spoilt == 1, "was read: '%s'", misspelt[i]);
    }
}
END_TEST

START_TEST(a_line_whose_crc_is_wrong_or_misplaced_is_refused)
{
    char good[32] = "USED 1 b";
    size_t size = seal(good, sizeof good);
    struct link_line line;
    ck_assert(link_read(good, (uint8_t)size, &line));
    for (size_t shorter = 0; shorter < size; shorter++)
        ck_assert(!link_read(good, (uint8_t)shorter, &line));
    uint16_t crc = other_crc(good, size - 5);
    for (uint32_t other = crc % SPARSE; other < 0x10000; other += SPARSE) {
        char text[32] = "USED 1 b";
        (void)snprintf(text + 8, sizeof text - 8, "=%04" PRIx32, other);
        ck_assert_int_eq(link_read(text, (uint8_t)size, &line), other == crc);
    }
    /* The same digits in upper case; five of them; three of them. */
    char text[32];
    (void)snprintf(text, sizeof text, "USED 1 b=%04X", crc);
    ck_assert_str_ne(text, good);
    ck_assert(!link_read(text, (uint8_t)size, &line));
    (void)snprintf(text, sizeof text, "USED 1 b=0%04x", crc);
    ck_assert(!link_read(text, (uint8_t)(size + 1), &line));
    ck_assert(!link_read(good, (uint8_t)(size - 1), &line));
}
END_TEST

START_TEST(a_line_of_47_characters_is_looked_at_and_a_longer_one_is_spoilt)
{
    char text[LINK_LINE_MAX * 2];
    struct link_line line;
    memset(text, ' ', sizeof text);
    for (uint8_t size = 5; size < LINK_LINE_MAX; size++)
        ck_assert(!link_read(text, size, &line));
    ck_assert(!link_read(text, LINK_LINE_MAX, &line));
    ck_assert(!link_read(text, UINT8_MAX > sizeof text ? sizeof text : UINT8_MAX, &line));
    for (size_t size = 1; size < sizeof text - 1; size++) {
        struct link_reader reader = {0};
        char bytes[sizeof text];
        memset(bytes, 'f', size);
        bytes[size] = '\n';
        struct found found = read_all(&reader, bytes, size + 1);
        ck_assert_uint_eq(found.spoilt, 1);
        char hail[16] = "HAIL";
        size_t length = seal(hail, sizeof hail);
        hail[length++] = '\n';
        ck_assert_uint_eq(read_all(&reader, hail, length).lines, 1);
    }
}
END_TEST

START_TEST(whatever_text_is_read_is_just_what_its_values_are_written_as)
{
    start_random();
    uint8_t used[64];
    size_t count = alphabet(used);
    unsigned taken = 0;
    for (int trial = 0; trial < TRIALS(300000); trial++) {
        struct link_line line = random_line((uint8_t)below(LINK_WORDS));
        char text[64] = {0};
        uint8_t size = link_write(&line, text);
        text[size - 6] = '\0';
        for (uint32_t hits = below(3); hits > 0; hits--)
            text[below((uint32_t)strlen(text))] = (char)used[below((uint32_t)count)];
        size = (uint8_t)seal(text, sizeof text);
        struct link_line back;
        if (!link_read(text, size, &back))
            continue;
        char again[LINK_LINE_MAX];
        ck_assert_uint_eq(link_write(&back, again), size + 1);
        ck_assert_mem_eq(again, text, size);
        taken++;
    }
    ck_assert_uint_gt(taken, TRIALS(10000));
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("link");
    TCase *all = tcase_create("form");
    tcase_add_test(all, the_crc_of_123456789_is_6f91);
    tcase_add_test(all, the_crc_agrees_with_an_independent_one);
    tcase_add_test(all, every_word_with_every_mix_of_extreme_values_comes_back_the_same);
    tcase_add_test(all, random_values_of_every_word_come_back_the_same);
    tcase_add_test(all, an_unknown_word_or_a_wrong_number_of_values_is_not_written);
    tcase_add_test(all, what_is_not_spelt_just_so_is_refused);
    tcase_add_test(all, a_line_whose_crc_is_wrong_or_misplaced_is_refused);
    tcase_add_test(all, a_line_of_47_characters_is_looked_at_and_a_longer_one_is_spoilt);
    tcase_add_test(all, whatever_text_is_read_is_just_what_its_values_are_written_as);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
