/* SPDX-License-Identifier: MIT */
/*
 * Finger joints. Part A begins with a finger at the marked edge, part B with a slot.
 */
#ifndef REGLET_BENCH_JOINT_FINGER_H
#define REGLET_BENCH_JOINT_FINGER_H

#include "clients/bench/joint.h"

/* Boards upright on end, a straight bit, a key in the fence of a sled. The height is the other
 * part's thickness and what is to be sanded off; slots stand where the key puts them. */
struct joint_upright {
    int64_t width_nm; /* of both boards, measured */
    int64_t thick_a_nm;
    int64_t thick_b_nm;
    int64_t proud_nm;     /* left to sand off; 1/64 to 1/32 in is common */
    int64_t clearance_nm; /* of a finger in its slot */
    int64_t base_nm;      /* thickness of the sled's base; 0 where the lift adds it (riding) */
    struct joint_cutter cutter;
    struct joint_depth depth;
    int pieces_a; /* how many ends are cut so */
    int pieces_b;
};

/* What the boards come to. With no clearance there are n = width / cutter fingers and slots,
 * rounded up: where n is odd A has (n + 1)/2 of the fingers and B (n - 1)/2; where it is even both
 * have the same number, and the corners are handed. */
struct joint_fingers {
    int count; /* of both parts */
    int of_a;
    int of_b;
    bool handed;
    int64_t gap_nm;    /* between the key and the cutter: a finger's width */
    int64_t last_nm;   /* width of the last one that counts, at the far edge */
    int64_t sliver_nm; /* what stands behind it, too thin to count; 0: nothing */
};

/* For sizes above 0, a clearance from 0 to below the cutter's width, and no more than 10 000
 * fingers. One that is thinner than JOINT_SLIVER_NM is not counted. */
struct joint_fingers joint_fingers_of(int64_t width_nm, int64_t cutter_nm, int64_t clearance_nm);

REGLET_MUST_CHECK bool joint_upright(const struct joint_upright *in, const struct joint_shop *shop,
                                     struct joint_plan *plan);

/*
 * Boards on their long edge, end to the fence, in a sled with a backer; a slot cutter stepped by
 * height. With kerf k and clearance c a finger is f = k - c, the pitch P = 2k - c; the cutter's
 * lower edge comes to iP + f for A and to iP - c/2 for B. A sliver at the far edge, thinner than
 * JOINT_SLIVER_NM, is taken off by a run-out pass, and the other part keeps the wood there.
 *
 * Slots that are out of travel are cut with the board turned other edge down, at width - bottom -
 * k, after the others: the width is measured to .001 in, and what is wrong with it comes out in
 * the middle of the board. A kerf that is wrong by e changes the clearance by 2e: it is mended by
 * a new plan from the slot that was actually cut, never by shifting the heights.
 */
struct joint_stepped {
    int64_t width_nm;
    int64_t thick_a_nm;
    int64_t thick_b_nm;
    int64_t proud_nm;
    int64_t clearance_nm;
    struct joint_cutter cutter;
    int pieces_a;
    int pieces_b;
};

REGLET_MUST_CHECK bool joint_stepped(const struct joint_stepped *in, const struct joint_shop *shop,
                                     struct joint_plan *plan);

#endif
