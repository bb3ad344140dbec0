/* SPDX-License-Identifier: MIT */
/* What a working day adds to a status, as text: the bit, what rides, locks, what is asked, how far
 * a zero moved, and the one line of a list of changes. */
#include <stdlib.h>

#include "tests/suite.h"
#include "tests/unit/client_screen.h"

static const struct screen statuses[] = {
    {"{" STILL ",\"table_zero\":\"sure\",\"height_nm\":-3175000,\"play\":\"taken-up\","
     "\"bit\":\"straight-half\",\"riding\":\"9.525mm\",\"riding_nm\":9525000}",
     LENGTH_STYLE_64,
     "  -1/8in   (-3.175mm)   below what rides\n"
     "  RIDING ON 3/8in (9.525mm): ALL HEIGHTS ARE OVER IT\n"
     "\n"
     "Bit:     straight-half\n"
     "Trust:   sure: counted without a break since the last touch-off\n"
     "Lift:    still\n"},
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"riding_nm\":9525000,"
     "\"asks\":[\"bit\",\"riding\"],\"practice\":true}",
     LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above what rides   PRACTICE\n"
     "  RIDING ON 3/8in (9.525mm): ALL HEIGHTS ARE OVER IT\n"
     "\n"
     "Trust:   sure: counted without a break since the last touch-off\n"
     "Lift:    still\n"
     "Asks:    is it the same bit still, untouched? Unplug the router and compare it:\n"
     "         'reglet -p confirm' if it is, else touch off\n"
     "Asks:    does 3/8in still lie on the table? 'reglet -p riding 3/8in' if it\n"
     "         does, 'reglet -p riding 0' if not\n"},
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"router_turning\":true,"
     "\"inputs\":[\"touch-plate\",\"router\",\"carriage-lock\"]}",
     LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table\n"
     "\n"
     "Trust:   sure: counted without a break since the last touch-off\n"
     "Lift:    still\n"
     "Router:  IT TURNS, or may still: switch it off, and let it run down\n"
     "Clamp:   THE CARRIAGE IS LOCKED: loosen its clamp before the lift is to move\n"
     "Plate:   THE TOUCH PLATE IS CLOSED: something touches it, or its wires touch\n"},
    {"{" STILL ",\"table_zero\":\"lost\",\"play\":\"taken-up\",\"stage\":\"changing\"}",
     LENGTH_STYLE_64,
     "  HEIGHT NOT KNOWN\n"
     "\n"
     "Trust:   none: the lift does not know where this bit stands\n"
     "Lift:    still\n"
     "Bit:     IT IS BEING CHANGED: hands at the collet, nothing moves\n"
     "Next:    with a bit in, the nut tight and the wrenches off: 'reglet fit', or\n"
     "         'reglet fit BIT' where it is on the list\n"},
    {"{" STILL ",\"table_zero\":\"lost\",\"play\":\"taken-up\",\"stage\":\"fitted\"}",
     LENGTH_STYLE_64,
     "  HEIGHT NOT KNOWN\n"
     "\n"
     "Trust:   none: the lift does not know where this bit stands\n"
     "Lift:    still\n"
     "Bit:     JUST FITTED: nobody knows how high it stands, and only a held key\n"
     "         moves it\n"
     "Next:    router unplugged, looking at the bit: 'reglet hold down'; then touch\n"
     "         off\n"},
};

START_TEST(a_status_reads_as_it_should)
{
    check_screen(&statuses[_i], show_status);
}
END_TEST

/* .003 in is 76 200 nm: at that the bit has not slipped, over it it has (protocol/LOCAL.md). */
static const struct screen touched[] = {
    {"{" STILL "," SURE ",\"play\":\"taken-up\"}", LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table\n"},
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"zero_moved_nm\":0}", LENGTH_STYLE_64,
     "The zero is where it was.\n"
     "  3/8in   (9.525mm)   above the table\n"},
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"zero_moved_nm\":76200}", LENGTH_STYLE_64,
     "The zero has moved by .003in (0.076mm): the bit stood lower than was thought.\n"
     "  3/8in   (9.525mm)   above the table\n"},
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"zero_moved_nm\":-50800}", LENGTH_STYLE_MM,
     "The zero has moved by 0.051mm (.002in): the bit stood higher than was thought.\n"
     "  9.525mm   (.375in)   above the table\n"},
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"zero_moved_nm\":-76201}", LENGTH_STYLE_64,
     "The zero has moved by .003in (0.076mm): the bit stood higher than was thought.\n"
     "THAT IS OVER .003in: the bit has slipped, the ring has moved, or it is another\n"
     "bit. Unplug the router and look at the collet before you cut.\n"
     "  3/8in   (9.525mm)   above the table\n"},
};

