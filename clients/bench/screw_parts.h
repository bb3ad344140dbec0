/* SPDX-License-Identifier: MIT */
/* What the readers of thread names share with each other and with nobody else. */
#ifndef REGLET_BENCH_SCREW_PARTS_H
#define REGLET_BENCH_SCREW_PARTS_H

#include "clients/bench/screw_thread.h"
#include "protocol/length.h"
#include "protocol/ratio.h"

enum { SCREW_TEXT = 64, SCREW_MICRO = 1000000 };

/* The most that is read: 12 in. */
#define SCREW_MAJOR_MAX_NM INT64_C(304800000)

/* A name that is read from left to right. */
struct screw_scan {
    const char *name;
    char text[SCREW_TEXT]; /* in lower case, the multiplication sign as x */
    const char *at;
    char *why;
};

/* Writes `why` and returns false. */
REGLET_PRINTF(2, 3) bool screw_wrong(char *why, const char *format, ...);
bool screw_no_thread(const struct screw_scan *scan);

REGLET_MUST_CHECK bool screw_prepare(struct screw_scan *scan, const char *name, char *why);
void screw_skip_blanks(struct screw_scan *scan);

/* Past a word, where it stands there behind blanks. */
bool screw_take(struct screw_scan *scan, const char *word);
bool screw_at_end(struct screw_scan *scan);

/* At most six digits before the point, and behind it; in millionths. */
REGLET_MUST_CHECK bool screw_read_decimal(struct screw_scan *scan, int64_t *millionths);
REGLET_MUST_CHECK bool screw_read_whole(struct screw_scan *scan, int64_t *value);

/* Pitch and diameter belong together. */
REGLET_MUST_CHECK bool screw_check_pitch(const struct screw_scan *scan,
                                         const struct screw_thread *thread);
void screw_set_vee_mean(struct screw_thread *thread);
void screw_set_half_pitch_mean(struct screw_thread *thread);

/* Behind M, behind Tr, and inches. */
REGLET_MUST_CHECK bool screw_read_metric(struct screw_scan *scan, struct screw_thread *thread);
REGLET_MUST_CHECK bool screw_read_trapezoidal(struct screw_scan *scan, struct screw_thread *thread);
REGLET_MUST_CHECK bool screw_read_inch(struct screw_scan *scan, struct screw_thread *thread);

#endif
