/* SPDX-License-Identifier: MIT */
/* How the real reglet ends and what it answers: exit codes, --json, signals, what changes. */
#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/rig/reglet_run.h"
#include "tests/suite.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

static bool moves(struct rig *rig)
{
    cJSON *truth = rig_ask(rig, "truth");
    bool moving = cJSON_IsTrue(cJSON_GetObjectItem(truth, "moving"));
    cJSON_Delete(truth);
    return moving;
}

/* --- What it answers --- */

/* One JSON text on stdout and nothing on stderr. */
static cJSON *json_of(struct rig *rig, const char *line, int code)
{
    static struct reglet run;
    reglet_start(&run, rig, line, false);
    reglet_await(&run, NULL);
    ck_assert_msg(run.code == code, "reglet %s: %d\n%s%s", line, run.code, run.out, run.err);
    ck_assert_str_eq(run.err, "");
    ck_assert_ptr_eq(strchr(run.out, '\n'), run.out + strlen(run.out) - 1);
    cJSON *json = cJSON_Parse(run.out);
    ck_assert_msg(json != NULL, "reglet %s: %s", line, run.out);
    return json;
}

START_TEST(with_json_it_prints_the_answer_and_no_word)
{
    static const char *const statuses[] = {
        "--json",          "to 1/4 --json",    "up --json",         "by -1mm --json",
        "riding 0 --json", "stop --json",      "touch 1/8 --json",  "correct .002 --yes --json",
        "undo --json",     "confirm --yes -j", "find-top --yes -j", "all-clear --json",
        "wait still -j",   "to 1/8 --json",    "keep a --json",     "presets --json",
        "recall a --json", "calibrate --json", "forget a --yes -j", "change --yes --json",
        "fit --yes --json"};
    static const char *const refusals[][2] = {
        {"to 1/4 -j", "hold-first"},           {"under -j", "no-such-bit"},
        {"recall a -j", "no-such-preset"},     {"touch plate -j", "hold-first"},
        {"undo --json", "hold-first"},         {"forget a --yes --json", "no-such-preset"},
        {"here --top -j", "top-switch-fitted"}};
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (size_t i = 0; i < COUNT(statuses); i++) {
        cJSON *answer = json_of(&rig, statuses[i], 0);
        ck_assert_msg(cJSON_IsObject(answer) && !cJSON_HasObjectItem(answer, "code"), "%s",
                      statuses[i]);
        cJSON_Delete(answer);
    }
    for (size_t i = 0; i < COUNT(refusals); i++) {
        cJSON *error = json_of(&rig, refusals[i][0], 1);
        const cJSON *data = cJSON_GetObjectItem(error, "data");
        ck_assert_msg(cJSON_IsString(cJSON_GetObjectItem(data, "reason")), "%s", refusals[i][0]);
        ck_assert_str_eq(cJSON_GetObjectItem(data, "reason")->valuestring, refusals[i][1]);
        ck_assert_int_eq((int)rig_number(error, "code"), 1);
        cJSON_Delete(error);
    }
    rig_end(&rig);
}
END_TEST

START_TEST(with_json_the_answer_is_that_of_the_daemon_to_the_letter)
{
    static const struct {
        const char *line;
        const char *method;
        const char *params;
        int code;
        const char *begins;
    } pairs[] = {
        {"presets --json", "presets", NULL, 0, "{\"presets\":["},
        {"recall b --json", "recall", "{\"name\":\"b\"}", 1, "{\"code\":1,"},
    };
    static struct reglet run;
    static char line[REGLET_SAID_MAX];
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "keep", "{\"name\":\"a \\\"}] \\u00e9\",\"height\":\"1/3in\"}"));
    for (size_t i = 0; i < COUNT(pairs); i++) {
        (void)rig_send(&rig, rig.client, pairs[i].method, pairs[i].params);
        ck_assert_ptr_nonnull(fgets(line, sizeof line, rig.client));
        reglet_start(&run, &rig, pairs[i].line, false);
        reglet_await(&run, NULL);
        ck_assert_int_eq(run.code, pairs[i].code);
        run.out[strcspn(run.out, "\n")] = '\0';
        ck_assert_int_eq(strncmp(run.out, pairs[i].begins, strlen(pairs[i].begins)), 0);
        const char *value = strstr(line, run.out);
        ck_assert_msg(value != NULL, "%s is not in %s", run.out, line);
        ck_assert_str_eq(value + strlen(run.out), "}\n");
    }
    rig_end(&rig);
}
END_TEST

