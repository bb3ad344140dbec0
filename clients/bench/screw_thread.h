/* SPDX-License-Identifier: MIT */
/*
 * Standard threads by their names. Pure; lengths in nanometres, pitches as ratios.
 *
 * Pitch diameters: metric d - 0.649519 P (ISO 68-1, ISO 724), unified the same with P = 25.4/tpi mm
 * (ASME B1.1), trapezoidal d - P/2 (ISO 2904), Acme general purpose d - P/2 (ASME B1.5).
 */
#ifndef REGLET_BENCH_SCREW_THREAD_H
#define REGLET_BENCH_SCREW_THREAD_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol/attributes.h"

enum screw_form {
    SCREW_SQUARE = 1,
    SCREW_ACME,
    SCREW_TRAPEZOIDAL,
    SCREW_VEE, /* metric and unified, 60 degrees */
};

enum { SCREW_NAME = 48, SCREW_WHY = 320, SCREW_STARTS_MAX = 12 };

struct screw_thread {
    char name[SCREW_NAME]; /* as it is written: "M10x1.5", "1/2-10 Acme" */
    enum screw_form form;
    int64_t major_nm;     /* d; 0 where only the mean diameter is known */
    int64_t mean_nm;      /* d2, to the nearest nanometre */
    int64_t pitch_num_nm; /* P = pitch_num_nm/pitch_den */
    int64_t pitch_den;
    int starts;    /* lead = starts times P */
    bool standard; /* that pitch stands in the tables for that diameter */
};

/*
 * Reads a name, in upper or lower case, blanks where they are usual:
 *
 *     M10  M10x1.5                         ISO 261; without a pitch the coarse one
 *     Tr8x2  Tr8x8(P2)                     ISO 2904; lead and pitch of several starts
 *     1/2-10 Acme  1/2 Acme                ASME B1.5; without threads an inch the preferred number
 *     3/8-16  3/8-16 UNC  #10-24 UNC  3/8 UNC  3/8 UNF      ASME B1.1
 *
 * Diameters and pitches of no standard are read as well, with `standard` false, when the pitch is
 * no more than half the diameter (each in its own standard's form). False, and a sentence in `why`
 * (SCREW_WHY bytes), where it cannot be a thread.
 */
REGLET_MUST_CHECK bool screw_thread_named(const char *name, struct screw_thread *out, char *why);

/* A screw of given lead and mean diameter. */
REGLET_MUST_CHECK bool screw_thread_given(enum screw_form form, int64_t mean_nm,
                                          int64_t lead_num_nm, int64_t lead_den,
                                          struct screw_thread *out, char *why);

/* Half the thread's angle: 0, 14.5, 15, 30 degrees. */
double screw_half_angle_deg(enum screw_form form);

/* Of one turn, in metres; for the mechanics. */
double screw_lead_m(const struct screw_thread *thread);

/* --- Steps --- */

/* A ratio in lowest terms. */
struct screw_ratio {
    int64_t above;
    int64_t below;
};

/* Steps in `length_nm`, with so many a turn (1 to 1 000 000); a whole number where `below` is 1.
 * 1/64 in is 50 full steps on 16 threads an inch, 31 1/4 on 10. */
struct screw_ratio screw_steps_in(const struct screw_thread *thread, int64_t steps_per_turn,
                                  int64_t length_nm);

/* What a step is worth, in nanometres. */
struct screw_ratio screw_step_worth(const struct screw_thread *thread, int64_t steps_per_turn);

#endif
