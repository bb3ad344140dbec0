/* SPDX-License-Identifier: MIT */
/*
 * The words of a command line, before and after the option parser: which of them are heights, and
 * which length they name. No I/O.
 */
#ifndef REGLET_CLIENTS_WORDS_H
#define REGLET_CLIENTS_WORDS_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "protocol/attributes.h"
#include "protocol/length.h"

enum {
    WORDS_SIZE = 128, /* of a length put together from its words; no height is so long */
    WORDS_WHY = 320,  /* of a sentence that says what was wrong */
    WORDS_NAME = 63,  /* bytes of a preset's name at the most (protocol/LOCAL.md, keep) */
};

/* What "up" and "down" mean by themselves: .002 in. */
#define WORDS_NUDGE_NM INT64_C(50800)

/* What a bare decimal means to somebody who reads heights in this style. */
enum length_bare words_bare(enum length_style style);

/* Does it begin as a height does: digit or point, behind a sign or not? */
bool words_is_height(const char *word);

/*
 * A copy of the arguments in which each that begins with '-' and a digit or a point stands behind
 * a blank, so that the option parser takes it for no option; words_join drops the blank again.
 * NULL-terminated, one allocation, freed with free(); NULL when memory is short. The other words
 * are borrowed.
 */
REGLET_MUST_CHECK char **words_shield(int count, char *const *word);

/* The words as one text with a blank between each two: 1 and 7/16 are "1 7/16". False when it does
 * not fit; `text` is then empty. */
REGLET_MUST_CHECK bool words_join(int count, char *const *word, char *text, size_t size);

/* The one length that the words are. After false `why` (of WORDS_WHY bytes) says what was found
 * and what would do. `what` is what is missing when there are none: "a height, such as 3/8". */
REGLET_MUST_CHECK bool words_length(int count, char *const *word, enum length_bare bare,
                                    const char *what, int64_t *nm, char *why);

/* The same above zero, for up and down; no words are WORDS_NUDGE_NM. */
REGLET_MUST_CHECK bool words_nudge(int count, char *const *word, enum length_bare bare, int64_t *nm,
                                   char *why);

/* What a touch-off goes by. */
enum words_touch_by {
    WORDS_TOUCH_HEIGHT = 1, /* 'flush' is 0 */
    WORDS_TOUCH_BLOCK,
    WORDS_TOUCH_PRESET,
    WORDS_TOUCH_PLATE,
    WORDS_TOUCH_READOUT,
};

struct words_touch {
    enum words_touch_by by;
    int64_t nm;       /* of a height or a block */
    const char *name; /* of a preset; borrowed */
};

/* flush | HEIGHT | block THICKNESS | PRESET | plate | readout. What is neither a height nor one of
 * these words is the name of a preset. */
REGLET_MUST_CHECK bool words_touch(int count, char *const *word, enum length_bare bare,
                                   struct words_touch *touch, char *why);

/* The name of a preset, and nothing behind it: one of several words is one argument. Borrowed.
 * After NULL `why` says what would do; so also where no preset can have such a name. */
REGLET_MUST_CHECK const char *words_only_name(int count, char *const *word, char *why);

/* The name for a new one, which is the first word; more may follow. A height is refused: the name
 * in front of it was left out. */
REGLET_MUST_CHECK const char *words_new_name(int count, char *const *word, char *why);

/* Parameters of a request with one length: {"NAME": "9.525mm"}, exact and with its unit. The
 * caller owns them; NULL when memory is short. */
REGLET_MUST_CHECK cJSON *words_params(const char *name, int64_t nm);

/* One more length. False when memory is short. */
REGLET_MUST_CHECK bool words_add_length(cJSON *params, const char *name, int64_t nm);

/* Parameters of a request with one text: {"name": "drawer-groove"}. */
REGLET_MUST_CHECK cJSON *words_params_text(const char *name, const char *text);

#endif
