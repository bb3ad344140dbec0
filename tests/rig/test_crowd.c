/* SPDX-License-Identifier: MIT */
/* Many at once while somebody holds the lift, and what a stop does however it is asked for. */
#include <check.h>
#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "protocol/local.h"
#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

enum { CROWD = 64, RENEW_MS = 50, HELD_MS = 3000 };

/* How many descriptors the daemon has open. */
static int descriptors(const struct rig *rig)
{
    char folder[64];
    int count = 0;
    snprintf(folder, sizeof folder, "/proc/%d/fd", (int)rig->daemon);
    DIR *list = opendir(folder);
    ck_assert_ptr_nonnull(list);
    while (readdir(list)) {
        count++;
    }
    closedir(list);
    return count;
}

/* Each of them wants the lift, or its time, or only half of a line. */
static void press(FILE *client, int kind)
{
    static char nested[LOCAL_LINE_MAX];
    memset(nested, '[', sizeof nested);
    nested[sizeof nested - 1] = '\n';
    static const char *const lines[] = {
        "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"hold\",\"params\":{\"direction\":\"up\"}}\n",
        "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"to\",\"params\":{\"height\":\"30mm\"}}\n",
        "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"renew\",\"params\":{\"token\":\"0\"}}\n",
        "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"watch\"}\n",
        "{\"jsonrpc\":\"2.0\",\"method\":\"by\",\"params\":{\"distance\":\"1mm\"}}\n",
        "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"status\"}\n",
        "{\"jsonrpc\":\"2.0\",",
    };
    enum { LINES = sizeof lines / sizeof *lines };
    if (kind % (LINES + 1) == LINES) {
        (void)!write(fileno(client), nested, sizeof nested);
        return;
    }
    for (int i = 0; i < 10; i++) {
        (void)dprintf(fileno(client), "%s", lines[kind % (LINES + 1)]);
    }
}

static void renew(struct rig *rig, const char *method, const char *token)
{
    char params[64];
    snprintf(params, sizeof params, "{\"token\":\"%s\"}", token);
    expect_done(rig_settle(rig, rig->client, rig_send(rig, rig->client, method, params)));
}

START_TEST(a_crowd_takes_the_lift_from_nobody_and_leaves_nothing_behind)
{
    struct rig rig;
    FILE *crowd[CROWD];
    char token[32];
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    int before = descriptors(&rig);
    for (int i = 0; i < CROWD; i++) {
        crowd[i] = rig_connect(&rig);
    }
    cJSON *answer = rig_answer(rig.client, rig_send(&rig, rig.client, "hold",
                                                    "{\"direction\":\"up\",\"speed\":\"slow\"}"));
    const cJSON *result = cJSON_GetObjectItem(answer, "result");
    ck_assert_msg(result != NULL, "refused: %s", rig_reason(answer));
    snprintf(token, sizeof token, "%s", cJSON_GetObjectItem(result, "token")->valuestring);
    cJSON_Delete(answer);
    for (int ms = 0; ms < HELD_MS; ms += RENEW_MS) {
        int turn = ms / RENEW_MS;
        for (int i = 0; i < CROWD; i++) {
            press(crowd[i], i + turn);
        }
        fclose(crowd[turn % CROWD]); /* with answers to come, or in mid-line */
        crowd[turn % CROWD] = rig_connect(&rig);
        rig_run(&rig, RENEW_MS);
        char params[64];
        snprintf(params, sizeof params, "{\"token\":\"%s\"}", token);
        expect_done(rig_answer(rig.client, rig_send(&rig, rig.client, "renew", params)));
    }
    expect_status(&rig, rig.client, "activity", "moving");
    renew(&rig, "release", token);
    expect_agreement(&rig);
    for (int i = 0; i < CROWD; i++) {
        fclose(crowd[i]);
    }
    cJSON_Delete(rig_call(&rig, "hello", NULL));
    rig_run(&rig, 100);
    ck_assert_int_eq(descriptors(&rig), before);
    rig_end(&rig);
}
END_TEST

