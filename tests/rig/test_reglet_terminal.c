/* SPDX-License-Identifier: MIT */
/* The real reglet on a terminal of its own: its questions, and the keys that are held. */
#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/rig/reglet_run.h"
#include "tests/suite.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

enum { FRESH_MS = 1500 }; /* without a key: the next is a fresh press */

static double true_count(struct rig *rig)
{
    cJSON *truth = rig_ask(rig, "truth");
    double count = rig_number(truth, "count");
    cJSON_Delete(truth);
    return count;
}

static bool moves(struct rig *rig)
{
    cJSON *truth = rig_ask(rig, "truth");
    bool moving = cJSON_IsTrue(cJSON_GetObjectItem(truth, "moving"));
    cJSON_Delete(truth);
    return moving;
}

START_TEST(on_a_terminal_it_asks_and_does_nothing_without_a_yes)
{
    static struct reglet run;
    static const struct {
        const char *line;
        const char *asks;
        const char *reply;
        int code;
    } questions[] = {
        {"find-top", "hands away? [y/N]", "n\n", 1},
        {"correct .002", "Correct by that? [y/N]", "\n", 1},
        {"correct .040", "Correct by that? [y/N]", "y\n", -1},
        {"change", "fence must be clear", "no\n", 1},
        {"fit", "wrenches off", "nonsense\n", 1},
        {"change", "Have you looked, and is it so? [y/N]", "\003", 4},
        {"correct .002", "Raise .002in (0.0508mm).", "yes\n", 0},
        {"change", "Have you looked, and is it so? [y/N]", "y\n", 0},
        {"fit", "Have you looked, and is it so? [y/N]", "y\n", 0},
    };
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (size_t i = 0; i < COUNT(questions); i++) {
        double before = true_count(&rig);
        reglet_start(&run, &rig, questions[i].line, true);
        reglet_await(&run, questions[i].asks);
        reglet_await(&run, "[y/N] ");
        reglet_type(&run, questions[i].reply);
        if (questions[i].code < 0) { /* it asks again */
            reglet_await(&run, "over 1/32in. Correct by so much? [y/N] ");
            reglet_type(&run, "n\n");
        }
        reglet_await(&run, NULL);
        ck_assert_msg(run.code == (questions[i].code < 0 ? 1 : questions[i].code), "%s: %d\n%s",
                      questions[i].line, run.code, run.err);
        ck_assert(run.code == 0 || true_count(&rig) == before);
        reglet_close(&run);
    }
    expect_status(&rig, rig.client, "stage", "fitted");
    rig_end(&rig);
}
END_TEST

/* Keeps a key pressed for so many steps of time; after the first it repeats. */
static void press(struct reglet *run, const char *key, int steps)
{
    for (int i = 0; i < steps; i++) {
        reglet_type(run, key);
        ck_assert(reglet_goes_on(run));
    }
}

/* Is it in the state in which a shell reads its lines? Looked at from its other end. */
static bool reads_lines(const struct reglet *run)
{
    struct termios now;
    ck_assert_int_eq(tcgetattr(run->terminal, &now), 0);
    tcflag_t lines = now.c_lflag & (tcflag_t)(ICANON | ECHO);
    ck_assert(lines == 0 || lines == (ICANON | ECHO));
    return lines != 0;
}

static void start_hold(struct reglet *run, struct rig *rig, const char *line)
{
    reglet_start(run, rig, line, true);
    run->paced = true;
    reglet_await(run, "Hold the space bar");
    press(run, " ", 1); /* by then it reads keys */
    press(run, "", FRESH_MS / REGLET_STEP_MS);
    ck_assert(!reads_lines(run));
}

/* Until it moves. On a machine that is slow a repeat may come too late: then it is pressed anew. */
static void press_until_moving(struct reglet *run, const char *key)
{
    for (int attempt = 0; attempt < 10; attempt++) {
        for (int i = 0; i < 50; i++) {
            press(run, key, 1);
            if (moves(run->rig)) {
                return;
            }
        }
        press(run, "", FRESH_MS / REGLET_STEP_MS);
    }
    ck_abort_msg("it does not move; it says:\n%s", run->err);
}

