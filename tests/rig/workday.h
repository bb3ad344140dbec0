/* SPDX-License-Identifier: MIT */
/* A scripted day on the practice lift: what is true and said, power cuts, how a person sets things
 * right again, and how one command is asked. */
#ifndef REGLET_TESTS_RIG_WORKDAY_H
#define REGLET_TESTS_RIG_WORKDAY_H

#include <check.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

#include "protocol/reason.h"
#include "tests/rig/expect.h"
#include "tests/rig/harness.h"

enum { CUTS = 20, PARAMS_SIZE = 400, TRIES = 4 };

struct day {
    struct rig rig;
    uint64_t seed;
    bool cuts; /* with power cuts: what is refused is tried again, as a person would */
    bool cut_at[400];
    int commands; /* asked so far */
    int cut;      /* power cuts so far */
    bool seen[REASON_COUNT];
};

enum { HELD = 1, STOPPED_BY_OTHER = 2, ONCE = 4 };

/* One command. `prepare` may write its parameters, and does what hands do before it. */
struct step {
    const char *method; /* "tell", "run": to the practice lift */
    const char *params;
    const char *refused; /* the reason, or NULL */
    unsigned flags;
    void (*prepare)(struct day *day, char *params);
};

/* --- What is true, and what is said --- */

static inline double truth(struct day *day, const char *name)
{
    cJSON *object = rig_ask(&day->rig, "truth");
    double value = rig_number(object, name);
    cJSON_Delete(object);
    return value;
}

static inline cJSON *status_of(struct day *day)
{
    cJSON *answer = rig_call(&day->rig, "status", NULL);
    cJSON *status = cJSON_DetachItemFromObject(answer, "result");
    cJSON_Delete(answer);
    ck_assert_ptr_nonnull(status);
    return status;
}

static const char *word(const cJSON *status, const char *name)
{
    const cJSON *item = cJSON_GetObjectItem(status, name);
    return cJSON_IsString(item) ? item->valuestring : "";
}

static inline double riding_nm(const cJSON *status)
{
    return cJSON_HasObjectItem(status, "riding_nm") ? rig_number(status, "riding_nm") : 0;
}

/* By how much more it is said to be high than it is; the truth is over the table. */
static inline double off_nm(struct day *day, const cJSON *status)
{
    return rig_number(status, "height_nm") + riding_nm(status) - truth(day, "height_nm");
}

static inline void expect_no_harm(struct day *day, const char *method)
{
    cJSON *object = rig_ask(&day->rig, "truth");
    ck_assert_msg(rig_number(object, "cutter_in_ring") == 0, "in the ring: %s", method);
    ck_assert_msg(rig_number(object, "against_lock") == 0, "against the lock: %s", method);
    ck_assert_msg(rig_number(object, "turning_in_work") == 0, "turning in the work: %s", method);
    cJSON_Delete(object);
    cJSON *status = status_of(day);
    bool sure = strcmp(word(status, "table_zero"), "sure") == 0 &&
                strcmp(word(status, "activity"), "still") == 0 &&
                !cJSON_HasObjectItem(status, "asks"); /* the bit may be another: that is asked */
    if (sure) {
        ck_assert_msg(fabs(off_nm(day, status)) <= 2500, "%s: off by %g nm (cut %d)", method,
                      off_nm(day, status), day->cut);
    }
    cJSON_Delete(status);
}

static inline void note(struct day *day, const cJSON *answer)
{
    for (int reason = 1; reason < REASON_COUNT; reason++) {
        if (strcmp(reason_word((enum reason)reason), rig_reason(answer)) == 0) {
            day->seen[reason] = true;
        }
    }
}

/* --- As a person sets it right again --- */

static inline bool ask_plainly(struct day *day, const char *method, const char *params)
{
    cJSON *answer = rig_call(&day->rig, method, params);
    bool done = rig_done(answer);
    cJSON_Delete(answer);
    return done;
}

