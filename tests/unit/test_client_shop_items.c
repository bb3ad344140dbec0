/* SPDX-License-Identifier: MIT */
/* Items of the shop's lists: typed, compared, shown; speeds of the rim. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "clients/common/shop_items.h"
#include "tests/suite.h"

/* v = pi D n: 1 in at 24 000 a minute is 31.92 m/s, 3.5 in at 12 000 is 55.86 m/s. The formula is
 * that of cutting speed (any handbook; common practice, no source), the values recomputed. */
START_TEST(the_rim_runs_at_pi_times_diameter_times_turns)
{
    ck_assert_double_le(fabs(shop_items_rim_m_s(25.4e6, 24000) - 31.92), 0.005);
    ck_assert_double_le(fabs(shop_items_rim_m_s(3.5 * 25.4e6, 12000) - 55.86), 0.005);
}
END_TEST

/* What `line` becomes, typed behind a name. */
static cJSON *typed(int list, const char *line)
{
    char copy[160];
    char *word[16];
    char *rest = NULL;
    int count = 0;
    char why[SHOP_ITEMS_WHY];
    cJSON *params = cJSON_CreateObject();
    snprintf(copy, sizeof copy, "%s", line);
    for (char *at = strtok_r(copy, " ", &rest); at; at = strtok_r(NULL, " ", &rest)) {
        word[count++] = at;
    }
    ck_assert_msg(shop_items_take(&shop_items[list], count, word, LENGTH_STYLE_64, params, why),
                  "%s", why);
    return params;
}

START_TEST(what_is_typed_becomes_parameters_with_their_units)
{
    cJSON *params = typed(SHOP_BITS, "kind straight diameter 1/2 cutting-length 25mm plunging yes "
                                     "speed_most 24000");
    char *text = cJSON_PrintUnformatted(params);
    ck_assert_str_eq(text, "{\"kind\":\"straight\",\"diameter\":\"12.7mm\",\"cutting_length\":"
                           "\"25mm\",\"plunging\":true,\"speed_most\":24000}");
    cJSON_free(text);
    cJSON_Delete(params);
    params = typed(SHOP_STOCK, "1 7/16");
    ck_assert_str_eq(cJSON_GetObjectItem(params, "size")->valuestring, "36.5125mm");
    cJSON_Delete(params);
}
END_TEST

START_TEST(items_are_the_same_however_their_lengths_are_written)
{
    cJSON *one = cJSON_Parse("{\"name\":\"a\",\"kind\":\"straight\",\"diameter\":\"12.7mm\"}");
    cJSON *same = cJSON_Parse("{\"name\":\"a\",\"diameter\":\"1/2in\",\"kind\":\"straight\"}");
    cJSON *other = cJSON_Parse("{\"name\":\"a\",\"diameter\":\"1/2in\",\"kind\":\"cove\"}");
    cJSON *more = cJSON_Parse("{\"diameter\":\"1/2in\",\"kind\":\"straight\",\"note\":\"x\"}");
    struct say say = {0};
    ck_assert(shop_items_same(&shop_items[SHOP_BITS], one, same));
    ck_assert(!shop_items_same(&shop_items[SHOP_BITS], one, other));
    ck_assert(!shop_items_same(&shop_items[SHOP_BITS], one, more));
    shop_items_changes(&say, &shop_items[SHOP_BITS], one, other);
    shop_items_changes(&say, &shop_items[SHOP_BITS], one, more);
    ck_assert_str_eq(say.text, "      kind: straight, and in the file cove\n"
                               "      note: not said, and in the file x\n");
    cJSON_Delete(one);
    cJSON_Delete(same);
    cJSON_Delete(other);
    cJSON_Delete(more);
}
END_TEST

START_TEST(a_plain_preset_says_that_it_has_no_bit_and_lies_on_the_table)
{
    cJSON *item = cJSON_Parse("{\"name\":\"a\",\"height\":\"6mm\",\"height_nm\":6000000,\"gone\":"
                              "[\"bit\"],\"wood\":\"oak\"}");
    cJSON *plain = shop_items_plain(&shop_items[SHOP_PRESETS], item);
    char *text = cJSON_PrintUnformatted(plain);
    ck_assert_str_eq(text, "{\"name\":\"a\",\"height\":\"6mm\",\"wood\":\"oak\",\"bit\":\"\","
                           "\"riding\":\"0mm\"}");
    cJSON_free(text);
    cJSON_Delete(plain);
    cJSON_Delete(item);
}
END_TEST

START_TEST(speed_advice_comes_with_its_cautions)
{
    struct say say = {0};
    cJSON *bit = cJSON_Parse("{\"name\":\"a\",\"kind\":\"raiser\",\"diameter\":\"88.9mm\","
                             "\"diameter_nm\":88900000,\"speed_advice\":9000,\"speed_most\":9000}");
    shop_items_speed(&say, bit);
    ck_assert_ptr_nonnull(strstr(say.text, "at most 9000 turns a minute, by what is marked on it"));
    ck_assert_ptr_nonnull(strstr(say.text, "41.9 m/s (137 ft/s)"));
    ck_assert_ptr_nonnull(strstr(say.text, "unplugged"));
    cJSON_Delete(bit);
    say = (struct say){0};
    bit = cJSON_Parse("{\"name\":\"a\",\"kind\":\"pin\",\"diameter_nm\":6350000,"
                      "\"speed_advice\":24000}");
    shop_items_speed(&say, bit); /* it cuts nothing */
    ck_assert_str_eq(say.text, "");
    cJSON_Delete(bit);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("client_shop_items");
    TCase *cases = tcase_create("client_shop_items");
    tcase_add_test(cases, the_rim_runs_at_pi_times_diameter_times_turns);
    tcase_add_test(cases, what_is_typed_becomes_parameters_with_their_units);
    tcase_add_test(cases, items_are_the_same_however_their_lengths_are_written);
    tcase_add_test(cases, a_plain_preset_says_that_it_has_no_bit_and_lies_on_the_table);
    tcase_add_test(cases, speed_advice_comes_with_its_cautions);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
