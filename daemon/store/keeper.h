/* SPDX-License-Identifier: MIT */
/*
 * What is kept, from the loop's side: the journal, whole documents, and the log, each written off
 * the loop in the order asked for. The one owner of the state folder's files.
 */
#ifndef REGLET_DAEMON_STORE_KEEPER_H
#define REGLET_DAEMON_STORE_KEEPER_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>
#include <uv.h>

#include "daemon/clock/clock.h"
#include "daemon/store/files.h"
#include "daemon/store/journal.h"
#include "daemon/store/log.h"
#include "protocol/attributes.h"

struct keeper;

/* `kept`: it is on the disk for good. If not, `why` says in words what went wrong, and the state
 * before is still there. Called from the loop, in the order of the requests. */
typedef void keeper_done(void *owner, bool kept, const char *why);

/*
 * Opens journal and log. *record is what the journal held (all zero when it is fresh, or damaged
 * and begun anew) and *found how it was found; after JOURNAL_DAMAGED the damaged one lies aside.
 * NULL, and a sentence in `why`, when the daemon must not start on it.
 */
REGLET_MUST_CHECK struct keeper *keeper_open(uv_loop_t *loop, struct clock *clock,
                                             const struct files *files,
                                             struct journal_record *record,
                                             enum journal_found *found, char *why, size_t why_size);

/* For the documents that are read at start. */
const struct files *keeper_files(const struct keeper *keeper);

void keeper_record(struct keeper *keeper, const struct journal_record *record, keeper_done *done,
                   void *owner);

/* Replaces document NAME (a constant) by `text`, which is taken over (cJSON_free). */
void keeper_document(struct keeper *keeper, const char *name, char *text, keeper_done *done,
                     void *owner);

/* Appends to the log; `line` (an object) is taken over and gets the time. */
void keeper_log(struct keeper *keeper, cJSON *line);

/* `page` is only lent; NULL: the disk did not give it, and `why` says what went wrong. */
typedef void keeper_page(void *owner, const struct log_page *page, const char *why);

/* Reads some of the log (log.h) behind what is to be written before; `from` is copied. */
void keeper_read_log(struct keeper *keeper, const char *from, size_t skip, size_t most,
                     keeper_page *done, void *owner);

/* The time of day, as the log's lines have it; 24 bytes are enough. */
void keeper_time(const struct keeper *keeper, char *text, size_t size);

/* Calls `closed` when all that was asked for is done. */
void keeper_close(struct keeper *keeper, void (*closed)(void *owner), void *owner);
void keeper_free(struct keeper *keeper);

#endif
