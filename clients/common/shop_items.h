/* SPDX-License-Identifier: MIT */
/*
 * The shop's lists as the daemon answers them: what an item of each may have, how it is typed,
 * shown, compared, and written into a file. No I/O.
 */
#ifndef REGLET_CLIENTS_SHOP_ITEMS_H
#define REGLET_CLIENTS_SHOP_ITEMS_H

#include <cjson/cJSON.h>
#include <stdbool.h>

#include "clients/common/say.h"
#include "protocol/attributes.h"

enum { SHOP_ITEMS_WHY = 320, SHOP_ITEMS_VERSION = 1 };

enum shop_member_type { SHOP_LENGTH = 1, SHOP_TEXT, SHOP_COUNT, SHOP_FLAG };

struct shop_member {
    const char *name; /* as protocol/LOCAL.md has it */
    enum shop_member_type type;
};

/* One of the lists, in the order in which they are brought to another lift. */
struct shop_items {
    const char *list; /* "bits": the method that lists, and its member in the answer */
    const char *word; /* "bit" */
    const char *keep; /* methods */
    const char *forget;
    const char *main; /* the member that a length behind the name means by itself, or NULL */
    const struct shop_member *members; /* ends with a NULL name */
};

enum { SHOP_RINGS, SHOP_BITS, SHOP_STOCK, SHOP_PAIRS, SHOP_PRESETS, SHOP_LISTS };
extern const struct shop_items shop_items[SHOP_LISTS];

/* Adds what was typed behind a name to `params`: MEMBER VALUE pairs (a '-' for each '_'), or the
 * one length that the list's main member is. False, and a sentence in `why`. */
REGLET_MUST_CHECK bool shop_items_take(const struct shop_items *items, int count, char *const *word,
                                       enum length_style style, cJSON *params, char *why);

/* As `keep` takes it: without the second form of each length, and without what is worked out. The
 * caller owns it; NULL when memory is short. */
REGLET_MUST_CHECK cJSON *shop_items_plain(const struct shop_items *items, const cJSON *item);

/* Do they say the same? Both plain. Lengths are compared as such, however they are written. */
bool shop_items_same(const struct shop_items *items, const cJSON *one, const cJSON *other);

/* One line of the list, with its newline. */
void shop_items_line(struct say *say, const struct shop_items *items, const cJSON *item,
                     enum length_style style);

/* All of one, member by member; of a bit with what it may turn at, and the cautions. */
void shop_items_all(struct say *say, const struct shop_items *items, const cJSON *item,
                    enum length_style style);

/* What differs, a line each: "diameter: 12.7mm, and 12.65mm in the file". Both plain. */
void shop_items_changes(struct say *say, const struct shop_items *items, const cJSON *now,
                        const cJSON *file);

/* Speed advice of a bit as it is listed: by rim, chart and marking, with its cautions. */
void shop_items_speed(struct say *say, const cJSON *bit);

/* Speed of the rim in metres a second: pi times diameter times turns a second. */
double shop_items_rim_m_s(double diameter_nm, double turns_min);

#endif
