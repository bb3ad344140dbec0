/* SPDX-License-Identifier: MIT */
/*
 * All of reglet-pedal but its command line: devices that a test plugs in (test_pedal_kernel.h), a
 * daemon that is not one (test_pedal_daemon.h), real time. The order of requests is compared; their
 * times are those of test_pedal_gate.c, here only bounded from below, as a machine may be slow.
 */
#include <signal.h>
#include <stdlib.h>

#include "clients/pedal/pedal.h"
#include "tests/suite.h"
#include "tests/unit/folder.h"
#include "tests/unit/test_pedal_daemon.h"
#include "tests/unit/test_pedal_kernel.h"

enum { WAIT_MS = 20000 };

static const unsigned keys[] = {KEY_A, KEY_B, KEY_C, KEY_KP2, KEY_KPENTER, 0};

static uv_loop_t loop;
static char folder[64];
static char path[96];
static struct map map;
static struct pedal pedal;
static struct daemon_fake fake;
static struct kernel_device *device;
static char *shown;
static char *said;
static size_t shown_size;
static size_t said_size;
static bool over;

static void on_wait(uv_timer_t *timer)
{
    (void)timer;
    over = true;
}

/* Runs the loop until a text holds another; `ms` long when that is NULL. */
static void run(uint64_t ms, char *const *text, const char *wanted)
{
    uv_timer_t timer;
    uv_update_time(&loop);
    ck_assert_int_eq(uv_timer_init(&loop, &timer), 0);
    ck_assert_int_eq(uv_timer_start(&timer, on_wait, ms, 0), 0);
    over = false;
    while (!over && !(wanted && *text && strstr(*text, wanted))) {
        (void)uv_run(&loop, UV_RUN_ONCE);
    }
    uv_close((uv_handle_t *)&timer, NULL);
    (void)uv_run(&loop, UV_RUN_NOWAIT);
    ck_assert_msg(!over || !wanted, "waited for: %s\nin: %s\nsaid: %s\nasked: %s", wanted,
                  *text ? *text : "", said ? said : "", fake.heard);
}

static void run_to_said(const char *wanted)
{
    run(WAIT_MS, &said, wanted);
}

static void run_to_asked(const char *wanted)
{
    static char *heard = fake.heard;
    run(WAIT_MS, &heard, wanted);
}

static void add_key(unsigned code, const char *words)
{
    char why[ACTION_WHY];
    struct map_device *entry = &map.device[0];
    entry->key[entry->keys].code = code;
    ck_assert(action_read(words, code, &entry->key[entry->keys].action, why));
    entry->keys++;
}

static void begin(void)
{
    memset(&map, 0, sizeof map);
    memset(&fake, 0, sizeof fake);
    fake.renews = true;
    make_own_folder(folder, sizeof folder, "/tmp", "pedal-whole");
    (void)snprintf(path, sizeof path, "%s/reglet.sock", folder);
    map.devices = 1;
    map.debounce_ms = MAP_DEBOUNCE_MS;
    map.device[0].vendor = 0x1a2b;
    (void)snprintf(map.device[0].label, MAP_TEXT_SIZE, "the pedal");
    add_key(KEY_A, "hold-up-slow");
    add_key(KEY_B, "to 3/8in");
    add_key(KEY_C, "nudge down .002in");
    add_key(KEY_KP2, "keypad");
    add_key(KEY_KPENTER, "keypad");
    ck_assert_int_eq(uv_loop_init(&loop), 0);
    device = kernel_plug(folder, "event0", "Foot Switch", 0x1a2b, 0, keys);
    daemon_listen(&fake, &loop, path);
    const struct pedal_setup setup = {.map = &map,
                                      .folder = folder,
                                      .socket = path,
                                      .practice = true,
                                      .style = LENGTH_STYLE_64,
                                      .large = true,
                                      .shows = open_memstream(&shown, &shown_size),
                                      .says = open_memstream(&said, &said_size)};
    ck_assert_int_eq(pedal_start(&pedal, &loop, &setup), 0);
    run_to_said("the keys count");
    ck_assert_ptr_nonnull(strstr(said, "reglet-pedal: the pedal is there: \"Foot Switch\".\n"));
}

