/* SPDX-License-Identifier: MIT */
/* What the generators share with each other and with nobody else. */
#ifndef REGLET_BENCH_JOINT_PARTS_H
#define REGLET_BENCH_JOINT_PARTS_H

#include <stddef.h>

#include "clients/bench/joint.h"
#include "protocol/ratio.h"

struct joint_text {
    char text[LENGTH_TEXT_SIZE + 2];
};

/* Empties the plan. False, and refused, where the travel is none. */
REGLET_MUST_CHECK bool joint_begin(struct joint_plan *plan, const struct joint_shop *shop);

/* Refuses, unless the plan is refused already; the marks are void. Returns false. */
REGLET_PRINTF(3, 4)
bool joint_refuse(struct joint_plan *plan, enum joint_fault fault, const char *format, ...);

REGLET_PRINTF(2, 3) void joint_note(struct joint_plan *plan, const char *format, ...);
REGLET_PRINTF(2, 3) void joint_words(struct joint_mark *mark, const char *format, ...);
REGLET_PRINTF(2, 3) void joint_fence(struct joint_mark *mark, const char *format, ...);

struct passes;

/* Refuses for what passes_heights or passes_lighter found. */
bool joint_refuse_passes(struct joint_plan *plan, enum joint_fault fault,
                         const struct passes *passes);

/* A length with its unit in the shop's style: joint_say(plan, nm).text */
struct joint_text joint_say(const struct joint_plan *plan, int64_t nm);

/* Above 0 and no more than LENGTH_NM_MAX, else refused. `what` begins a sentence: "The board's
 * width". */
REGLET_MUST_CHECK bool joint_size(struct joint_plan *plan, const char *what, int64_t nm);

/* The same, or 0. */
REGLET_MUST_CHECK bool joint_size_or_0(struct joint_plan *plan, const char *what, int64_t nm);

/* From 0 to below `most_nm`, else refused. */
REGLET_MUST_CHECK bool joint_clearance(struct joint_plan *plan, int64_t nm, int64_t most_nm);

REGLET_MUST_CHECK bool joint_pieces(struct joint_plan *plan, int pieces);

/* Is the cutter of this kind, are its sizes sizes? Refused otherwise. */
REGLET_MUST_CHECK bool joint_cutter_is(struct joint_plan *plan, const struct joint_cutter *cutter,
                                       enum joint_kind kind);

/* A cut of this depth along the bit, within its cutting length where that is known. */
REGLET_MUST_CHECK bool joint_within_length(struct joint_plan *plan,
                                           const struct joint_cutter *cutter, int64_t depth_nm);

/* A cut of this depth into the work by a slot cutter, within its reach where that is known. */
REGLET_MUST_CHECK bool joint_within_reach(struct joint_plan *plan,
                                          const struct joint_cutter *cutter, int64_t depth_nm);

/* The height of the reference point where the lower edge of a slot cutter is at bottom_nm. */
int64_t joint_slot_height(const struct joint_cutter *cutter, int64_t bottom_nm);

/* Strictly within the travel? */
bool joint_reached(const struct joint_plan *plan, int64_t height_nm);

/* One more mark. Refused where its height is not reached, or where there are too many. */
REGLET_MUST_CHECK bool joint_put(struct joint_plan *plan, const struct joint_mark *mark);

/* The marks of a cut of a straight bit from where the wood begins, `from_nm`, to `total_nm`, in
 * passes where so asked. Of `mark` all but the heights is taken; the fence note goes with the
 * first. */
REGLET_MUST_CHECK bool joint_put_depth(struct joint_plan *plan, const struct joint_mark *mark,
                                       int64_t from_nm, int64_t total_nm,
                                       const struct joint_depth *depth);

/* The marks of a slot cutter that together take low_nm to high_nm, in steps of no more than its
 * kerf. With `open` the lower side is the table: the cutter may go below it. */
REGLET_MUST_CHECK bool joint_put_slot(struct joint_plan *plan, const struct joint_mark *mark,
                                      const struct joint_cutter *cutter, int64_t low_nm,
                                      int64_t high_nm, bool open);

/* A rabbet of height_nm from the table: by a slot cutter in steps, by another in passes. Cutting
 * lengths are looked at. */
REGLET_MUST_CHECK bool joint_put_rabbet(struct joint_plan *plan, const struct joint_mark *mark,
                                        const struct joint_cutter *cutter, int64_t height_nm,
                                        int64_t into_nm, const struct joint_depth *depth);

/* A groove by a straight bit with the work flat, that the fence places and widens. */
struct joint_wall {
    int64_t width_nm; /* of the groove */
    int64_t edge_nm;  /* from the edge at the fence to it */
    int64_t total_nm; /* depth */
    int pieces;
    const char *words;
    const char *stops; /* what stop blocks to set, or NULL */
};

/* Each fence setting to its full depth, and then the next: the fence goes back each time. */
REGLET_MUST_CHECK bool joint_put_walls(struct joint_plan *plan, const struct joint_wall *wall,
                                       const struct joint_cutter *cutter,
                                       const struct joint_depth *depth);

/* The tangent of a dovetail's slope; refused outside 1 to 45 degrees. */
REGLET_MUST_CHECK bool joint_slope(struct joint_plan *plan, int32_t slope_mdeg,
                                   long double *tangent);

#endif
