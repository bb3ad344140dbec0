/* SPDX-License-Identifier: MIT */
/* Things read out of the document and printed into it, and taken from requests: every refusal, and
 * random ones there and back. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/shop/things.h"
#include "protocol/length.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/shop_random.h"

static bool read_text(enum shop_kind kind, const char *text, union things_any *thing, char *why)
{
    cJSON *object = cJSON_Parse(text);
    ck_assert_msg(object != NULL, "%s", text);
    why[0] = '\0';
    bool read = things_read(kind, object, thing, why, SHOP_WHY_SIZE);
    cJSON_Delete(object);
    return read;
}

/* Of the document. */
static const struct {
    enum shop_kind kind;
    const char *text;
    const char *why; /* a part of it */
} spoilt[] = {
    {SHOP_RING, "7", "no id"},
    {SHOP_RING, "{\"name\":\"a\",\"opening\":\"1in\"}", "no id"},
    {SHOP_RING, "{\"id\":0,\"name\":\"a\",\"opening\":\"1in\"}", "no id"},
    {SHOP_RING, "{\"id\":1.5,\"name\":\"a\",\"opening\":\"1in\"}", "no id"},
    {SHOP_RING, "{\"id\":4294967295,\"name\":\"a\",\"opening\":\"1in\"}", "no id"},
    {SHOP_RING, "{\"id\":\"1\",\"name\":\"a\",\"opening\":\"1in\"}", "no id"},
    {SHOP_RING, "{\"id\":1,\"opening\":\"1in\"}", "no name"},
    {SHOP_RING, "{\"id\":1,\"name\":7,\"opening\":\"1in\"}", "no name"},
    {SHOP_RING, "{\"id\":1,\"name\":\"\",\"opening\":\"1in\"}", "no name"},
    {SHOP_RING, "{\"id\":1,\"name\":\" a\",\"opening\":\"1in\"}", "no name"},
    {SHOP_RING, "{\"id\":1,\"name\":\"a\"}", "has no opening"},
    {SHOP_RING, "{\"id\":1,\"name\":\"a\",\"opening\":3}", "'opening' that cannot be so"},
    {SHOP_RING, "{\"id\":1,\"name\":\"a\",\"opening\":\"3\"}", "'opening' that cannot be so"},
    {SHOP_RING, "{\"id\":1,\"name\":\"a\",\"opening\":\"13in\"}", "'opening' that cannot"},
    {SHOP_RING, "{\"id\":1,\"name\":\"a\",\"opening\":\"1in\",\"x\":1}", "'x' that nobody"},
    {SHOP_RING, "{\"id\":1,\"name\":\"a\",\"opening\":\"1in\",\"Opening\":\"1in\"}", "nobody"},
    {SHOP_STOCK, "{\"id\":1,\"name\":\"a\",\"size\":\"0mm\"}", "'size' that cannot be so"},
    {SHOP_STOCK, "{\"id\":1,\"name\":\"a\",\"size\":\"-1mm\"}", "'size' that cannot be so"},
    {SHOP_PRESET, "{\"id\":1,\"name\":\"a\"}", "has no height"},
    {SHOP_PRESET, "{\"id\":1,\"name\":\"a\",\"height\":\"1mm\",\"bit\":0}", "'bit' that"},
    {SHOP_PRESET, "{\"id\":1,\"name\":\"a\",\"height\":\"1mm\",\"bit\":1.5}", "'bit' that"},
    {SHOP_PRESET, "{\"id\":1,\"name\":\"a\",\"height\":\"1mm\",\"bit\":\"b\"}", "'bit' that"},
    {SHOP_PRESET, "{\"id\":1,\"name\":\"a\",\"height\":\"1mm\",\"riding\":\"-1mm\"}",
     "'riding' that"},
    {SHOP_PRESET, "{\"id\":1,\"name\":\"a\",\"height\":\"1mm\",\"recompute\":1}",
     "'recompute' that"},
    {SHOP_PRESET, "{\"id\":1,\"name\":\"a\",\"height\":\"1mm\",\"wood\":\"a\\nb\"}", "'wood' that"},
    {SHOP_PRESET, "{\"id\":1,\"name\":\"a\",\"height\":\"1mm\",\"wood\":\"a\\u0007b\"}",
     "'wood' that"},
    {SHOP_PRESET, "{\"id\":1,\"name\":\"a\",\"height\":\"1mm\",\"wood\":\"a\\u007fb\"}",
     "'wood' that"},
    {SHOP_BIT, "{\"id\":1,\"name\":\"a\",\"kind\":\"straight\"}", "has no diameter"},
    {SHOP_BIT, "{\"id\":1,\"name\":\"a\",\"diameter\":\"1in\"}", "has no kind"},
    {SHOP_BIT, "{\"id\":1,\"name\":\"a\",\"kind\":\"laser\",\"diameter\":\"1in\"}", "'kind'"},
    {SHOP_BIT, "{\"id\":1,\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"9in\"}", "'diameter'"},
    {SHOP_BIT, "{\"id\":1,\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1in\",\"point\":\"\"}",
     "'point'"},
    {SHOP_BIT,
     "{\"id\":1,\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1in\",\"speed_most\":60001}",
     "'speed_most'"},
    {SHOP_BIT, "{\"id\":1,\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1in\",\"speed_most\":1.5}",
     "'speed_most'"},
    {SHOP_BIT,
     "{\"id\":1,\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1in\",\"plunging\":\"yes\"}",
     "'plunging'"},
    {SHOP_PAIR, "{\"id\":1,\"name\":\"a\",\"first\":2,\"second\":3}", "has no difference"},
    {SHOP_PAIR, "{\"id\":1,\"name\":\"a\",\"first\":2,\"difference\":\"0mm\"}", "has no second"},
    {SHOP_PAIR, "{\"id\":1,\"name\":\"a\",\"first\":0,\"second\":3,\"difference\":\"0mm\"}",
     "'first' that"},
};