/* Comes up to where it stands, and touches off at the height that a rule shows. */
static inline void touch_true(struct day *day)
{
    char params[PARAMS_SIZE];
    (void)ask_plainly(day, "by", "{\"distance\":\"-1mm\"}");
    (void)ask_plainly(day, "by", "{\"distance\":\"1mm\"}");
    cJSON *status = status_of(day);
    snprintf(params, sizeof params, "{\"height_nm\":%.0f}",
             truth(day, "height_nm") - riding_nm(status));
    cJSON_Delete(status);
    (void)ask_plainly(day, "touch", params);
}

static inline void recover(struct day *day)
{
    (void)ask_plainly(day, "all-clear", NULL);
    cJSON *status = status_of(day);
    bool known = cJSON_HasObjectItem(status, "height_nm");
    bool unplugged = strcmp(word(status, "activity"), "unplugged") == 0;
    if (word(status, "stage")[0] != '\0' || unplugged) {
        cJSON_Delete(status);
        return; /* the day goes on from there, or when its cable is put in again */
    }
    if (known && fabs(off_nm(day, status)) <= 2500) {
        (void)ask_plainly(day, "confirm", NULL);
    }
    if (strcmp(word(status, "reference"), "lost") == 0 || !known) {
        (void)ask_plainly(day, "find-top", NULL);
    }
    cJSON_Delete(status);
    status = status_of(day);
    if (strcmp(word(status, "table_zero"), "sure") != 0 || cJSON_HasObjectItem(status, "asks") ||
        fabs(off_nm(day, status)) > 2500) {
        touch_true(day);
    }
    if (strcmp(word(status, "reference"), "unchecked") == 0) {
        (void)ask_plainly(day, "confirm", NULL);
    }
    cJSON_Delete(status);
}

/* The whole bench is dark, and light again. */
static inline void cut_power(struct day *day)
{
    day->cut++;
    rig_end_daemon(&day->rig, SIGKILL);
    rig_tell(&day->rig, "power off");
    rig_run(&day->rig, 300);
    rig_tell(&day->rig, "power on");
    rig_start_daemon(&day->rig);
    rig_run(&day->rig, 2000);
    expect_no_harm(day, "a power cut");
    recover(day);
    expect_no_harm(day, "what followed a power cut");
}

/* --- One step --- */

/* Renewed as long as it goes on, two seconds at the most. */
static inline void keep_holding(struct day *day, const cJSON *answer)
{
    char params[80];
    const cJSON *token = cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "result"), "token");
    ck_assert_ptr_nonnull(token);
    snprintf(params, sizeof params, "{\"token\":\"%s\"}", token->valuestring);
    for (int i = 0; i < 40; i++) {
        rig_run(&day->rig, 50);
        int id = rig_send(&day->rig, day->rig.client, "renew", params);
        cJSON_Delete(rig_answer(day->rig.client, id));
    }
    rig_run(&day->rig, 1000); /* let go: the lease runs out */
}

static inline void stop_by_other(struct day *day)
{
    FILE *other = rig_connect(&day->rig);
    cJSON_Delete(rig_settle(&day->rig, other, rig_send(&day->rig, other, "stop", NULL)));
    (void)fclose(other);
}

static const char *params_of(struct day *day, const struct step *step, char *params)
{
    params[0] = '\0';
    if (step->prepare) {
        step->prepare(day, params);
    }
    return params[0] != '\0' ? params : step->params;
}

static inline cJSON *ask_step(struct day *day, const struct step *step)
{
    char params[PARAMS_SIZE];
    const char *given = params_of(day, step, params);
    int id = rig_send(&day->rig, day->rig.client, step->method, given);
    if (step->flags & STOPPED_BY_OTHER) {
        cJSON_Delete(
            rig_answer(day->rig.client, rig_send(&day->rig, day->rig.client, "hello", NULL)));
        rig_run(&day->rig, 500);
        stop_by_other(day);
    }
    cJSON *answer = rig_settle(&day->rig, day->rig.client, id);
    if (step->flags & HELD && rig_done(answer)) {
        keep_holding(day, answer);
    }
    return answer;
}

