/* SPDX-License-Identifier: MIT */
/* Stories as they are kept, asked for over the connection that there is. */
#ifndef REGLET_CLIENTS_SHELF_H
#define REGLET_CLIENTS_SHELF_H

#include <cjson/cJSON.h>
#include <stddef.h>

#include "clients/reglet/run.h"
#include "clients/story/story_file.h"
#include "protocol/attributes.h"

/* All marks of that story. CLIENT_DONE, or the exit code, and was told. */
REGLET_MUST_CHECK enum client_exit shelf_read(struct run *run, const char *name,
                                              struct story_file *story);

/* Keeps it by its name, in as many requests as it takes; with `replace` in place of one that is
 * there. The same. */
REGLET_MUST_CHECK enum client_exit shelf_keep(struct run *run, const struct story_file *story,
                                              bool replace);

/* --- In the file of the shop's lists: shelf_items.c --- */

#define SHELF_LIST "stories" /* the member that they are in */

/* The names of all that are kept, as an array of strings, which the caller owns. */
REGLET_MUST_CHECK enum client_exit shelf_names(struct run *run, cJSON **names);

/* All that are kept, into the document. */
REGLET_MUST_CHECK enum client_exit shelf_add_all(struct run *run, cJSON *document);

/* One of them out of it: `name`, `made_by` and `marks`. False, and what the file has, in `why`. */
REGLET_MUST_CHECK bool shelf_item(const cJSON *item, struct story_file *story, char *why,
                                  size_t size);

/* Do they say the same, whatever they are called? */
bool shelf_same(const struct story_file *one, const struct story_file *other);

#endif
