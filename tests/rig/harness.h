/* SPDX-License-Identifier: MIT */
/*
 * The whole thing under test: the real practice lift and the real daemon, in lockstep time or in
 * real time, in a folder of their own. Every process that is started here is ended here.
 *
 * The environment's REGLET_RIG_LIFT names another program beside regletd as the practice lift:
 * reglet-practice-avr is the one with the microcontroller's own firmware.
 */
#ifndef REGLET_TESTS_RIG_HARNESS_H
#define REGLET_TESTS_RIG_HARNESS_H

#include <check.h>
#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <sys/types.h>

struct rig {
    char folder[64];
    pid_t practice;
    pid_t daemon;
    FILE *control; /* to the practice lift */
    FILE *client;  /* to the daemon */
    int next_id;
    bool lockstep;
    char patient[80];
    const char *config;    /* for the daemon; NULL: the practice lift's own */
    int crash_at_sync;     /* kills the daemon at this disk write; 0: never */
    bool crash_after_sync; /* just behind it, not just before */
};

/* Starts the practice lift (latency of its adapter in ms) and the daemon. In lockstep, time is
 * held; rig_settle lets the greeting pass. Fails the test when anything does. */
void rig_start(struct rig *rig, bool lockstep, int latency_ms);
/* In real time, for a test that must not depend on how busy the machine is: the step generator
 * bears a second of silence. */
void rig_start_patient(struct rig *rig);
void rig_start_daemon(struct rig *rig);
/* The same without waiting for it, nor connecting. */
void rig_spawn_daemon(struct rig *rig);
/* Ends a process and asserts how: by SIGTERM with exit code 0, or by SIGKILL. */
void rig_end_daemon(struct rig *rig, int signal_number);
void rig_end(struct rig *rig);
/* The daemon has closed our connection, or says nothing to `hello`. */
bool rig_hung_up(struct rig *rig);
/* Waits for a daemon that kills itself (crash_at_sync). True when it was killed so. */
bool rig_crashed(struct rig *rig);
/* Starts a daemon that is expected to refuse; asserts a non-zero exit code within the time, and
 * leaves what it said in the log. */
void rig_refuses_to_start(struct rig *rig);
/* What daemons of this rig have said so far. */
bool rig_log_has(const struct rig *rig, const char *text);

/* One command to the practice lift, printf-like; the caller deletes the answer. */
cJSON *rig_ask(struct rig *rig, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* The same, its answer not wanted. */
void rig_tell(struct rig *rig, const char *format, ...) __attribute__((format(printf, 2, 3)));
double rig_number(const cJSON *object, const char *name);

/* A connection of its own to the daemon. */
FILE *rig_connect(struct rig *rig);

/* Sends a request (params: JSON text or NULL) and returns its id. */
int rig_send(struct rig *rig, FILE *client, const char *method, const char *params);
/* Reads answers until that of `id`; the caller deletes it. Others are dropped. */
cJSON *rig_answer(FILE *client, int id);
/* All that has come unasked over this connection up to now, as an array; the caller deletes it.
 * Answers that nobody has read are dropped. */
cJSON *rig_heard(struct rig *rig, FILE *client);
/* The answer to `id`, with simulated time let go, each time until the motor has been at rest for
 * 200 ms, until it is there; fails the test when it never comes. */
cJSON *rig_settle(struct rig *rig, FILE *client, int id);
/* rig_send and rig_settle. */
cJSON *rig_call(struct rig *rig, const char *method, const char *params);
/* The same, asked again after an all-clear where a machine that was too busy in real time let the
 * generator's queue run empty. */
cJSON *rig_insist(struct rig *rig, const char *method, const char *params);
/* The same for one length, as nanometres: {"NAME_nm": ...}. */
cJSON *rig_length(struct rig *rig, const char *method, const char *name, int64_t nm);

/* Is it a result? And the reason of a refusal, or "". */
bool rig_done(const cJSON *answer);
const char *rig_reason(const cJSON *answer);

/* Lets simulated time go on for some milliseconds; real time: waits. */
void rig_run(struct rig *rig, int ms);

/* Finds the top, goes to the middle of the travel, down and up, has the bit set flush, and touches
 * off: a rig ready for heights, all of it sure. */
void rig_touch_off(struct rig *rig);

/* REGLET_SEED, or one drawn; printed either way. */
uint64_t rig_seed(const char *test);
/* A number below `below`. */
uint64_t rig_draw(uint64_t *seed, uint64_t below);

/* Runs one test by itself in this process, for a program that is no suite: what main returns. */
int rig_alone(const TTest *test);

#endif
