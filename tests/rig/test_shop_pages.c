/* SPDX-License-Identifier: MIT */
/* Long lists in pages that fit a line, and lists that go from one lift to another. */
#include <check.h>
#include <signal.h>

#include "tests/rig/shop_rig.h"
#include "tests/suite.h"

enum { PRESETS = 1000, BITS = 500, LINE_MOST = 16384 };

/* As long as a line of a card can be: 79 characters that JSON writes as two each. */
static void print_card(FILE *file, const char *name)
{
    fprintf(file, ",\"%s\":\"", name);
    for (int i = 0; i < 79; i++) {
        fputs(i % 2 ? "\\\"" : "\\\\", file);
    }
    fputs("\"", file);
}

static void print_name(FILE *file, const char *what, int number)
{
    fprintf(file, "\"name\":\"%s-%04d-", what, number);
    for (int i = 0; i < 50; i++) {
        fputs("n", file);
    }
    fputs("\"", file);
}

/* All that there can be, each as long as it can be. */
static void write_full(const struct rig *rig)
{
    char path[200];
    snprintf(path, sizeof path, "%s/shop.json", rig->folder);
    FILE *file = fopen(path, "we");
    ck_assert_ptr_nonnull(file);
    fprintf(file, "{\"version\":2,\"next_id\":5000,\"rings\":[],\"stock\":[],\"pairs\":[],");
    fprintf(file, "\"presets\":[");
    for (int i = 0; i < PRESETS; i++) {
        static const char *const card[] = {"ring", "fence", "speed", "wood", "sample"};
        fprintf(file, "%s{\"id\":%d,\"height\":\"-%d.123456mm\",\"bit\":%d,\"riding\":\"9.525mm\",",
                i ? "," : "", i + 1, i % 900, 2000 + i % BITS);
        print_name(file, "preset", i * 7 % PRESETS); /* not in their order */
        for (size_t k = 0; k < sizeof card / sizeof *card; k++) {
            print_card(file, card[k]);
        }
        fputs("}", file);
    }
    fprintf(file, "],\"bits\":[");
    for (int i = 0; i < BITS; i++) {
        fprintf(file,
                "%s{\"id\":%d,\"kind\":\"raiser-back-cutter\",\"diameter\":\"76.123456mm\","
                "\"offset\":\"-12.123456mm\",\"cutting_length\":\"25.123456mm\",\"shank\":"
                "\"12.7mm\",\"plunging\":true,\"speed_most\":60000,\"ground\":true,",
                i ? "," : "", 2000 + i);
        print_name(file, "bit", i);
        print_card(file, "note");
        fputs("}", file);
    }
    fputs("]}", file);
    ck_assert_int_eq(fclose(file), 0);
}

/* Reads all pages and asserts that they hold all, once, in the order of the names. */
static int read_pages(struct rig *rig, const char *method, const char *filter)
{
    char after[80] = "";
    int items = 0;
    bool more = true;
    for (int page = 0; more; page++) {
        char params[240];
        ck_assert_int_lt(page, PRESETS);
        snprintf(params, sizeof params, "{\"after\":\"%s\"%s}", after, filter);
        cJSON *answer = rig_call(rig, method, params);
        ck_assert(rig_done(answer));
        char *text = cJSON_PrintUnformatted(answer);
        ck_assert_uint_le(strlen(text) + 1, LINE_MOST);
        cJSON_free(text);
        const cJSON *result = cJSON_GetObjectItem(answer, "result");
        const cJSON *item;
        cJSON_ArrayForEach(item, cJSON_GetObjectItem(result, method))
        {
            const char *name = cJSON_GetObjectItem(item, "name")->valuestring;
            ck_assert_int_lt(strcmp(after, name), 0);
            snprintf(after, sizeof after, "%s", name);
            items++;
        }
        more = cJSON_IsTrue(cJSON_GetObjectItem(result, "more"));
        ck_assert(!more || cJSON_GetArraySize(cJSON_GetObjectItem(result, method)) >= 5);
        cJSON_Delete(answer);
    }
    return items;
}

START_TEST(a_full_shop_is_listed_page_by_page_and_takes_no_more)
{
    struct rig rig;
    char name[80];
    char params[240];
    rig_start(&rig, true, 1);
    rig_end_daemon(&rig, SIGTERM);
    write_full(&rig);
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    ck_assert(!rig_log_has(&rig, "damaged"));
    ck_assert_int_eq(read_pages(&rig, "presets", ""), PRESETS);
    ck_assert_int_eq(read_pages(&rig, "bits", ""), BITS);
    memset(name, 'n', 50);
    name[50] = '\0';
    snprintf(params, sizeof params, ",\"bit\":\"bit-0007-%s\"", name);
    ck_assert_int_eq(read_pages(&rig, "presets", params), PRESETS / BITS);
    expect_said(rig_call(&rig, "keep", "{\"name\":\"x\",\"height\":\"1mm\"}"), "not-kept",
                "holds 1000 and no more");
    expect_said(
        rig_call(&rig, "keep-bit", "{\"name\":\"x\",\"kind\":\"pin\",\"diameter\":\"1mm\"}"),
        "not-kept", "holds 500 and no more");
    snprintf(params, sizeof params, "{\"name\":\"preset-0500-%s\"}", name);
    expect_done(rig_call(&rig, "forget", params));
    expect_done(rig_call(&rig, "keep", "{\"name\":\"x\",\"height\":\"1mm\"}"));
    start_again(&rig, SIGKILL);
    ck_assert_int_eq(read_pages(&rig, "presets", ""), PRESETS);
    rig_end(&rig);
}
END_TEST

