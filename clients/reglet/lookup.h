/* SPDX-License-Identifier: MIT */
/* The list of presets, asked for over the connection that there is. */
#ifndef REGLET_CLIENTS_LOOKUP_H
#define REGLET_CLIENTS_LOOKUP_H

#include "clients/common/presets.h"
#include "clients/reglet/run.h"
#include "protocol/attributes.h"

/* One page of the list: what stands behind the name `after` (NULL: the first). CLIENT_DONE: *list,
 * borrowed from *answer, and whether *more follows it. Anything else is the exit code, and was
 * told. The caller frees *answer in any case. */
REGLET_MUST_CHECK enum client_exit lookup_page(struct run *run, const char *after,
                                               struct client_answer *answer, const cJSON **list,
                                               bool *more);

/* CLIENT_DONE: the preset of that name, borrowed from *answer. Anything else is the exit code, and
 * was told; CLIENT_REFUSED: there is none of that name. The caller frees *answer in any case. */
REGLET_MUST_CHECK enum client_exit lookup(struct run *run, const char *name,
                                          struct client_answer *answer, struct preset *preset);

/* As presets_one says that preset, behind what stands in `say`. CLIENT_DONE, or the exit code, and
 * was told. */
REGLET_MUST_CHECK enum client_exit lookup_say(struct run *run, const char *name, struct say *say);

/* Tells that there is none of that name, and what to do. CLIENT_REFUSED. */
REGLET_MUST_CHECK enum client_exit lookup_none(const struct run *run, const char *name);

#endif
