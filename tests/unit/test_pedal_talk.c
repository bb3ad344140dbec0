/* SPDX-License-Identifier: MIT */
/* The pedal's connection, against a daemon that is not one (test_pedal_daemon.h): greeting,
 * requests on the wire, answers, and every way in which it is lost and comes back. */
#include <stdlib.h>

#include "clients/pedal/talk.h"
#include "tests/suite.h"
#include "tests/unit/folder.h"
#include "tests/unit/test_pedal_daemon.h"

enum { WAIT_MS = 20000 };

static uv_loop_t loop;
static char folder[64];
static char path[96];
static struct daemon_fake fake;
static struct talk talk;
static char heard[8192];
static bool over;

/* --- What is heard --- */

static void add(const char *format, const char *text, double number)
{
    size_t used = strlen(heard);
    ck_assert_uint_lt(used + strlen(text) + 64, sizeof heard);
    (void)sprintf(heard + used, "%s %s %.0f\n", format, text, number);
}

static void on_ready(void *owner, const struct gate_lift *lift)
{
    (void)owner;
    add("ready", lift->moving ? "moving" : "still",
        lift->height_known ? (double)lift->height_nm : -1);
}

static void on_lost(void *owner)
{
    (void)owner;
    add("lost", "", 0);
}

static void on_told(void *owner, const struct gate_lift *lift)
{
    (void)owner;
    add("told", lift->moving ? "moving" : "still",
        lift->height_known ? (double)lift->height_nm : -1);
}

static void on_answered(void *owner, const struct gate_answer *answer)
{
    (void)owner;
    add(!answer->refused    ? "answer"
        : answer->hold_over ? "hold-over"
        : answer->stopped   ? "stopped"
                            : "refused",
        answer->refused ? answer->sentence
        : answer->token ? answer->token
                        : "",
        answer->id);
}

static void on_say(void *owner, const char *sentence)
{
    (void)owner;
    add("say", sentence, 0);
}

static void on_wait(uv_timer_t *timer)
{
    (void)timer;
    over = true;
}

static void run_until(bool (*is)(const char *), const char *what)
{
    uv_timer_t timer;
    ck_assert_int_eq(uv_timer_init(&loop, &timer), 0);
    ck_assert_int_eq(uv_timer_start(&timer, on_wait, WAIT_MS, 0), 0);
    over = false;
    while (!over && !is(what)) {
        (void)uv_run(&loop, UV_RUN_ONCE);
    }
    uv_close((uv_handle_t *)&timer, NULL);
    (void)uv_run(&loop, UV_RUN_NOWAIT);
    ck_assert_msg(!over, "waited for: %s\nheard: %s\nthe daemon: %s", what, heard, fake.heard);
}

static bool has_heard(const char *what)
{
    return strstr(heard, what) != NULL;
}

static bool daemon_has_heard(const char *what)
{
    return strstr(fake.heard, what) != NULL;
}

static bool is_daemon_alone(const char *what)
{
    (void)what;
    return !fake.connected;
}

/* --- Beginning and end --- */

static void begin(void)
{
    make_own_folder(folder, sizeof folder, "/tmp", "pedal-talk");
    (void)snprintf(path, sizeof path, "%s/reglet.sock", folder);
    memset(&fake, 0, sizeof fake);
    ck_assert_int_eq(uv_loop_init(&loop), 0);
    heard[0] = '\0';
}

static void start(bool practice)
{
    const struct talk_events events = {NULL, on_ready, on_lost, on_told, on_answered, on_say};
    ck_assert_int_eq(talk_start(&talk, &loop, path, practice, &events), 0);
}

static void end(void)
{
    talk_close(&talk);
    daemon_end(&fake);
    ck_assert_int_eq(uv_run(&loop, UV_RUN_DEFAULT), 0);
    ck_assert_int_eq(uv_loop_close(&loop), 0);
    ck_assert_int_eq(rmdir(folder), 0);
}

static void ready(void)
{
    daemon_listen(&fake, &loop, path);
    start(true);
    run_until(has_heard, "ready");
    ck_assert_int_eq(fake.connections, 1);
    heard[0] = '\0';
}

