/* SPDX-License-Identifier: MIT */
#include "clients/reglet/shop.h"

static enum client_exit carry_out(struct run *run)
{
    return shop_carry_out(run, &shop_items[SHOP_PAIRS]);
}

const struct command command_pairs = {
    "pairs",
    "[NAME [WHAT VALUE]...]",
    "bits whose profiles fit each other",
    "Without words: the list. With more it is kept or changed: pairs door first stick second cope "
    "difference .002. The difference is how much higher the second bit's point stands than the "
    "first's, when what they cut fits. Nothing moves by it: 'match' goes there.",
    carry_out,
    shop_options};
