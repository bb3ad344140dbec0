/* SPDX-License-Identifier: MIT */
/* The legs of a move, checked by moving a nut in its play along them. */
#include <check.h>
#include <inttypes.h>

#include "daemon/motion/plan.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum { LASH = 160, TAKE_UP = 364, LOW = -30000, HIGH = 30000 };

static const struct plan_limits limits = {LOW, HIGH, TAKE_UP, LASH, PLAN_UPWARD};

/* The carriage as it truly is: pushed up by the nut's lower flank, pulled down by the upper. */
static int32_t carriage_after(int32_t carriage, int32_t nut)
{
    carriage = carriage < nut ? nut : carriage;
    return carriage > nut + LASH ? nut + LASH : carriage;
}

static struct play taken_up(void)
{
    return (struct play){.known = true, .slack_steps = 0, .risen_steps = TAKE_UP};
}

START_TEST(the_cases_by_hand)
{
    struct plan plan;
    struct play up = taken_up();
    struct play unknown;
    play_forget(&unknown, LASH);
    ck_assert_int_eq(plan_move(&plan, &limits, &up, 0, 1), PLAN_MADE); /* up: one leg */
    ck_assert_int_eq(plan.legs, 1);
    ck_assert_int_eq(plan_move(&plan, &limits, &up, 5, 5), PLAN_MADE); /* there already */
    ck_assert_int_eq(plan.legs, 0);
    ck_assert_int_eq(plan_move(&plan, &limits, &up, 0, -1), PLAN_MADE); /* down: below, then up */
    ck_assert_int_eq(plan.legs, 2);
    ck_assert_int_eq(plan.end[0], -1 - TAKE_UP);
    ck_assert_int_eq(plan.end[1], -1);
    ck_assert_int_eq(plan_move(&plan, &limits, &unknown, 0, 0), PLAN_MADE); /* take it up here */
    ck_assert_int_eq(plan.legs, 2);
    ck_assert_int_eq(plan_move(&plan, &limits, &unknown, 0, TAKE_UP), PLAN_MADE);
    ck_assert_int_eq(plan.legs, 1); /* long enough to take it up on the way */
    ck_assert_int_eq(plan_move(&plan, &limits, &unknown, 0, TAKE_UP - 1), PLAN_MADE);
    ck_assert_int_eq(plan.legs, 2);
    ck_assert_int_eq(plan_move(&plan, &limits, &up, 0, HIGH + 1), PLAN_ABOVE);
    ck_assert_int_eq(plan_move(&plan, &limits, &up, 0, LOW - 1), PLAN_BELOW);
    ck_assert_int_eq(plan_move(&plan, &limits, &up, 0, LOW + TAKE_UP), PLAN_MADE);
    ck_assert_int_eq(plan_move(&plan, &limits, &up, 0, LOW + TAKE_UP - 1), PLAN_NO_ROOM);
}
END_TEST

/* Down by hand: the nut ends by the lash lower than the carriage, whose upper flank carries it. */
START_TEST(the_cases_from_above_by_hand)
{
    const struct plan_limits down = {LOW, HIGH, TAKE_UP, LASH, PLAN_DOWNWARD};
    struct plan plan;
    struct play sunk = {.known = true, .slack_steps = LASH, .risen_steps = -TAKE_UP};
    struct play up = taken_up();
    ck_assert_int_eq(plan_move(&plan, &down, &sunk, 0, LASH - 1), PLAN_MADE); /* down: one leg */
    ck_assert_int_eq(plan.legs, 1);
    ck_assert_int_eq(plan.end[0], -1);
    ck_assert_int_eq(plan_move(&plan, &down, &sunk, 0, LASH), PLAN_MADE); /* there already */
    ck_assert_int_eq(plan.legs, 0);
    ck_assert_int_eq(plan_move(&plan, &down, &sunk, 0, LASH + 1), PLAN_MADE); /* above, then down */
    ck_assert_int_eq(plan.legs, 2);
    ck_assert_int_eq(plan.end[0], 1 + TAKE_UP);
    ck_assert_int_eq(plan.end[1], 1);
    ck_assert_int_eq(plan_move(&plan, &down, &up, TAKE_UP, LASH), PLAN_MADE); /* long enough */
    ck_assert_int_eq(plan.legs, 1);
    ck_assert_int_eq(plan.end[0], 0);
    ck_assert_int_eq(plan_move(&plan, &down, &up, TAKE_UP - 1, LASH), PLAN_MADE);
    ck_assert_int_eq(plan.legs, 2);
    ck_assert_int_eq(plan_move(&plan, &down, &sunk, 0, HIGH - TAKE_UP + LASH), PLAN_MADE);
    ck_assert_int_eq(plan_move(&plan, &down, &sunk, 0, HIGH - TAKE_UP + LASH + 1), PLAN_NO_ROOM);
    ck_assert_int_eq(plan_move(&plan, &down, &sunk, 0, LOW + LASH), PLAN_MADE);
    ck_assert_int_eq(plan_move(&plan, &down, &sunk, 0, LOW + LASH - 1), PLAN_NO_ROOM);
}
END_TEST

