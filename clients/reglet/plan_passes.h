/* SPDX-License-Identifier: MIT */
/* The words and options of `passes`, read. */
#ifndef REGLET_CLIENTS_PLAN_PASSES_H
#define REGLET_CLIENTS_PLAN_PASSES_H

#include "clients/bench/passes.h"
#include "clients/reglet/plan_shop.h"

/* All but the bit. False with a sentence in `why` (WORDS_WHY bytes). */
REGLET_MUST_CHECK bool plan_passes_read(const struct run *run, struct joint_passes *in, char *why);

/* Is its width what was said of the bit, so that no list is asked? */
bool plan_passes_sized(const struct run *run);

/* The bit by its name, by its width, or the fitted one; behind plan_passes_read. `name`
 * (JOINT_NAME_SIZE bytes) is "" where it has none. False with a sentence in `why` (JOINT_JOB_WHY
 * bytes), or with shop->trouble. */
REGLET_MUST_CHECK bool plan_passes_bit(const struct run *run, struct plan_shop *shop,
                                       struct joint_passes *in, char *name, char *why);

#endif
