/* SPDX-License-Identifier: MIT */
/*
 * Devices: found, grabbed, read through libevdev, gone and back. test_pedal_kernel.h says what
 * stands in for the kernel. The streams are written as evdev gives them
 * (Documentation/input/event-codes.rst of Linux: EV_SYN, SYN_DROPPED, EV_KEY value 2 for repeat).
 */
#include <stdlib.h>
#include <uv.h>

#include "clients/pedal/finder.h"
#include "clients/pedal/learn.h"
#include "tests/suite.h"
#include "tests/unit/folder.h"
#include "tests/unit/test_pedal_kernel.h"

enum { WAIT_MS = 20000 }; /* for a test that hangs, not for a machine that is slow */

static const unsigned pedal_keys[] = {KEY_A, KEY_B, 0};

static uv_loop_t loop;
static char folder[64];
static char link_path[128];
static struct map map;
static struct finder finder;
static char heard[8192];

/* --- What is heard --- */

static void add(const char *text)
{
    ck_assert_uint_lt(strlen(heard) + strlen(text) + 1, sizeof heard);
    strcat(heard, text);
    strcat(heard, "\n");
}

static void on_key(void *owner, struct device *device, unsigned code, bool down, bool synced,
                   int64_t at_ms)
{
    char text[96];
    (void)owner;
    ck_assert_int_le(at_ms, kernel_now_ms());
    ck_assert_int_ge(at_ms, kernel_now_ms() - WAIT_MS);
    (void)snprintf(text, sizeof text, "%u %s %s%s", device->number,
                   libevdev_event_code_get_name(EV_KEY, code), down ? "down" : "up",
                   synced ? " synced" : "");
    add(text);
}

static void on_dropped(void *owner, struct device *device)
{
    (void)owner;
    (void)device;
    add("dropped");
}

static void on_gone(void *owner, struct device *device)
{
    (void)owner;
    (void)device;
    add("gone");
}

static void on_say(void *owner, const char *sentence)
{
    (void)owner;
    add(sentence);
}

static void on_wait(uv_timer_t *timer)
{
    *(bool *)timer->data = true;
}

/* Runs the loop until the text was heard as the last thing. */
static void run_to(const char *text)
{
    uv_timer_t timer;
    bool over = false;
    size_t size = strlen(text);
    ck_assert_int_eq(uv_timer_init(&loop, &timer), 0);
    timer.data = &over;
    ck_assert_int_eq(uv_timer_start(&timer, on_wait, WAIT_MS, 0), 0);
    while (!over && (strlen(heard) < size || strcmp(heard + strlen(heard) - size, text) != 0)) {
        (void)uv_run(&loop, UV_RUN_ONCE);
    }
    uv_close((uv_handle_t *)&timer, NULL);
    (void)uv_run(&loop, UV_RUN_NOWAIT);
    ck_assert_msg(!over, "waited for:\n%s\nheard:\n%s", text, heard);
}

static void expect(const char *text)
{
    run_to(text);
    ck_assert_str_eq(heard, text);
    heard[0] = '\0';
}

/* --- Beginning and end --- */

static void add_entry(const char *label, const char *path, uint16_t product)
{
    struct map_device *device = &map.device[map.devices++];
    (void)snprintf(device->label, sizeof device->label, "%s", label);
    (void)snprintf(device->path, sizeof device->path, "%s", path);
    device->vendor = 0x1a2b;
    device->product = product;
    device->key[device->keys++] = (struct map_key){KEY_A, {.kind = ACTION_STOP}};
}

static void begin(void)
{
    make_own_folder(folder, sizeof folder, "/tmp", "pedal-events");
    (void)snprintf(link_path, sizeof link_path, "%s/by-id-pedal", folder);
    ck_assert_int_eq(uv_loop_init(&loop), 0);
    memset(&map, 0, sizeof map);
    add_entry("the pedal", "", 1);
}

static void start(void)
{
    const struct finder_events events = {NULL, NULL, on_key, on_dropped, on_gone, on_say};
    ck_assert_int_eq(finder_start(&finder, &loop, folder, &map, &events), 0);
}