START_TEST(a_touch_off_says_how_far_the_zero_moved)
{
    check_screen(&touched[_i], show_touched);
}
END_TEST

/* --- A list of what changes --- */

static const struct screen changes[] = {
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"practice\":true}", LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table   PRACTICE"},
    {"{\"activity\":\"moving\",\"table_zero\":\"sure\",\"height_nm\":6350000,\"going_to_nm\":"
     "9525000}",
     LENGTH_STYLE_64, "  1/4in   (6.35mm)   above the table; moving   TO 3/8in"},
    {"{\"activity\":\"unpowered\"," SURE ",\"riding_nm\":6350000,\"play\":\"taken-up\"}",
     LENGTH_STYLE_64, "  3/8in   (9.525mm)   above what rides   RIDING ON 1/4in   UNPOWERED"},
    {"{" STILL ",\"table_zero\":\"lost\",\"stage\":\"fitted\",\"router_turning\":true,"
     "\"inputs\":[\"carriage-lock\",\"touch-plate\"],\"asks\":[\"riding\"]}",
     LENGTH_STYLE_64,
     "  HEIGHT NOT KNOWN   BIT fitted   ROUTER TURNS   CARRIAGE LOCKED   PLATE CLOSED   ASKS"},
};

START_TEST(a_change_is_one_line)
{
    check_screen(&changes[_i], show_change);
}
END_TEST

START_TEST(a_position_takes_over_what_moves_and_keeps_the_rest)
{
    static const char status_text[] =
        "{\"activity\":\"moving\"," SURE ",\"position_nm\":-1000,\"going_to_nm\":9600000,"
        "\"going_to_position_nm\":5000,\"age_ms\":7}";
    struct show_lift lift;
    struct json_fault fault;
    char text[] = "{\"activity\":\"braking\",\"height_nm\":9530000,\"position_nm\":1000}";
    cJSON *status = read_status(status_text, &lift);
    ck_assert_int_eq(lift.left_nm, 6000);
    cJSON *position = json_parse(text, strlen(text), &fault);
    show_move(position, &lift);
    cJSON_Delete(position); /* nothing is borrowed from it */
    ck_assert_str_eq(lift.activity, "braking");
    ck_assert_str_eq(lift.trust, "sure");
    ck_assert(lift.height_known);
    ck_assert_int_eq(lift.height_nm, 9530000);
    ck_assert_int_eq(lift.going_nm, 9600000);
    ck_assert_int_eq(lift.left_nm, 4000);
    ck_assert(lift.position_known);
    ck_assert_int_eq(lift.position_nm, 1000);
    ck_assert_int_eq(lift.age_ms, 0);
    position = json_parse("{\"activity\":\"unplugged\"}", 24, &fault);
    show_move(position, &lift);
    cJSON_Delete(position);
    ck_assert_str_eq(lift.activity, "unplugged");
    ck_assert(!lift.height_known);
    ck_assert(!lift.position_known);
    cJSON_Delete(status);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("client_show_day");
    TCase *screens = tcase_create("screens");
    tcase_add_loop_test(screens, a_status_reads_as_it_should, 0, COUNT(statuses));
    tcase_add_loop_test(screens, a_touch_off_says_how_far_the_zero_moved, 0, COUNT(touched));
    tcase_add_loop_test(screens, a_change_is_one_line, 0, COUNT(changes));
    tcase_add_test(screens, a_position_takes_over_what_moves_and_keeps_the_rest);
    suite_add_tcase(suite, screens);
    return run_suite(suite);
}
