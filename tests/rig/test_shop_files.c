/* SPDX-License-Identifier: MIT */
/* The shop's file found in every bad way, and of an older version; and the daemon killed at each of
 * its writes. */
#include <check.h>
#include <signal.h>

#include "tests/rig/shop_rig.h"
#include "tests/suite.h"

#define OLD                                                                                        \
    "{\"version\":1,\"next_id\":9,\"presets\":[{\"id\":8,\"name\":\"a\",\"height\":\"1mm\"}]}"
#define OLD_ITEM "{\"name\":\"a\",\"height\":\"1mm\",\"height_nm\":1000000}"

static void begin_with(struct rig *rig, const char *text)
{
    rig_start(rig, true, 1);
    rig_end_daemon(rig, SIGTERM);
    write_shop(rig, text);
    rig_start_daemon(rig);
    rig_run(rig, 1000);
}

static void expect_file(const struct rig *rig, const char *name, const char *part)
{
    char *text = read_file(rig, name);
    ck_assert_msg(text != NULL, "there is no %s", name);
    ck_assert_msg(strstr(text, part) != NULL, "%s", text);
    free(text);
}

START_TEST(an_older_file_is_read_and_written_anew_with_the_first_change)
{
    struct rig rig;
    begin_with(&rig, OLD);
    expect_list(&rig, "presets", NULL, "[" OLD_ITEM "]");
    expect_file(&rig, "shop.json", OLD); /* it is not touched by reading */
    expect_done(rig_call(&rig, "keep-stock", "{\"name\":\"ply\",\"size\":\"5mm\"}"));
    expect_file(&rig, "shop.json", "\"version\":\t3");
    expect_file(&rig, "shop.json", "\"id\":\t9"); /* ids go on from there */
    expect_file(&rig, "shop.json.good", OLD);
    start_again(&rig, SIGKILL);
    expect_list(&rig, "presets", NULL, "[" OLD_ITEM "]");
    rig_end(&rig);
}
END_TEST

START_TEST(what_is_no_shop_is_moved_aside_and_the_last_good_one_taken)
{
    static const char *const damaged[] = {
        "{\"version\":2,\"pres",
        "{\"version\":2,\"next_id\":9,\"presets\":[]}",
        "{\"version\":2,\"next_id\":9,\"presets\":[{\"id\":1,\"name\":\"a\",\"height\":\"1mm\","
        "\"colour\":\"red\"}],\"bits\":[],\"rings\":[],\"stock\":[],\"pairs\":[]}",
    };
    struct rig rig;
    rig_start(&rig, true, 1);
    for (size_t i = 0; i < sizeof damaged / sizeof *damaged; i++) {
        char name[40];
        expect_done(
            rig_call(&rig, "keep-stock", "{\"name\":\"ply\",\"size\":\"5mm\",\"replace\":true}"));
        expect_done(
            rig_call(&rig, "keep-stock", "{\"name\":\"ply\",\"size\":\"6mm\",\"replace\":true}"));
        rig_end_daemon(&rig, SIGTERM);
        write_shop(&rig, damaged[i]);
        rig_start_daemon(&rig);
        rig_run(&rig, 1000);
        snprintf(name, sizeof name, i == 0 ? "shop.json.damaged" : "shop.json.damaged.%zu", i + 1);
        expect_file(&rig, name, damaged[i]);
        ck_assert(rig_log_has(&rig, name));
        expect_list(&rig, "stock", NULL,
                    "[{\"name\":\"ply\",\"size\":\"5mm\",\"size_nm\":5000000}]");
    }
    ck_assert(rig_log_has(&rig, "no list of bits"));
    ck_assert(rig_log_has(&rig, "'colour' that nobody knows"));
    rig_end(&rig);
}
END_TEST