START_TEST(what_cannot_be_is_refused_with_a_clause)
{
    for (size_t i = 0; i < sizeof spoilt / sizeof *spoilt; i++) {
        union things_any thing;
        char why[SHOP_WHY_SIZE];
        ck_assert_msg(!read_text(spoilt[i].kind, spoilt[i].text, &thing, why), "read: %s",
                      spoilt[i].text);
        ck_assert_msg(strstr(why, spoilt[i].why) != NULL, "%s: %s", spoilt[i].text, why);
    }
}
END_TEST

START_TEST(a_bit_of_few_words_is_the_common_one)
{
    union things_any thing;
    char why[SHOP_WHY_SIZE];
    ck_assert_msg(read_text(SHOP_BIT,
                            "{\"id\":7,\"name\":\"a\",\"kind\":\"cove\",\"diameter\":\"1/2in\"}",
                            &thing, why),
                  "%s", why);
    const struct bit *bit = &thing.bit;
    ck_assert_uint_eq(bit->thing.id, 7);
    ck_assert_str_eq(bit->thing.name, "a");
    ck_assert_uint_eq(bit->shape, BIT_COVE);
    ck_assert_int_eq(bit->diameter_nm, 12700000);
    ck_assert_uint_eq(bit->point, POINT_TOP_EDGE);
    ck_assert_uint_eq(bit->meets, MEETS_EDGE);
    ck_assert_int_eq(bit->offset_nm, 0);
    ck_assert_uint_eq(bit->ring, 0);
    ck_assert(!bit->plunging && !bit->ground);
}
END_TEST

/* The words themselves, in their order, so that a number never changes its meaning. */
START_TEST(every_word_names_its_number)
{
    static const char *const kinds[] = {"straight",
                                        "spiral",
                                        "slot-cutter",
                                        "rabbet",
                                        "round-over",
                                        "cove",
                                        "chamfer",
                                        "v-groove",
                                        "bowl",
                                        "dovetail",
                                        "t-slot",
                                        "keyhole",
                                        "lock-mitre",
                                        "stile-rail",
                                        "raiser",
                                        "raiser-back-cutter",
                                        "vertical-raiser",
                                        "pin",
                                        "other"};
    for (uint32_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        char text[120];
        char why[SHOP_WHY_SIZE];
        union things_any thing;
        snprintf(text, sizeof text,
                 "{\"id\":1,\"name\":\"a\",\"kind\":\"%s\",\"diameter\":\"1in\"}", kinds[i]);
        ck_assert_msg(read_text(SHOP_BIT, text, &thing, why), "%s", why);
        ck_assert_uint_eq(thing.bit.shape, i + 1);
    }
    ck_assert_uint_eq(sizeof kinds / sizeof *kinds, BIT_OTHER);
}
END_TEST

START_TEST(random_things_come_back_as_they_went)
{
    for (int i = 0; i < 4000; i++) {
        enum shop_kind kind = (enum shop_kind)below(SHOP_KINDS);
        union things_any thing;
        union things_any back;
        char why[SHOP_WHY_SIZE];
        draw_thing(kind, (uint32_t)between(1, 1000000), &thing);
        cJSON *object = things_print(kind, &thing);
        ck_assert_ptr_nonnull(object);
        char *text = cJSON_PrintUnformatted(object);
        cJSON_Delete(object);
        ck_assert_msg(read_text(kind, text, &back, why), "%s: %s", text, why);
        ck_assert_msg(memcmp(&thing, &back, things_kinds[kind].size) == 0, "%s", text);
        cJSON_free(text);
    }
}
END_TEST

