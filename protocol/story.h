/* SPDX-License-Identifier: MIT */
/*
 * A story: an ordered list of heights, each a mark, after the story stick that a joiner marks once
 * and cuts from all day. What one mark may be, and the sentence for each fault. Shared by the
 * daemon and the clients. No I/O.
 */
#ifndef REGLET_PROTOCOL_STORY_H
#define REGLET_PROTOCOL_STORY_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "protocol/attributes.h"

enum {
    STORY_VERSION = 1,
    STORY_MARKS_MAX = 200,
    STORY_NAME_SIZE = 64,  /* of a bit, with its NUL */
    STORY_TEXT_SIZE = 240, /* a generator's sentence for a mark */
    STORY_MADE_SIZE = 480, /* of what made a story, with its NUL */
    STORY_PART_SIZE = 8,
    STORY_PIECES_MAX = 9999,
    STORY_WHY_SIZE = 320,
};

/* What the router must be doing at a mark. */
enum story_router { STORY_ROUTER_ANY = 0, STORY_ROUTER_OFF, STORY_ROUTER_ON };

/* What the dust extraction is to do from a mark on. */
enum story_dust { STORY_DUST_ANY = 0, STORY_DUST_AUTO, STORY_DUST_ON, STORY_DUST_OFF };

/* Either a height, or a note alone (to move the fence, say). */
struct story_mark {
    bool has_height;
    int64_t height_nm;
    char bit[STORY_NAME_SIZE];   /* "": whatever is fitted */
    char words[STORY_TEXT_SIZE]; /* for the operator */
    char fence[STORY_TEXT_SIZE]; /* a note on the fence */
    char part[STORY_PART_SIZE];  /* "A", "B", or "" */
    uint16_t pieces;             /* to cut at it; 0: not said */
    enum story_router router;
    enum story_dust dust;
    bool lock; /* the carriage's clamp has to hold at it */
};

/*
 * One mark out of an object with the members "height" (a length with its unit), "bit", "words",
 * "fence", "part", "pieces" (1 to 9999), "router" ("off" or "on"), "dust" ("on", "off" or "auto"),
 * "lock" ("on"); it has a height, words or a fence note. Unknown members are refused. `number`
 * (from 1) is for the sentence in `why`.
 */
REGLET_MUST_CHECK bool story_mark_read(const cJSON *object, size_t number, struct story_mark *mark,
                                       char *why, size_t why_size);

/* One of those members alone, into the mark as it is so far: for readers that tell the line. */
REGLET_MUST_CHECK bool story_member_read(const cJSON *member, size_t number,
                                         struct story_mark *mark, char *why, size_t why_size);

/* The words of those members; "" where nothing is asked for. */
const char *story_router_word(enum story_router router);
const char *story_dust_word(enum story_dust dust);
const char *story_lock_word(bool lock);

/* The same object again; NULL when memory is short. With `both`, the height as _nm too. */
cJSON *story_mark_print(const struct story_mark *mark, bool both);

#endif
