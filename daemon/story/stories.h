/* SPDX-License-Identifier: MIT */
/*
 * The stories that are kept: named lists of marks, in one versioned document, stories.json. The one
 * owner of that document. Where in a story the lift is, the lift knows.
 */
#ifndef REGLET_DAEMON_STORY_STORIES_H
#define REGLET_DAEMON_STORY_STORIES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "daemon/shop/shop.h"
#include "daemon/store/keeper.h"
#include "protocol/attributes.h"
#include "protocol/story.h"

enum { STORIES_VERSION = 1, STORIES_MAX = 100 };

struct story {
    uint32_t id; /* never used again */
    char name[SHOP_NAME_SIZE];
    char made_by[STORY_MADE_SIZE]; /* what made it, or "" */
    size_t count;
    struct story_mark *marks;
};

struct stories;

/* NULL, and a sentence in `why`, when the daemon must not start on what it found. */
REGLET_MUST_CHECK struct stories *stories_open(struct keeper *keeper, char *why, size_t why_size);
void stories_free(struct stories *stories);

/* How often what can be asked for below has changed since the start. */
uint32_t stories_changes(const struct stories *stories);

/* In the order of their names; the pointers last until the next turn of the loop. */
size_t stories_count(const struct stories *stories);
const struct story *stories_at(const struct stories *stories, size_t index);
const struct story *stories_find(const struct stories *stories, const char *name);
const struct story *stories_find_id(const struct stories *stories, uint32_t id);

/* What is to be kept. All is copied. */
struct stories_kept {
    const char *name;
    const char *made_by; /* shorter than STORY_MADE_SIZE; with `behind` it is not looked at */
    const struct story_mark *marks;
    size_t count;
    bool behind; /* the marks that are there already, else in their place */
};

/* One change at a time. When false, `done` will not be called, and *refusal says why. */
REGLET_MUST_CHECK bool stories_keep(struct stories *stories, const struct stories_kept *kept,
                                    shop_done *done, void *owner, struct shop_refusal *refusal);
REGLET_MUST_CHECK bool stories_forget(struct stories *stories, const char *name, shop_done *done,
                                      void *owner, struct shop_refusal *refusal);

/* The first story that has a mark of that bit, or NULL. */
const struct story *stories_of_bit(const struct stories *stories, const char *bit);
/* The marks of that bit get its new name. Only when there are any. */
REGLET_MUST_CHECK bool stories_rename_bit(struct stories *stories, const char *from, const char *to,
                                          shop_done *done, void *owner,
                                          struct shop_refusal *refusal);
void stories_abandon(struct stories *stories, void *owner);

#endif