/* Sends a stop in that form while the lift moves; it brakes. */
static void stop_by(struct rig *rig, FILE *other, const char *line)
{
    int move = rig_send(rig, rig->client, "to", "{\"height\":\"12mm\"}");
    cJSON_Delete(rig_answer(rig->client, rig_send(rig, rig->client, "hello", NULL)));
    rig_run(rig, 300);
    expect_status(rig, rig->client, "activity", "moving");
    ck_assert_int_gt(dprintf(fileno(other), "%s\n", line), 0);
    cJSON_Delete(rig_answer(other, rig_send(rig, other, "hello", NULL)));
    expect_reason(rig_settle(rig, rig->client, move), "stopped");
    expect_agreement(rig);
    expect_done(rig_call(rig, "to", "{\"height\":\"0mm\"}"));
}

START_TEST(a_stop_brakes_whatever_else_is_wrong_with_it)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    FILE *other = rig_connect(&rig);
    static const char *const lines[] = {
        "{\"jsonrpc\":\"2.0\",\"id\":\"s\",\"method\":\"stop\"}",
        "{\"jsonrpc\":\"2.0\",\"method\":\"stop\"}", /* nobody waits for its answer */
        "{\"jsonrpc\":\"2.0\",\"id\":\"s\",\"method\":\"stop\",\"params\":[]}",
        "{\"jsonrpc\":\"2.0\",\"id\":\"s\",\"method\":\"stop\",\"params\":{\"wait\":false}}",
        "{\"jsonrpc\":\"2.0\",\"id\":\"s\",\"method\":\"stop\",\"params\":[1,2]}",
        "[{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"stop\"},{\"x\":1}]",
    };
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        stop_by(&rig, other, lines[i]);
    }
    fclose(other);
    rig_end(&rig);
}
END_TEST

START_TEST(stop_and_watch_say_what_is_wrong_with_them)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    static const char *const methods[] = {"stop", "watch"};
    for (size_t i = 0; i < sizeof methods / sizeof *methods; i++) {
        cJSON *answer = rig_call(&rig, methods[i], "{\"wait\":false}");
        const cJSON *error = cJSON_GetObjectItem(answer, "error");
        ck_assert_int_eq(cJSON_GetObjectItem(error, "code")->valueint, LOCAL_INVALID_PARAMS);
        ck_assert_str_eq(cJSON_GetObjectItem(error, "message")->valuestring,
                         "Found a parameter 'wait'; none would do.");
        cJSON_Delete(answer);
    }
    rig_run(&rig, 2500); /* that watch was none: no sign of life comes */
    cJSON *heard = rig_heard(&rig, rig.client);
    ck_assert_int_eq(cJSON_GetArraySize(heard), 0);
    cJSON_Delete(heard);
    expect_done(rig_call(&rig, "stop", NULL)); /* at rest it has nothing to do, and is no error */
    rig_tell(&rig, "unplug");
    rig_run(&rig, 100);
    expect_done(rig_call(&rig, "stop", NULL));
    expect_done(rig_call(&rig, "watch", NULL));
    expect_done(rig_call(&rig, "watch", NULL)); /* twice is once */
    cJSON_Delete(rig_heard(&rig, rig.client));
    rig_run(&rig, 2100);
    heard = rig_heard(&rig, rig.client);
    ck_assert_int_eq(cJSON_GetArraySize(heard), 2);
    cJSON_Delete(heard);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("crowd");
    TCase *cases = tcase_create("crowd");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, a_crowd_takes_the_lift_from_nobody_and_leaves_nothing_behind);
    tcase_add_test(cases, a_stop_brakes_whatever_else_is_wrong_with_it);
    tcase_add_test(cases, stop_and_watch_say_what_is_wrong_with_them);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
