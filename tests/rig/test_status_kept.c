/* SPDX-License-Identifier: MIT */
/*
 * The daemon keeps the printed status until it changes (daemon/serve/status_text.c). Here it is
 * compared, after every change that a status can show, with one that is put together afresh: the
 * answer to a batch always is. Simulated time stands between the two.
 */
#include <string.h>
#include <unistd.h>

#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

enum { LINE_BYTES = 16384, STEPS_AT_RANDOM = 400, TRIES = 100 };

/* A request, or a command to the practice lift, and how long time goes on behind it. */
struct step {
    const char *method; /* NULL: a command */
    const char *text;   /* parameters with ' for ", or the command */
    int ms;
};

/* In this order all of a status is to be seen at least once. */
static const struct step day[] = {
    {"hello", "{'client':'first'}", 0},
    {"keep", "{'name':'here','height':'0mm'}", 100},
    {"to", "{'height':'4mm'}", 150},
    {"hello", "{'client':'second'}", 100},
    {"stop", NULL, 20},
    {"all-clear", NULL, 1500},
    {"hello", "{'client':'third'}", 0},
    {"recall", "{'name':'here'}", 2500},
    {"rename", "{'what':'preset','name':'here','to':'there'}", 100},
    {"rename", "{'what':'preset','name':'there','to':'here'}", 100},
    {"keep-ring", "{'name':'ring','opening':'1in'}", 100},
    {"keep-bit", "{'name':'bit','kind':'straight','diameter':'1/2in'}", 100},
    {"riding", "{'thickness':'3mm'}", 300},
    {"correct", "{'raise':'0.1mm'}", 2500},
    {"undo", NULL, 2500},
    {"keep-story",
     "{'name':'s','marks':[{'height':'1mm','words':'one'},{'height':'2mm','bit':'bit'}]}", 100},
    {"load", "{'name':'s'}", 100},
    {"next", NULL, 2500},
    {"cut", NULL, 100},
    {NULL, "unplug", 600},
    {NULL, "plug", 1500},
    {NULL, "router on", 300},
    {NULL, "router off", 30000},
    {NULL, "stop-circuit open", 100},
    {NULL, "stop-circuit closed", 100},
    {"all-clear", NULL, 300},
    {NULL, "motor-supply off", 300},
    {NULL, "motor-supply on", 300},
    {"all-clear", NULL, 300},
    {"find-top", NULL, 40000},
    {"change", "{'clear':true}", 30000},
    {"fit", "{'bit':'bit','clear':true}", 500},
    {"rename", "{'what':'bit','name':'bit','to':'other'}", 100},
    {"rename", "{'what':'bit','name':'other','to':'bit'}", 100},
    {"keep-bit", "{'name':'bit','kind':'straight','diameter':'2in','ring':'ring'}", 100},
    {"hold", "{'direction':'down','speed':'slow'}", 150},
    {"stop", NULL, 1500},
    {"by", "{'distance':'-1mm'}", 1500},
    {"touch", "{'height':'0mm'}", 500},
    {"abandon", NULL, 100},
    {"forget-story", "{'name':'s'}", 100},
    {"forget", "{'name':'here'}", 100},
    {"by", "{'distance':'-2mm'}", 37},
    {"status", NULL, 1},
    {"status", NULL, 3},
};
enum { DAY = sizeof day / sizeof *day };

static const char *const to_be_seen[] = {
    "\"in_charge\":\"first\"",
    "\"in_charge\":\"third\"",
    "\"going_to\":",
    "\"holding\":true",
    "\"preset\":\"here\"",
    "\"preset\":\"there\"",
    "\"corrected\":",
    "\"riding\":",
    "\"words\":\"one\"",
    "\"cut\":1",
    "\"last_height\":",
    "\"why\":",
    "\"router\"",
    "\"activity\":\"unplugged\"",
    "\"activity\":\"braking\"",
    "\"activity\":\"barred\"",
    "\"activity\":\"unpowered\"",
    "\"stage\":\"changing\"",
    "\"stage\":\"fitted\"",
    "\"bit\":\"bit\"",
    "\"bit\":\"other\"",
    "\"stop_open\":true",
    "\"asks\":",
    "\"play\":\"open\"",
};
enum { TO_BE_SEEN = sizeof to_be_seen / sizeof *to_be_seen };

