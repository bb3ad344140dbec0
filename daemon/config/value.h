/* SPDX-License-Identifier: MIT */
/* One value of the configuration, as far as it can be judged by itself. */
#ifndef REGLET_DAEMON_CONFIG_VALUE_H
#define REGLET_DAEMON_CONFIG_VALUE_H

#include <cjson/cJSON.h>

#include "daemon/config/sentence.h"

struct value {
    bool given;
    struct locate_span span;
    bool in_mm; /* it was typed in millimetres, so a sentence about it speaks of them */
    /* By kind: nm, nm/s, nm/s^2, the number, enum config_input. A speed has only been read: what
     * it may be depends on the screw. */
    int64_t number;
    const char *path; /* TABLE_IS_PATH: borrowed from the document or the table */
};

/* Reads what stands at `span` for a key. False when it was refused. */
REGLET_MUST_CHECK bool value_read(const struct sentence_source *source,
                                  const struct table_entry *entry, const cJSON *item,
                                  struct locate_span span, struct value *value);

/* "found X for "KEY" in "GROUP"<why>; <wanted> would do". `why` may be empty. Always false. */
bool value_refuse(const struct sentence_source *source, const struct table_entry *entry,
                  const struct value *value, const char *why, const char *wanted);

#endif
