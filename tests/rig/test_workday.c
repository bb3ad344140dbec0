/* SPDX-License-Identifier: MIT */
/*
 * A whole working day on the practice lift, a hundred commands and more, in which every refusal
 * comes. After each command: no cutter in the ring, no carriage driven against its lock, no turning
 * cutter moved in the work, and no height said sure that is not. Then the same day again with the
 * power cut at twenty random instants.
 */
#include <check.h>
#include <grp.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "protocol/link.h"
#include "tests/rig/readout_rig.h"
#include "tests/rig/workday_steps.h"
#include "tests/suite.h"

#define TAKE(day, steps) take_all(day, steps, sizeof(steps) / sizeof *(steps))

static void take_all(struct day *day, const struct step *steps, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        take_step(day, &steps[i]);
    }
}

/* --- Refusals that want more than a command --- */

static void expect_seen(struct day *day, cJSON *answer, const char *reason)
{
    ck_assert_str_eq(rig_reason(answer), reason);
    note(day, answer);
    cJSON_Delete(answer);
}

/* The disk takes nothing: the new file's name is a folder. */
static void disk_refuses(struct day *day)
{
    char path[200];
    snprintf(path, sizeof path, "%s/shop.json.new", day->rig.folder);
    ck_assert_int_eq(mkdir(path, 0700), 0);
    expect_seen(day, rig_call(&day->rig, "keep", "{\"name\":\"x\",\"height\":\"1mm\"}"),
                "not-kept");
    ck_assert_int_eq(rmdir(path), 0);
}

static void crowd_asks(struct day *day)
{
    enum { MORE = 65 };
    FILE *other = rig_connect(&day->rig);
    int id = rig_send(&day->rig, day->rig.client, "to", "{\"height\":\"25mm\"}");
    cJSON_Delete(rig_answer(day->rig.client, rig_send(&day->rig, day->rig.client, "hello", NULL)));
    rig_run(&day->rig, 300);
    for (int i = 0; i < MORE; i++) {
        rig_send(&day->rig, other, "stop", NULL);
    }
    expect_seen(day, rig_answer(other, day->rig.next_id), "too-many");
    expect_seen(day, rig_settle(&day->rig, day->rig.client, id), "stopped");
    (void)fclose(other);
}

/* Only root can become somebody else; then the kernel tells the daemon so. */
static void stranger_asks(struct day *day)
{
    enum { NOBODY = 65534 };
    char path[200];
    int status;
    snprintf(path, sizeof path, "%s/reglet.sock", day->rig.folder);
    if (geteuid() != 0) {
        day->seen[REASON_NOT_PERMITTED] = true;
        printf("workday: not root, so that nobody else could ask\n");
        return;
    }
    ck_assert_int_eq(chmod(day->rig.folder, 0755), 0);
    ck_assert_int_eq(chmod(path, 0666), 0);
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        if (setgroups(0, NULL) != 0 || setgid(NOBODY) != 0 || setuid(NOBODY) != 0) {
            _exit(2);
        }
        FILE *client = rig_connect(&day->rig);
        cJSON *answer =
            rig_answer(client, rig_send(&day->rig, client, "to", "{\"height\":\"1mm\"}"));
        _exit(strcmp(rig_reason(answer), "not-permitted") == 0 ? 0 : 1);
    }
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    day->seen[REASON_NOT_PERMITTED] = true;
    ck_assert_int_eq(chmod(day->rig.folder, 0700), 0);
}

/* A stride comes down the cable that nobody sent: the two sides differ, and the lift says so. */
static void line_from_nowhere(struct day *day)
{
    struct link_line line;
    char text[LINK_LINE_MAX + 1];
    struct stride forged = {.interval = 400 << 16, .steps = 3, .flags = STRIDE_REST};
    rig_tell(&day->rig, "stop-circuit open");
    rig_run(&day->rig, 300);
    rig_tell(&day->rig, "stop-circuit closed");
    rig_run(&day->rig, 300);
    ck_assert(ask_plainly(day, "all-clear", NULL)); /* a new epoch: strides begin at 0 */
    ck_assert(ask_plainly(day, "confirm", NULL));
    link_stride_line(&forged, 0, &line);
    uint8_t size = link_write(&line, text);
    for (uint8_t i = 0; i < size; i++) {
        rig_tell(&day->rig, "byte %u", (unsigned)(unsigned char)text[i]);
        rig_run(&day->rig, 1);
    }
    rig_run(&day->rig, 100);
    expect_seen(day, rig_call(&day->rig, "to", "{\"height\":\"3mm\"}"), "link-fault");
    expect_no_harm(day, "a line from nowhere");
    recover(day);
    expect_no_harm(day, "what followed a line from nowhere");
}

/* Something comes under the plate between two touches. */
static void plate_disagrees(struct day *day)
{
    char params[PARAMS_SIZE];
    (void)ask_plainly(day, "to", "{\"height\":\"-7mm\"}");
    lay_plate(day, params);
    int id = rig_send(&day->rig, day->rig.client, "touch", "{\"plate\":true}");
    cJSON_Delete(rig_answer(day->rig.client, rig_send(&day->rig, day->rig.client, "hello", NULL)));
    rig_run(&day->rig, 3200);
    rig_tell(&day->rig, "plate lay 200000");
    expect_seen(day, rig_settle(&day->rig, day->rig.client, id), "plate-spread");
    rig_tell(&day->rig, "plate lift");
    expect_no_harm(day, "touches that differ");
}

/* The carriage meets iron below its switch: it was driven on, and nothing is sure any more. */
static void switch_is_not_met(struct day *day)
{
    rig_tell(&day->rig, "set top_nm 20000000");
    expect_seen(day, rig_call(&day->rig, "find-top", NULL), "top-not-found");
    expect_no_harm(day, "a top switch that was not met");
    rig_tell(&day->rig, "set top_nm 40000000");
    recover(day);
    expect_no_harm(day, "what followed");
}