/* --- On the wire --- */

START_TEST(requests_stand_on_the_wire_as_the_page_has_them)
{
    static const struct {
        struct gate_request request;
        const char *wire;
    } all[] = {
        {{.ask = GATE_HOLD, .up = true}, "hold {\"direction\":\"up\",\"speed\":\"slow\"}\n"},
        {{.ask = GATE_HOLD, .fast = true}, "hold {\"direction\":\"down\",\"speed\":\"fast\"}\n"},
        {{.ask = GATE_RENEW, .text = "5f"}, "renew {\"token\":\"5f\"}\n"},
        {{.ask = GATE_RELEASE, .text = "5f"}, "release {\"token\":\"5f\"}\n"},
        {{.ask = GATE_BY, .nm = -396875}, "by {\"distance\":\"-0.396875mm\"}\n"},
        {{.ask = GATE_TO, .nm = 9525000}, "to {\"height\":\"9.525mm\"}\n"},
        {{.ask = GATE_RECALL, .text = "a \"b\""}, "recall {\"name\":\"a \\\"b\\\"\"}\n"},
        {{.ask = GATE_HOLD, .next = true}, "hold {\"next\":true}\n"},
        {{.ask = GATE_NEXT}, "next\n"},
        {{.ask = GATE_STOP}, "stop\n"},
    };
    struct gate_request request = all[_i].request;
    ready();
    request.id = 42;
    talk_send(&talk, &request);
    run_until(daemon_has_heard, "\n");
    ck_assert_str_eq(fake.heard, all[_i].wire);
    ck_assert_double_eq(fake.last_id, 42);
}
END_TEST

START_TEST(answers_and_notifications_are_heard)
{
    ready();
    daemon_answer(&fake, 12, "result",
                  "{\"token\":\"5f3a\",\"lease_ms\":150,\"renew_ms\":50,\"more\":1}");
    daemon_refuse(&fake, 13, "hold-over", "The lift stands at its end.");
    daemon_refuse(&fake, 14, "stopped", "Stopped by reglet.");
    daemon_refuse(&fake, 15, "stop-open", "The stop circuit is open.\\n Close it.");
    daemon_answer(&fake, 16, "error", "{\"code\":-32601,\"message\":\"No such method.\"}");
    daemon_say(&fake, "{\"jsonrpc\":\"2.0\",\"method\":\"position\",\"params\":{\"activity\":"
                      "\"moving\",\"height\":\"9.525mm\",\"height_nm\":9525000}}");
    daemon_say(&fake, "{\"jsonrpc\":\"2.0\",\"method\":\"other\",\"params\":{\"activity\":"
                      "\"moving\"}}");
    daemon_say(&fake, "{\"jsonrpc\":\"2.0\",\"method\":\"changed\",\"params\":{\"activity\":"
                      "\"braking\"}}");
    daemon_say(&fake, "{\"jsonrpc\":\"2.0\",\"method\":\"changed\",\"params\":{\"activity\":"
                      "\"unplugged\"}}");
    run_until(has_heard, "told still");
    ck_assert_str_eq(heard,
                     "answer 5f3a 12\nhold-over The lift stands at its end. 13\n"
                     "stopped Stopped by reglet. 14\nrefused The stop circuit is open.? Close it. "
                     "15\nrefused regletd does not know that request: it is older than this "
                     "reglet. Nothing has moved. Install both from one release, and start regletd "
                     "again. 16\ntold moving 9525000\ntold moving -1\ntold still -1\n");
}
END_TEST

/* --- The greeting --- */

START_TEST(it_begins_with_what_the_lift_does)
{
    fake.watch = "{\"activity\":\"moving\",\"table_zero\":\"lost\"}";
    daemon_listen(&fake, &loop, path);
    start(true);
    run_until(has_heard, "ready moving -1");
}
END_TEST

