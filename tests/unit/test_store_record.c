/* SPDX-License-Identifier: MIT */
/* The journal's record as text, and the CRC that guards it. */
#include <check.h>
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/crc32.h"
#include "daemon/store/record.h"
#include "tests/seed.h"
#include "tests/suite.h"

#define NM_MAX INT64_C(9007199254740991)

static bool coin(void)
{
    return (next_random() & 1) != 0;
}

/* Of any size up to the limits, which come up often. */
static int64_t random_between(int64_t low, int64_t high)
{
    switch (next_random() % 8) {
    case 0:
        return low;
    case 1:
        return high;
    case 2:
        return 0;
    default:
        break;
    }
    int64_t value = (int64_t)(next_random() >> (next_random() % 63 + 1));
    value = coin() ? value : -value;
    return value < low ? low : value > high ? high : value;
}

/* Any characters that a JSON string can hold, two quotes and a backslash among them. */
static void random_text(char *text, size_t size)
{
    static const char *const pieces[] = {
        "a",    "Z",    "9",    "-",  " ",  "\"",       "\\",           "/",
        "\x01", "\x1f", "\x7f", "\n", "\t", "\xc3\xa9", "\xe2\x85\x9c", "\xf0\x9f\xaa\xb5"};
    size_t length = next_random() % size;
    size_t used = 0;
    while (used < length) {
        const char *piece = pieces[next_random() % (sizeof pieces / sizeof *pieces)];
        if (used + strlen(piece) > length) {
            piece = "x";
        }
        memcpy(text + used, piece, strlen(piece));
        used += strlen(piece);
    }
    text[used] = '\0';
}

static int32_t random_steps(void)
{
    return (int32_t)random_between(INT32_MIN, INT32_MAX);
}

/* A record as one that was read: what is not known is 0. */
static struct journal_record random_record(void)
{
    struct journal_record record = {
        .count_known = coin(),
        .leg_under_way = coin(),
        .origin = random_steps(),
        .play_known = coin(),
        .reference = (enum trust)(TRUST_SURE + next_random() % 3),
        .table_zero = (enum trust)(TRUST_SURE + next_random() % 3),
        .zero_known = coin(),
        .zero_in_frame = coin(),
        .zero_nm = random_between(-NM_MAX, NM_MAX),
        .wanted_known = coin(),
        .preset = (uint32_t)random_between(0, UINT32_MAX),
        .board_known = coin(),
        .epoch = (uint16_t)random_between(0, UINT16_MAX),
        .screw_digest = (uint32_t)random_between(0, UINT32_MAX),
        .barred = coin(),
        .riding_nm = random_between(-NM_MAX, NM_MAX),
        .stage = (uint16_t)random_between(0, UINT16_MAX),
        .asks = (uint16_t)random_between(0, UINT16_MAX),
        .router_on = random_between(0, 1) == 1,
        .story = (uint32_t)random_between(0, UINT32_MAX),
        .mark = (uint16_t)random_between(0, UINT16_MAX),
        .cut = (uint16_t)random_between(0, UINT16_MAX),
        .before_bit = (uint32_t)random_between(0, UINT32_MAX),
        .before_nm = random_between(-NM_MAX, NM_MAX),
        .readout_matched = coin(),
    };
    record.readout_offset_nm = record.readout_matched ? random_between(-NM_MAX, NM_MAX) : 0;
    record.readout_corrections_nm = record.readout_matched ? random_between(-NM_MAX, NM_MAX) : 0;
    record.count = record.count_known ? random_steps() : 0;
    record.leg_end = record.leg_under_way ? random_steps() : 0;
    record.slack_steps = record.play_known ? random_steps() : 0;
    record.risen_steps = record.play_known ? random_steps() : 0;
    record.wanted_nm = record.wanted_known ? random_between(-NM_MAX, NM_MAX) : 0;
    record.board = record.board_known ? (uint32_t)random_between(0, UINT32_MAX) : 0;
    record.boot = record.board_known ? (uint32_t)random_between(0, UINT32_MAX) : 0;
    random_text(record.bit, sizeof record.bit);
    return record;
}

