/* SPDX-License-Identifier: MIT */
/* The words of a refusal: "FILE:LINE: found ...; ... would do". */
#ifndef REGLET_DAEMON_CONFIG_SENTENCE_H
#define REGLET_DAEMON_CONFIG_SENTENCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "daemon/config/config.h"
#include "daemon/config/locate.h"
#include "daemon/config/table.h"
#include "protocol/attributes.h"

/* The text that is being read, and whom to tell. */
struct sentence_source {
    const char *name; /* of the file */
    const char *text;
    size_t size;
    struct config_fault *fault;
};

/* In place of an offset: the file as a whole is at fault. */
#define SENTENCE_WHOLE_FILE SIZE_MAX

enum {
    SENTENCE_FOUND_SIZE = 52,   /* for sentence_found */
    SENTENCE_LENGTH_SIZE = 52,  /* for sentence_length */
    SENTENCE_WANTED_SIZE = 144, /* for sentence_wanted */
};

/* Writes the fault: the place, then the formatted words. Bytes that a terminal might obey become
 * '?'; so does all beyond ASCII, but for the file's name. Always false, so that it can be
 * returned. */
REGLET_PRINTF(3, 4)
bool sentence_refuse(const struct sentence_source *source, size_t at, const char *format, ...);

/* What stands in the text, as it was typed: all of it, or its beginning and three points; a group
 * or a list is only called so. Returns out. */
const char *sentence_found(const struct sentence_source *source, struct locate_span span,
                           char out[SENTENCE_FOUND_SIZE]);

/* A length of 0 or more with its unit, as a person would write it, moved to the next ten-thousandth
 * of an inch or thousandth of a millimetre: never below nm with `up`, else never above it. So a
 * limit that is told would itself do. Returns out. */
const char *sentence_length(int64_t nm, bool in_mm, bool up, char out[SENTENCE_LENGTH_SIZE]);

/* What would do for a key, to stand before "would do". Speeds are told without their range, which
 * depends on the screw. Returns out. */
const char *sentence_wanted(const struct table_entry *entry, bool in_mm,
                            char out[SENTENCE_WANTED_SIZE]);

#endif