START_TEST(without_a_daemon_it_ends_with_3)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_end_daemon(&rig, SIGKILL);
    reglet_expect(&rig, "", 3, "Nothing answers at ");
    reglet_expect(&rig, "watch", 3, "Nothing answers at ");
    reglet_expect(&rig, "to 1/4 --socket /nowhere/reglet.sock", 3, "there is no such socket");
    rig_end(&rig);
}
END_TEST

/* The other behind it, at once: as coreutils' timeout does, which signals the program and then its
 * group. It is no second one. */
START_TEST(a_signal_in_mid_move_stops_the_lift_and_ends_with_4)
{
    static struct reglet run;
    static const int signals[] = {SIGINT, SIGTERM};
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (size_t i = 0; i < COUNT(signals); i++) {
        reglet_start(&run, &rig, i == 0 ? "to 30mm" : "to -20mm", false);
        while (!moves(&rig)) {
            ck_assert(reglet_goes_on(&run));
        }
        ck_assert_int_eq(kill(run.child, signals[i]), 0);
        ck_assert_int_eq(kill(run.child, signals[1 - i]), 0);
        reglet_await(&run, NULL);
        ck_assert_msg(run.code == 4, "%d\n%s%s", run.code, run.out, run.err);
        ck_assert_ptr_nonnull(strstr(run.err, "at rest"));
        ck_assert_ptr_nonnull(strstr(run.out, " the table"));
        ck_assert(!moves(&rig));
        expect_agreement(&rig);
    }
    rig_end(&rig);
}
END_TEST

START_TEST(a_motion_that_is_ended_by_another_ends_with_1)
{
    static struct reglet run;
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    reglet_start(&run, &rig, "to 30mm", false);
    while (!moves(&rig)) {
        ck_assert(reglet_goes_on(&run));
    }
    expect_done(rig_call(&rig, "stop", NULL));
    reglet_await(&run, NULL);
    ck_assert_int_eq(run.code, 1);
    ck_assert_ptr_nonnull(strstr(run.err, "Stopped"));
    rig_end(&rig);
}
END_TEST

/* --- What changes --- */

START_TEST(watch_says_each_change_on_a_line_until_it_is_interrupted)
{
    static struct reglet run;
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    reglet_start(&run, &rig, "watch", false);
    reglet_await(&run, "flush with the table");
    expect_done(rig_call(&rig, "to", "{\"height\":\"6mm\"}"));
    reglet_await(&run, "; moving   PRACTICE   TO 15/64 + .002in");
    reglet_await(&run, "  15/64 + .002in   (6mm)   above the table   PRACTICE\n");
    const char *moving = strstr(run.out, "; moving"); /* once, however often its lash changes */
    ck_assert_ptr_null(strstr(moving + 1, "; moving"));
    rig_tell(&rig, "lock on");
    reglet_await(&run, "CARRIAGE LOCKED\n");
    ck_assert_int_eq(kill(run.child, SIGINT), 0);
    reglet_await(&run, NULL);
    ck_assert_int_eq(run.code, 4);
    ck_assert_str_eq(run.err, "");
    reglet_start(&run, &rig, "watch --json", false);
    reglet_await(&run, "\"activity\":\"still\"");
    rig_tell(&rig, "lock off");
    reglet_await(&run, "\n{\"jsonrpc\":\"2.0\",\"method\":\"changed\"");
    reglet_await(&run, "\n{\"jsonrpc\":\"2.0\",\"method\":\"position\"");
    ck_assert_int_eq(kill(run.child, SIGINT), 0);
    reglet_await(&run, NULL);
    rig_end(&rig);
}
END_TEST