START_TEST(a_held_key_moves_and_one_let_go_brakes)
{
    static struct reglet run;
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    double from = true_count(&rig);
    start_hold(&run, &rig, "hold up");
    ck_assert_double_eq(true_count(&rig), from); /* a tap does nothing */
    press_until_moving(&run, "\033[A");
    reglet_await(&run, "above the table"); /* where it rests */
    ck_assert(!moves(&rig));
    double rest = true_count(&rig);
    ck_assert_double_gt(rest, from);
    rig_run(&rig, 1000);
    ck_assert_double_eq(true_count(&rig), rest);
    /* Somebody says stop: the repeats that go on move nothing. */
    press_until_moving(&run, "x");
    expect_done(rig_call(&rig, "stop", NULL));
    press(&run, "x", 12);
    ck_assert(!moves(&rig));
    ck_assert_ptr_nonnull(strstr(run.err, "press anew"));
    reglet_type(&run, "q");
    reglet_await(&run, NULL);
    ck_assert_int_eq(run.code, 0);
    ck_assert(reads_lines(&run));
    expect_agreement(&rig);
    reglet_close(&run);
    rig_end(&rig);
}
END_TEST

START_TEST(a_hold_is_refused_and_ctrl_c_lets_go)
{
    static struct reglet run;
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    start_hold(&run, &rig, "hold down fast");
    press_until_moving(&run, " ");
    reglet_type(&run, "\003");
    reglet_await(&run, NULL);
    ck_assert_int_eq(run.code, 4);
    ck_assert(!moves(&rig));
    ck_assert(reads_lines(&run));
    reglet_close(&run);
    rig_tell(&rig, "lock on");
    rig_run(&rig, 300);
    start_hold(&run, &rig, "hold up");
    for (int i = 0; i < 10; i++) { /* held on while it ends: the shell gets none of it */
        reglet_type(&run, " ");
        (void)reglet_goes_on(&run);
    }
    reglet_await(&run, NULL);
    ck_assert_int_eq(run.code, 1);
    ck_assert_ptr_nonnull(strstr(run.err, "locked"));
    ck_assert(reads_lines(&run));
    reglet_close(&run);
    rig_end(&rig);
}
END_TEST

START_TEST(a_second_signal_leaves_at_once_and_sets_the_terminal_back)
{
    static struct reglet run;
    struct rig rig;
    int status;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    start_hold(&run, &rig, "hold down fast");
    press_until_moving(&run, " ");
    ck_assert_int_eq(kill(rig.daemon, SIGSTOP), 0); /* the rest is waited for in vain */
    ck_assert_int_eq(kill(run.child, SIGINT), 0);
    pid_t ended = 0;
    for (int i = 0; ended == 0; i++) { /* on a busy machine it may hear two as one */
        nanosleep(&(struct timespec){.tv_nsec = 500000000}, NULL);
        ended = waitpid(run.child, &status, WNOHANG);
        ck_assert(ended == 0 || i > 0);
        ck_assert(ended != 0 || kill(run.child, SIGINT) == 0);
    }
    ck_assert_int_eq(ended, run.child);
    ck_assert_int_eq(kill(rig.daemon, SIGCONT), 0);
    reglet_listen(&run);
    ck_assert_int_eq(WEXITSTATUS(status), 4);
    ck_assert_ptr_nonnull(strstr(run.err, "Left without waiting"));
    ck_assert(reads_lines(&run));
    reglet_close(&run);
    rig_run(&rig, 1000);
    ck_assert(!moves(&rig));
    rig_end(&rig);
}
END_TEST

START_TEST(without_a_height_it_says_how_far_the_bit_came)
{
    static struct reglet run;
    struct rig rig;
    rig_start(&rig, true, 1);
    start_hold(&run, &rig, "hold down --unit mm");
    press_until_moving(&run, " ");
    reglet_await(&run, "lower than when you began");
    ck_assert_ptr_nonnull(strstr(run.err, "HEIGHT NOT KNOWN"));
    double lower_mm = 0;
    for (const char *at = run.err; (at = strstr(at, "\n  ")) != NULL; at++) {
        (void)sscanf(at, "\n  %lf", &lower_mm);
    }
    /* 2 mm a turn, 1600 steps a turn: the practice lift's; its count begins at 0 (down is less) */
    ck_assert_double_le(fabs(lower_mm + true_count(&rig) * 2 / 1600), 0.002);
    reglet_type(&run, "\r");
    reglet_await(&run, NULL);
    ck_assert_int_eq(run.code, 0);
    reglet_close(&run);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("reglet_terminal");
    TCase *cases = tcase_create("reglet_terminal");
    tcase_set_timeout(cases, 240);
    tcase_add_test(cases, on_a_terminal_it_asks_and_does_nothing_without_a_yes);
    tcase_add_test(cases, a_held_key_moves_and_one_let_go_brakes);
    tcase_add_test(cases, a_hold_is_refused_and_ctrl_c_lets_go);
    tcase_add_test(cases, a_second_signal_leaves_at_once_and_sets_the_terminal_back);
    tcase_add_test(cases, without_a_height_it_says_how_far_the_bit_came);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