/* Asked for, and the power goes at some instant of it. */
static inline void ask_and_cut(struct day *day, const struct step *step)
{
    char params[PARAMS_SIZE];
    const char *given = params_of(day, step, params);
    (void)rig_send(&day->rig, day->rig.client, step->method, given);
    cJSON_Delete(rig_answer(day->rig.client, rig_send(&day->rig, day->rig.client, "hello", NULL)));
    rig_run(&day->rig, (int)rig_draw(&day->seed, 1500));
    cut_power(day);
}

/* It must be done in the end. What is said to be done ONCE, and a move by a distance, may have been
 * done before the power went. */
static inline void ask_until_done(struct day *day, const struct step *step)
{
    cJSON *answer = NULL;
    bool once = step->flags & ONCE || strcmp(step->method, "by") == 0;
    for (int i = 0; i < TRIES; i++) {
        cJSON_Delete(answer);
        answer = ask_step(day, step);
        note(day, answer);
        if (rig_done(answer) || once) {
            break;
        }
        if (strcmp(rig_reason(answer), "come-up-first") == 0) {
            (void)ask_plainly(day, "by", "{\"distance\":\"-1mm\"}");
            (void)ask_plainly(day, "by", "{\"distance\":\"1mm\"}");
        }
        if (strcmp(rig_reason(answer), "above-travel") == 0) {
            (void)ask_plainly(day, "by", "{\"distance\":\"-12mm\"}"); /* it looked for the top */
        }
        if (strcmp(rig_reason(answer), "router-running") == 0) {
            rig_run(&day->rig, 11000); /* nobody knows since when it is off: it is let run down */
        }
        recover(day);
    }
    ck_assert_msg(rig_done(answer) || once, "%s %s: %s (command %d, cut %d)", step->method,
                  step->params ? step->params : "", rig_reason(answer), day->commands, day->cut);
    cJSON_Delete(answer);
}

/* A change that was to be refused, and was not behind a cut: the same bit goes in again. */
static inline void put_bit_back(struct day *day)
{
    char params[PARAMS_SIZE];
    cJSON *status = status_of(day);
    const char *bit = word(status, "bit");
    snprintf(params, sizeof params, "{\"clear\":true%s%s%s}", bit[0] != '\0' ? ",\"bit\":\"" : "",
             bit, bit[0] != '\0' ? "\"" : "");
    cJSON_Delete(status);
    ck_assert(ask_plainly(day, "fit", params));
    cJSON *answer = rig_call(&day->rig, "hold", "{\"direction\":\"down\"}");
    if (rig_done(answer)) {
        keep_holding(day, answer);
    }
    cJSON_Delete(answer);
    recover(day);
}

static inline void ask_though_refused(struct day *day, const struct step *step)
{
    cJSON *answer = ask_step(day, step);
    if (rig_done(answer) && strcmp(step->method, "change") == 0) {
        put_bit_back(day);
    }
    cJSON_Delete(answer);
}

static inline void ask_strictly(struct day *day, const struct step *step)
{
    cJSON *answer = ask_step(day, step);
    char *text = cJSON_PrintUnformatted(answer);
    note(day, answer);
    bool expected =
        step->refused ? strcmp(rig_reason(answer), step->refused) == 0 : rig_done(answer);
    ck_assert_msg(expected, "%s %s (command %d): %s", step->method,
                  step->params ? step->params : "", day->commands, text);
    cJSON_free(text);
    cJSON_Delete(answer);
}

static inline void take_step(struct day *day, const struct step *step)
{
    if (strcmp(step->method, "tell") == 0) {
        rig_tell(&day->rig, "%s", step->params);
        return;
    }
    if (strcmp(step->method, "run") == 0) {
        rig_run(&day->rig, atoi(step->params));
        return;
    }
    if (strcmp(step->method, "kill") == 0) {
        rig_end_daemon(&day->rig, SIGKILL);
        rig_start_daemon(&day->rig);
        rig_run(&day->rig, 2000);
        return;
    }
    day->commands++;
    if (day->cuts && day->cut_at[day->commands]) {
        ask_and_cut(day, step);
    }
    if (!day->cuts) {
        ask_strictly(day, step);
    } else if (step->refused) { /* behind a cut it may be another one, or none */
        ask_though_refused(day, step);
    } else {
        ask_until_done(day, step);
    }
    expect_no_harm(day, step->method);
}

#endif
