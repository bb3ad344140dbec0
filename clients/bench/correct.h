/* SPDX-License-Identifier: MIT */
/*
 * What a test cut says about the height: by how much to raise, with its right sign, and what
 * changes by it. Pure. m is what was measured, w what was wanted; + raises.
 *
 *     depth of a cut                                          w - m
 *     what one face leaves                                    m - w
 *     tongue or tenon, anything cut from both faces           (m - w)/2
 *     groove cut from both faces with a flip                  (m - w)/2
 *     lower wall of a slot, over the table                    w - m
 *     two half-laps together                                  (m - w)/2, or m - w by one of them
 *     half-blind dovetail, the gap at the sides of a tail     (m - w)/(2 tan slope)
 *     lock mitre, reverse glue joint: a piece stands proud    turned over -m/2, as it was cut +m/2
 *
 * Two parts that are cut at one height share the error; where one of them stays as it is, the
 * other takes all of it (of the laps and of what stands proud).
 */
#ifndef REGLET_BENCH_CORRECT_H
#define REGLET_BENCH_CORRECT_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol/attributes.h"
#include "protocol/length.h"

enum correct_kind {
    CORRECT_DEPTH = 1,
    CORRECT_LEFT,
    CORRECT_TONGUE,
    CORRECT_GROOVE,
    CORRECT_LOWER_WALL,
    CORRECT_LAP,
    CORRECT_DOVETAIL,
    CORRECT_PROUD_TURNED, /* the piece that is turned over after the cut stands proud */
    CORRECT_PROUD_AS_CUT, /* the piece that is used as it was cut does */
    CORRECT_FINGER,       /* always refused: a clearance is not mended by the height */
};

enum { CORRECT_WORDS = 320 };

/* More than this is asked again: 1/32 in. */
#define CORRECT_ASK_NM INT64_C(793750)

struct correct {
    enum correct_kind kind;
    int64_t measured_nm;
    int64_t wanted_nm;  /* of what stands proud: 0, as a rule */
    bool one_stays;     /* of two parts cut at one height, one is not cut again */
    int32_t slope_mdeg; /* of a dovetail, thousandths of a degree */
};

struct correction {
    int64_t raise_nm;          /* below 0: lower. To the nearest nanometre, ties away from zero */
    bool ask;                  /* larger than CORRECT_ASK_NM */
    char words[CORRECT_WORDS]; /* "Raise .002in: the tongue gets thinner."; or why it is refused */
};

/* The word for a kind on a command line, "depth", "left", "tongue", "groove", "wall", "lap",
 * "dovetail", "proud-turned", "proud", "finger"; NULL for none. */
const char *correct_name(enum correct_kind kind);

/* False: refused, and out->words says why; out->raise_nm is 0. */
REGLET_MUST_CHECK bool correct_work_out(const struct correct *in, enum length_style style,
                                        struct correction *out);

#endif