static const struct {
    const char *hello;
    bool refused;
    const char *says;
} greetings[] = {
    {"{\"major\":2,\"minor\":1,\"practice\":true}", false, "another version of the protocol"},
    {"{\"major\":1,\"minor\":0,\"practice\":true}", false, "another version of the protocol"},
    {"{}", false, "another version of the protocol"},
    {"{\"major\":1,\"minor\":1,\"practice\":false}", false, "drives a real lift"},
    {"{\"code\":-32602,\"message\":\"Unknown parameter client.\"}", true, "does not take this"},
    {"{\"code\":1,\"message\":\"Too many.\",\"data\":{\"reason\":\"too-many\"}}", true,
     "Too many."},
};

/* Said once, tried again, and no key counts. */
START_TEST(what_cannot_be_talked_to_is_refused)
{
    fake.hello = greetings[_i].hello;
    fake.hello_refused = greetings[_i].refused;
    daemon_listen(&fake, &loop, path);
    start(true);
    while (fake.connections < 3) {
        (void)uv_run(&loop, UV_RUN_ONCE);
    }
    const char *first = strstr(heard, greetings[_i].says);
    ck_assert_msg(first != NULL, "%s", heard);
    ck_assert_ptr_null(strstr(first + 1, greetings[_i].says));
    ck_assert(!has_heard("ready"));
}
END_TEST

START_TEST(a_real_lift_is_talked_to_without_practice)
{
    fake.hello = "{\"major\":1,\"minor\":7,\"practice\":false,\"may\":\"look-and-stop\"}";
    daemon_listen(&fake, &loop, path);
    start(false);
    run_until(has_heard, "ready");
    ck_assert(has_heard("This user may look and stop, and no more"));
}
END_TEST

START_TEST(a_daemon_that_does_not_tell_what_moves_is_refused)
{
    fake.watch = "{\"lift\":\"fine\"}";
    daemon_listen(&fake, &loop, path);
    start(true);
    run_until(has_heard, "does not tell what the lift does");
    ck_assert(!has_heard("ready"));
}
END_TEST

/* --- Away and back --- */

START_TEST(it_is_looked_for_until_it_is_there)
{
    start(true);
    run_until(has_heard, "there is no such socket");
    while (talk.tries < 3) {
        (void)uv_run(&loop, UV_RUN_ONCE);
    }
    const char *first = strstr(heard, "regletd is not there");
    ck_assert_ptr_nonnull(first);
    ck_assert_ptr_null(strstr(first + 1, "regletd is not there"));
    talk_send(&talk, &(struct gate_request){.ask = GATE_STOP, .id = 1}); /* dropped */
    daemon_listen(&fake, &loop, path);
    run_until(has_heard, "ready");
    ck_assert(has_heard("is there: the keys count."));
    ck_assert_str_eq(fake.heard, "");
    ck_assert_uint_eq(talk.tries, 0);
}
END_TEST

START_TEST(it_comes_back_as_often_as_it_is_lost)
{
    ready();
    for (int i = 2; i <= 4; i++) {
        daemon_hang_up(&fake);
        run_until(has_heard, "lost  0");
        ck_assert(has_heard("say regletd is lost at"));
        ck_assert(has_heard("look whether it does"));
        run_until(has_heard, "ready");
        ck_assert_int_eq(fake.connections, i);
        heard[0] = '\0';
    }
}
END_TEST

START_TEST(it_comes_back_behind_a_restart_of_the_daemon)
{
    ready();
    daemon_end(&fake);
    run_until(has_heard, "lost  0");
    while (talk.tries < 3) {
        (void)uv_run(&loop, UV_RUN_ONCE);
    }
    ck_assert_str_eq(strchr(heard, '\n'), "\nlost  0\n"); /* one sentence for it all */
    daemon_listen(&fake, &loop, path);
    run_until(has_heard, "ready");
}
END_TEST

/* LOCAL.md: a watcher that hears nothing for three seconds takes the daemon to hang. */
START_TEST(a_silent_daemon_is_lost)
{
    ready();
    fake.mute = true;
    uint64_t began_ms = uv_now(&loop);
    run_until(has_heard, "lost  0");
    ck_assert(has_heard("it is silent"));
    ck_assert_uint_ge(uv_now(&loop) - began_ms, TALK_SILENCE_MS - 100);
    run_until(is_daemon_alone, "the connection's end"); /* which brakes */
}
END_TEST

