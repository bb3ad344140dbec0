/* SPDX-License-Identifier: MIT */
/* Where a value stands in the text, for the line of a fault: cJSON keeps the order but forgets the
 * places, so the text and the tree are walked side by side. */
#ifndef REGLET_CLIENTS_PEDAL_PLACE_H
#define REGLET_CLIENTS_PEDAL_PLACE_H

#include <cjson/cJSON.h>

/* The line, from 1, on which `item` begins (a member: its name). `root` is the whole of `text`,
 * NUL-terminated, which json_scan has accepted. 1 when it is not found. */
unsigned place_line(const char *text, const cJSON *root, const cJSON *item);

#endif
