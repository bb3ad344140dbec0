/* SPDX-License-Identifier: MIT */
/*
 * Joints of parts that lie flat on the table under a straight bit: the height is the depth.
 */
#ifndef REGLET_BENCH_JOINT_FLAT_H
#define REGLET_BENCH_JOINT_FLAT_H

#include "clients/bench/joint.h"

/* h = t/2 for both parts; or, where one lap is finished, its thickness, so that the other fills
 * what is left of t. */
struct joint_lap {
    int64_t thick_nm;    /* t of both parts, measured */
    int64_t finished_nm; /* thickness of the lap that is there already; 0: none */
    int64_t length_nm;   /* of the lap: the width of the other part */
    struct joint_cutter cutter;
    struct joint_depth depth;
    int pieces;
};

REGLET_MUST_CHECK bool joint_lap(const struct joint_lap *in, const struct joint_shop *shop,
                                 struct joint_plan *plan);

/* h = the mating part's thickness, less a tongue that is left on that part. */
struct joint_rabbet {
    int64_t thick_nm;           /* of the stock that is cut */
    int64_t part_nm;            /* thickness of the mating part, measured */
    int64_t tongue_nm;          /* 0: none */
    int64_t into_nm;            /* width of the rabbet */
    struct joint_cutter cutter; /* straight, or a slot cutter */
    struct joint_depth depth;
    int pieces;
};

REGLET_MUST_CHECK bool joint_rabbet(const struct joint_rabbet *in, const struct joint_shop *shop,
                                    struct joint_plan *plan);

/* A groove across the stock, as wide as the mating part and the clearance. A narrower bit makes it
 * in several cuts: the fence goes back each time, so that the later cut takes the wall nearest the
 * operator; the other way is a climb cut. */
struct joint_dado {
    int64_t thick_nm; /* of the stock that is cut */
    int64_t part_nm;  /* thickness of the mating part, measured */
    int64_t clearance_nm;
    int64_t depth_nm; /* 0: a third of the stock, rounded down to the nanometre */
    int64_t edge_nm;  /* from the edge at the fence to the dado */
    struct joint_cutter cutter;
    struct joint_depth depth;
    int pieces;
    /* Stopped: how much stays uncut at the end that comes last past the bit, or at the one that
     * comes first; 0: open there. */
    int64_t stop_last_nm;
    int64_t stop_first_nm;
    int64_t board_nm; /* length of the board along the fence; only for a stopped one */
};

REGLET_MUST_CHECK bool joint_dado(const struct joint_dado *in, const struct joint_shop *shop,
                                  struct joint_plan *plan);

#endif
