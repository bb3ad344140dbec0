/* SPDX-License-Identifier: MIT */
/*
 * Heights typed on a keypad. 1 in = 25.4 mm exactly (NIST SP 811 appendix B): 3/8 in is
 * 9 525 000 nm, 1/2 in 12 700 000 nm. The 10 s and the 1/2 in are the design's own.
 */
#include "clients/pedal/big.h"
#include "tests/suite.h"
#include "tests/unit/test_pedal_bench.h"

static struct bench bench;

static void begin(void)
{
    bench_begin(&bench, LENGTH_STYLE_64);
}

static struct action action[KEY_MAX + 1];

static void key(int64_t ms, unsigned code, bool down)
{
    action[code] = (struct action){.kind = ACTION_KEYPAD, .types = action_types(code)};
    ck_assert_int_ne(action[code].types, '\0');
    bench_key(&bench, ms, 0, code, &action[code], down);
}

static void tap(int64_t ms, unsigned code)
{
    key(ms, code, true);
    key(ms + 60, code, false);
}

START_TEST(a_height_is_shown_as_it_is_typed_and_sent_by_enter)
{
    tap(100, KEY_KP3);
    tap(300, KEY_KPSLASH);
    tap(500, KEY_KP8);
    tap(900, KEY_KPENTER);
    bench_expect(&bench, "100 [3 in = 76200000, hold]\n300 [3/]\n500 [3/8 in = 9525000]\n"
                         "900 [3/8 in = 9525000, sent]\n900 to 9525000\n");
    bench_answer(&bench, 2000, GATE_TO, NULL);
    tap(2100, KEY_KPENTER); /* it was used up */
    bench_expect(&bench, "");
}
END_TEST

static void tell_unit(int64_t ms, enum length_style unit)
{
    bench_to(&bench, ms);
    gate_told(&bench.gate, ms, &(struct gate_lift){.height_known = true, .unit = unit});
}

START_TEST(who_has_chosen_no_unit_has_the_shop_s_from_the_first_figure_on)
{
    bench.gate.follows = true;
    tell_unit(10, LENGTH_STYLE_MM);
    bench_lift(&bench, 20, false, 0); /* a place says nothing of it */
    tap(100, KEY_KP9);
    tell_unit(200, LENGTH_STYLE_64); /* what is typed already keeps its meaning */
    tap(300, KEY_KP5);
    tap(700, KEY_KPENTER);
    bench_expect(&bench, "100 [9 mm = 9000000]\n300 [95 mm = 95000000, hold]\n"
                         "700 [95 mm = 95000000, hold, sent]\n700 to 95000000\n760 stop\n");
    bench_refuse(&bench, 800, GATE_TO, "stopped", "Stopped.");
    tap(2100, KEY_KP3);
    bench_expect(&bench, "2100 [3 in = 76200000, hold]\n");
    bench_begin(&bench, LENGTH_STYLE_IN); /* one that was chosen stays */
    tell_unit(10, LENGTH_STYLE_MM);
    tap(100, KEY_KP3);
    bench_expect(&bench, "100 [3 in = 76200000, hold]\n");
}
END_TEST

/* The code is what the key sends, whatever its layout prints on it. */
START_TEST(every_decimal_key_is_a_point)
{
    static const unsigned keys[] = {KEY_KPDOT, KEY_DOT, KEY_COMMA, KEY_KPCOMMA};
    tap(100, keys[_i]);
    tap(300, KEY_2);
    tap(500, KEY_KP5);
    tap(700, KEY_ENTER);
    bench_expect(&bench, "100 [.]\n300 [.2 in = 5080000]\n500 [.25 in = 6350000]\n"
                         "700 [.25 in = 6350000, sent]\n700 to 6350000\n");
}
END_TEST

START_TEST(a_bare_decimal_is_in_the_pedal_s_unit)
{
    bench_begin(&bench, LENGTH_STYLE_MM);
    tap(100, KEY_KP9);
    tap(300, KEY_KPDOT);
    tap(500, KEY_KP5);
    tap(700, KEY_KPENTER);
    bench_expect(&bench, "100 [9 mm = 9000000]\n300 [9.]\n500 [9.5 mm = 9500000]\n"
                         "700 [9.5 mm = 9500000, sent]\n700 to 9500000\n");
}
END_TEST

START_TEST(a_fraction_is_inches_in_a_millimetre_shop_too)
{
    bench_begin(&bench, LENGTH_STYLE_MM);
    tap(100, KEY_KP3);
    tap(300, KEY_KPSLASH);
    tap(500, KEY_KP8);
    tap(700, KEY_KPENTER);
    bench_expect(&bench, "100 [3 mm = 3000000]\n300 [3/]\n500 [3/8 in = 9525000]\n"
                         "700 [3/8 in = 9525000, sent]\n700 to 9525000\n");
}
END_TEST

