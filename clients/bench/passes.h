/* SPDX-License-Identifier: MIT */
/*
 * A deep cut in several passes. Pure integers.
 *
 * To a depth H from s that is there already, at most p a pass, the last one light by f: N = the
 * least whole number not below (H - f - s)/p equal passes to H - f, then H. No more than f to go
 * is one pass; with f 0 the height H comes once.
 */
#ifndef REGLET_BENCH_PASSES_H
#define REGLET_BENCH_PASSES_H

#include "clients/bench/joint.h"

struct passes {
    int64_t total_nm; /* H */
    int64_t from_nm;  /* s, 0 or more */
    int64_t most_nm;  /* p; 0: in one pass, and last_nm is not looked at */
    int64_t last_nm;  /* f, 0 or more */
};

/*
 * Writes the heights, ascending, and their count. Each is rounded from an absolute expression, so
 * the last is total_nm to the nanometre and no pass is deeper than most_nm. Otherwise:
 * JOINT_FAULT_SIZE (below 0, a total of 0, or over LENGTH_NM_MAX), _LAST (f > p), _DONE (s >= H),
 * _MARKS; *count is then 0.
 */
REGLET_MUST_CHECK enum joint_fault passes_heights(const struct passes *passes,
                                                  int64_t height_nm[JOINT_MARKS_MAX], int *count);

/*
 * For a profile that takes more wood the higher it stands: as many passes of p as there are, then
 * what is left, then f; none is deeper than the one before. Asks for f <= p/2 (_LAST otherwise).
 * 3/8 in, p 1/8, f 1/32: 1/8, 1/4, 11/32, 3/8.
 */
REGLET_MUST_CHECK enum joint_fault passes_lighter(const struct passes *passes,
                                                  int64_t height_nm[JOINT_MARKS_MAX], int *count);

/* The most that a pass takes unless somebody knows better: half the cutter's diameter, but 1/4 in
 * with a shank of 12 mm or more, 1/8 in with a thinner or an unknown one (common practice, no
 * source). */
int64_t passes_most_nm(int64_t diameter_nm, int64_t shank_nm);

struct joint_passes {
    struct joint_cutter cutter;
    struct passes passes; /* most_nm 0: by passes_most_nm */
    int pieces;
};

/* The plan of such passes, with their words; refused for kinds that can't be stepped by height, and
 * beyond the cutting length. */
REGLET_MUST_CHECK bool joint_passes(const struct joint_passes *in, const struct joint_shop *shop,
                                    struct joint_plan *plan);

#endif
