/* SPDX-License-Identifier: MIT */
#include "clients/reglet/shop.h"

static enum client_exit carry_out(struct run *run)
{
    return shop_carry_out(run, &shop_items[SHOP_RINGS]);
}

const struct command command_rings = {
    "rings",
    "[NAME [OPENING]]",
    "the inserts around the bit",
    "Without words: the list. With a length it is kept or changed: rings wide 2-1/2. A bit says "
    "which ring is around it (bits NAME ring wide); one that is wider than that ring's opening "
    "less 1/8in does not go below the table. Nothing moves by it.",
    carry_out,
    shop_options};