static void end(void)
{
    pedal_end(&pedal);
    pedal_end(&pedal);
    daemon_end(&fake);
    ck_assert_int_eq(uv_run(&loop, UV_RUN_DEFAULT), 0);
    ck_assert_int_eq(uv_loop_close(&loop), 0);
    if (device->used) {
        kernel_unplug(device);
    }
    (void)fclose(pedal.setup.shows);
    (void)fclose(pedal.setup.says);
    free(shown);
    free(said);
    ck_assert_int_eq(rmdir(folder), 0);
}

/* Runs the loop until no key counts as down. */
static void run_to_up(void)
{
    for (size_t i = 0; i < GATE_KEYS_MAX;) {
        bool is_up = !pedal.gate.key[i].down;
        i = is_up ? i + 1 : 0;
        if (!is_up) {
            (void)uv_run(&loop, UV_RUN_ONCE);
        }
    }
}

/* A press that a slow machine reads late begins nothing: then it is made anew. */
static void press(unsigned code, const char *wanted)
{
    static char *heard = fake.heard;
    static const char late[] = "was read too late";
    for (;;) {
        size_t before = said ? strlen(said) : 0;
        kernel_key(device, code, 1);
        while (!strstr(heard, wanted) && !(said && strstr(said + before, late))) {
            (void)uv_run(&loop, UV_RUN_ONCE);
        }
        if (strstr(heard, wanted)) {
            return;
        }
        kernel_key(device, code, 0);
        run_to_up();
    }
}

/* KEY_A down, the hold taken, and a renewal. */
static void hold(void)
{
    press(KEY_A, "hold");
    daemon_answer(&fake, fake.last_id, "result",
                  "{\"token\":\"5f3a\",\"lease_ms\":150,\"renew_ms\":50}");
    run_to_asked("renew");
    ck_assert_str_eq(fake.heard, "hold {\"direction\":\"up\",\"speed\":\"slow\"}\n"
                                 "renew {\"token\":\"5f3a\"}\n");
    fake.heard[0] = '\0';
}

/* All that is asked from now on is renewals and then this. */
static void expect_behind_renewals(const char *wanted)
{
    static const char renewal[] = "renew {\"token\":\"5f3a\"}\n";
    run_to_asked(wanted);
    const char *at = fake.heard;
    while (strncmp(at, renewal, sizeof renewal - 1) == 0) {
        at += sizeof renewal - 1;
    }
    ck_assert_str_eq(at, wanted);
    fake.heard[0] = '\0';
}

/* --- Holding --- */

START_TEST(a_pedal_is_held_and_let_go)
{
    int64_t began_ms = kernel_now_ms();
    hold();
    ck_assert_int_ge(kernel_now_ms() - began_ms, GATE_RENEW_MS - 1);
    kernel_key(device, KEY_A, 0);
    expect_behind_renewals("release {\"token\":\"5f3a\"}\n");
    run(200, NULL, NULL);
    ck_assert_str_eq(fake.heard, "");
}
END_TEST

START_TEST(a_pedal_unplugged_while_held_is_released_and_counts_when_it_is_back)
{
    hold();
    kernel_unplug(device);
    expect_behind_renewals("release {\"token\":\"5f3a\"}\n");
    run_to_said("The device went away while the lift moved for it");
    device = kernel_plug(folder, "event7", "Foot Switch", 0x1a2b, 0, keys);
    run(200, NULL, NULL);
    while (!device->grabbed) {
        run(50, NULL, NULL);
    }
    press(KEY_C, "by {\"distance\":\"-0.0508mm\"}\n");
}
END_TEST

START_TEST(a_release_lost_in_the_kernel_s_queue_ends_the_hold)
{
    hold();
    kernel_set(device->down, KEY_A, false);
    kernel_drop(device);
    expect_behind_renewals("release {\"token\":\"5f3a\"}\n");
    run_to_said("was lost in part");
}
END_TEST

START_TEST(a_daemon_that_goes_while_held_is_not_asked_again_by_the_same_press)
{
    hold();
    daemon_hang_up(&fake);
    run_to_said("regletd is lost");
    while (fake.connections < 2 || !pedal.gate.ready) {
        (void)uv_run(&loop, UV_RUN_ONCE);
    }
    fake.heard[0] = '\0';
    run(200, NULL, NULL);
    ck_assert_str_eq(fake.heard, "");
    kernel_key(device, KEY_A, 0);
    run_to_up();
    press(KEY_A, "hold");
}
END_TEST