START_TEST(what_is_no_message_ends_it)
{
    static const char *const lines[] = {"hello", "{\"jsonrpc\":\"1.0\",\"id\":1,\"result\":1}",
                                        "{\"jsonrpc\":\"2.0\",\"id\":1}", "{\"a\":1,\"a\":2}"};
    ready();
    daemon_say(&fake, lines[_i]);
    run_until(has_heard, "lost  0");
    ck_assert(has_heard("does not speak as regletd does"));
}
END_TEST

START_TEST(a_line_without_an_end_ends_it)
{
    char *text = malloc(LOCAL_LINE_MAX + 2);
    ck_assert_ptr_nonnull(text);
    memset(text, ' ', LOCAL_LINE_MAX + 1);
    text[LOCAL_LINE_MAX + 1] = '\0';
    ready();
    daemon_say(&fake, text);
    run_until(has_heard, "lost  0");
    free(text);
}
END_TEST

/* A daemon that does not read: what cannot be sent must not wait to be done later. */
START_TEST(requests_do_not_pile_up)
{
    static const struct gate_request request = {.ask = GATE_STOP, .id = 77};
    ready();
    ck_assert_int_eq(uv_read_stop((uv_stream_t *)&fake.session), 0);
    for (int i = 0; i < 100000 && talk.state == TALK_READY; i++) {
        talk_send(&talk, &request);
    }
    ck_assert_int_eq(talk.state, TALK_CLOSING);
    ck_assert(!has_heard("lost  0")); /* not from within talk_send */
    run_until(has_heard, "lost  0");
    ck_assert_int_eq(uv_read_start((uv_stream_t *)&fake.session, daemon_buffer, daemon_read), 0);
    run_until(has_heard, "ready");
}
END_TEST

START_TEST(it_can_be_closed_at_any_time)
{
    if (_i != 0) {
        daemon_listen(&fake, &loop, path);
    }
    start(true);
    for (int i = 0; i < _i; i++) {
        (void)uv_run(&loop, UV_RUN_NOWAIT);
    }
    talk_close(&talk); /* and the fixture sees that the loop runs out */
    talk_close(&talk);
}
END_TEST

static Suite *talk_suite(void)
{
    Suite *suite = suite_create("pedal-talk");
    TCase *wire = tcase_create("wire");
    tcase_add_checked_fixture(wire, begin, end);
    tcase_add_loop_test(wire, requests_stand_on_the_wire_as_the_page_has_them, 0, 10);
    tcase_add_test(wire, answers_and_notifications_are_heard);
    suite_add_tcase(suite, wire);
    TCase *greeting = tcase_create("greeting");
    tcase_add_checked_fixture(greeting, begin, end);
    tcase_add_test(greeting, it_begins_with_what_the_lift_does);
    tcase_add_loop_test(greeting, what_cannot_be_talked_to_is_refused, 0,
                        sizeof greetings / sizeof *greetings);
    tcase_add_test(greeting, a_real_lift_is_talked_to_without_practice);
    tcase_add_test(greeting, a_daemon_that_does_not_tell_what_moves_is_refused);
    suite_add_tcase(suite, greeting);
    TCase *away = tcase_create("away");
    tcase_add_checked_fixture(away, begin, end);
    tcase_add_test(away, it_is_looked_for_until_it_is_there);
    tcase_add_test(away, it_comes_back_as_often_as_it_is_lost);
    tcase_add_test(away, it_comes_back_behind_a_restart_of_the_daemon);
    tcase_add_test(away, a_silent_daemon_is_lost);
    tcase_add_loop_test(away, what_is_no_message_ends_it, 0, 4);
    tcase_add_test(away, a_line_without_an_end_ends_it);
    tcase_add_test(away, requests_do_not_pile_up);
    tcase_add_loop_test(away, it_can_be_closed_at_any_time, 0, 12);
    suite_add_tcase(suite, away);
    return suite;
}

int main(void)
{
    return run_suite(talk_suite());
}
