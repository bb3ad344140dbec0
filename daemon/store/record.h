/* SPDX-License-Identifier: MIT */
/*
 * The journal's record as JSON text: one object with "version" and all members of the table in
 * record.c. Every member is required; what is not known is null. Integers only; trust is a word.
 *
 * The reader is strict: a member that is missing, unknown, of the wrong type or out of range is
 * damage, unless the version is a newer one.
 */
#ifndef REGLET_DAEMON_STORE_RECORD_H
#define REGLET_DAEMON_STORE_RECORD_H

#include <stddef.h>

#include "daemon/store/journal.h"
#include "protocol/attributes.h"

enum record_found { RECORD_WHOLE = 1, RECORD_DAMAGED, RECORD_NEWER, RECORD_NO_MEMORY };

/* Prints into text[0..size), without a NUL, and gives the length; 0 when the record cannot be
 * printed (EINVAL: a member out of range, or a bit's id that is no UTF-8) or has no room
 * (EMSGSIZE). Allocates nothing, and may be called in the worker's thread. The sequence number is
 * not in the text. */
REGLET_MUST_CHECK size_t record_print(const struct journal_record *record, char *text, size_t size);

/* Reads what record_print has printed; *record is set by RECORD_WHOLE alone, its sequence 0. Uses
 * cJSON, so only in the loop's thread. */
REGLET_MUST_CHECK enum record_found record_parse(const char *text, size_t size,
                                                 struct journal_record *record);

#endif