/* All that a list gives, as what keep takes: each length once, and without what follows from the
 * rest. A preset says that it is of any bit, and on the table, where it is. */
static void make_params(const char *list, cJSON *item)
{
    cJSON *next;
    for (cJSON *member = item->child; member; member = next) {
        size_t size = strlen(member->string);
        next = member->next;
        if ((size > 3 && strcmp(member->string + size - 3, "_nm") == 0) ||
            strcmp(member->string, "steps") == 0 || strcmp(member->string, "speed_advice") == 0) {
            cJSON_Delete(cJSON_DetachItemViaPointer(item, member));
        }
    }
    if (strcmp(list, "presets") == 0) {
        if (!cJSON_HasObjectItem(item, "bit")) {
            cJSON_AddStringToObject(item, "bit", "");
        }
        if (!cJSON_HasObjectItem(item, "riding")) {
            cJSON_AddStringToObject(item, "riding", "0mm");
        }
    }
}

static const char *const lists[][2] = {{"rings", "keep-ring"},
                                       {"stock", "keep-stock"},
                                       {"bits", "keep-bit"},
                                       {"pairs", "keep-pair"},
                                       {"presets", "keep"}};

enum { LISTS = sizeof lists / sizeof *lists };

static void put_in(struct rig *rig, cJSON *const all[LISTS])
{
    for (int i = 0; i < LISTS; i++) {
        const cJSON *item;
        cJSON_ArrayForEach(item, cJSON_GetObjectItem(all[i], lists[i][0]))
        {
            cJSON *params = cJSON_Duplicate(item, true);
            make_params(lists[i][0], params);
            char *text = cJSON_PrintUnformatted(params);
            cJSON_Delete(ask(rig, lists[i][1], text));
            expect_reason(rig_call(rig, lists[i][1], text), "name-taken");
            cJSON_free(text);
            cJSON_Delete(params);
        }
    }
}

START_TEST(the_lists_of_one_lift_are_kept_by_another_as_they_are)
{
    struct rig rig;
    cJSON *all[LISTS];
    rig_start(&rig, true, 1);
    rig_end_daemon(&rig, SIGTERM);
    write_shop(
        &rig,
        "{\"version\":2,\"next_id\":50,"
        "\"rings\":[{\"id\":4,\"name\":\"wide\",\"opening\":\"80.000001mm\"}],"
        "\"stock\":[{\"id\":5,\"name\":\"ply\",\"size\":\"5.207mm\"}],"
        "\"bits\":["
        "{\"id\":2,\"name\":\"b\",\"kind\":\"raiser\",\"diameter\":\"76.2mm\",\"point\":"
        "\"shoulder\",\"meets\":\"nut\",\"offset\":\"-4mm\",\"cutting_length\":\"15mm\","
        "\"shank\":\"12.7mm\",\"plunging\":true,\"speed_most\":11000,\"ring\":4,\"note\":"
        "\"\\\"n\\\"\"},"
        "{\"id\":3,\"name\":\"g\",\"kind\":\"cove\",\"diameter\":\"25.4mm\",\"ground\":true}],"
        "\"pairs\":[{\"id\":7,\"name\":\"p\",\"first\":2,\"second\":3,\"difference\":"
        "\"0.000001mm\"}],"
        "\"presets\":["
        "{\"id\":8,\"name\":\"any\",\"height\":\"0mm\"},"
        "{\"id\":9,\"name\":\"of g\",\"height\":\"-1.5mm\",\"bit\":3,\"recompute\":true,"
        "\"riding\":\"9.525mm\",\"ring\":\"wide\",\"fence\":\"f\",\"speed\":\"s\",\"wood\":"
        "\"w\",\"sample\":\"h\"}]}");
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    for (int i = 0; i < LISTS; i++) {
        all[i] = ask(&rig, lists[i][0], NULL);
        ck_assert_int_ge(cJSON_GetArraySize(cJSON_GetObjectItem(all[i], lists[i][0])), 1);
    }
    rig_end(&rig);
    /* Another lift, with a bit of its own in the collet. */
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_done(
        rig_call(&rig, "keep-bit", "{\"name\":\"x\",\"kind\":\"pin\",\"diameter\":\"1mm\"}"));
    expect_done(rig_call(&rig, "fit", "{\"bit\":\"x\",\"clear\":true}"));
    expect_done(rig_call(&rig, "riding", "{\"thickness\":\"2mm\"}"));
    put_in(&rig, all);
    expect_done(rig_call(&rig, "fit", "{\"clear\":true}"));
    expect_done(rig_call(&rig, "forget-bit", "{\"name\":\"x\"}"));
    start_again(&rig, SIGKILL);
    for (int i = 0; i < LISTS; i++) {
        cJSON *found = ask(&rig, lists[i][0], NULL);
        char *text = cJSON_PrintUnformatted(found);
        ck_assert_msg(cJSON_Compare(found, all[i], true), "%s", text);
        cJSON_free(text);
        cJSON_Delete(found);
        cJSON_Delete(all[i]);
    }
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("shop pages");
    TCase *cases = tcase_create("pages");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, a_full_shop_is_listed_page_by_page_and_takes_no_more);
    tcase_add_test(cases, the_lists_of_one_lift_are_kept_by_another_as_they_are);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
