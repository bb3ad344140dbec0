/* SPDX-License-Identifier: MIT */
/*
 * What has a name in the shop: presets, so far. Kept in one versioned document, shop.json, which
 * is read at start and replaced whole at each change. The one owner of that document.
 */
#ifndef REGLET_DAEMON_SHOP_SHOP_H
#define REGLET_DAEMON_SHOP_SHOP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "daemon/store/keeper.h"
#include "protocol/attributes.h"
#include "protocol/reason.h"

enum {
    SHOP_VERSION = 1,
    SHOP_NAME_SIZE = 64, /* bytes of a name, with its NUL */
    SHOP_PRESETS_MAX = 1000,
};

struct preset {
    uint32_t id; /* never used again, also when the preset has gone */
    char name[SHOP_NAME_SIZE];
    int64_t height_nm;
};

struct shop;

/* Told once, from the loop, when the change is on disk; or why it is not, and all is as before. */
typedef void shop_done(void *owner, enum reason reason, const char *sentence);

/* NULL, and a sentence in `why`, when the daemon must not start on what it found. */
REGLET_MUST_CHECK struct shop *shop_open(struct keeper *keeper, char *why, size_t why_size);
void shop_free(struct shop *shop);

/* In the order of their names. */
size_t shop_count(const struct shop *shop);
const struct preset *shop_preset(const struct shop *shop, size_t index);
/* NULL when there is none. */
const struct preset *shop_find(const struct shop *shop, const char *name);
const struct preset *shop_find_id(const struct shop *shop, uint32_t id);

/* A name is 1 to 63 bytes without control characters, not beginning or ending with a space. */
REGLET_MUST_CHECK bool shop_name_valid(const char *name);

/* Keeps a height by a name, in place of one of that name. One change at a time. When false,
 * `done` will not be called, and *reason and `sentence` say why. */
REGLET_MUST_CHECK bool shop_keep(struct shop *shop, const char *name, int64_t height_nm,
                                 shop_done *done, void *owner, enum reason *reason, char *sentence,
                                 size_t size);
REGLET_MUST_CHECK bool shop_forget(struct shop *shop, const char *name, shop_done *done,
                                   void *owner, enum reason *reason, char *sentence, size_t size);

/* `owner` has gone; what he waits for is not told to him any more. */
void shop_abandon(struct shop *shop, void *owner);

#endif
