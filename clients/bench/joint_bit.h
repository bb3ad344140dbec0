/* SPDX-License-Identifier: MIT */
/* A bit of the lift's list, as `bits` answers it, as a cutter of a joint. Pure. */
#ifndef REGLET_BENCH_JOINT_BIT_H
#define REGLET_BENCH_JOINT_BIT_H

#include <cjson/cJSON.h>
#include <stddef.h>

#include "clients/bench/joint.h"

/* A slot cutter's kerf is its cutting length; its reach, and a dovetail's slope, the list does not
 * know: they stay 0. A bit of the kind `other` is taken for `wanted`. False, and a sentence in
 * `why`: the sizes are void since it was sharpened, its heights are those of a point that no joint
 * is counted from, or it is no cutter. */
REGLET_MUST_CHECK bool joint_bit_read(const cJSON *bit, enum joint_kind wanted,
                                      struct joint_cutter *cutter, char *why, size_t why_size);

#endif
