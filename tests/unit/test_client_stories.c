/* SPDX-License-Identifier: MIT */
/* Where in a story the lift is, word for word, for somebody with gloves and a dust mask. */
#include "clients/common/stories.h"
#include "tests/suite.h"
#include "tests/unit/client_screen.h"

#define UP "\"play\":\"taken-up\""
#define AT                                                                                         \
    "\"at\":{\"height\":\"9.525mm\",\"height_nm\":9525000,\"bit\":\"slot\",\"part\":\"A\","        \
    "\"pieces\":8,\"router\":\"off\",\"words\":\"Part A, slot 3 of 7.\",\"fence\":\"to 2in\","     \
    "\"of_later\":1}"
#define NEXT(bit) "\"next\":{\"height\":\"12.7mm\",\"height_nm\":12700000,\"bit\":\"" bit "\"}"
#define STATUS(story)                                                                              \
    "{" STILL "," SURE "," UP ",\"bit\":\"slot\",\"story\":{\"name\":\"box\"," story "}}"

static const struct screen screens[] = {
    {"{" STILL "," SURE "," UP "}", LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table\n"
     "  No story is loaded.\n"},
    {STATUS("\"mark\":0,\"marks\":14," NEXT("slot")), LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table\n"
     "  BEFORE THE FIRST OF 14 MARKS   [box]\n"
     "Next:    'reglet next' for mark 1: 1/2in (12.7mm)\n"},
    {STATUS("\"mark\":3,\"marks\":14,\"cut\":2," AT "," NEXT("slot")), LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table\n"
     "  MARK 3 of 14   PART A   3/8in (9.525mm)   bit slot   CUT 2 OF 8   [box]\n"
     "    Part A, slot 3 of 7.\n"
     "    Fence: to 2in\n"
     "    Router: off, and run down\n"
     "Next:    cut 6 more, 'reglet cut' after each; then 'reglet next' for mark 4:\n"
     "         1/2in (12.7mm)\n"},
    {STATUS("\"mark\":3,\"marks\":14,\"cut\":8," AT "," NEXT("tail")), LENGTH_STYLE_MM,
     "  9.525mm   (.375in)   above the table\n"
     "  MARK 3 of 14   PART A   9.525mm (.375in)   bit slot   CUT 8 OF 8   [box]\n"
     "    Part A, slot 3 of 7.\n"
     "    Fence: to 2in\n"
     "    Router: off, and run down\n"
     "Next:    mark 4 is cut by ANOTHER BIT, tail: 'reglet change', fit it, touch\n"
     "         off, and then 'reglet next': 12.7mm (.500in)\n"},
    {STATUS("\"mark\":2,\"marks\":2,\"cut\":0,\"at\":{\"words\":\"Turn the boards.\"}"),
     LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table\n"
     "  MARK 2 of 2   no height: nothing moves   [box]\n"
     "    Turn the boards.\n"
     "Next:    this is the last mark: 'reglet abandon' when all is cut, or 'reglet\n"
     "         back'\n"},
};

START_TEST(where_it_is)
{
    for (size_t i = 0; i < COUNT(screens); i++) {
        check_screen(&screens[i], stories_show);
    }
}
END_TEST

START_TEST(the_bare_status_names_it)
{
    static const struct screen one = {STATUS("\"mark\":3,\"marks\":14," AT), LENGTH_STYLE_64,
                                      "Story:   box, at mark 3 of 14; 'reglet where' says what to "
                                      "cut\n"};
    struct say say = {0};
    struct show_lift lift;
    cJSON *status = read_status(one.json, &lift);
    stories_brief(&say, &lift);
    ck_assert_str_eq(say.text, one.text);
    cJSON_Delete(status);
}
END_TEST

/* Control characters of a name do not reach the terminal; what is no number is none. */
START_TEST(what_comes_from_the_other_end_is_harmless)
{
    static const char json[] =
        "{" STILL "," SURE ",\"story\":{\"name\":\"b\\u001b[2J\",\"mark\":-5,\"marks\":\"many\","
        "\"cut\":\"x\",\"at\":7,\"next\":[]}}";
    struct say say = {0};
    struct show_lift lift;
    struct stories_place place;
    cJSON *status = read_status(json, &lift);
    ck_assert(stories_place(&lift, &place));
    ck_assert_int_eq(place.mark, 0);
    ck_assert_int_eq(place.marks, 0);
    ck_assert(!place.at_known && !place.next_known);
    stories_show(&say, &lift, LENGTH_STYLE_64);
    ck_assert_ptr_null(strchr(say.text, '\x1b'));
    cJSON_Delete(status);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("client_stories");
    TCase *cases = tcase_create("client_stories");
    tcase_add_test(cases, where_it_is);
    tcase_add_test(cases, the_bare_status_names_it);
    tcase_add_test(cases, what_comes_from_the_other_end_is_harmless);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
