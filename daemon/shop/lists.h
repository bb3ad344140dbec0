/* SPDX-License-Identifier: MIT */
/*
 * All the lists of a shop, each in the order of its names, and the document that they are kept in.
 * No I/O.
 */
#ifndef REGLET_DAEMON_SHOP_LISTS_H
#define REGLET_DAEMON_SHOP_LISTS_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "daemon/shop/things.h"
#include "protocol/attributes.h"

enum { LISTS_VERSION = 3, LISTS_UNIT_SIZE = 8 }; /* of the document */

struct list {
    char *things; /* one behind the other, each of its kind's size */
    size_t count;
};

/* Owned; lists_free makes it empty, with nothing to free. */
struct lists {
    struct list of[SHOP_KINDS];
    uint32_t next_id;           /* above all that are or were */
    char unit[LISTS_UNIT_SIZE]; /* how heights are shown, a word of protocol/unit; "": not said */
};

void lists_free(struct lists *lists);
REGLET_MUST_CHECK bool lists_copy(struct lists *to, const struct lists *from);

void *lists_at(const struct lists *lists, enum shop_kind kind, size_t index);
struct thing *lists_thing(const struct lists *lists, enum shop_kind kind, size_t index);
/* Where `name` is, or where it belongs; and whether it is there. */
size_t lists_place(const struct lists *lists, enum shop_kind kind, const char *name);
bool lists_is_at(const struct lists *lists, enum shop_kind kind, size_t index, const char *name);
/* NULL when there is none. */
const void *lists_find_id(const struct lists *lists, enum shop_kind kind, uint32_t id);

/* A copy of `thing`, with its name and id set, goes to its place. False when memory is short. */
REGLET_MUST_CHECK bool lists_insert(struct lists *lists, enum shop_kind kind, const void *thing);
void lists_take_out(struct lists *lists, enum shop_kind kind, size_t index);

/*
 * Out of a document of version 1 (presets of a name and a height), 2 (without
 * `display`) or 3. Strict: what it does not
 * know would be gone with the next save. False and a clause, and *lists is empty. An id that names
 * nothing is no fault here.
 */
REGLET_MUST_CHECK bool lists_read(const cJSON *document, struct lists *lists, char *why,
                                  size_t why_size);
/* The text of a document, cJSON_free's; NULL when memory is short. */
REGLET_MUST_CHECK char *lists_print(const struct lists *lists);

#endif
