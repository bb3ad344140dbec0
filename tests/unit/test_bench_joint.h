/* SPDX-License-Identifier: MIT */
/* Inches, cutters and plans for the tests of the joints. */
#ifndef REGLET_TESTS_BENCH_JOINT_H
#define REGLET_TESTS_BENCH_JOINT_H

#include <check.h>
#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "clients/bench/joint.h"

enum { NM_PER_IN = LENGTH_NM_PER_IN };

/* Decimal inches of up to five places are whole nanometres. */
static inline int64_t in(double inches)
{
    return (int64_t)llround(inches * NM_PER_IN);
}

static inline struct joint_shop wide_shop(void)
{
    return (struct joint_shop){LENGTH_STYLE_64, -in(4), in(40)};
}

static inline struct joint_cutter straight(double width)
{
    return (struct joint_cutter){
        .kind = JOINT_STRAIGHT, .reference = JOINT_TOP, .width_nm = in(width)};
}

static inline struct joint_cutter slot(double kerf)
{
    return (struct joint_cutter){.kind = JOINT_SLOT, .reference = JOINT_TOP, .kerf_nm = in(kerf)};
}

static inline void ck_plan(bool made, const struct joint_plan *plan)
{
    ck_assert_msg(made, "refused: %s", plan->why);
    ck_assert_int_eq(plan->fault, JOINT_POSSIBLE);
    ck_assert_int_ge(plan->count, 1);
    for (int i = 0; i < plan->count; i++) {
        ck_assert_int_gt(plan->mark[i].height_nm, plan->shop.lowest_nm);
        ck_assert_int_lt(plan->mark[i].height_nm, plan->shop.highest_nm);
        ck_assert(plan->mark[i].words[0] != '\0');
        ck_assert_uint_lt(strlen(plan->mark[i].words), JOINT_WORDS - 1);
        ck_assert_uint_lt(strlen(plan->mark[i].fence), JOINT_WORDS - 1);
        ck_assert_int_ge(plan->mark[i].pieces, 1);
    }
    ck_assert_uint_lt(strlen(plan->note), JOINT_WHY - 1);
}

/* Refused for this, in whole sentences, with nothing left to cut from. */
static inline void ck_refused(bool made, const struct joint_plan *plan, enum joint_fault fault)
{
    ck_assert_msg(!made, "not refused: fault %d was expected", (int)fault);
    ck_assert_msg(plan->fault == fault, "fault %d, not %d: %s", (int)plan->fault, (int)fault,
                  plan->why);
    ck_assert_int_eq(plan->count, 0);
    size_t size = strlen(plan->why);
    ck_assert_uint_gt(size, 20);
    ck_assert_uint_lt(size, JOINT_WHY - 1);
    ck_assert_int_eq(plan->why[size - 1], '.');
}

#endif