START_TEST(a_fraction_with_a_decimal_is_refused_in_a_millimetre_shop)
{
    static const unsigned keys[] = {KEY_1, KEY_SLASH, KEY_4, KEY_MINUS, KEY_DOT, KEY_0, KEY_3};
    bench_begin(&bench, LENGTH_STYLE_MM);
    for (int i = 0; i < 7; i++) {
        tap(100 + 100 * i, keys[i]);
    }
    bench.used = 0;
    tap(900, KEY_ENTER);
    bench_expect(&bench, "900 [1/4-.03]\n");
}
END_TEST

START_TEST(minus_is_a_sign_and_joins_a_mixed_number)
{
    static const unsigned keys[] = {KEY_KPMINUS, KEY_1, KEY_MINUS, KEY_7, KEY_SLASH, KEY_1, KEY_6};
    for (int i = 0; i < 7; i++) {
        tap(100 + 100 * i, keys[i]);
    }
    bench.used = 0;
    tap(900, KEY_ENTER);
    bench_expect(&bench, "900 [-1-7/16 in = -36512500, sent]\n900 to -36512500\n");
}
END_TEST

START_TEST(what_is_typed_clears_10_s_behind_the_last_key)
{
    tap(1000, KEY_KP1);
    tap(9000, KEY_KP2);
    bench_to(&bench, 18999);
    bench_expect(&bench, "1000 [1 in = 25400000, hold]\n9000 [12 in = 304800000, hold]\n");
    bench_to(&bench, 19000);
    bench_expect(&bench, "19000 [cleared]\n");
    tap(19100, KEY_KPENTER);
    bench_to(&bench, 60000);
    bench_expect(&bench, "");
}
END_TEST

START_TEST(enter_just_within_10_s_sends_it)
{
    tap(1000, KEY_0);
    tap(10999, KEY_ENTER);
    bench_expect(&bench, "1000 [0 in = 0]\n10999 [0 in = 0, sent]\n10999 to 0\n");
}
END_TEST

START_TEST(clear_keys_clear)
{
    static const unsigned keys[] = {KEY_BACKSPACE, KEY_DELETE, KEY_ESC, KEY_CLEAR};
    tap(100, KEY_1);
    tap(200, keys[_i]);
    tap(300, KEY_ENTER);
    bench_expect(&bench, "100 [1 in = 25400000, hold]\n200 [cleared]\n");
}
END_TEST

START_TEST(what_is_no_height_is_not_sent)
{
    tap(100, KEY_1);
    tap(200, KEY_SLASH);
    tap(300, KEY_0);
    tap(400, KEY_ENTER);
    bench_expect(&bench, "100 [1 in = 25400000, hold]\n200 [1/]\n300 [1/0]\n400 [1/0]\n");
}
END_TEST

START_TEST(fingers_overlap_when_they_type)
{
    key(100, KEY_KP1, true);
    key(150, KEY_KPSLASH, true);
    key(170, KEY_KP1, false);
    key(200, KEY_KP4, true);
    key(250, KEY_KPSLASH, false);
    key(260, KEY_KP4, false);
    tap(400, KEY_KPENTER);
    bench_expect(&bench, "100 [1 in = 25400000, hold]\n150 [1/]\n200 [1/4 in = 6350000]\n"
                         "400 [1/4 in = 6350000, sent]\n400 to 6350000\n");
}
END_TEST

START_TEST(enter_while_a_digit_is_down_sends_nothing)
{
    key(100, KEY_KP0, true);
    key(200, KEY_KPENTER, true);
    key(250, KEY_KPENTER, false);
    key(260, KEY_KP0, false);
    bench_expect(&bench, "100 [0 in = 0]\n200 stop\n");
    tap(400, KEY_KPENTER); /* it is still there */
    bench_expect(&bench, "400 [0 in = 0, sent]\n400 to 0\n");
}
END_TEST

START_TEST(another_action_clears_what_is_typed)
{
    static const struct action nudge = {.kind = ACTION_NUDGE, .nm = 50800};
    tap(100, KEY_1);
    bench_key(&bench, 300, 0, KEY_A, &nudge, true);
    bench_expect(&bench, "100 [1 in = 25400000, hold]\n300 [cleared]\n300 by 50800\n");
}
END_TEST