static void end(void)
{
    if (finder.loop) {
        finder_close(&finder);
    }
    ck_assert_int_eq(uv_run(&loop, UV_RUN_DEFAULT), 0);
    ck_assert_int_eq(uv_loop_close(&loop), 0);
    for (int i = 0; i < KERNEL_DEVICES; i++) {
        if (kernel_device[i].used) {
            kernel_unplug(&kernel_device[i]);
        }
    }
    (void)unlink(link_path);
    ck_assert_int_eq(rmdir(folder), 0);
}

static struct kernel_device *plug(const char *node, uint16_t product)
{
    return kernel_plug(folder, node, "Foot Switch", 0x1a2b, product, pedal_keys);
}

#define THERE "the pedal is there: \"Foot Switch\".\n"
#define MISSING "the pedal is not there yet. It is taken when it is plugged in.\n"
#define GONE "the pedal is gone. It is taken again when it comes back.\ngone\n"

static struct kernel_device *started(void)
{
    struct kernel_device *device = plug("event3", 1);
    start();
    expect(THERE);
    return device;
}

/* --- Reading --- */

START_TEST(presses_and_releases_are_heard_and_repeats_are_not)
{
    struct kernel_device *device = started();
    ck_assert(device->grabbed);
    ck_assert_int_eq(device->clock, CLOCK_MONOTONIC);
    kernel_key(device, KEY_A, 1);
    for (int i = 0; i < 5; i++) {
        kernel_key(device, KEY_A, 2);
    }
    kernel_key(device, KEY_A, 0);
    kernel_key(device, KEY_B, 1);
    expect("0 KEY_A down\n0 KEY_A up\n0 KEY_B down\n");
}
END_TEST

START_TEST(a_release_that_was_lost_is_found_behind_it)
{
    struct kernel_device *device = started();
    kernel_key(device, KEY_A, 1);
    expect("0 KEY_A down\n");
    kernel_set(device->down, KEY_A, false); /* and the event of it was lost */
    kernel_drop(device);
    expect("dropped\n0 KEY_A up synced\n");
    kernel_key(device, KEY_A, 1);
    expect("0 KEY_A down\n");
}
END_TEST

START_TEST(a_press_that_was_lost_is_found_and_marked)
{
    struct kernel_device *device = started();
    kernel_set(device->down, KEY_B, true);
    kernel_drop(device);
    expect("dropped\n0 KEY_B down synced\n");
}
END_TEST

START_TEST(a_key_that_is_down_through_it_is_heard_no_more_until_it_changes)
{
    struct kernel_device *device = started();
    kernel_key(device, KEY_A, 1);
    expect("0 KEY_A down\n");
    kernel_drop(device);
    expect("dropped\n");
    kernel_key(device, KEY_A, 0);
    expect("0 KEY_A up\n");
}
END_TEST

/* --- Coming and going --- */

START_TEST(it_is_found_when_it_comes_and_when_it_comes_back)
{
    start();
    expect(MISSING);
    struct kernel_device *device = plug("event3", 1);
    expect(THERE);
    kernel_key(device, KEY_A, 1);
    expect("0 KEY_A down\n");
    kernel_unplug(device);
    expect(GONE);
    ck_assert_uint_eq(finder_count(&finder), 0);
    device = plug("event9", 1); /* the kernel gives another name */
    expect(THERE);
    ck_assert(device->grabbed);
    kernel_key(device, KEY_A, 1);
    expect("0 KEY_A down\n");
}
END_TEST

START_TEST(several_are_told_apart)
{
    add_entry("the keypad", "", 2);
    struct kernel_device *first = plug("event3", 1);
    start();
    expect(THERE "the keypad is not there yet. It is taken when it is plugged in.\n");
    struct kernel_device *second = plug("event4", 2);
    expect("the keypad is there: \"Foot Switch\".\n");
    kernel_key(first, KEY_A, 1);
    expect("0 KEY_A down\n");
    kernel_key(second, KEY_A, 1);
    expect("1 KEY_A down\n");
    kernel_unplug(first);
    expect(GONE);
    kernel_key(second, KEY_A, 0);
    expect("1 KEY_A up\n");
}
END_TEST

