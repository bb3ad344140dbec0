/* SPDX-License-Identifier: MIT */
/* The socket and those who come to it: the standard's own examples, the ill-behaved, strangers. */
#include <check.h>
#include <grp.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "protocol/local.h"
#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

enum { CROWD = 64 };

static void say(FILE *client, const char *text)
{
    size_t size = strlen(text);
    ck_assert_int_eq(write(fileno(client), text, size), (ssize_t)size);
}

/* One line that the daemon says; "" when the connection has ended. */
static const char *hear(FILE *client)
{
    static char line[2 * LOCAL_LINE_MAX];
    return fgets(line, sizeof line, client) ? line : "";
}

/* --- JSON-RPC 2.0 Specification, section 7, "Examples" --- */

/* What the code of one answer is: 0 for a result; its id, or -1 for null. */
static void expect_answer(const cJSON *answer, int code, int id)
{
    const cJSON *error = cJSON_GetObjectItem(answer, "error");
    const cJSON *named = cJSON_GetObjectItem(answer, "id");
    ck_assert_str_eq(cJSON_GetObjectItem(answer, "jsonrpc")->valuestring, "2.0");
    ck_assert_int_eq(error ? cJSON_GetObjectItem(error, "code")->valueint : 0, code);
    ck_assert_int_eq(cJSON_IsNull(named) ? -1 : named->valueint, id);
    ck_assert_int_eq(cJSON_HasObjectItem(answer, "result"), code == 0);
}

struct example {
    const char *line;
    int answers; /* 0: nothing comes; -1: one that is no array */
    struct {
        int code;
        int id;
    } answer[5];
};

/* The standard's methods are replaced by ours; its foobar and rpc.* are none here either. */
static const struct example examples[] = {
    /* rpc call with positional parameters; with named ones */
    {"{\"jsonrpc\": \"2.0\", \"method\": \"hello\", \"params\": [\"a\"], \"id\": 1}", -1, {{0, 1}}},
    {"{\"jsonrpc\": \"2.0\", \"method\": \"hello\", \"params\": {\"client\": \"a\"}, \"id\": 3}",
     -1,
     {{0, 3}}},
    /* a Notification */
    {"{\"jsonrpc\": \"2.0\", \"method\": \"hello\", \"params\": [\"a\"]}", 0, {{0, 0}}},
    {"{\"jsonrpc\": \"2.0\", \"method\": \"foobar\"}", 0, {{0, 0}}},
    /* of a non-existent method */
    {"{\"jsonrpc\": \"2.0\", \"method\": \"foobar\", \"id\": 1}", -1, {{-32601, 1}}},
    /* with invalid JSON */
    {"{\"jsonrpc\": \"2.0\", \"method\": \"foobar, \"params\": \"bar\", \"baz]",
     -1,
     {{-32700, -1}}},
    /* with an invalid Request object */
    {"{\"jsonrpc\": \"2.0\", \"method\": 1, \"params\": \"bar\"}", -1, {{-32600, -1}}},
    /* Batch, invalid JSON; an empty Array; an invalid Batch, not empty; an invalid Batch */
    {"[{\"jsonrpc\": \"2.0\", \"method\": \"sum\", \"params\": [1,2,4], \"id\": 1},"
     "{\"jsonrpc\": \"2.0\", \"method\"]",
     -1,
     {{-32700, -1}}},
    {"[]", -1, {{-32600, -1}}},
    {"[1]", 1, {{-32600, -1}}},
    {"[1,2,3]", 3, {{-32600, -1}, {-32600, -1}, {-32600, -1}}},
    /* Batch */
    {"[{\"jsonrpc\": \"2.0\", \"method\": \"status\", \"params\": [], \"id\": 1},"
     "{\"jsonrpc\": \"2.0\", \"method\": \"hello\", \"params\": [\"a\"]},"
     "{\"jsonrpc\": \"2.0\", \"method\": \"hello\", \"params\": [\"b\"], \"id\": 2},"
     "{\"foo\": \"boo\"},"
     "{\"jsonrpc\": \"2.0\", \"method\": \"foo.get\", \"params\": {\"name\": \"myself\"}, \"id\": "
     "5},"
     "{\"jsonrpc\": \"2.0\", \"method\": \"presets\", \"id\": 9}]",
     5,
     {{0, 1}, {0, 2}, {-32600, -1}, {-32601, 5}, {0, 9}}},
    /* Batch, all notifications */
    {"[{\"jsonrpc\": \"2.0\", \"method\": \"hello\", \"params\": [\"a\"]},"
     "{\"jsonrpc\": \"2.0\", \"method\": \"status\"}]",
     0,
     {{0, 0}}},
};

