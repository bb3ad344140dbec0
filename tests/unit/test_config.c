/* SPDX-License-Identifier: MIT */
/*
 * What a good configuration is read as. 1 in = 25.4 mm: NIST SP 811 appendix B. FNV-1a: the test
 * vectors of draft-eastlake-fnv, "The FNV Non-Cryptographic Hash Algorithm".
 */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/config/config.h"
#include "daemon/config/fnv.h"
#include "daemon/config/locate.h"
#include "daemon/config/table.h"
#include "protocol/json.h"
#include "tests/suite.h"
#include "tests/unit/config_text.h"

static const char slow[] = "\"move\": \"1mm/s\", \"search\": \"1mm/s\", \"brake\": \"10mm/s2\"";

static struct config read_short(const char *screw, const char *speeds, const char *more)
{
    struct config config;
    struct config_fault fault;
    if (!try_short(screw, speeds, more, &config, &fault)) {
        ck_abort_msg("%s", fault.text);
    }
    return config;
}

/* --- The example --- */

START_TEST(the_example_is_read)
{
    char path[4096];
    struct config config;
    struct config_fault fault = {.line = 0};
    example_path(path);
    if (!config_load(path, &config, &fault)) {
        ck_abort_msg("%s", fault.text);
    }
    ck_assert_int_eq(config.screw.steps_per_turn, 1600);
    ck_assert_int_eq(config.screw.lead_num_nm, NM_PER_IN);
    ck_assert_int_eq(config.screw.lead_den, 16);
    ck_assert_int_eq(config.travel_nm, 3 * NM_PER_IN);
    ck_assert_int_eq(config.top_margin_nm, NM_PER_IN / 16);
    ck_assert_double_eq(config.move_hz, 6400);
    ck_assert_double_eq(config.search_hz, 800);
    ck_assert_double_eq(config.brake_hz_s, 51200);
    ck_assert(!config.lash_known);
    ck_assert_int_eq(config.stop_circuit, CONFIG_INPUT_ACTIVE_HIGH);
    ck_assert_int_eq(config.top_switch, CONFIG_INPUT_ABSENT);
    ck_assert_str_eq(config.port, "/dev/serial/by-id/PUT-THE-NAME-OF-YOUR-BOARD-HERE");
}
END_TEST

/* In a note or as an entry: it is explained there. */
START_TEST(the_example_has_every_key)
{
    char text[TEXT_SIZE];
    char wanted[64];
    (void)read_example(text);
    for (size_t i = 0; i < TABLE_KEYS + TABLE_GROUPS; i++) {
        (void)snprintf(wanted, sizeof wanted, "\"%s\": ",
                       i < TABLE_KEYS ? table_entries[i].name
                                      : table_headings[i - TABLE_KEYS].name);
        ck_assert_msg(strstr(text, wanted) != NULL, "%s is not in the example", wanted);
    }
}
END_TEST

/* --- What is read as what --- */

static void expect_lash(const char *more, bool known, int64_t lash_nm, int64_t take_up_nm)
{
    struct config config = read_short("\"lead\": \"2mm\"", slow, more);
    ck_assert_int_eq(config.lash_known, known);
    ck_assert_int_eq(config.lash_nm, lash_nm);
    ck_assert_int_eq(config.take_up_nm, take_up_nm);
}

START_TEST(lash_and_take_up)
{
    expect_lash("", false, NM_PER_IN / 32, NM_PER_IN / 32);
    expect_lash(", \"lash\": {}", false, NM_PER_IN / 32, NM_PER_IN / 32);
    expect_lash(", \"lash\": {\"measured\": \"0.2mm\"}", true, 200000, 454000);
    expect_lash(", \"lash\": {\"measured\": \"0in\"}", true, 0, 254000);
}
END_TEST

START_TEST(what_is_left_out)
{
    struct config config = read_short("\"lead\": \"2mm\"", slow, ", \"inputs\": {}");
    ck_assert_int_eq(config.top_switch, CONFIG_INPUT_ABSENT);
    ck_assert_int_eq(config.stop_circuit, CONFIG_INPUT_ABSENT);
    ck_assert_int_eq(config.motor_supply, CONFIG_INPUT_ABSENT);
    ck_assert_uint_eq(config.debounce_ms, 5);
    ck_assert_int_eq(config.baud, 115200);
    ck_assert_uint_eq(config.silence_ms, 100);
    ck_assert_str_eq(config.state, "/var/lib/reglet");
    ck_assert_str_eq(config.socket, "/run/reglet/reglet.sock");
}
END_TEST

/* 12 an inch is 2 116 666.67 nm: kept as a ratio, 100 turns are exactly 100/12 in. */
START_TEST(threads_stay_a_ratio)
{
    struct config config = read_short("\"threads_per_inch\": 12", slow, "");
    int32_t steps = 0;
    ck_assert_int_eq(config.screw.steps_per_turn, 3200);
    ck_assert_int_eq(config.screw.lead_num_nm, NM_PER_IN);
    ck_assert_int_eq(config.screw.lead_den, 12);
    ck_assert(screw_valid(&config.screw) && screw_steps(&config.screw, 20 * NM_PER_IN, &steps));
    ck_assert_int_eq(steps, 768000);
}
END_TEST

/* 518 rpm on 10 threads an inch at 16 microsteps are 27 627 steps/s and .863 in/s (common practice,
 * recomputed); the others by hand. */
