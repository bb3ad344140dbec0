/* SPDX-License-Identifier: MIT */
/* What the parts of the finder share. */
#ifndef REGLET_CLIENTS_PEDAL_FINDER_PARTS_H
#define REGLET_CLIENTS_PEDAL_FINDER_PARTS_H

#include "clients/pedal/finder.h"

/* Says what becomes of an entry of the map (MAP_DEVICES_MAX: of the folder), unless that was said
 * last. */
REGLET_PRINTF(3, 4)
void finder_tell(struct finder *finder, size_t entry, const char *format, ...);

/* Something has changed: looks through the folder again, a few times. */
void finder_look_soon(struct finder *finder);

/* Is this node known to be none of ours? */
bool finder_was_passed(const struct finder *finder, const struct stat *node);

/* Opens the node of this name in the folder, unless it is open or known, and takes it if it is one
 * of ours. */
void finder_try_node(struct finder *finder, const char *name);

/* Closes an open one; its place becomes free when the loop has let go of it. */
void finder_let_go(struct finder_slot *slot);

#endif
