/* SPDX-License-Identifier: MIT */
/*
 * The loop closed: a practice lift with a hidden lead error (.3 %), lash (.18 mm), an error of .02
 * mm either way once a turn, and a readout with .003 mm of noise that counts hundredths of a
 * millimetre. The lift gauges itself, goes by what was found, and then every slip is caught and
 * none is made up.
 */
#include <check.h>
#include <inttypes.h>
#include <stdlib.h>

#include "tests/rig/readout_rig.h"
#include "tests/rig/reglet_run.h"
#include "tests/suite.h"

enum { HEIGHTS = 200, WORST_NM = 12000, FULL_STEP = 8, STEP_MS = 200, STEPS_MOST = 20000 };

static void hidden_start(struct rig *rig)
{
    readout_start_unmeasured(rig, "\"two_wire\": \"rising\"");
    gauge_hide(rig);
    rig_tell(rig, "set scale_noise_nm %d", NOISE_NM);
    rig_touch_off(rig);
}

/* As reglet_await, for what takes many minutes of the lift's time. */
static void await_end(struct reglet *run)
{
    int status;
    for (int i = 0; i < STEPS_MOST; i++) {
        rig_run(run->rig, STEP_MS);
        if (waitpid(run->child, &status, WNOHANG) == run->child) {
            run->code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
            reglet_listen(run);
            return;
        }
        nanosleep(&(struct timespec){.tv_nsec = 2000000}, NULL);
    }
    kill(run->child, SIGKILL);
    ck_abort_msg("the gauging does not end");
}

static void gauge_itself(struct rig *rig, const char *line)
{
    static struct reglet run;
    reglet_start(&run, rig, line, false);
    await_end(&run);
    ck_assert_msg(run.code == 0, "%d: %s%s", run.code, run.out, run.err);
    cJSON *report = cJSON_Parse(run.out);
    ck_assert_ptr_nonnull(report);
    const cJSON *fit = cJSON_GetObjectItem(report, "fit");
    printf("scale %.6f, lash %.1f um, amplitude %.1f um, rest %.2f um\n", rig_number(fit, "scale"),
           rig_number(fit, "lash_nm") / 1000, rig_number(fit, "turn_amplitude_nm") / 1000,
           rig_number(fit, "residual_sd_nm") / 1000);
    ck_assert_double_eq_tol(rig_number(fit, "scale"), 1 + HIDDEN_LEAD_ERROR, 1e-4);
    ck_assert_double_eq_tol(rig_number(fit, "lash_nm"), HIDDEN_LASH_NM, 10000);
    cJSON_Delete(report);
}

/* What a move with a slip of so many full steps in its middle is answered with. */
static void expect_caught(struct rig *rig, int full_steps, uint64_t *seed)
{
    rig_touch_off(rig);
    expect_done(rig_call(rig, "to", "{\"height\":\"-15mm\"}"));
    int id = rig_send(rig, rig->client, "to", "{\"height\":\"15mm\"}");
    cJSON_Delete(rig_answer(rig->client, rig_send(rig, rig->client, "hello", NULL)));
    rig_run(rig, 700 + (int)rig_draw(seed, 1500));
    rig_tell(rig, "slip %d", full_steps * FULL_STEP);
    cJSON *answer = rig_settle(rig, rig->client, id);
    ck_assert_msg(strcmp(rig_reason(answer), "readout-apart") == 0, "a slip of %d full steps: '%s'",
                  full_steps, rig_reason(answer));
    cJSON_Delete(answer);
    expect_status(rig, rig->client, "table_zero", "lost");
    expect_done(rig_call(rig, "all-clear", NULL));
}

START_TEST(the_lift_gauges_itself_and_then_knows_when_it_slips)
{
    struct rig rig;
    uint64_t seed = rig_seed("the loop closed");
    const char *given = getenv("REGLET_MOVES");
    int moves = given ? atoi(given) : 2000;
    hidden_start(&rig);
    gauge_itself(&rig, "gauge --json --apply --yes");
    rig_touch_off(&rig);
    double worst = gauge_worst(&rig, &seed, HEIGHTS);
    printf("worst true error over %d heights: %.2f um\n", HEIGHTS, worst / 1000);
    ck_assert_double_lt(worst, WORST_NM);
    for (int i = 0; i < 6; i++) {
        expect_caught(&rig, (i % 3 + 1) * (i < 3 ? 4 : -4), &seed);
    }
    rig_touch_off(&rig);
    worst = gauge_worst(&rig, &seed, moves); /* fails where one is refused or ends early */
    printf("worst true error over %d moves: %.2f um\n", moves, worst / 1000);
    expect_status(&rig, rig.client, "table_zero", "sure");
    ck_assert_double_lt(worst, 20000);
    rig_end(&rig);
}
END_TEST

/* Fewer targets and runs are enough for a look; a scale that falls silent ends it, and is said. */
START_TEST(fewer_are_enough_for_a_look_and_a_silent_scale_ends_it)
{
    struct rig rig;
    static struct reglet run;
    hidden_start(&rig);
    reglet_start(&run, &rig, "gauge targets 5 runs 2 --yes -u mm", false);
    await_end(&run);
    ck_assert_msg(run.code == 0 && strstr(run.out, "5 targets, 2 runs"), "%d: %s%s", run.code,
                  run.out, run.err);
    reglet_start(&run, &rig, "gauge targets 5 runs 2 by readout --yes", false);
    for (int i = 0; i < 100; i++) {
        (void)reglet_goes_on(&run);
    }
    rig_tell(&rig, "scale off");
    await_end(&run);
    ck_assert_msg(run.code == 1 && strstr(run.err, "The readout is silent here"), "%d: %s",
                  run.code, run.err);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("gauge by the readout");
    TCase *cases = tcase_create("gauge by the readout");
    tcase_set_timeout(cases, 300);
    tcase_add_test(cases, the_lift_gauges_itself_and_then_knows_when_it_slips);
    tcase_add_test(cases, fewer_are_enough_for_a_look_and_a_silent_scale_ends_it);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
