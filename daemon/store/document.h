/* SPDX-License-Identifier: MIT */
/*
 * One versioned JSON document, replaced atomically. Its form is an object whose member "version" is
 * the format's number, 1 and up, as strict as protocol/json.h has it.
 *
 * To save is: the present document, if it is whole, copied to NAME.new, made durable and renamed
 * to NAME.good; the new text written to NAME.new, made durable and renamed to NAME; the folder
 * made durable. The last good one is a copy, and not NAME renamed, so that NAME is there, whole, at
 * every moment; in whatever order the two names reach the disk, each of them is whole.
 *
 * A damaged document is never overwritten: it is moved aside to NAME.damaged (or NAME.damaged.2
 * ...), and the last good one is taken. Until the next save it is then taken again at each start.
 */
#ifndef REGLET_DAEMON_STORE_DOCUMENT_H
#define REGLET_DAEMON_STORE_DOCUMENT_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>

#include "daemon/store/files.h"
#include "protocol/attributes.h"

enum { DOCUMENT_SIZE_MAX = 4 * 1024 * 1024, DOCUMENT_WHY_SIZE = 1200 /* no sentence is longer */ };

enum document_found {
    DOCUMENT_FRESH = 1, /* there is none yet */
    DOCUMENT_WHOLE,
    DOCUMENT_LAST_GOOD,  /* it was damaged, and moved aside, or is not there; this is the one before
                          */
    DOCUMENT_LOST,       /* damaged, and so is the one before (or there is none); moved aside, and
                          * nothing is read. The same until the next save */
    DOCUMENT_NEWER,      /* of a newer version; left as it is: the daemon must not start */
    DOCUMENT_UNREADABLE, /* the disk refused to give it, or to move what is damaged, or memory is
                          * short; nothing was overwritten: the daemon must not start */
};

/* A check of the content beyond its form; false and a clause ("the bit 'x' has no diameter")
 * refuse it as damaged. May be NULL. */
typedef bool document_check(const cJSON *document, char *why, size_t why_size);

/* Reads NAME; older versions are given as they are, for the caller to bring up to date. *document
 * is the caller's (cJSON_Delete), NULL unless WHOLE or LAST_GOOD. `why` is a sentence or two that
 * say what was found, what was done, and what to do, whenever it is not FRESH or WHOLE; else "".
 * Blocks, and uses cJSON: at start, in the loop's thread. */
REGLET_MUST_CHECK enum document_found document_load(const struct files *files, const char *name,
                                                    int version, document_check *check,
                                                    cJSON **document, char *why, size_t why_size);

/* Replaces NAME by `text` (a whole JSON document, NUL-terminated). After false (errno, and what
 * failed in *step, to follow "while") the old one is whole and in its place; only where power fails
 * before the next save may the refused one turn out to have been made. EINVAL: the text has not the
 * form; EFBIG. A present document that was spoilt since it was read is moved aside here too.
 * Blocks; in the worker's thread. */
REGLET_MUST_CHECK bool document_save(const struct files *files, const char *name, const char *text,
                                     const char **step);

#endif
