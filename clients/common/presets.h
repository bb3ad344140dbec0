/* SPDX-License-Identifier: MIT */
/*
 * The list of presets, as the daemon answers it: read, searched, and shown. No I/O.
 */
#ifndef REGLET_CLIENTS_PRESETS_H
#define REGLET_CLIENTS_PRESETS_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "clients/common/say.h"
#include "protocol/attributes.h"
#include "protocol/length.h"

enum {
    PRESETS_NAME_COLUMNS = 32, /* a longer name has a line of its own */
};

/* One of them. The name is borrowed from the answer. */
struct preset {
    const char *name;
    int64_t height_nm;
};

/* How wide the table's columns are. */
struct presets_widths {
    size_t name;
    size_t height;
};

/* The list in an answer, for cJSON_ArrayForEach and preset_of; borrowed. NULL when it is no such
 * answer: no list, or one of a preset without name or height. */
REGLET_MUST_CHECK const cJSON *presets_list(const cJSON *result);

/* One item of a list that presets_list returned. */
struct preset preset_of(const cJSON *item);

/* False: there is none of that name. */
REGLET_MUST_CHECK bool presets_find(const cJSON *list, const char *name, struct preset *preset);

/* The widths that all of the list need, the heights in `style`. */
struct presets_widths presets_measure(const cJSON *list, enum length_style style);

/* One line of the table, with its newline: name, height, and the height in the other unit. */
void presets_line(struct say *say, const struct preset *preset, const struct presets_widths *widths,
                  enum length_style style);

/* "drawer-groove: 1/4in (6.35mm)", without a newline. */
void presets_one(struct say *say, const struct preset *preset, enum length_style style);

/* Three lines: the name of `old`, which is taken, and both heights. */
void presets_taken(struct say *say, const struct preset *old, int64_t new_nm,
                   enum length_style style);

#endif
