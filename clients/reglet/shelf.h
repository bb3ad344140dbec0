/* SPDX-License-Identifier: MIT */
/* Stories as they are kept, asked for over the connection that there is. */
#ifndef REGLET_CLIENTS_SHELF_H
#define REGLET_CLIENTS_SHELF_H

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

#endif