START_TEST(the_standards_own_examples)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    for (size_t i = 0; i < sizeof examples / sizeof *examples; i++) {
        const struct example *e = &examples[i];
        say(rig.client, e->line);
        say(rig.client, "\n{\"jsonrpc\":\"2.0\",\"id\":77,\"method\":\"hello\"}\n");
        if (e->answers != 0) {
            cJSON *answer = cJSON_Parse(hear(rig.client));
            ck_assert_ptr_nonnull(answer);
            ck_assert_int_eq(cJSON_IsArray(answer), e->answers > 0);
            int count = e->answers > 0 ? cJSON_GetArraySize(answer) : 1;
            ck_assert_int_eq(count, e->answers > 0 ? e->answers : 1);
            for (int k = 0; k < count; k++) {
                expect_answer(e->answers > 0 ? cJSON_GetArrayItem(answer, k) : answer,
                              e->answer[k].code, e->answer[k].id);
            }
            cJSON_Delete(answer);
        }
        cJSON *mark = cJSON_Parse(hear(rig.client)); /* nothing more came between */
        expect_answer(mark, 0, 77);
        cJSON_Delete(mark);
    }
    rig_end(&rig);
}
END_TEST

/* --- What is watched --- */

static const char *method_of(const cJSON *message)
{
    return cJSON_GetObjectItem(message, "method")->valuestring;
}

static const char *word_of(const cJSON *message, const char *name)
{
    const cJSON *item = cJSON_GetObjectItem(cJSON_GetObjectItem(message, "params"), name);
    return cJSON_IsString(item) ? item->valuestring : "";
}

START_TEST(a_watcher_is_told_every_change_and_the_places_between)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    FILE *watcher = rig_connect(&rig);
    int id = rig_send(&rig, watcher, "watch", NULL);
    cJSON *snapshot = rig_answer(watcher, id);
    const cJSON *status = cJSON_GetObjectItem(snapshot, "result");
    ck_assert_str_eq(cJSON_GetObjectItem(status, "activity")->valuestring, "still");
    cJSON_Delete(snapshot);
    expect_done(rig_call(&rig, "hello", "{\"client\":\"one hand\"}"));
    expect_done(rig_call(&rig, "to", "{\"height\":\"10mm\"}"));
    rig_run(&rig, 100);
    cJSON *heard = rig_heard(&rig, watcher);
    int changes = 0;
    int places = 0;
    double last_nm = -1e9;
    const cJSON *message;
    cJSON_ArrayForEach(message, heard)
    {
        const cJSON *params = cJSON_GetObjectItem(message, "params");
        bool place = strcmp(method_of(message), "position") == 0;
        changes += place ? 0 : 1;
        places += place ? 1 : 0;
        if (changes == 1 && !place) {
            ck_assert_str_eq(word_of(message, "activity"), "moving");
            ck_assert_str_eq(word_of(message, "in_charge"), "one hand");
            ck_assert_str_eq(word_of(message, "going_to"), "10mm");
        }
        ck_assert_double_ge(rig_number(params, "height_nm"), last_nm);
        last_nm = rig_number(params, "height_nm");
    }
    message = cJSON_GetArrayItem(heard, cJSON_GetArraySize(heard) - 1);
    ck_assert_str_eq(method_of(message), "changed");
    ck_assert_str_eq(word_of(message, "activity"), "still");
    ck_assert_double_eq(last_nm, 10e6);
    ck_assert_int_ge(changes, 2);
    ck_assert_int_ge(places, 20); /* 10 mm at 10 mm/s, a place each 25 ms */
    ck_assert_int_le(places, 60);
    cJSON_Delete(heard);
    fclose(watcher);
    rig_end(&rig);
}
END_TEST