START_TEST(from_either_side_no_way_is_made_twice)
{
    const struct plan_limits either = {LOW, HIGH, TAKE_UP, LASH, PLAN_EITHER};
    struct plan plan;
    struct play up = taken_up();
    struct play half = {.known = true, .slack_steps = LASH / 2};
    struct play unknown;
    play_forget(&unknown, LASH);
    ck_assert_int_eq(plan_move(&plan, &either, &up, 0, 1), PLAN_MADE);
    ck_assert_int_eq(plan.end[0], 1);
    ck_assert_int_eq(plan_move(&plan, &either, &up, 0, -1), PLAN_MADE);
    ck_assert_int_eq(plan.legs, 1);
    ck_assert_int_eq(plan.end[0], -1 - LASH);
    ck_assert_int_eq(plan_move(&plan, &either, &half, 0, LASH / 2), PLAN_MADE);
    ck_assert_int_eq(plan.legs, 0);
    ck_assert_int_eq(plan_move(&plan, &either, &half, 0, LASH / 2 + 1), PLAN_MADE);
    ck_assert_int_eq(plan.end[0], LASH / 2 + 1);
    ck_assert_int_eq(plan_move(&plan, &either, &half, 0, LASH / 2 - 1), PLAN_MADE);
    ck_assert_int_eq(plan.end[0], LASH / 2 - 1 - LASH);
    ck_assert_int_eq(plan_move(&plan, &either, &unknown, 0, 1), PLAN_MADE); /* taken up first */
    ck_assert_int_eq(plan.legs, 2);
    ck_assert_int_eq(plan.end[1], 1);
}
END_TEST

/* Between these, wherever the nut is and lies in its play, every move has room. */
START_TEST(the_reach_is_where_every_move_has_room)
{
    for (int i = 0; i < 20000; i++) {
        struct plan_limits in = limits;
        in.finish = (enum plan_finish)(i % 3);
        int32_t low;
        int32_t high;
        struct plan plan;
        struct play play = {.known = below(2) == 0, .slack_steps = (int32_t)below(LASH + 1)};
        int32_t from = LOW + (int32_t)below(HIGH - LOW + 1);
        plan_reach(&in, &low, &high);
        int32_t to = i % 2 ? (below(2) ? low : high) : low + (int32_t)below((uint64_t)(high - low));
        ck_assert_int_eq(plan_move(&plan, &in, &play, from, to), PLAN_MADE);
        for (int leg = 0; leg < plan.legs; leg++) {
            ck_assert(plan.end[leg] >= LOW && plan.end[leg] <= HIGH);
        }
    }
}
END_TEST

/* Random moves, some of them stopped on the way: wherever the play says that it is taken up the
 * carriage lies on the nut; where it says that it knows, it is right; the carriage ends where it
 * was sent; a move that finishes upward never goes above its target when it began below it. */
static void go_at_random(enum plan_finish finish)
{
    const struct plan_limits in = {LOW, HIGH, TAKE_UP, LASH, finish};
    struct play play;
    play_forget(&play, LASH);
    int32_t nut = 0;
    int32_t carriage = (int32_t)below(LASH + 1);
    int done = 0;
    for (int i = 0; i < 200000; i++) {
        int32_t span = below(2) ? 400 : HIGH;
        int32_t to = nut + (int32_t)below(2 * (uint64_t)span + 1) - span;
        struct plan plan;
        if (plan_move(&plan, &in, &play, nut, to) != PLAN_MADE) {
            continue;
        }
        bool stopped = false;
        for (int leg = 0; leg < plan.legs && !stopped; leg++) {
            int32_t end = plan.end[leg];
            stopped = below(4) == 0;
            if (stopped) {
                end = nut + (int32_t)((int64_t)(end - nut) * (int64_t)below(101) / 100);
            }
            ck_assert(finish == PLAN_DOWNWARD || end <= to || end <= nut);
            play_moved(&play, nut, end, LASH);
            nut = end;
            carriage = carriage_after(carriage, nut);
        }
        ck_assert_int_le(carriage - nut, play.slack_steps);
        ck_assert(!play.known || carriage - nut == play.slack_steps);
        ck_assert(stopped || carriage == to);
        ck_assert(stopped || finish == PLAN_EITHER || plan_taken_up(&play, finish, LASH));
        done += stopped ? 0 : 1;
    }
    ck_assert_int_gt(done, 50000);
}

START_TEST(the_play_is_never_wrong_about_the_carriage)
{
    go_at_random(PLAN_UPWARD);
    go_at_random(PLAN_DOWNWARD);
    go_at_random(PLAN_EITHER);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("plan");
    TCase *cases = tcase_create("plan");
    tcase_add_test(cases, the_cases_by_hand);
    tcase_add_test(cases, the_cases_from_above_by_hand);
    tcase_add_test(cases, from_either_side_no_way_is_made_twice);
    tcase_add_test(cases, the_reach_is_where_every_move_has_room);
    tcase_add_test(cases, the_play_is_never_wrong_about_the_carriage);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
