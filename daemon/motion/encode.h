/* SPDX-License-Identifier: MIT */
/*
 * From a profile to strides: the fast encoder, with its proof.
 *
 * Step k of a leg (1, 2, ... steps) belongs at the ideal time at which the profile passes position
 * k - 1/2, where the rounded position changes. Every edge that a stride makes lies within
 * `tolerance_ticks` of that ideal time; before a stride is handed out its recurrence has been
 * proved against that bound, against the smallest intervals and against the ranges of
 * protocol/stride.h: run in full, but for runs of one even interval in the cruise, where a straight
 * line meets a straight line and the two ends bound all between.
 *
 * Each stride is the longest that a cubic in whole register units allows, found by a search whose
 * work has a bound. The encoder is a generator: the next stride on demand, nothing computed beyond
 * it. Pure, and built from + - * / and square roots alone, so that every processor with IEEE 754
 * doubles makes the same strides. Times are ticks in a double: exact enough for legs of a day.
 */
#ifndef REGLET_DAEMON_MOTION_ENCODE_H
#define REGLET_DAEMON_MOTION_ENCODE_H

#include <stdbool.h>
#include <stdint.h>

#include "daemon/motion/profile.h"
#include "protocol/attributes.h"
#include "protocol/stride.h"

struct encode_limits {
    double tick_hz;            /* of the generator's timer, 16e6 */
    double tolerance_ticks;    /* 4 at 16 MHz: 0.25 us; at least 1 */
    uint32_t inside_min_ticks; /* smallest interval inside a stride */
    uint32_t first_min_ticks;  /* smallest before a stride's first step, if more */
};

enum encode_result {
    ENCODE_STRIDE = 1, /* *stride is the next one */
    ENCODE_DONE,       /* the leg is complete */
    ENCODE_TOO_FAST,   /* an interval would be below the smallest */
    ENCODE_TOO_SLOW,   /* an interval would not fit the slow scale (over 2^24 - 1 ticks) */
};

/* The highest rate that never ends in ENCODE_TOO_FAST on a leg from rest to rest: its ideal
 * interval leaves the smallest one even where one edge is late by the tolerance and the next one
 * early by it. */
double encode_rate_max_hz(const struct encode_limits *limits);

/* The state of one leg; the fields are the encoder's own. */
struct encoder {
    const struct profile *profile; /* borrowed, must outlive the encoder */
    struct encode_limits limits;
    uint32_t steps;      /* of the leg */
    uint32_t step;       /* steps encoded so far */
    uint64_t edge_ticks; /* tick of the last step encoded, from the start of the leg */
    uint32_t trials;     /* fits and proofs that the last stride took */
    bool down;
};

/* profile->asked.steps must be a whole number from 1 to 2^31 - 1. The last stride is flagged
 * STRIDE_REST when profile->asked.end_hz is 0. */
void encoder_init(struct encoder *encoder, const struct profile *profile,
                  const struct encode_limits *limits, bool down);

/* The next stride of the leg into *stride. On any result but ENCODE_STRIDE, *stride is untouched.
 */
REGLET_MUST_CHECK enum encode_result encoder_next(struct encoder *encoder, struct stride *stride);

/*
 * Whether `stride`, begun where the encoder stands, keeps every edge within the tolerance, every
 * interval at or over the smallest and every register within its 32 bits. *end_ticks is then its
 * last edge, from the start of the leg. encoder_next hands out nothing that fails this.
 */
REGLET_MUST_CHECK bool encoder_proves(const struct encoder *encoder, const struct stride *stride,
                                      uint64_t *end_ticks);

/* Ticks from the start of the leg to the last edge of the strides handed out so far. */
uint64_t encoder_ticks(const struct encoder *encoder);

#endif
