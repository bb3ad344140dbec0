/* SPDX-License-Identifier: MIT */
#include "clients/reglet/shop.h"

static enum client_exit carry_out(struct run *run)
{
    return shop_carry_out(run, &shop_items[SHOP_BITS]);
}

const struct command command_bits = {
    "bits",
    "[NAME [WHAT VALUE]...]",
    "the shop's bits: list, show, keep, change",
    "Without words: the list. NAME: all that is known of that one, and how fast it may turn. With "
    "more it is kept or changed: bits straight-half kind straight diameter 1/2 shank 1/2. WHAT is "
    "kind (straight, spiral, slot-cutter, rabbet, round-over, cove, chamfer, v-groove, bowl, "
    "dovetail, t-slot, keyhole, lock-mitre, stile-rail, raiser, raiser-back-cutter, "
    "vertical-raiser, pin, other), diameter, point (what its height is the height of: top-edge, "
    "lower-edge, shoulder, centre), meets (what a block touches: edge, tooth, bearing, screw, nut) "
    "and offset (the point's height less that), cutting-length, shank, plunging (yes, no), "
    "speed-most (marked on it; 0: nothing), ring, note. Measure with the router unplugged; mind "
    "the edges. Nothing moves by it.",
    carry_out,
    shop_options};
