/* SPDX-License-Identifier: MIT */
/*
 * What has a name in the shop: presets, bits, rings, measured stock, pairs of bits. Kept in one
 * versioned document, shop.json, which is read at start and replaced whole at each change. The one
 * owner of that document.
 */
#ifndef REGLET_DAEMON_SHOP_SHOP_H
#define REGLET_DAEMON_SHOP_SHOP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "daemon/shop/things.h"
#include "daemon/store/keeper.h"
#include "protocol/attributes.h"
#include "protocol/reason.h"

enum { SHOP_SENTENCE = 320 };

struct shop;

/* Told once, from the loop, when the change is on disk; or why it is not, and all is as before. */
typedef void shop_done(void *owner, enum reason reason, const char *sentence);

/* Why a change was not begun. */
struct shop_refusal {
    enum reason reason;
    char sentence[SHOP_SENTENCE];
};

/* NULL, and a sentence in `why`, when the daemon must not start on what it found. What names a
 * thing that is not there is said, and kept as it is. */
REGLET_MUST_CHECK struct shop *shop_open(struct keeper *keeper, char *why, size_t why_size);
void shop_free(struct shop *shop);

/* How often what can be asked for below has changed since the start. */
uint32_t shop_changes(const struct shop *shop);

/* In the order of their names; the pointers last until the next turn of the loop. */
size_t shop_count(const struct shop *shop, enum shop_kind kind);
const void *shop_at(const struct shop *shop, enum shop_kind kind, size_t index);
/* NULL when there is none. */
const void *shop_find(const struct shop *shop, enum shop_kind kind, const char *name);
const void *shop_find_id(const struct shop *shop, enum shop_kind kind, uint32_t id);

/* Says that there is none of that name; always false. */
bool shop_no_such(enum shop_kind kind, struct shop_refusal *refusal);

/* How heights are typed and shown, a word of protocol/unit; "" until somebody has said it. Nothing
 * that is stored depends on it. */
const char *shop_unit(const struct shop *shop);

/* Changes, one at a time. When false, `done` will not be called, and *refusal says why. */

/* Keeps a thing (its id is not looked at) in place of one of its name, or as a new one. */
REGLET_MUST_CHECK bool shop_put(struct shop *shop, enum shop_kind kind, const void *thing,
                                shop_done *done, void *owner, struct shop_refusal *refusal);
/* Takes one off; refused while others name it, unless presets and pairs that do go with it. */
REGLET_MUST_CHECK bool shop_drop(struct shop *shop, enum shop_kind kind, const char *name,
                                 bool with_others, shop_done *done, void *owner,
                                 struct shop_refusal *refusal);
REGLET_MUST_CHECK bool shop_rename(struct shop *shop, enum shop_kind kind, const char *from,
                                   const char *to, shop_done *done, void *owner,
                                   struct shop_refusal *refusal);
/* That bit was sharpened: its size means nothing until it is kept again, nor do its presets and
 * pairs. */
REGLET_MUST_CHECK bool shop_grind(struct shop *shop, const char *bit, shop_done *done, void *owner,
                                  struct shop_refusal *refusal);

REGLET_MUST_CHECK bool shop_set_unit(struct shop *shop, const char *unit, shop_done *done,
                                     void *owner, struct shop_refusal *refusal);

/* `owner` has gone; what he waits for is not told to him any more. */
void shop_abandon(struct shop *shop, void *owner);

/* --- bits.c: what follows from a bit. Pure --- */

/* Can a cut by it be made in passes of growing height? Not where its profile would widen or
 * undercut what was cut before (common practice, no source). */
bool bit_steps(const struct bit *bit);

/* The least height over the TABLE of its reference point, when its ring stops it: a bit wider than
 * the ring's opening less 1/8 in stays over it with all of its cutter; where its length is not
 * known, with the longest that there is. False: nothing stops it. `ring` may be NULL. */
REGLET_MUST_CHECK bool bit_lowest(const struct bit *bit, const struct ring *ring, int64_t *nm);

/* How far its reference point is below its highest point. False when that is not known. */
REGLET_MUST_CHECK bool bit_below_top(const struct bit *bit, int64_t *nm);

/* The highest speed in turns a minute: by diameter as charts commonly have it (common practice, no
 * source), and never over what is marked on the bit. */
uint32_t bit_speed_most(const struct bit *bit);

/* The height of one bit of a pair over what carries the work, when the other stands at `other_nm`
 * over it and what the two cut is to fit: the second's is the first's and the difference. `second`:
 * it is the second one's that is wanted. */
int64_t pair_height_nm(const struct pair *pair, bool second, int64_t other_nm);

/* Speed of the rim, metres a second: pi times diameter times turns a second. */
double bit_rim_m_s(int64_t diameter_nm, double turns_min);

#endif