START_TEST(a_link_names_one_of_two_equal_ones)
{
    (void)snprintf(map.device[0].path, sizeof map.device[0].path, "%s", link_path);
    struct kernel_device *other = plug("event3", 1);
    start();
    expect(MISSING);
    struct kernel_device *ours = plug("event4", 1);
    while (finder.passed_count < 2) {
        (void)uv_run(&loop, UV_RUN_ONCE);
    }
    ck_assert_int_eq(symlink("event4", link_path), 0); /* as udev does, behind the node */
    expect(THERE);
    ck_assert(ours->grabbed);
    ck_assert(!other->grabbed);
}
END_TEST

START_TEST(others_are_left_alone)
{
    struct kernel_device *other = plug("event3", 7);
    struct kernel_device *renamed = kernel_plug(folder, "event5", "Other", 0x1a2b, 1, pedal_keys);
    (void)snprintf(map.device[0].name, sizeof map.device[0].name, "Foot Switch");
    struct kernel_device *keyless =
        kernel_plug(folder, "event6", "Foot Switch", 0x1a2b, 1, (const unsigned[]){KEY_Z, 0});
    start();
    expect(MISSING);
    plug("event7", 1);
    expect(THERE);
    ck_assert(!other->grabbed);
    ck_assert(!renamed->grabbed);
    ck_assert(!keyless->grabbed);
    ck_assert_uint_eq(finder_count(&finder), 1);
}
END_TEST

START_TEST(one_that_another_program_has_is_taken_when_it_lets_go)
{
    struct kernel_device *device = plug("event3", 1);
    device->refuse_grab = true;
    start();
    expect("the pedal: another program has taken it for itself. End that one; it is tried "
           "again.\n");
    device->refuse_grab = false;
    expect(THERE);
}
END_TEST

/* A key that is down when its device is grabbed would stay down for all others. */
START_TEST(one_with_a_key_down_is_taken_when_that_is_let_go)
{
    struct kernel_device *device = plug("event3", 1);
    kernel_set(device->down, KEY_B, true);
    start();
    expect("the pedal: a key of it is down. It is taken when that is let go.\n");
    ck_assert(!device->grabbed);
    kernel_set(device->down, KEY_B, false);
    expect(THERE);
    ck_assert(device->grabbed);
}
END_TEST

START_TEST(a_folder_that_is_not_there_yet_is_said_and_looked_for)
{
    char real[64];
    memcpy(real, folder, sizeof real);
    strcat(folder, "-later");
    start();
    run_to(MISSING);
    ck_assert_ptr_nonnull(strstr(heard, "cannot be looked through: No such file or directory"));
    heard[0] = '\0';
    ck_assert_int_eq(rename(real, folder), 0);
    plug("event3", 1);
    expect(THERE);
    kernel_unplug(&kernel_device[0]); /* watched from now on */
    expect(GONE);
}
END_TEST

/* --- Learning --- */

