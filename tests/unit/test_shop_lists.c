/* SPDX-License-Identifier: MIT */
/* The document of the shop: random ones there and back, older ones, and every one that is none. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/shop/lists.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/shop_random.h"

static bool read_text(const char *text, struct lists *lists, char *why)
{
    cJSON *document = cJSON_Parse(text);
    ck_assert_msg(document != NULL, "%s", text);
    why[0] = '\0';
    bool read = lists_read(document, lists, why, SHOP_WHY_SIZE);
    cJSON_Delete(document);
    return read;
}

static void draw_lists(struct lists *lists)
{
    uint32_t id = 1;
    *lists = (struct lists){.next_id = 1};
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        size_t wanted = below(12);
        for (size_t i = 0; i < wanted; i++) {
            union things_any any;
            id += (uint32_t)between(1, 3);
            draw_thing((enum shop_kind)kind, id, &any);
            size_t index = lists_place(lists, (enum shop_kind)kind, any.thing.name);
            if (!lists_is_at(lists, (enum shop_kind)kind, index, any.thing.name)) {
                ck_assert(lists_insert(lists, (enum shop_kind)kind, &any));
            }
        }
    }
}

static void expect_same(const struct lists *a, const struct lists *b, const char *text)
{
    ck_assert_uint_eq(a->next_id, b->next_id);
    ck_assert_str_eq(a->unit, b->unit);
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        size_t bytes = a->of[kind].count * things_kinds[kind].size;
        ck_assert_uint_eq(a->of[kind].count, b->of[kind].count);
        ck_assert_msg(bytes == 0 || memcmp(a->of[kind].things, b->of[kind].things, bytes) == 0,
                      "the %s of %s", things_kinds[kind].words, text);
    }
}

START_TEST(random_shops_come_back_as_they_went)
{
    for (int i = 0; i < 300; i++) {
        struct lists lists;
        struct lists back;
        struct lists copy;
        char why[SHOP_WHY_SIZE];
        draw_lists(&lists);
        snprintf(lists.unit, sizeof lists.unit, "%s", below(2) == 0 ? "" : "128");
        lists.next_id += (uint32_t)below(5); /* the last of them may have been forgotten */
        char *text = lists_print(&lists);
        ck_assert_msg(read_text(text, &back, why), "%s: %s", text, why);
        expect_same(&lists, &back, text);
        ck_assert(lists_copy(&copy, &lists));
        expect_same(&lists, &copy, text);
        cJSON_free(text);
        lists_free(&lists);
        lists_free(&back);
        lists_free(&copy);
    }
}
END_TEST

START_TEST(lists_are_in_the_order_of_their_names_whatever_comes_and_goes)
{
    struct lists lists = {.next_id = 1};
    size_t count = 0;
    for (int i = 0; i < 3000; i++) {
        union things_any any;
        draw_thing(SHOP_STOCK, (uint32_t)i + 1, &any);
        any.thing.name[1] = '\0'; /* few names, so that they meet */
        if (any.thing.name[0] & 0x80) {
            any.thing.name[0] = 'q';
        }
        size_t index = lists_place(&lists, SHOP_STOCK, any.thing.name);
        if (lists_is_at(&lists, SHOP_STOCK, index, any.thing.name)) {
            lists_take_out(&lists, SHOP_STOCK, index);
            count--;
        } else {
            ck_assert(lists_insert(&lists, SHOP_STOCK, &any));
            count++;
            ck_assert_ptr_eq(lists_find_id(&lists, SHOP_STOCK, any.thing.id),
                             lists_at(&lists, SHOP_STOCK, index));
        }
        ck_assert_uint_eq(lists.of[SHOP_STOCK].count, count);
        for (size_t k = 1; k < count; k++) {
            ck_assert_int_lt(strcmp(lists_thing(&lists, SHOP_STOCK, k - 1)->name,
                                    lists_thing(&lists, SHOP_STOCK, k)->name),
                             0);
        }
    }
    ck_assert_uint_gt(lists.next_id, 1500); /* and never lower again */
    lists_free(&lists);
}
END_TEST

/* As version 1 wrote it. */
START_TEST(a_document_of_version_1_becomes_presets_of_any_bit)
{
    struct lists lists;
    char why[SHOP_WHY_SIZE];
    ck_assert_msg(read_text("{\"version\":1,\"next_id\":9,\"presets\":["
                            "{\"id\":8,\"name\":\"b\",\"height\":\"-0.25mm\"},"
                            "{\"id\":3,\"name\":\"a\",\"height\":\"9.525mm\"}]}",
                            &lists, why),
                  "%s", why);
    ck_assert_uint_eq(lists.next_id, 9);
    ck_assert_uint_eq(lists.of[SHOP_PRESET].count, 2);
    const struct preset *a = lists_at(&lists, SHOP_PRESET, 0);
    const struct preset *b = lists_at(&lists, SHOP_PRESET, 1);
    ck_assert_str_eq(a->thing.name, "a");
    ck_assert_uint_eq(a->thing.id, 3);
    ck_assert_int_eq(a->height_nm, 9525000);
    ck_assert_uint_eq(a->bit, 0);
    ck_assert_int_eq(a->riding_nm, 0);
    ck_assert_int_eq(b->height_nm, -250000);
    for (int kind = SHOP_PRESET + 1; kind < SHOP_KINDS; kind++) {
        ck_assert_uint_eq(lists.of[kind].count, 0);
    }
    /* What is written of it is of version 2, and the same. */
    struct lists back;
    char *text = lists_print(&lists);
    ck_assert_ptr_nonnull(strstr(text, "\"version\":\t3"));
    ck_assert(read_text(text, &back, why));
    expect_same(&lists, &back, text);
    cJSON_free(text);
    lists_free(&lists);
    lists_free(&back);
}
END_TEST