START_TEST(speeds_become_steps)
{
    struct config config = read_short("\"threads_per_inch\": 10",
                                      "\"move\": \".863333in/s\", \"search\": \"1/32in/s\", "
                                      "\"brake\": \"254mm/s2\"",
                                      "");
    ck_assert_double_eq_tol(config.move_hz, 518.0 / 60 * 3200, 0.02);
    ck_assert_double_eq(config.search_hz, 1000);
    ck_assert_double_eq(config.brake_hz_s, 320000);
}
END_TEST

START_TEST(comments_order_and_blanks)
{
    struct config config = read_good(
        "// \"screw\": { not yet\r\n{\"link\"// the \"cable\"\r\n: // its end\n {\"silence_ms\": "
        "70, "
        "\"port\": \"/dev//serial/\\\"//\\\" \\u00e4/x//y\"// } \\\n},//\n\"speeds\":{\"brake\":"
        "\"10mm/s2\",\"search\":\"1mm/s\",\"move\":\"2mm/s\"},\"travel\":{\"top_margin\":\"0mm\","
        "// \"length\": \"9in\",\n\"\\u006cength\" : "
        "\"50mm\"},\"screw\":{\"microsteps\":16,//////\n"
        "\"full_steps\":200,\"lead\":\"1/10in\"}} // and no more");
    ck_assert_str_eq(config.port, "/dev//serial/\"//\" \xc3\xa4/x//y");
    ck_assert_uint_eq(config.silence_ms, 70);
    ck_assert_int_eq(config.travel_nm, 50000000);
    ck_assert_int_eq(config.screw.lead_num_nm, 2540000);
}
END_TEST

START_TEST(members_are_found_whatever_is_in_them)
{
    static const char text[] =
        " \n{\"a\\\"}\" : \"x\\\\\", \"b\":[1, {\"c\":\"]}\\\"\"}, []],\"\":{}\n,"
        "\"d\" :-1.5e3 ,\"e\":true}";
    static const char *const spans[][2] = {{"\"a\\\"}\"", "\"x\\\\\""},
                                           {"\"b\"", "[1, {\"c\":\"]}\\\"\"}, []]"},
                                           {"\"\"", "{}"},
                                           {"\"d\"", "-1.5e3"},
                                           {"\"e\"", "true"}};
    struct json_fault fault;
    ck_assert(json_scan(text, sizeof text - 1, &fault));
    size_t at = locate_root(text);
    struct locate_member member;
    for (size_t i = 0; i < sizeof spans / sizeof spans[0]; i++) {
        ck_assert(locate_next(text, &at, &member));
        ck_assert_uint_eq(member.name.size, strlen(spans[i][0]));
        ck_assert_mem_eq(text + member.name.at, spans[i][0], member.name.size);
        ck_assert_uint_eq(member.value.size, strlen(spans[i][1]));
        ck_assert_mem_eq(text + member.value.at, spans[i][1], member.value.size);
    }
    ck_assert(!locate_next(text, &at, &member) && !locate_next(text, &at, &member));
}
END_TEST

/* --- The digest --- */

START_TEST(the_digest_is_the_published_hash)
{
    ck_assert_uint_eq(fnv1a_32((const unsigned char *)"", 0), 0x811c9dc5);
    ck_assert_uint_eq(fnv1a_32((const unsigned char *)"a", 1), 0xe40c292c);
    ck_assert_uint_eq(fnv1a_32((const unsigned char *)"foobar", 6), 0xbf9cf968);
    /* 3200 * 10 / 25 400 000 = 4 / 3175, and 3175 = 0x0c67. */
    static const unsigned char bytes[16] = {4, [8] = 0x67, 0x0c};
    struct screw screw = {.steps_per_turn = 3200, .lead_num_nm = NM_PER_IN, .lead_den = 10};
    ck_assert_uint_eq(config_screw_digest(&screw), fnv1a_32(bytes, sizeof bytes));
}
END_TEST

START_TEST(the_digest_tells_screws_apart)
{
    const struct screw screw = {.steps_per_turn = 3200, .lead_num_nm = NM_PER_IN, .lead_den = 10};
    const struct screw same[] = {{3200, 2540000, 1}, {1600, NM_PER_IN, 20}};
    const struct screw other[] = {{1600, NM_PER_IN, 10}, {3200, NM_PER_IN, 12},
                                  {3200, NM_PER_IN, 1},  {6400, NM_PER_IN, 10},
                                  {3200, 2540001, 1},    {400, NM_PER_IN, 10}};
    uint32_t digest = config_screw_digest(&screw);
    for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
        ck_assert_uint_eq(config_screw_digest(&same[i]), digest);
    }
    for (size_t i = 0; i < sizeof other / sizeof other[0]; i++) {
        ck_assert_uint_ne(config_screw_digest(&other[i]), digest);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("config");
    TCase *all = tcase_create("read");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, the_example_is_read);
    tcase_add_test(all, the_example_has_every_key);
    tcase_add_test(all, lash_and_take_up);
    tcase_add_test(all, what_is_left_out);
    tcase_add_test(all, threads_stay_a_ratio);
    tcase_add_test(all, speeds_become_steps);
    tcase_add_test(all, comments_order_and_blanks);
    tcase_add_test(all, members_are_found_whatever_is_in_them);
    tcase_add_test(all, the_digest_is_the_published_hash);
    tcase_add_test(all, the_digest_tells_screws_apart);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