START_TEST(learning_tells_what_to_write_and_grabs_nothing)
{
    static struct learn learn;
    char by_id[128];
    char path[192];
    char *text = NULL;
    size_t size = 0;
    FILE *shows = open_memstream(&text, &size);
    FILE *says = fopen("/dev/null", "we");
    struct kernel_device *device = plug("event3", 1);
    struct kernel_device *odd =
        kernel_plug(folder, "event4", "Odd \"1\\2\"", 0xabcd, 0x0f, (const unsigned[]){KEY_KP5, 0});
    (void)snprintf(by_id, sizeof by_id, "%s/by-id", folder);
    (void)snprintf(path, sizeof path, "%s/usb-Foot_Switch-event-kbd", by_id);
    ck_assert_int_eq(mkdir(by_id, 0700), 0);
    ck_assert_int_eq(symlink("../event3", path), 0);
    ck_assert_int_eq(learn_start(&learn, &loop, folder, shows, says), 0);
    kernel_key(device, KEY_A, 1);
    kernel_key(device, KEY_A, 0);
    kernel_key(device, KEY_B, 1);
    while (!strstr(text ? text : "", "KEY_B")) {
        (void)uv_run(&loop, UV_RUN_ONCE);
    }
    kernel_key(odd, KEY_KP5, 1);
    while (!strstr(text, "KEY_KP5")) {
        (void)uv_run(&loop, UV_RUN_ONCE);
    }
    ck_assert(!device->grabbed);
    ck_assert(!odd->grabbed);
    char wanted[512];
    (void)snprintf(wanted, sizeof wanted,
                   "    \"path\": \"%s\",\n        \"KEY_A\": \"hold-up-slow\",\n"
                   "        \"KEY_B\": \"hold-up-slow\",\n"
                   "    \"vendor\": \"abcd\", \"product\": \"000f\", \"name\": \"Odd "
                   "\\\"1\\\\2\\\"\",\n        \"KEY_KP5\": \"keypad\",\n",
                   path);
    ck_assert_str_eq(text, wanted);
    learn_end(&learn);
    ck_assert_int_eq(uv_run(&loop, UV_RUN_DEFAULT), 0);
    (void)fclose(shows);
    (void)fclose(says);
    free(text);
    ck_assert_int_eq(unlink(path), 0);
    ck_assert_int_eq(rmdir(by_id), 0);
}
END_TEST

/* What it tells of a device without a link is what the file takes. */
START_TEST(what_is_learnt_can_be_written_into_the_file)
{
    static struct map learnt;
    char fault[MAP_FAULT_SIZE] = "";
    char file[] = "{\"devices\": [{\"vendor\": \"abcd\", \"product\": \"000f\", \"name\": \"Odd "
                  "\\\"1\\\\2\\\"\", \"keys\": {\"KEY_KP5\": \"keypad\"}}]}";
    ck_assert_msg(map_read(file, strlen(file), "f", &learnt, fault), "%s", fault);
    ck_assert_str_eq(learnt.device[0].name, "Odd \"1\\2\"");
    ck_assert_uint_eq(learnt.device[0].vendor, 0xabcd);
}
END_TEST

static Suite *events_suite(void)
{
    Suite *suite = suite_create("pedal-events");
    TCase *reading = tcase_create("reading");
    tcase_add_checked_fixture(reading, begin, end);
    tcase_add_test(reading, presses_and_releases_are_heard_and_repeats_are_not);
    tcase_add_test(reading, a_release_that_was_lost_is_found_behind_it);
    tcase_add_test(reading, a_press_that_was_lost_is_found_and_marked);
    tcase_add_test(reading, a_key_that_is_down_through_it_is_heard_no_more_until_it_changes);
    suite_add_tcase(suite, reading);
    TCase *coming = tcase_create("coming and going");
    tcase_add_checked_fixture(coming, begin, end);
    tcase_add_test(coming, it_is_found_when_it_comes_and_when_it_comes_back);
    tcase_add_test(coming, several_are_told_apart);
    tcase_add_test(coming, a_link_names_one_of_two_equal_ones);
    tcase_add_test(coming, others_are_left_alone);
    tcase_add_test(coming, one_that_another_program_has_is_taken_when_it_lets_go);
    tcase_add_test(coming, one_with_a_key_down_is_taken_when_that_is_let_go);
    tcase_add_test(coming, a_folder_that_is_not_there_yet_is_said_and_looked_for);
    suite_add_tcase(suite, coming);
    TCase *learning = tcase_create("learning");
    tcase_add_checked_fixture(learning, begin, end);
    tcase_add_test(learning, learning_tells_what_to_write_and_grabs_nothing);
    tcase_add_test(learning, what_is_learnt_can_be_written_into_the_file);
    suite_add_tcase(suite, learning);
    return suite;
}

int main(void)
{
    return run_suite(events_suite());
}