#define EMPTY "\"presets\":[],\"bits\":[],\"rings\":[],\"stock\":[],\"pairs\":[]"

START_TEST(what_is_no_shop_is_refused_with_a_clause)
{
    static const char *const rows[][2] = {
        {"{\"version\":2," EMPTY "}", "next_id"},
        {"{\"version\":2,\"next_id\":0," EMPTY "}", "next_id"},
        {"{\"version\":2,\"next_id\":1.5," EMPTY "}", "next_id"},
        {"{\"version\":2,\"next_id\":\"1\"," EMPTY "}", "next_id"},
        {"{\"version\":2,\"next_id\":4294967296," EMPTY "}", "next_id"},
        {"{\"version\":2,\"next_id\":1,\"fences\":[]," EMPTY "}", "'fences' that nobody knows"},
        {"{\"version\":2,\"next_id\":1,\"presets\":[]}", "no list of bits"},
        {"{\"version\":2,\"next_id\":1,\"display\":{\"unit\":\"mm\"}," EMPTY "}",
         "'display' that nobody knows"},
        {"{\"version\":3,\"next_id\":1,\"display\":{\"unit\":\"feet\"}," EMPTY "}", "no unit"},
        {"{\"version\":3,\"next_id\":1,\"display\":{\"unit\":\"mm\",\"more\":1}," EMPTY "}",
         "no unit"},
        {"{\"version\":3,\"next_id\":1,\"display\":\"mm\"," EMPTY "}", "no unit"},
        {"{\"version\":1,\"next_id\":1}", "no list of presets"},
        {"{\"version\":1,\"next_id\":1,\"presets\":{}}", "presets are no list"},
        {"{\"version\":1,\"next_id\":1,\"presets\":[7]}", "preset number 1"},
        {"{\"version\":1,\"next_id\":1,\"presets\":[{\"id\":1,\"name\":\"a\",\"height\":\"1mm\"},"
         "{\"id\":2,\"name\":\"b\"}]}",
         "preset number 2 has no height"},
        {"{\"version\":1,\"next_id\":1,\"presets\":[{\"id\":1,\"name\":\"a\",\"height\":\"1mm\"},"
         "{\"id\":2,\"name\":\"a\",\"height\":\"2mm\"}]}",
         "two presets named a"},
        {"{\"version\":1,\"next_id\":1,\"presets\":[{\"id\":2,\"name\":\"a\",\"height\":\"1mm\"},"
         "{\"id\":2,\"name\":\"b\",\"height\":\"2mm\"}]}",
         "two presets of the id 2"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct lists lists;
        char why[SHOP_WHY_SIZE];
        ck_assert_msg(!read_text(rows[i][0], &lists, why), "read: %s", rows[i][0]);
        ck_assert_msg(strstr(why, rows[i][1]) != NULL, "%s: %s", rows[i][0], why);
        ck_assert_ptr_null(lists.of[SHOP_PRESET].things); /* nothing is left to be freed */
    }
}
END_TEST

START_TEST(a_next_id_that_is_behind_is_brought_forward)
{
    struct lists lists;
    char why[SHOP_WHY_SIZE];
    ck_assert(read_text("{\"version\":1,\"next_id\":2,\"presets\":[{\"id\":7,\"name\":\"a\","
                        "\"height\":\"1mm\"}]}",
                        &lists, why));
    ck_assert_uint_eq(lists.next_id, 8);
    lists_free(&lists);
}
END_TEST

START_TEST(more_than_a_list_holds_is_refused)
{
    struct lists lists;
    char why[SHOP_WHY_SIZE];
    cJSON *document = cJSON_Parse("{\"version\":2,\"next_id\":1,\"presets\":[],\"bits\":[],"
                                  "\"stock\":[],\"pairs\":[]}");
    cJSON *rings = cJSON_AddArrayToObject(document, "rings");
    size_t most = things_kinds[SHOP_RING].most;
    for (size_t i = 0; i <= most; i++) {
        char text[80];
        if (i == most) {
            ck_assert(lists_read(document, &lists, why, sizeof why));
            lists_free(&lists);
        }
        snprintf(text, sizeof text, "{\"id\":%zu,\"name\":\"r%zu\",\"opening\":\"1in\"}", i + 1, i);
        cJSON_AddItemToArray(rings, cJSON_Parse(text));
    }
    ck_assert(!lists_read(document, &lists, why, sizeof why));
    ck_assert_ptr_nonnull(strstr(why, "too many"));
    cJSON_Delete(document);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("shop lists");
    TCase *cases = tcase_create("lists");
    tcase_add_test(cases, random_shops_come_back_as_they_went);
    tcase_add_test(cases, lists_are_in_the_order_of_their_names_whatever_comes_and_goes);
    tcase_add_test(cases, a_document_of_version_1_becomes_presets_of_any_bit);
    tcase_add_test(cases, what_is_no_shop_is_refused_with_a_clause);
    tcase_add_test(cases, a_next_id_that_is_behind_is_brought_forward);
    tcase_add_test(cases, more_than_a_list_holds_is_refused);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
