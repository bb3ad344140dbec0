/* SPDX-License-Identifier: MIT */
/* Strides in whose lines the CRC is the same: the sum over them is the second guard. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>

#include "protocol/link.h"
#include "tests/suite.h"
#include "tests/unit/link_lines.h"

START_TEST(two_strides_that_the_crc_cannot_tell_apart_differ_in_their_sums)
{
    enum { PAIRS = 2000 };
    start_random();
    struct stride *by_crc = calloc(0x10000, sizeof *by_crc);
    ck_assert_ptr_nonnull(by_crc);
    unsigned pairs = 0;
    unsigned alike = 0;
    while (pairs < PAIRS) {
        struct stride stride = random_stride();
        struct link_line line;
        char text[LINK_LINE_MAX];
        link_stride_line(&stride, 7, &line);
        uint8_t size = link_write(&line, text);
        uint16_t crc = other_crc(text, size - 6u);
        if (by_crc[crc].steps != 0) {
            pairs++;
            alike += link_sum_stride(0, &stride, 7) == link_sum_stride(0, &by_crc[crc], 7);
        }
        by_crc[crc] = stride;
    }
    free(by_crc);
    /* By chance one pair in 65 025 has the same sum too. */
    printf("%u of %u pairs of strides with one CRC have one sum\n", alike, pairs);
    ck_assert_uint_le(alike, 2);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("link: one CRC");
    TCase *all = tcase_create("pairs");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, two_strides_that_the_crc_cannot_tell_apart_differ_in_their_sums);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