START_TEST(watch_ends_where_the_daemon_hangs_or_dies)
{
    static struct reglet run;
    struct rig rig;
    rig_start(&rig, true, 1);
    reglet_start(&run, &rig, "watch", false);
    reglet_await(&run, "HEIGHT NOT KNOWN");
    ck_assert_int_eq(kill(rig.daemon, SIGSTOP), 0);
    ck_assert_int_eq(waitpid(run.child, &(int){0}, WNOHANG), 0);
    int status;
    ck_assert_int_eq(waitpid(run.child, &status, 0), run.child); /* time stands still meanwhile */
    ck_assert_int_eq(kill(rig.daemon, SIGCONT), 0);
    reglet_listen(&run);
    ck_assert_int_eq(WEXITSTATUS(status), 3);
    ck_assert_ptr_nonnull(strstr(run.err, "said nothing for three seconds"));
    reglet_start(&run, &rig, "watch", false);
    reglet_await(&run, "HEIGHT NOT KNOWN");
    rig_end_daemon(&rig, SIGKILL);
    reglet_await(&run, NULL);
    ck_assert_int_eq(run.code, 3);
    rig_end(&rig);
}
END_TEST

START_TEST(wait_ends_when_the_state_is_there)
{
    static struct reglet run;
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    reglet_start(&run, &rig, "wait moving", false);
    for (int i = 0; i < 20; i++) {
        ck_assert(reglet_goes_on(&run));
    }
    expect_done(rig_call(&rig, "to", "{\"height\":\"6mm\"}"));
    reglet_await(&run, NULL);
    ck_assert_int_eq(run.code, 0);
    ck_assert_ptr_nonnull(strstr(run.out, "; moving"));
    rig_end(&rig);
}
END_TEST

/* `sure` is said of a lift that stands still. */
START_TEST(wait_sure_ends_behind_the_motion)
{
    static struct reglet run;
    struct rig rig;
    bool runs = true;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    int id = rig_send(&rig, rig.client, "to", "{\"height\":\"20mm\"}");
    while (!moves(&rig)) {
        rig_run(&rig, REGLET_STEP_MS);
    }
    reglet_start(&run, &rig, "wait sure", false);
    while (runs && moves(&rig)) {
        runs = reglet_goes_on(&run);
    }
    ck_assert(!moves(&rig));
    if (runs) {
        reglet_await(&run, NULL);
    }
    reglet_listen(&run);
    ck_assert_int_eq(run.code, 0);
    ck_assert_ptr_nonnull(strstr(run.out, "(20mm)   above the table"));
    expect_done(rig_settle(&rig, rig.client, id));
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("reglet_ends");
    TCase *cases = tcase_create("reglet_ends");
    tcase_set_timeout(cases, 240);
    tcase_add_test(cases, with_json_it_prints_the_answer_and_no_word);
    tcase_add_test(cases, with_json_the_answer_is_that_of_the_daemon_to_the_letter);
    tcase_add_test(cases, without_a_daemon_it_ends_with_3);
    tcase_add_test(cases, a_signal_in_mid_move_stops_the_lift_and_ends_with_4);
    tcase_add_test(cases, a_motion_that_is_ended_by_another_ends_with_1);
    tcase_add_test(cases, watch_says_each_change_on_a_line_until_it_is_interrupted);
    tcase_add_test(cases, watch_ends_where_the_daemon_hangs_or_dies);
    tcase_add_test(cases, wait_ends_when_the_state_is_there);
    tcase_add_test(cases, wait_sure_ends_behind_the_motion);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
