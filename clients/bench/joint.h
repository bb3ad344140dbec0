/* SPDX-License-Identifier: MIT */
/*
 * What every generator of a joint takes and gives: the shop, the cutter, an ordered list of marks.
 * Pure. Lengths are int64_t nanometres; a height that is a ratio is rounded to the nearest
 * nanometre once, ties away from zero, from an absolute expression.
 *
 * Heights are those of the cutter's reference point over the surface that the work rides on, so
 * what the lift adds for a sled (riding) is in none of them, and the travel is given over that
 * surface as well.
 */
#ifndef REGLET_BENCH_JOINT_H
#define REGLET_BENCH_JOINT_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol/attributes.h"
#include "protocol/length.h"

enum {
    JOINT_MARKS_MAX = 200, /* of a story */
    JOINT_PIECES_MAX = 10000,
    JOINT_WORDS = 240,
    JOINT_WHY = 480,
};

/* Nothing thinner than this holds together at the bit: 1/32 in (common practice, no source). */
#define JOINT_SLIVER_NM INT64_C(793750)

enum joint_kind {
    JOINT_STRAIGHT = 1,
    JOINT_SLOT, /* a disc that cuts a kerf sideways */
    JOINT_EDGE, /* any other profile that may be stepped by height: round-over, cove, chamfer */
    JOINT_DOVETAIL,
    JOINT_T_SLOT,
    JOINT_KEYHOLE,
    JOINT_LOCK_MITRE,
    JOINT_GLUE, /* reverse glue joint */
    JOINT_STILE_RAIL,
    JOINT_RAISER,      /* horizontal, without a back cutter */
    JOINT_RAISER_BACK, /* with a back cutter */
    JOINT_RAISER_VERTICAL,
};

/* Which point of the cutter its height is the height of. */
enum joint_reference {
    JOINT_TOP = 1, /* the top cutting edge */
    JOINT_LOWER,   /* the lower edge of a slot cutter */
    JOINT_CENTRE,  /* the profile's centre */
};

struct joint_cutter {
    enum joint_kind kind;
    enum joint_reference reference;
    int64_t width_nm;   /* across: the width of the groove that it makes; of a dovetail at its tip,
                           and with a guide bush in a template the width actually cut */
    int64_t kerf_nm;    /* thickness of a slot cutter, measured in a slot that it cut */
    int64_t length_nm;  /* cutting length; the height of a profile; 0: not known */
    int64_t reach_nm;   /* how far a slot cutter cuts beyond its bearing; 0: not known */
    int64_t shank_nm;   /* 0: not known */
    int32_t slope_mdeg; /* of a dovetail, from the upright, thousandths of a degree */
    bool plunging;      /* it cuts with its end as well */
};

/* How heights are written in words; the reference point's travel, exclusive at both ends. */
struct joint_shop {
    enum length_style style;
    int64_t lowest_nm;
    int64_t highest_nm;
};

/* Deep cuts in steps; most_nm 0: in one. passes.h says what becomes of them. */
struct joint_depth {
    int64_t most_nm;
    int64_t last_nm;
};

enum joint_part { JOINT_EACH = 1 /* all pieces alike */, JOINT_A, JOINT_B };
enum joint_bit { JOINT_BIT = 1, JOINT_SECOND_BIT };

struct joint_mark {
    int64_t height_nm; /* of the reference point */
    int64_t low_nm;    /* what the cutter takes, over the riding surface: for drawings. From 0 or */
    int64_t high_nm;   /* below for a bit that reaches down to the table */
    enum joint_part part;
    enum joint_bit bit;
    int pieces;
    bool turned; /* the board stands on its other edge: heights count down from width_nm */
    bool flip;   /* each piece is cut from both faces at this height */
    char words[JOINT_WORDS];
    char fence[JOINT_WORDS]; /* what to do with fence, stops or key first; empty: as before */
};

/* Why nothing can be cut so. */
enum joint_fault {
    JOINT_POSSIBLE = 0,
    JOINT_FAULT_SIZE,      /* a size that is none */
    JOINT_FAULT_CLEARANCE, /* below 0, or so large that nothing is left */
    JOINT_FAULT_PIECES,
    JOINT_FAULT_KIND,   /* the cutter is of another kind, or of one that is not stepped by height */
    JOINT_FAULT_WIDE,   /* the cutter is wider than the cut */
    JOINT_FAULT_NARROW, /* the cutter is too narrow for it */
    JOINT_FAULT_REACH,  /* deeper than the cutter's reach or cutting length */
    JOINT_FAULT_PLUNGE, /* the cutter does not cut with its end */
    JOINT_FAULT_STOCK,  /* the stock is too thin, too narrow or too short for it */
    JOINT_FAULT_BOARD,  /* wider than can be reached from both edges */
    JOINT_FAULT_TRAVEL, /* a height outside the lift's travel */
    JOINT_FAULT_LAST,   /* the last pass is deeper than a pass may be */
    JOINT_FAULT_DONE,   /* it is as deep as that already */
    JOINT_FAULT_MARKS,  /* more than JOINT_MARKS_MAX */
    JOINT_FAULT_SPACING, /* a dovetail's slope, or its spacing for the width of the cutter */
};

/* Large: not for the stack of small threads. The caller's; needs no clearing before. */
struct joint_plan {
    struct joint_shop shop;
    enum joint_fault fault;
    char why[JOINT_WHY];  /* after a refusal: what was found, what it means, what would do */
    char note[JOINT_WHY]; /* what the operator is to know of the whole; may be empty */
    int count;
    struct joint_mark mark[JOINT_MARKS_MAX]; /* in the order of cutting */
};

/* May a cutter of this kind come to its depth in several heights? Where not, joint_instead says
 * what to do in place of it: passes by the fence, or a waste cut with another bit first. */
REGLET_MUST_CHECK bool joint_can_step(enum joint_kind kind);
const char *joint_instead(enum joint_kind kind);
const char *joint_kind_name(enum joint_kind kind); /* "a dovetail bit" */

#endif
