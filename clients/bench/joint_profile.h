/* SPDX-License-Identifier: MIT */
/*
 * Joints whose shape is the bit's: dovetails, lock mitre, reverse glue joint, raised panel.
 */
#ifndef REGLET_BENCH_JOINT_PROFILE_H
#define REGLET_BENCH_JOINT_PROFILE_H

#include "clients/bench/joint.h"

/*
 * Half-blind dovetails in a template: h = (2D - S - c)/(2 tan slope), D the width at the bit's tip
 * (as actually cut, with a guide bush), S the spacing, c the clearance. Deeper is tighter, and on a
 * table deeper is raised. Both boards are cut together, in one go.
 */
struct joint_dovetail {
    int64_t spacing_nm;
    int64_t clearance_nm;
    int64_t
        front_nm; /* thickness of the board that keeps its face; what is left of it is the lap */
    struct joint_cutter cutter;
    int pieces;
};

REGLET_MUST_CHECK bool joint_dovetail(const struct joint_dovetail *in,
                                      const struct joint_shop *shop, struct joint_plan *plan);

/*
 * A sliding dovetail: socket (part A) and tail (part B) at the same height, only the fence moves.
 * The socket is wasted first with a straight bit, narrower than D - 2h tan slope, 1/32 in shallower
 * (common practice, no source).
 */
struct joint_sliding {
    int64_t depth_nm;     /* h */
    int64_t thick_a_nm;   /* stock of the socket */
    int64_t thick_b_nm;   /* stock of the tail */
    int64_t clearance_nm; /* of the tail in its socket */
    struct joint_cutter cutter;
    struct joint_cutter waste;
    struct joint_depth depth; /* of the waste cut */
    int pieces_a;
    int pieces_b;
};

REGLET_MUST_CHECK bool joint_sliding(const struct joint_sliding *in, const struct joint_shop *shop,
                                     struct joint_plan *plan);

/* Lock mitre or reverse glue joint, by the cutter's kind: the profile's centre on half the
 * thickness; passes by the fence only. */
struct joint_centred {
    int64_t thick_nm;
    int64_t above_centre_nm;    /* how far the reference point is over the profile's centre; 0 where
                                   it is that */
    struct joint_cutter cutter; /* length_nm: the height of the profile */
    int fence_passes;           /* 1 to 20 */
    int pieces_a;
    int pieces_b;
};

REGLET_MUST_CHECK bool joint_centred(const struct joint_centred *in, const struct joint_shop *shop,
                                     struct joint_plan *plan);

/* A panel raised face down by a horizontal raiser without back cutter: last height = panel -
 * tongue, tongue = groove - clearance. The profile widens as it rises, so the passes get lighter:
 * 5/8 - 1/4 in comes to 1/8, 1/4, 11/32, 3/8. */
struct joint_panel {
    int64_t panel_nm;  /* thickness, measured */
    int64_t groove_nm; /* that its edge goes into, measured */
    int64_t clearance_nm;
    struct joint_cutter cutter;
    struct joint_depth depth; /* most_nm 0: 1/8 in, and a last pass of 1/32 in */
    int pieces;
};

REGLET_MUST_CHECK bool joint_panel(const struct joint_panel *in, const struct joint_shop *shop,
                                   struct joint_plan *plan);

#endif
