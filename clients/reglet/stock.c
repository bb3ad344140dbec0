/* SPDX-License-Identifier: MIT */
#include "clients/reglet/shop.h"

static enum client_exit carry_out(struct run *run)
{
    return shop_carry_out(run, &shop_items[SHOP_STOCK]);
}

const struct command command_stock = {
    "stock",
    "[NAME [SIZE]]",
    "boards and sheet goods as they measure",
    "Without words: the list. With a length it is kept or changed: stock ply-back .205. Measure "
    "it: what sheet goods are called is not what they measure. Nothing moves by it.",
    carry_out,
    shop_options};