static bool same(const struct journal_record *a, const struct journal_record *b)
{
    return a->sequence == b->sequence && a->count_known == b->count_known && a->count == b->count &&
           a->leg_under_way == b->leg_under_way && a->leg_end == b->leg_end &&
           a->origin == b->origin && a->play_known == b->play_known &&
           a->slack_steps == b->slack_steps && a->risen_steps == b->risen_steps &&
           a->reference == b->reference && a->table_zero == b->table_zero &&
           a->zero_known == b->zero_known && a->zero_in_frame == b->zero_in_frame &&
           a->preset == b->preset && a->zero_nm == b->zero_nm &&
           a->wanted_known == b->wanted_known && a->wanted_nm == b->wanted_nm &&
           a->board_known == b->board_known && a->board == b->board && a->boot == b->boot &&
           a->epoch == b->epoch && a->screw_digest == b->screw_digest && a->barred == b->barred &&
           strcmp(a->bit, b->bit) == 0 && a->riding_nm == b->riding_nm && a->stage == b->stage &&
           a->asks == b->asks && a->story == b->story && a->mark == b->mark &&
           a->router_on == b->router_on && a->cut == b->cut &&
           a->corrected_known == b->corrected_known && a->corrected_nm == b->corrected_nm &&
           a->before_bit == b->before_bit && a->before_nm == b->before_nm &&
           a->readout_matched == b->readout_matched &&
           a->readout_offset_nm == b->readout_offset_nm &&
           a->readout_corrections_nm == b->readout_corrections_nm;
}

START_TEST(any_record_is_read_as_it_was_printed)
{
    for (int round = 0; round < 20000; round++) {
        struct journal_record record = random_record();
        struct journal_record read;
        char text[JOURNAL_SLOT_SIZE];
        size_t size = record_print(&record, text, sizeof text);
        if (size == 0 || record_parse(text, size, &read) != RECORD_WHOLE || !same(&record, &read)) {
            ck_abort_msg("%.*s", (int)size, text);
        }
    }
}
END_TEST

START_TEST(the_longest_record_has_room_in_a_slot)
{
    struct journal_record record = {.count_known = true,
                                    .count = INT32_MIN,
                                    .leg_under_way = true,
                                    .leg_end = INT32_MIN,
                                    .origin = INT32_MIN,
                                    .play_known = true,
                                    .slack_steps = INT32_MIN,
                                    .risen_steps = INT32_MIN,
                                    .reference = TRUST_UNCHECKED,
                                    .table_zero = TRUST_UNCHECKED,
                                    .zero_nm = -NM_MAX,
                                    .wanted_known = true,
                                    .wanted_nm = -NM_MAX,
                                    .preset = UINT32_MAX,
                                    .board_known = true,
                                    .board = UINT32_MAX,
                                    .boot = UINT32_MAX,
                                    .epoch = UINT16_MAX,
                                    .screw_digest = UINT32_MAX,
                                    .barred = false,
                                    .riding_nm = -NM_MAX};
    memset(record.bit, '\x1f', sizeof record.bit - 1); /* six bytes each as an escape */
    char text[JOURNAL_SLOT_SIZE];
    size_t size = record_print(&record, text, sizeof text);
    ck_assert_uint_gt(size, 0);
    ck_assert_uint_lt(size, JOURNAL_SLOT_SIZE - 24);
    struct journal_record read;
    ck_assert_int_eq(record_parse(text, size, &read), RECORD_WHOLE);
    ck_assert(same(&record, &read));
    for (size_t room = 0; room < size; room++) {
        char *little = malloc(room + 1); /* so that the sanitizer sees a byte too many */
        ck_assert_ptr_nonnull(little);
        size_t printed = record_print(&record, little, room);
        free(little);
        if (printed != 0 || errno != EMSGSIZE) {
            ck_abort_msg("printed %zu bytes into %zu", printed, room);
        }
    }
}
END_TEST