START_TEST(a_lift_that_stands_still_gives_a_sign_of_life_each_second)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    FILE *watcher = rig_connect(&rig);
    cJSON_Delete(rig_answer(watcher, rig_send(&rig, watcher, "watch", NULL)));
    rig_run(&rig, 5100);
    cJSON *heard = rig_heard(&rig, watcher);
    ck_assert_int_eq(cJSON_GetArraySize(heard), 5);
    cJSON_Delete(heard);
    rig_tell(&rig, "unplug");
    rig_run(&rig, 10); /* told by then */
    heard = rig_heard(&rig, watcher);
    ck_assert_int_ge(cJSON_GetArraySize(heard), 1);
    ck_assert_str_eq(method_of(cJSON_GetArrayItem(heard, 0)), "changed");
    ck_assert_str_eq(word_of(cJSON_GetArrayItem(heard, 0), "activity"), "unplugged");
    cJSON_Delete(heard);
    rig_run(&rig, 3050);
    heard = rig_heard(&rig, watcher);
    ck_assert_int_ge(cJSON_GetArraySize(heard), 3);
    const cJSON *message;
    cJSON_ArrayForEach(message, heard)
    {
        ck_assert_str_eq(word_of(message, "activity"), "unplugged");
        ck_assert(!cJSON_HasObjectItem(cJSON_GetObjectItem(message, "params"), "height"));
    }
    cJSON_Delete(heard);
    fclose(watcher);
    rig_end(&rig);
}
END_TEST

START_TEST(a_watcher_that_does_not_read_is_dropped_and_nobody_waits_for_it)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    FILE *deaf = rig_connect(&rig);
    FILE *good = rig_connect(&rig);
    for (int i = 0; i < 50; i++) { /* answers of some 600 bytes that nobody reads */
        for (int k = 0; k < 60; k++) {
            (void)dprintf(fileno(deaf), "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"status\"}\n");
        }
        cJSON_Delete(rig_answer(good, rig_send(&rig, good, "hello", NULL)));
    }
    expect_done(rig_call(&rig, "to", "{\"height\":\"5mm\"}"));
    expect_agreement(&rig);
    int lines = 0;
    while (hear(deaf)[0] != '\0') {
        lines++;
    }
    ck_assert_int_gt(lines, 0);
    ck_assert_int_lt(lines, 3000);
    fclose(deaf);
    fclose(good);
    rig_end(&rig);
}
END_TEST

/* --- The ill-behaved --- */

static void misbehave(FILE *client, int kind, int turn)
{
    static char nested[LOCAL_LINE_MAX];
    memset(nested, '[', sizeof nested);
    nested[sizeof nested - 1] = '\n';
    switch (kind) {
    case 0: /* half a line, and never the rest */
        (void)dprintf(fileno(client), "%s", turn == 0 ? "{\"jsonrpc\":\"2.0\"," : "");
        break;
    case 1: /* a byte at a time */
        (void)dprintf(fileno(client), "%c", "{\"id\":1,"[turn % 8]);
        break;
    case 2:
        (void)!write(fileno(client), nested, sizeof nested);
        break;
    case 3:
        (void)dprintf(fileno(client),
                      "{\"jsonrpc\":\"2.0\",\"id\":1,\"id\":2,\"method\":\"stop\"}\n");
        break;
    case 4:
        (void)dprintf(fileno(client), "{\"jsonrpc\":\"2.0\",\"method\":\"st\xc3\x28op\"}\n");
        break;
    case 5: /* motions without an id, and motions while it moves */
        (void)dprintf(fileno(client), "{\"jsonrpc\":\"2.0\",\"method\":\"to\",\"params\":"
                                      "{\"height\":\"30mm\"}}\n{\"jsonrpc\":\"2.0\",\"id\":5,"
                                      "\"method\":\"by\",\"params\":{\"distance\":\"1mm\"}}\n");
        break;
    case 6: /* a flood */
        for (int i = 0; i < 40; i++) {
            (void)dprintf(fileno(client), "{\"jsonrpc\":\"2.0\",\"id\":%d,\"method\":\"%s\"}\n", i,
                          i % 2 ? "status" : "watch");
        }
        break;
    default: /* a batch that ends in the middle */
        (void)dprintf(fileno(client), "[{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"hello\"},");
        break;
    }
}