START_TEST(a_refusal_is_said)
{
    press(KEY_B, "to {\"height\":\"9.525mm\"}\n");
    daemon_refuse(&fake, fake.last_id, "unpowered", "The motor has no supply.");
    run_to_said("reglet-pedal: The motor has no supply.\n");
}
END_TEST

START_TEST(what_moves_is_stopped_by_any_key)
{
    daemon_say(&fake, "{\"jsonrpc\":\"2.0\",\"method\":\"position\",\"params\":{\"activity\":"
                      "\"moving\"}}");
    while (!pedal.gate.lift.moving) {
        (void)uv_run(&loop, UV_RUN_ONCE);
    }
    kernel_key(device, KEY_C, 1);
    run_to_asked("stop\n");
    run(100, NULL, NULL);
    ck_assert_str_eq(fake.heard, "stop\n");
}
END_TEST

START_TEST(a_typed_height_is_shown_large_and_sent)
{
    kernel_key(device, KEY_KP2, 1);
    kernel_key(device, KEY_KP2, 0);
    run(WAIT_MS, &shown, "####       #  ");
    run(WAIT_MS, &shown, "Typed 2: 2in (50.8mm). A rise of more than 1/2in: Enter, held down");
    run_to_up();
    press(KEY_KPENTER, "to {\"height\":\"50.8mm\"}\n");
    fake.heard[0] = '\0';
    kernel_key(device, KEY_KPENTER, 0);
    run_to_asked("stop\n");
}
END_TEST

/* A program that hung must not act on what was pressed long ago. */
START_TEST(a_press_of_long_ago_begins_nothing)
{
    kernel_key_at(device, KEY_B, 1, kernel_now_ms() - GATE_LATE_MS - 100);
    run_to_said("was read too late");
    ck_assert_str_eq(fake.heard, "");
}
END_TEST

/* --- The end --- */

START_TEST(told_to_end_it_releases_and_waits_for_rest)
{
    static const int signals[] = {SIGTERM, SIGINT, SIGHUP, SIGTSTP};
    hold();
    ck_assert_int_eq(raise(signals[_i]), 0);
    expect_behind_renewals("release {\"token\":\"5f3a\"}\n");
    ck_assert(!pedal.closing);
    daemon_answer(&fake, fake.last_id, "result", DAEMON_STILL);
    while (!pedal.closing) {
        (void)uv_run(&loop, UV_RUN_ONCE);
    }
    ck_assert_int_eq(pedal_exit(&pedal), CLIENT_BROKEN_OFF);
}
END_TEST

START_TEST(told_to_end_at_rest_it_ends_and_asks_for_nothing)
{
    pedal_end(&pedal);
    ck_assert(pedal.closing);
    run(50, NULL, NULL);
    ck_assert_str_eq(fake.heard, "");
    ck_assert_int_eq(pedal_exit(&pedal), CLIENT_DONE);
}
END_TEST

START_TEST(a_daemon_that_does_not_answer_at_the_end_is_left)
{
    hold();
    pedal_end(&pedal);
    while (!pedal.closing) {
        (void)uv_run(&loop, UV_RUN_ONCE);
    }
    run_to_said("rest was not heard of in time");
}
END_TEST

static Suite *whole_suite(void)
{
    Suite *suite = suite_create("pedal-whole");
    TCase *whole = tcase_create("whole");
    tcase_add_checked_fixture(whole, begin, end);
    tcase_add_test(whole, a_pedal_is_held_and_let_go);
    tcase_add_test(whole, a_pedal_unplugged_while_held_is_released_and_counts_when_it_is_back);
    tcase_add_test(whole, a_release_lost_in_the_kernel_s_queue_ends_the_hold);
    tcase_add_test(whole, a_daemon_that_goes_while_held_is_not_asked_again_by_the_same_press);
    tcase_add_test(whole, a_refusal_is_said);
    tcase_add_test(whole, what_moves_is_stopped_by_any_key);
    tcase_add_test(whole, a_typed_height_is_shown_large_and_sent);
    tcase_add_test(whole, a_press_of_long_ago_begins_nothing);
    tcase_add_loop_test(whole, told_to_end_it_releases_and_waits_for_rest, 0, 4);
    tcase_add_test(whole, told_to_end_at_rest_it_ends_and_asks_for_nothing);
    tcase_add_test(whole, a_daemon_that_does_not_answer_at_the_end_is_left);
    suite_add_tcase(suite, whole);
    return suite;
}

int main(void)
{
    return run_suite(whole_suite());
}