START_TEST(a_key_pressed_while_the_lift_moves_types_nothing)
{
    bench_lift(&bench, 50, true, 0);
    tap(100, KEY_1);
    bench_expect(&bench, "100 stop\n");
}
END_TEST

START_TEST(no_height_is_longer_than_there_is_room_for)
{
    for (int i = 0; i < TYPED_SIZE - 1; i++) {
        tap(100 + 100 * i, KEY_1);
    }
    bench.used = 0;
    tap(100 * TYPED_SIZE, KEY_1);
    bench_expect(&bench, "2500 [cleared]\n");
}
END_TEST

/* --- A large rise --- */

static void type_half_and_a_bit(void)
{
    tap(100, KEY_DOT);
    tap(200, KEY_5);
    tap(300, KEY_0);
    tap(400, KEY_1);
    bench.used = 0;
}

START_TEST(a_rise_of_just_half_an_inch_need_not_be_held)
{
    bench_lift(&bench, 50, false, 25400); /* .001 in */
    type_half_and_a_bit();
    tap(500, KEY_ENTER);
    bench_to(&bench, 2000);
    bench_expect(&bench, "500 [.501 in = 12725400, sent]\n500 to 12725400\n");
}
END_TEST

START_TEST(a_larger_rise_goes_while_enter_is_held)
{
    type_half_and_a_bit();
    key(500, KEY_ENTER, true);
    bench_lift(&bench, 510, true, 0);
    bench_to(&bench, 1500);
    key(1500, KEY_ENTER, false);
    bench_refuse(&bench, 1600, GATE_TO, "stopped", "Stopped.");
    bench_to(&bench, 3000);
    bench_expect(&bench, "500 [.501 in = 12725400, hold, sent]\n500 to 12725400\n1500 stop\n");
}
END_TEST

START_TEST(a_larger_rise_that_has_arrived_needs_no_stop)
{
    type_half_and_a_bit();
    key(500, KEY_ENTER, true);
    bench_lift(&bench, 510, true, 0);
    bench_lift(&bench, 1400, false, 12725400);
    bench_answer(&bench, 1400, GATE_TO, NULL);
    key(1500, KEY_ENTER, false);
    bench_to(&bench, 3000);
    bench_expect(&bench, "500 [.501 in = 12725400, hold, sent]\n500 to 12725400\n");
}
END_TEST

START_TEST(any_fall_need_not_be_held)
{
    bench_lift(&bench, 50, false, 76200000);
    type_half_and_a_bit();
    tap(500, KEY_ENTER);
    bench_to(&bench, 2000);
    bench_expect(&bench, "500 [.501 in = 12725400, sent]\n500 to 12725400\n");
}
END_TEST

START_TEST(from_a_height_that_is_not_known_enter_must_be_held)
{
    gate_told(&bench.gate, 0, &(struct gate_lift){0});
    tap(100, KEY_0);
    key(500, KEY_ENTER, true);
    key(600, KEY_ENTER, false);
    bench_expect(&bench, "100 [0 in = 0, hold]\n500 [0 in = 0, hold, sent]\n500 to 0\n600 stop\n");
}
END_TEST

START_TEST(unplugging_stops_a_held_rise_and_clears)
{
    type_half_and_a_bit();
    key(500, KEY_ENTER, true);
    gate_gone(&bench.gate, 0);
    bench_expect(&bench, "500 [.501 in = 12725400, hold, sent]\n500 to 12725400\n500 stop\n");
    bench_refuse(&bench, 600, GATE_TO, "stopped", "Stopped.");
    tap(5000, KEY_1);
    bench.used = 0;
    gate_gone(&bench.gate, 0);
    bench_expect(&bench, "5060 [cleared]\n");
}
END_TEST

START_TEST(the_daemon_going_away_clears)
{
    tap(100, KEY_0);
    bench.used = 0;
    gate_lost(&bench.gate);
    bench_expect(&bench, "160 [cleared]\n");
}
END_TEST

/* --- What is seen --- */

START_TEST(it_is_shown_large_with_its_unit_and_in_a_plain_line)
{
    struct say say = {0};
    const struct gate_shown shown = {
        .state = GATE_TYPING, .text = "1/4", .unit = "in", .read = true, .nm = 6350000};
    big_shown(&say, &shown, LENGTH_STYLE_64, true);
    ck_assert_str_eq(say.text, "\n"
                               "  #        #  #  #       #        \n"
                               " ##       #   #  #                \n"
                               "  #      #    #####      #  ###   \n"
                               "  #     #        #       #  #  #  \n"
                               " ###   #         #       #  #  #  \n"
                               "Typed 1/4: 1/4in (6.35mm). Enter within 10 s sends it.\n");
}
END_TEST