/* A crowd of them, some of which come and go, while the lift makes its moves. */
START_TEST(a_crowd_of_the_ill_behaved_disturbs_no_move)
{
    struct rig rig;
    FILE *crowd[CROWD];
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (int i = 0; i < CROWD; i++) {
        crowd[i] = rig_connect(&rig);
    }
    static const char *const heights[] = {"20mm", "-5mm", "12mm"};
    for (int move = 0; move < 3; move++) {
        char params[40];
        snprintf(params, sizeof params, "{\"height\":\"%s\"}", heights[move]);
        int id = rig_send(&rig, rig.client, "to", params);
        cJSON_Delete(rig_answer(rig.client, rig_send(&rig, rig.client, "hello", NULL)));
        for (int turn = 0; turn < 40; turn++) {
            for (int i = 0; i < CROWD; i++) {
                misbehave(crowd[i], i % 8, turn);
            }
            fclose(crowd[turn]); /* in mid-line, or with answers to come */
            crowd[turn] = rig_connect(&rig);
            rig_run(&rig, 10);
        }
        expect_done(rig_settle(&rig, rig.client, id));
        expect_agreement(&rig);
    }
    for (int i = 0; i < CROWD; i++) {
        fclose(crowd[i]);
    }
    rig_end(&rig);
}
END_TEST

START_TEST(requests_that_wait_for_answers_are_bounded)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    FILE *other = rig_connect(&rig);
    int move = rig_send(&rig, rig.client, "to", "{\"height\":\"10mm\"}");
    cJSON_Delete(rig_answer(rig.client, rig_send(&rig, rig.client, "hello", NULL)));
    rig_run(&rig, 300);
    for (int i = 0; i < CROWD + 1; i++) {
        rig_send(&rig, other, "stop", NULL);
    }
    cJSON *answer = rig_answer(other, rig.next_id); /* the others come when it is at rest */
    expect_reason(answer, "too-many");
    expect_reason(rig_settle(&rig, rig.client, move), "stopped");
    expect_done(rig_call(&rig, "to", "{\"height\":\"0mm\"}"));
    expect_agreement(&rig);
    fclose(other);
    rig_end(&rig);
}
END_TEST

START_TEST(one_connection_too_many_is_told_so)
{
    struct rig rig;
    FILE *crowd[2 * CROWD];
    int open = 0;
    rig_start(&rig, true, 1);
    while (open < 2 * CROWD - 1) { /* rig.client is the first */
        crowd[open++] = rig_connect(&rig);
    }
    expect_done(rig_answer(crowd[open - 1], rig_send(&rig, crowd[open - 1], "hello", NULL)));
    FILE *more = rig_connect(&rig);
    cJSON *answer = cJSON_Parse(hear(more));
    ck_assert_str_eq(rig_reason(answer), "too-many");
    cJSON_Delete(answer);
    ck_assert_str_eq(hear(more), "");
    fclose(more);
    fclose(crowd[0]);
    cJSON_Delete(rig_answer(crowd[1], rig_send(&rig, crowd[1], "hello", NULL)));
    crowd[0] = rig_connect(&rig); /* there is room again */
    expect_done(rig_answer(crowd[0], rig_send(&rig, crowd[0], "hello", NULL)));
    while (open > 0) {
        fclose(crowd[--open]);
    }
    rig_end(&rig);
}
END_TEST

/* --- Strangers --- */

/* Becomes somebody else in a child process, with `group` besides his own, and carries `task` out.
 */
static void as_stranger(struct rig *rig, gid_t group, void (*task)(struct rig *rig))
{
    enum { NOBODY = 65534 };
    int status;
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        if (setgroups(group == NOBODY ? 0 : 1, &group) != 0 || setgid(NOBODY) != 0 ||
            setuid(NOBODY) != 0) {
            _exit(2);
        }
        task(rig);
        _exit(0);
    }
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert_msg(WIFEXITED(status) && WEXITSTATUS(status) == 0, "the stranger ended with %d",
                  status);
}