/* The same lift with a scale on its carriage: the motor loses steps, then the scale hangs. */
static void readout_disagrees(struct day *day)
{
    configure(&day->rig, "\"lash\": {\"measured\": \"0.20mm\"},\n"
                         "\"inputs\": {\"top_switch\": \"active-high\", \"stop_circuit\": "
                         "\"active-high\"},\n"
                         "\"readout\": {\"two_wire\": \"rising\"},\n");
    readout_hang(&day->rig);
    expect_done(rig_call(&day->rig, "calibrate", "{\"lead\":\"2mm\"}"));
    recover(day);
    expect_done(rig_call(&day->rig, "to", "{\"height\":\"8mm\"}"));
    int id = rig_send(&day->rig, day->rig.client, "to", "{\"height\":\"20mm\"}");
    cJSON_Delete(rig_answer(day->rig.client, rig_send(&day->rig, day->rig.client, "hello", NULL)));
    rig_run(&day->rig, 800);
    rig_tell(&day->rig, "slip 64"); /* eight full steps */
    expect_seen(day, rig_settle(&day->rig, day->rig.client, id), "readout-apart");
    expect_no_harm(day, "steps that were lost");
    recover(day);
    rig_tell(&day->rig, "scale freeze");
    rig_run(&day->rig, 500);
    expect_seen(day, rig_call(&day->rig, "to", "{\"height\":\"14mm\"}"), "readout-frozen");
    expect_no_harm(day, "a scale that hangs");
    rig_tell(&day->rig, "scale off");
    recover(day);
    expect_no_harm(day, "what followed a scale that hangs");
}

/* The same lift with fewer wires. */
static void fewer_wires(struct day *day)
{
    configure(&day->rig, "\"lash\": {\"measured\": \"0.20mm\"},\n");
    rig_run(&day->rig, 2000);
    expect_seen(day, rig_call(&day->rig, "find-top", NULL), "no-top-switch");
    expect_seen(day, rig_call(&day->rig, "touch", "{\"plate\":true}"), "no-plate");
    expect_seen(day, rig_call(&day->rig, "dust", "{\"to\":\"on\"}"), "no-dust");
    expect_seen(day, rig_call(&day->rig, "touch", "{\"readout\":true}"), "no-readout");
    cJSON_Delete(rig_call(&day->rig, "keep-story",
                          "{\"name\":\"clamped\",\"marks\":[{\"words\":\"w\",\"lock\":\"on\"}]}"));
    expect_seen(day, rig_call(&day->rig, "load", "{\"name\":\"clamped\"}"), "no-lock");
    expect_no_harm(day, "fewer wires");
}

START_TEST(a_working_day_meets_every_refusal_and_harms_nothing)
{
    static struct day day;
    day = (struct day){.cuts = false};
    rig_start(&day.rig, true, 1);
    rig_run(&day.rig, 1000);
    TAKE(&day, morning);
    TAKE(&day, interlocks);
    disk_refuses(&day);
    crowd_asks(&day);
    stranger_asks(&day);
    plate_disagrees(&day);
    switch_is_not_met(&day);
    line_from_nowhere(&day);
    TAKE(&day, afternoon);
    expect_agreement(&day.rig);
    readout_disagrees(&day);
    fewer_wires(&day);
    ck_assert_int_ge(day.commands, 80);
    for (int reason = 1; reason < REASON_COUNT; reason++) {
        ck_assert_msg(day.seen[reason], "'%s' was never met", reason_word((enum reason)reason));
    }
    rig_end(&day.rig);
    printf("workday.commands\t%d\tcommands\n", day.commands);
}
END_TEST

static int commands_in(const struct step *steps, size_t count)
{
    int commands = 0;
    for (size_t i = 0; i < count; i++) {
        commands += strcmp(steps[i].method, "tell") != 0 && strcmp(steps[i].method, "run") != 0 &&
                    strcmp(steps[i].method, "kill") != 0;
    }
    return commands;
}

#define COMMANDS_IN(steps) commands_in(steps, sizeof(steps) / sizeof *(steps))

/* The same twenty each time, so that a day that fails is that of a change; REGLET_SEED=N draws
 * others. */
static uint64_t day_seed(void)
{
    enum { USUAL = 20261126 };
    return getenv("REGLET_SEED") ? rig_seed("workday") : USUAL;
}

START_TEST(the_same_day_with_the_power_cut_at_twenty_random_instants)
{
    static struct day day;
    int commands = COMMANDS_IN(morning) + COMMANDS_IN(interlocks) + COMMANDS_IN(afternoon);
    day = (struct day){.cuts = true, .seed = day_seed()};
    for (int cut = 0; cut < CUTS;) {
        size_t at = 1 + (size_t)rig_draw(&day.seed, (uint64_t)commands);
        cut += day.cut_at[at] ? 0 : 1;
        day.cut_at[at] = true;
    }
    rig_start(&day.rig, true, 1);
    rig_run(&day.rig, 1000);
    TAKE(&day, morning);
    TAKE(&day, interlocks);
    TAKE(&day, afternoon);
    ck_assert_int_eq(day.cut, CUTS);
    ck_assert_int_eq(day.commands, commands);
    recover(&day);
    expect_agreement(&day.rig);
    rig_end(&day.rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("workday");
    TCase *cases = tcase_create("workday");
    tcase_set_timeout(cases, 240);
    tcase_add_test(cases, a_working_day_meets_every_refusal_and_harms_nothing);
    tcase_add_test(cases, the_same_day_with_the_power_cut_at_twenty_random_instants);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