static const char plain[] =
    "{\"version\":3,\"count\":-7,\"leg_end\":null,\"origin\":-8,\"slack_steps\":3,\"risen_steps\":"
    "40,"
    "\"reference\":\"sure\",\"table_zero\":\"unchecked\",\"zero_known\":true,"
    "\"zero_in_frame\":false,\"zero_nm\":25400000,\"wanted_nm\":null,\"preset\":12,"
    "\"board\":4294967295,\"boot\":9,\"epoch\":65535,\"screw_digest\":0,\"barred\":true,"
    "\"bit\":\"straight-half\",\"riding_nm\":-1,\"stage\":2,\"asks\":3,\"corrected_nm\":-50800,"
    "\"router_on\":true,\"story\":4294967295,\"mark\":199,\"cut\":65535,"
    "\"before_bit\":7,\"before_nm\":-6350000,"
    "\"readout_offset_nm\":-12345678,\"readout_corrections_nm\":2500}";

START_TEST(the_text_is_what_the_format_says)
{
    struct journal_record record = {.count_known = true,
                                    .count = -7,
                                    .leg_end = 12 /* no leg: not kept */,
                                    .origin = -8,
                                    .play_known = true,
                                    .slack_steps = 3,
                                    .risen_steps = 40,
                                    .reference = TRUST_SURE,
                                    .table_zero = TRUST_UNCHECKED,
                                    .zero_known = true,
                                    .zero_nm = 25400000,
                                    .wanted_nm = 5 /* not known */,
                                    .preset = 12,
                                    .board_known = true,
                                    .board = UINT32_MAX,
                                    .boot = 9,
                                    .epoch = UINT16_MAX,
                                    .barred = true,
                                    .bit = "straight-half",
                                    .riding_nm = -1,
                                    .stage = 2,
                                    .asks = 3,
                                    .corrected_known = true,
                                    .corrected_nm = -50800,
                                    .router_on = true,
                                    .story = UINT32_MAX,
                                    .mark = 199,
                                    .cut = UINT16_MAX,
                                    .before_bit = 7,
                                    .before_nm = -6350000,
                                    .readout_matched = true,
                                    .readout_offset_nm = -12345678,
                                    .readout_corrections_nm = 2500};
    char text[JOURNAL_SLOT_SIZE];
    size_t size = record_print(&record, text, sizeof text);
    ck_assert_uint_eq(size, strlen(plain));
    ck_assert_msg(memcmp(text, plain, size) == 0, "%.*s", (int)size, text);
}
END_TEST

/* The plain text with one piece replaced by another. */
static enum record_found changed(const char *from, const char *to)
{
    const char *at = strstr(plain, from);
    ck_assert_msg(at != NULL, "%s", from);
    char text[JOURNAL_SLOT_SIZE];
    int size =
        snprintf(text, sizeof text, "%.*s%s%s", (int)(at - plain), plain, to, at + strlen(from));
    struct journal_record record = {.count = 77};
    enum record_found found = record_parse(text, (size_t)size, &record);
    ck_assert(found == RECORD_WHOLE || record.count == 77);
    return found;
}