static void look_and_stop(struct rig *rig)
{
    FILE *client = rig_connect(rig);
    cJSON *answer = rig_answer(client, rig_send(rig, client, "hello", NULL));
    const cJSON *result = cJSON_GetObjectItem(answer, "result");
    ck_assert_str_eq(cJSON_GetObjectItem(result, "may")->valuestring, "look-and-stop");
    cJSON_Delete(answer);
    static const char *const allowed[] = {"status", "watch", "presets", "stop"};
    for (size_t i = 0; i < sizeof allowed / sizeof *allowed; i++) {
        expect_done(rig_answer(client, rig_send(rig, client, allowed[i], NULL)));
    }
    static const char *const refused[][2] = {
        {"to", "{\"height\":\"1mm\"}"},
        {"by", "{\"distance\":\"1mm\"}"},
        {"hold", "{\"direction\":\"up\"}"},
        {"touch", "{\"height\":\"0mm\"}"},
        {"find-top", "{}"},
        {"here-top", "{}"},
        {"confirm", "{}"},
        {"keep", "{\"name\":\"a\"}"},
        {"recall", "{\"name\":\"a\"}"},
        {"forget", "{\"name\":\"a\"}"},
        {"all-clear", "{}"},
        {"renew", "{\"token\":\"a\"}"},
        {"release", "{\"token\":\"a\"}"},
    };
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
        expect_reason(rig_answer(client, rig_send(rig, client, refused[i][0], refused[i][1])),
                      "not-permitted");
    }
    fclose(client);
}

static void crowd_in(struct rig *rig)
{
    FILE *crowd[CROWD + 1];
    for (int i = 0; i < CROWD + 1; i++) {
        crowd[i] = rig_connect(rig);
    }
    cJSON *answer = cJSON_Parse(hear(crowd[CROWD]));
    ck_assert_str_eq(rig_reason(answer), "too-many");
    cJSON_Delete(answer);
    /* Those who may command still find room. */
}

static void command_as_member(struct rig *rig)
{
    FILE *client = rig_connect(rig);
    cJSON *answer = rig_answer(client, rig_send(rig, client, "hello", NULL));
    const cJSON *result = cJSON_GetObjectItem(answer, "result");
    ck_assert_str_eq(cJSON_GetObjectItem(result, "may")->valuestring, "command");
    cJSON_Delete(answer);
    fclose(client);
}

START_TEST(a_stranger_may_look_and_stop_and_no_more)
{
    struct rig rig;
    char socket[128];
    if (geteuid() != 0) {
        printf("left out: only root can become a stranger\n");
        return;
    }
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    /* As a real lift's: the practice lift's socket is its owner's alone. */
    snprintf(socket, sizeof socket, "%s/reglet.sock", rig.folder);
    ck_assert_int_eq(chmod(rig.folder, 0755), 0);
    ck_assert_int_eq(chmod(socket, 0666), 0);
    as_stranger(&rig, 65534, look_and_stop);
    as_stranger(&rig, getegid(), command_as_member);
    as_stranger(&rig, 65534, crowd_in);
    FILE *more = rig_connect(&rig);
    expect_done(rig_answer(more, rig_send(&rig, more, "hello", NULL)));
    fclose(more);
    ck_assert_int_eq(chmod(rig.folder, 0700), 0);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("company");
    TCase *cases = tcase_create("company");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, the_standards_own_examples);
    tcase_add_test(cases, a_watcher_is_told_every_change_and_the_places_between);
    tcase_add_test(cases, a_lift_that_stands_still_gives_a_sign_of_life_each_second);
    tcase_add_test(cases, a_watcher_that_does_not_read_is_dropped_and_nobody_waits_for_it);
    tcase_add_test(cases, a_crowd_of_the_ill_behaved_disturbs_no_move);
    tcase_add_test(cases, requests_that_wait_for_answers_are_bounded);
    tcase_add_test(cases, one_connection_too_many_is_told_so);
    tcase_add_test(cases, a_stranger_may_look_and_stop_and_no_more);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
