/* SPDX-License-Identifier: MIT */
/*
 * The pedal's gate on a bench: keys go in at set times, and all that comes out is written down, a
 * line each with its time, so that a test compares the whole of it.
 */
#ifndef REGLET_TESTS_UNIT_PEDAL_BENCH_H
#define REGLET_TESTS_UNIT_PEDAL_BENCH_H

#include <check.h>
#include <inttypes.h>
#include <linux/input-event-codes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "clients/pedal/gate.h"

enum { BENCH_LOG = 16384, BENCH_DEBOUNCE_MS = 20 };

struct bench {
    struct gate gate;
    int64_t now_ms;
    double id[GATE_TO + 1]; /* of the last request of each kind */
    bool words;             /* write sentences down too */
    char log[BENCH_LOG];
    size_t used;
};

__attribute__((format(printf, 2, 3))) static inline void bench_log(struct bench *bench,
                                                                   const char *format, ...)
{
    va_list arguments;
    bench->used += (size_t)snprintf(bench->log + bench->used, sizeof bench->log - bench->used,
                                    "%" PRId64 " ", bench->now_ms);
    va_start(arguments, format);
    bench->used += (size_t)vsnprintf(bench->log + bench->used, sizeof bench->log - bench->used,
                                     format, arguments);
    va_end(arguments);
    ck_assert_uint_lt(bench->used + 1, sizeof bench->log);
    bench->log[bench->used++] = '\n';
    bench->log[bench->used] = '\0';
}

static inline void bench_send(void *owner, const struct gate_request *request)
{
    struct bench *bench = owner;
    bench->id[request->ask] = request->id;
    switch (request->ask) {
    case GATE_HOLD:
        bench_log(bench, "hold %s%s",
                  request->next ? "next"
                  : request->up ? "up"
                                : "down",
                  request->next   ? ""
                  : request->fast ? " fast"
                                  : " slow");
        break;
    case GATE_RENEW:
        bench_log(bench, "renew %s", request->text);
        break;
    case GATE_RELEASE:
        bench_log(bench, "release %s", request->text);
        break;
    case GATE_BY:
        bench_log(bench, "by %" PRId64, request->nm);
        break;
    case GATE_TO:
        bench_log(bench, "to %" PRId64, request->nm);
        break;
    case GATE_RECALL:
        bench_log(bench, "recall %s", request->text);
        break;
    case GATE_NEXT:
        bench_log(bench, "next");
        break;
    case GATE_STOP:
        bench_log(bench, "stop");
        break;
    }
}

static inline void bench_say(void *owner, const char *sentence)
{
    struct bench *bench = owner;
    if (bench->words) {
        bench_log(bench, "\"%s\"", sentence);
    }
}

static inline void bench_show(void *owner, const struct gate_shown *shown)
{
    struct bench *bench = owner;
    if (shown->state == GATE_CLEARED) {
        bench_log(bench, "[cleared]");
    } else if (!shown->read) {
        bench_log(bench, "[%s]", shown->text);
    } else {
        bench_log(bench, "[%s %s = %" PRId64 "%s%s]", shown->text, shown->unit, shown->nm,
                  shown->must_hold ? ", hold" : "", shown->state == GATE_SENT ? ", sent" : "");
    }
}

/* The lift at rest at a height of 0, the daemon there. */
static inline void bench_begin(struct bench *bench, enum length_style style)
{
    const struct gate_sink sink = {bench, bench_send, bench_say, bench_show};
    memset(bench, 0, sizeof *bench);
    gate_start(&bench->gate, &sink, style, BENCH_DEBOUNCE_MS, 10);
    gate_ready(&bench->gate, 0, &(struct gate_lift){.height_known = true});
}

/* Time goes on, and the gate is called when it wants to be. */
static inline void bench_to(struct bench *bench, int64_t ms)
{
    ck_assert_int_ge(ms, bench->now_ms);
    while (gate_next_ms(&bench->gate) <= ms) {
        int64_t due_ms = gate_next_ms(&bench->gate);
        bench->now_ms = due_ms > bench->now_ms ? due_ms : bench->now_ms;
        gate_tick(&bench->gate, bench->now_ms);
    }
    bench->now_ms = ms;
}

static inline void bench_key(struct bench *bench, int64_t ms, unsigned device, unsigned code,
                             const struct action *action, bool down)
{
    bench_to(bench, ms);
    gate_key(&bench->gate, ms,
             &(struct gate_event){
                 .device = device, .code = code, .action = action, .down = down, .at_ms = ms});
}

/* What the daemon says, and when. */
static inline void bench_lift(struct bench *bench, int64_t ms, bool moving, int64_t height_nm)
{
    bench_to(bench, ms);
    gate_told(&bench->gate, ms,
              &(struct gate_lift){.moving = moving, .height_known = true, .height_nm = height_nm});
}

/* The router starts, or has run down: a status tells it. */
static inline void bench_router(struct bench *bench, int64_t ms, bool turning)
{
    bench_to(bench, ms);
    gate_told(
        &bench->gate, ms,
        &(struct gate_lift){.height_known = true, .router_told = true, .router_turning = turning});
}

static inline void bench_answer(struct bench *bench, int64_t ms, enum gate_ask ask,
                                const char *token)
{
    bench_to(bench, ms);
    gate_answered(&bench->gate, ms, &(struct gate_answer){.id = bench->id[ask], .token = token});
}

static inline void bench_refuse(struct bench *bench, int64_t ms, enum gate_ask ask,
                                const char *reason, const char *sentence)
{
    bench_to(bench, ms);
    gate_answered(&bench->gate, ms,
                  &(struct gate_answer){.id = bench->id[ask],
                                        .refused = true,
                                        .hold_over = strcmp(reason, "hold-over") == 0,
                                        .stopped = strcmp(reason, "stopped") == 0,
                                        .sentence = sentence});
}

/* All that came out since the last time, in order. */
static inline void bench_expect(struct bench *bench, const char *lines)
{
    ck_assert_str_eq(bench->log, lines);
    bench->used = 0;
    bench->log[0] = '\0';
}

#endif