static const struct {
    enum record_found found;
    const char *from;
    const char *to;
} changes[] = {
    {RECORD_WHOLE, "\"count\":-7", "\"count\":-2147483648"},
    {RECORD_DAMAGED, "\"count\":-7", "\"count\":-2147483649"},
    {RECORD_DAMAGED, "\"count\":-7", "\"count\":2147483648"},
    {RECORD_DAMAGED, "\"count\":-7", "\"count\":-7.5"},
    {RECORD_DAMAGED, "\"count\":-7", "\"count\":\"-7\""},
    {RECORD_DAMAGED, "\"count\":-7,", ""},
    {RECORD_DAMAGED, "\"count\":-7", "\"count\":-7,\"count\":-7"},
    {RECORD_DAMAGED, "\"count\":-7", "\"Count\":-7"},
    {RECORD_DAMAGED, "\"count\":-7", "\"count\":-7,\"more\":1"},
    {RECORD_WHOLE, "\"count\":-7", "\"count\":null"},
    {RECORD_DAMAGED, "\"slack_steps\":3", "\"slack_steps\":null"}, /* half the play */
    {RECORD_DAMAGED, "\"boot\":9", "\"boot\":null"},
    {RECORD_DAMAGED, "\"boot\":9", "\"boot\":-1"},
    {RECORD_DAMAGED, "\"board\":4294967295", "\"board\":4294967296"},
    {RECORD_DAMAGED, "\"epoch\":65535", "\"epoch\":65536"},
    {RECORD_DAMAGED, "\"epoch\":65535", "\"epoch\":null"},
    {RECORD_DAMAGED, "\"sure\"", "\"certain\""},
    {RECORD_DAMAGED, "\"sure\"", "1"},
    {RECORD_WHOLE, "\"sure\"", "\"lost\""},
    {RECORD_DAMAGED, "\"barred\":true", "\"barred\":1"},
    {RECORD_DAMAGED, "\"barred\":true", "\"barred\":null"},
    {RECORD_WHOLE, "25400000", "9007199254740991"},
    {RECORD_DAMAGED, "25400000", "9007199254740992"},
    {RECORD_DAMAGED, "25400000", "1e99"},
    {RECORD_WHOLE, "straight-half",
     "123456789012345678901234567890123456789012345678901234567890123"},
    {RECORD_DAMAGED, "straight-half",
     "1234567890123456789012345678901234567890123456789012345678901234"},
    {RECORD_DAMAGED, "straight-half", "straight\\u0000half"},
    {RECORD_DAMAGED, "straight-half", "straight\xffhalf"},
    {RECORD_DAMAGED, "}", "}}"},
    {RECORD_DAMAGED, "\"mark\":199", "\"mark\":65536"},
    {RECORD_WHOLE, "\"corrected_nm\":-50800", "\"corrected_nm\":null"},
    {RECORD_DAMAGED, "-12345678", "null"}, /* half of it */
    {RECORD_DAMAGED, "\"version\":3", "\"version\":0"},
    {RECORD_DAMAGED, "\"version\":3", "\"version\":2"}, /* which had fewer members */
    {RECORD_DAMAGED, "\"version\":3", "\"version\":1"}, /* which had fewer members */
    {RECORD_DAMAGED, "\"version\":3", "\"version\":\"3\""},
    {RECORD_DAMAGED, "\"version\":3", "\"version\":1.5"},
    {RECORD_DAMAGED, "\"version\":3,", ""},
    {RECORD_NEWER, "\"version\":3", "\"version\":4"},
    {RECORD_NEWER, "\"version\":3", "\"version\":4,\"more\":[]"},
    {RECORD_NEWER, "\"version\":3,\"count\":-7", "\"version\":9007199254740991"},
};

START_TEST(a_text_that_is_not_exactly_of_this_version_is_damaged_or_newer)
{
    for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
        enum record_found found = changed(changes[i].from, changes[i].to);
        ck_assert_msg(found == changes[i].found, "%s: %d", changes[i].to, found);
    }
    struct journal_record record;
    ck_assert_int_eq(record_parse("[1]", 3, &record), RECORD_DAMAGED);
    ck_assert_int_eq(record_parse("1", 1, &record), RECORD_DAMAGED);
    ck_assert_int_eq(record_parse("", 0, &record), RECORD_DAMAGED);
}
END_TEST

/* The plain text as an older version wrote it, without what came from `later` on. */
static struct journal_record older(int version, const char *later)
{
    char text[JOURNAL_SLOT_SIZE];
    struct journal_record record;
    const char *end = strstr(plain, later);
    ck_assert_ptr_nonnull(end);
    int size = snprintf(text, sizeof text, "{\"version\":%d%.*s}", version, (int)(end - plain) - 12,
                        plain + 12);
    ck_assert_int_eq(record_parse(text, (size_t)size, &record), RECORD_WHOLE);
    return record;
}