START_TEST(what_names_something_that_is_gone_is_said_shown_and_kept_as_it_is)
{
    static const char text[] =
        "{\"version\":2,\"next_id\":50,"
        "\"presets\":[{\"id\":1,\"name\":\"a\",\"height\":\"1mm\",\"bit\":40}],"
        "\"bits\":[{\"id\":2,\"name\":\"b\",\"kind\":\"cove\",\"diameter\":\"1in\",\"ring\":41}],"
        "\"rings\":[],\"stock\":[],"
        "\"pairs\":[{\"id\":3,\"name\":\"p\",\"first\":42,\"second\":43,\"difference\":\"0mm\"}]}";
    struct rig rig;
    begin_with(&rig, text);
    ck_assert(rig_log_has(&rig, "the preset 'a' names a bit that is not in the shop's list"));
    ck_assert(rig_log_has(&rig, "the bit 'b' names a ring that is not in the shop's list"));
    ck_assert(rig_log_has(&rig, "the pair 'p' names a bit that is not in the shop's list"));
    ck_assert(rig_log_has(&rig, "keep it again with another"));
    expect_file(&rig, "shop.json", text);
    expect_list(&rig, "presets", NULL,
                "[{\"name\":\"a\",\"height\":\"1mm\",\"height_nm\":1000000,\"gone\":[\"bit\"]}]");
    expect_list(&rig, "pairs", NULL,
                "[{\"name\":\"p\",\"difference\":\"0mm\",\"difference_nm\":0,\"gone\":[\"first\","
                "\"second\"]}]");
    cJSON *bits = ask(&rig, "bits", NULL);
    const cJSON *bit = cJSON_GetArrayItem(cJSON_GetObjectItem(bits, "bits"), 0);
    ck_assert_str_eq(cJSON_GetArrayItem(cJSON_GetObjectItem(bit, "gone"), 0)->valuestring, "ring");
    cJSON_Delete(bits);
    rig_touch_off(&rig);
    expect_reason(rig_call(&rig, "recall", "{\"name\":\"a\"}"), "wrong-bit"); /* not of any bit */
    /* Another change leaves it so; the cure that was said is one. */
    expect_done(rig_call(&rig, "keep-stock", "{\"name\":\"s\",\"size\":\"1mm\"}"));
    expect_file(&rig, "shop.json", "\"bit\":\t40");
    expect_done(rig_call(&rig, "keep",
                         "{\"name\":\"a\",\"height\":\"1mm\",\"bit\":\"\",\"replace\":true}"));
    expect_done(rig_call(&rig, "recall", "{\"name\":\"a\"}"));
    expect_list(&rig, "presets", NULL, "[" OLD_ITEM "]");
    rig_end(&rig);
}
END_TEST

/* Three changes: a bit, one of its presets, and the bit forgotten with it. */
static void change_thrice(struct rig *rig)
{
    rig_send(rig, rig->client, "keep-bit",
             "{\"name\":\"b\",\"kind\":\"cove\",\"diameter\":\"1in\"}");
    (void)rig_hung_up(rig);
    rig_run(rig, 50);
    rig_send(rig, rig->client, "keep", "{\"name\":\"c\",\"height\":\"2mm\",\"bit\":\"b\"}");
    (void)rig_hung_up(rig);
    rig_run(rig, 50);
    rig_send(rig, rig->client, "forget-bit", "{\"name\":\"b\",\"with_others\":true}");
    (void)rig_hung_up(rig);
    rig_run(rig, 50);
}

static int count(struct rig *rig, const char *method)
{
    cJSON *result = ask(rig, method, NULL);
    int items = cJSON_GetArraySize(cJSON_GetObjectItem(result, method));
    cJSON_Delete(result);
    return items;
}

/* Killed just before or behind each disk write: the lists are those of a moment between two
 * changes, never half of one, and the older file is not lost on its way to the newer. */
START_TEST(a_kill_at_any_write_leaves_the_lists_of_one_moment)
{
    int seen[4] = {0};
    bool crashed = true;
    for (int at = 1; crashed; at++) {
        ck_assert_int_lt(at, 100);
        struct rig rig;
        rig_start(&rig, true, 1);
        rig_end_daemon(&rig, SIGTERM);
        write_shop(&rig, OLD);
        rig.crash_at_sync = at / 2 + 1;
        rig.crash_after_sync = at % 2;
        rig_start_daemon(&rig);
        rig_tell(&rig, "free");
        rig_tell(&rig, "hold");
        rig_run(&rig, 500);
        if (!rig_hung_up(&rig)) {
            change_thrice(&rig);
            rig_tell(&rig, "free");
            rig_tell(&rig, "hold");
        }
        if (!rig_hung_up(&rig)) {
            kill(rig.daemon, SIGTERM);
            rig_tell(&rig, "free");
        }
        crashed = rig_crashed(&rig);
        rig_tell(&rig, "hold");
        rig.crash_at_sync = 0;
        rig_start_daemon(&rig);
        rig_run(&rig, 1000);
        int bits = count(&rig, "bits");
        int presets = count(&rig, "presets");
        ck_assert_msg(presets == 1 || (presets == 2 && bits == 1), "%d bits, %d presets", bits,
                      presets);
        ck_assert(!rig_log_has(&rig, "damaged"));
        ck_assert(!rig_log_has(&rig, "any more"));
        seen[bits + presets]++;
        rig_end(&rig);
    }
    ck_assert_int_gt(seen[1], 1); /* before the bit, or behind all */
    ck_assert_int_gt(seen[2], 1);
    ck_assert_int_gt(seen[3], 1);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("shop files");
    TCase *cases = tcase_create("files");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, an_older_file_is_read_and_written_anew_with_the_first_change);
    tcase_add_test(cases, what_is_no_shop_is_moved_aside_and_the_last_good_one_taken);
    tcase_add_test(cases, what_names_something_that_is_gone_is_said_shown_and_kept_as_it_is);
    tcase_add_test(cases, a_kill_at_any_write_leaves_the_lists_of_one_moment);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