START_TEST(a_log_gets_the_plain_line_only)
{
    struct say say = {0};
    struct gate_shown shown = {.state = GATE_TYPING,
                               .text = "20",
                               .unit = "mm",
                               .read = true,
                               .nm = 20000000,
                               .must_hold = true};
    big_shown(&say, &shown, LENGTH_STYLE_MM, false);
    ck_assert_str_eq(say.text,
                     "Typed 20: 20mm (.7874in). A rise of more than 1/2in: Enter, held down until "
                     "it is there, within 10 s sends it.\n");
    say = (struct say){0};
    shown.state = GATE_SENT;
    big_shown(&say, &shown, LENGTH_STYLE_MM, false);
    ck_assert_str_eq(say.text, "To 20mm (.7874in); no work on or over the bit. Hold Enter down "
                               "until it is there.\n");
    say = (struct say){0};
    shown.state = GATE_CLEARED;
    big_shown(&say, &shown, LENGTH_STYLE_MM, true);
    ck_assert_str_eq(say.text, "Cleared: no height is typed.\n");
}
END_TEST

/* A shape that is missing, or rows that differ in width, would garble what is read from afar. */
START_TEST(every_character_that_can_be_typed_has_a_shape)
{
    static const char *const all = "0123456789.-/ inm";
    for (const char *at = all; *at; at++) {
        struct say say = {0};
        big_text(&say, (char[]){*at, '\0'});
        size_t width = strcspn(say.text, "\n");
        ck_assert_uint_gt(width, 2);
        const char *row = say.text;
        for (int i = 0; i < BIG_ROWS; i++) {
            ck_assert_uint_eq(strcspn(row, "\n"), width);
            row += width + 1;
        }
        ck_assert_str_eq(row, "");
    }
}
END_TEST

static Suite *typed_suite(void)
{
    Suite *suite = suite_create("pedal-typed");
    TCase *typing = tcase_create("typing");
    tcase_add_checked_fixture(typing, begin, NULL);
    tcase_add_test(typing, a_height_is_shown_as_it_is_typed_and_sent_by_enter);
    tcase_add_loop_test(typing, every_decimal_key_is_a_point, 0, 4);
    tcase_add_test(typing, a_bare_decimal_is_in_the_pedal_s_unit);
    tcase_add_test(typing, who_has_chosen_no_unit_has_the_shop_s_from_the_first_figure_on);
    tcase_add_test(typing, a_fraction_is_inches_in_a_millimetre_shop_too);
    tcase_add_test(typing, a_fraction_with_a_decimal_is_refused_in_a_millimetre_shop);
    tcase_add_test(typing, minus_is_a_sign_and_joins_a_mixed_number);
    tcase_add_test(typing, what_is_typed_clears_10_s_behind_the_last_key);
    tcase_add_test(typing, enter_just_within_10_s_sends_it);
    tcase_add_loop_test(typing, clear_keys_clear, 0, 4);
    tcase_add_test(typing, what_is_no_height_is_not_sent);
    tcase_add_test(typing, fingers_overlap_when_they_type);
    tcase_add_test(typing, enter_while_a_digit_is_down_sends_nothing);
    tcase_add_test(typing, another_action_clears_what_is_typed);
    tcase_add_test(typing, a_key_pressed_while_the_lift_moves_types_nothing);
    tcase_add_test(typing, no_height_is_longer_than_there_is_room_for);
    suite_add_tcase(suite, typing);
    TCase *rise = tcase_create("rise");
    tcase_add_checked_fixture(rise, begin, NULL);
    tcase_add_test(rise, a_rise_of_just_half_an_inch_need_not_be_held);
    tcase_add_test(rise, a_larger_rise_goes_while_enter_is_held);
    tcase_add_test(rise, a_larger_rise_that_has_arrived_needs_no_stop);
    tcase_add_test(rise, any_fall_need_not_be_held);
    tcase_add_test(rise, from_a_height_that_is_not_known_enter_must_be_held);
    tcase_add_test(rise, unplugging_stops_a_held_rise_and_clears);
    tcase_add_test(rise, the_daemon_going_away_clears);
    suite_add_tcase(suite, rise);
    TCase *seen = tcase_create("seen");
    tcase_add_test(seen, it_is_shown_large_with_its_unit_and_in_a_plain_line);
    tcase_add_test(seen, a_log_gets_the_plain_line_only);
    tcase_add_test(seen, every_character_that_can_be_typed_has_a_shape);
    suite_add_tcase(suite, seen);
    return suite;
}

int main(void)
{
    return run_suite(typed_suite());
}