START_TEST(a_record_of_an_older_version_is_read_without_what_came_later)
{
    struct journal_record record = older(2, ",\"before_bit\"");
    ck_assert_uint_eq(record.cut, UINT16_MAX);
    ck_assert_uint_eq(record.before_bit, 0);
    ck_assert_int_eq(record.before_nm, 0);
    ck_assert_int_eq(record.corrected_nm, -50800);
    ck_assert(!record.readout_matched);
    record = older(1, ",\"stage\"");
    ck_assert_int_eq(record.count, -7);
    ck_assert_str_eq(record.bit, "straight-half");
    ck_assert_uint_eq(record.stage, 0);
    ck_assert_uint_eq(record.story, 0);
    ck_assert(!record.corrected_known);
}
END_TEST

START_TEST(a_record_that_could_not_be_read_again_is_not_printed)
{
    char text[JOURNAL_SLOT_SIZE];
    const struct journal_record good = {.reference = TRUST_LOST, .table_zero = TRUST_LOST};
    ck_assert_uint_gt(record_print(&good, text, sizeof text), 0);
    struct journal_record bad[6];
    for (size_t i = 0; i < 6; i++) {
        bad[i] = good;
    }
    bad[0].reference = (enum trust)0;
    bad[1].table_zero = (enum trust)4;
    bad[2].zero_nm = NM_MAX + 1;
    bad[3].riding_nm = INT64_MIN;
    memset(bad[4].bit, 'a', sizeof bad[4].bit); /* no end */
    strcpy(bad[5].bit, "caf\xe9");              /* no UTF-8 */
    for (size_t i = 0; i < 6; i++) {
        errno = 0;
        ck_assert_uint_eq(record_print(&bad[i], text, sizeof text), 0);
        ck_assert_int_eq(errno, EINVAL);
    }
}
END_TEST

START_TEST(every_text_with_a_byte_changed_is_judged_without_harm)
{
    for (size_t at = 0; at < strlen(plain); at++) {
        for (unsigned value = 0; value < 256; value++) {
            char *text = malloc(strlen(plain)); /* without a NUL, for the sanitizer */
            ck_assert_ptr_nonnull(text);
            memcpy(text, plain, strlen(plain));
            text[at] = (char)value;
            struct journal_record record = {.count = 0};
            (void)!record_parse(text, strlen(plain), &record);
            free(text);
            if (record.count > 97 || record.count < -9) {
                ck_abort_msg("byte %zu made %u", at, value);
            }
        }
    }
}
END_TEST

/* Catalogues of parametrised CRCs give cbf43926 for CRC-32/ISO-HDLC; 0 for no bytes follows from
 * the definition (initial value and final exclusive-or cancel). The value of 32 zeros was computed
 * with another implementation (zlib's). */
START_TEST(the_crc_has_the_published_check_value)
{
    static const char zeros[32];
    ck_assert_uint_eq(crc32_of("123456789", 9), 0xcbf43926u);
    ck_assert_uint_eq(crc32_of("", 0), 0);
    ck_assert_uint_eq(crc32_of(zeros, sizeof zeros), 0x190a55adu);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("record");
    TCase *all = tcase_create("text");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, any_record_is_read_as_it_was_printed);
    tcase_add_test(all, the_longest_record_has_room_in_a_slot);
    tcase_add_test(all, the_text_is_what_the_format_says);
    tcase_add_test(all, a_text_that_is_not_exactly_of_this_version_is_damaged_or_newer);
    tcase_add_test(all, a_record_of_an_older_version_is_read_without_what_came_later);
    tcase_add_test(all, a_record_that_could_not_be_read_again_is_not_printed);
    tcase_add_test(all, every_text_with_a_byte_changed_is_judged_without_harm);
    tcase_add_test(all, the_crc_has_the_published_check_value);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