/* Every thing without one of its members, or with one spoilt, is refused or reads without it. */
START_TEST(spoilt_things_are_refused_and_never_read_as_something_else)
{
    for (int i = 0; i < 4000; i++) {
        enum shop_kind kind = (enum shop_kind)below(SHOP_KINDS);
        union things_any thing;
        char why[SHOP_WHY_SIZE] = "";
        draw_thing(kind, 5, &thing);
        cJSON *object = things_print(kind, &thing);
        int members = cJSON_GetArraySize(object);
        const char *name = cJSON_GetArrayItem(object, (int)below((uint64_t)members))->string;
        char kept[40];
        snprintf(kept, sizeof kept, "%s", name);
        cJSON_ReplaceItemInObjectCaseSensitive(object, kept, cJSON_CreateNull());
        ck_assert(!things_read(kind, object, &thing, why, sizeof why));
        ck_assert_str_ne(why, "");
        cJSON_Delete(object);
    }
}
END_TEST

START_TEST(names_are_short_lines)
{
    char longest[SHOP_NAME_SIZE + 1];
    memset(longest, 'n', sizeof longest);
    longest[SHOP_NAME_SIZE - 1] = '\0';
    ck_assert(things_name_valid(longest));
    longest[SHOP_NAME_SIZE - 1] = 'n';
    longest[SHOP_NAME_SIZE] = '\0';
    ck_assert(!things_name_valid(longest));
    ck_assert(things_name_valid("a"));
    ck_assert(things_name_valid("3/8 \"straight\""));
    ck_assert(things_name_valid("F\xc3\xbc\xc3\x9f"));
    ck_assert(!things_name_valid(""));
    ck_assert(!things_name_valid(" a"));
    ck_assert(!things_name_valid("a "));
    ck_assert(!things_name_valid("a\tb"));
    ck_assert(!things_name_valid("a\x7f"));
}
END_TEST

static const struct field *field_of(enum shop_kind kind, const char *name)
{
    const struct field *field = things_kinds[kind].fields;
    while (strcmp(field->name, name) != 0) {
        field++;
        ck_assert_ptr_nonnull(field->name);
    }
    return field;
}

static bool take(enum shop_kind kind, const char *name, bool nm, const char *value, void *thing,
                 char *why)
{
    cJSON *item = cJSON_Parse(value);
    ck_assert_ptr_nonnull(item);
    why[0] = '\0';
    bool taken = things_take(field_of(kind, name), item, nm, thing, why, SHOP_WHY_SIZE);
    cJSON_Delete(item);
    return taken;
}

START_TEST(a_request_is_refused_with_what_would_do)
{
    union things_any thing;
    char why[SHOP_WHY_SIZE];
    memset(&thing, 0, sizeof thing);
    ck_assert(!take(SHOP_BIT, "diameter", false, "\"9in\"", &thing, why));
    ck_assert_ptr_nonnull(strstr(why, "diameter"));
    ck_assert_ptr_nonnull(strstr(why, "203.2mm"));
    ck_assert(!take(SHOP_BIT, "diameter", false, "\"1/2\"", &thing, why));
    ck_assert_ptr_nonnull(strstr(why, "Found \"1/2\" for 'diameter': "));
    ck_assert(!take(SHOP_BIT, "diameter", true, "203200001", &thing, why));
    ck_assert(!take(SHOP_BIT, "kind", false, "\"saw\"", &thing, why));
    ck_assert_ptr_nonnull(strstr(why, "raiser-back-cutter"));
    ck_assert_ptr_nonnull(strstr(why, ", other would do.")); /* the last one: the sentence is whole */
    ck_assert(!take(SHOP_BIT, "speed_most", false, "-1", &thing, why));
    ck_assert_ptr_nonnull(strstr(why, "60000"));
    ck_assert(!take(SHOP_BIT, "note", false, "\"a\\nb\"", &thing, why));
    ck_assert(
        !take(SHOP_BIT, "note", false,
              "\"01234567890123456789012345678901234567890123456789012345678901234567890123456"
              "789\"",
              &thing, why));
    ck_assert_ptr_nonnull(strstr(why, "79"));
    ck_assert_int_eq(thing.bit.diameter_nm, 0); /* and nothing was taken */
    ck_assert(take(SHOP_BIT, "diameter", true, "203200000", &thing, why));
    ck_assert(take(SHOP_BIT, "meets", false, "\"bearing\"", &thing, why));
    ck_assert(take(SHOP_BIT, "offset", false, "\"-3/16in\"", &thing, why));
    ck_assert_int_eq(thing.bit.diameter_nm, 203200000);
    ck_assert_uint_eq(thing.bit.meets, MEETS_BEARING);
    ck_assert_int_eq(thing.bit.offset_nm, -4762500);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("shop things");
    TCase *cases = tcase_create("things");
    tcase_add_test(cases, what_cannot_be_is_refused_with_a_clause);
    tcase_add_test(cases, a_bit_of_few_words_is_the_common_one);
    tcase_add_test(cases, every_word_names_its_number);
    tcase_add_test(cases, random_things_come_back_as_they_went);
    tcase_add_test(cases, spoilt_things_are_refused_and_never_read_as_something_else);
    tcase_add_test(cases, names_are_short_lines);
    tcase_add_test(cases, a_request_is_refused_with_what_would_do);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