static void read_line(FILE *client, char *line)
{
    ck_assert_msg(fgets(line, LINE_BYTES, client) != NULL, "the daemon hung up");
    char *newline = strchr(line, '\n');
    ck_assert_ptr_nonnull(newline);
    *newline = '\0';
}

/* A kept status between two fresh ones that are alike: where they are not, the disk has just told
 * the daemon something, which simulated time does not hold. */
static void expect_fresh(FILE *onlooker, bool *seen)
{
    static char before[LINE_BYTES];
    static char kept[LINE_BYTES];
    static char after[LINE_BYTES];
    static const char single[] = "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"status\"}";
    int tries = 0;
    do {
        ck_assert_int_lt(tries++, TRIES);
        ck_assert_int_gt(dprintf(fileno(onlooker), "[%s]\n%s\n[%s]\n", single, single, single), 0);
        read_line(onlooker, before);
        read_line(onlooker, kept);
        read_line(onlooker, after);
    } while (strcmp(before, after) != 0);
    size_t size = strlen(kept);
    ck_assert_msg(strlen(after) == size + 2 && memcmp(after + 1, kept, size) == 0,
                  "kept:  %s\nfresh: %s", kept, after);
    for (size_t i = 0; i < TO_BE_SEEN; i++) {
        seen[i] = seen[i] || strstr(kept, to_be_seen[i]) != NULL;
    }
}

static void take_step(struct rig *rig, FILE *onlooker, const struct step *step, bool *seen)
{
    char text[400];
    snprintf(text, sizeof text, "%s", step->text ? step->text : "{}");
    for (char *at = text; *at; at++) {
        *at = *at == '\'' ? '"' : *at;
    }
    if (step->method) {
        rig_send(rig, rig->client, step->method, text);
        cJSON_Delete(rig_heard(rig, rig->client)); /* it has been taken up */
    } else {
        rig_tell(rig, "%s", text);
    }
    expect_fresh(onlooker, seen);
    rig_run(rig, step->ms);
    expect_fresh(onlooker, seen);
    cJSON_Delete(rig_heard(rig, rig->client));
}

START_TEST(the_kept_status_is_never_behind)
{
    struct rig rig;
    bool seen[TO_BE_SEEN] = {false};
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    FILE *onlooker = rig_connect(&rig);
    for (int i = 0; i < DAY; i++) {
        take_step(&rig, onlooker, &day[i], seen);
    }
    for (size_t i = 0; i < TO_BE_SEEN; i++) {
        ck_assert_msg(seen[i], "%s was never in a status", to_be_seen[i]);
    }
    fclose(onlooker);
    rig_end(&rig);
}
END_TEST

START_TEST(nor_after_anything_in_any_order)
{
    struct rig rig;
    bool seen[TO_BE_SEEN] = {false};
    uint64_t seed = rig_seed("status_kept");
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    FILE *onlooker = rig_connect(&rig);
    for (int i = 0; i < STEPS_AT_RANDOM; i++) {
        struct step step = day[rig_draw(&seed, DAY)];
        step.ms = step.ms > 0 ? 1 + (int)rig_draw(&seed, (uint64_t)step.ms) : 0;
        take_step(&rig, onlooker, &step, seen);
    }
    fclose(onlooker);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("status_kept");
    TCase *all = tcase_create("status");
    tcase_set_timeout(all, 120);
    tcase_add_test(all, the_kept_status_is_never_behind);
    tcase_add_test(all, nor_after_anything_in_any_order);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
