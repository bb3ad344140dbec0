/* SPDX-License-Identifier: MIT */
/* The part of show that a working day brings: the bit, what rides, locks, what is asked. For show.c
 * alone. */
#ifndef REGLET_CLIENTS_SHOW_DAY_H
#define REGLET_CLIENTS_SHOW_DAY_H

#include "clients/common/show.h"

/* Fills that part of *lift. */
void show_day_read(const cJSON *status, struct show_lift *lift);

/* Nothing of it is out of the ordinary. What rides is said with every height. */
bool show_day_is_plain(const struct show_lift *lift);

/* Lines of the details: what is out of the ordinary. */
void show_day_notes(struct say *say, const struct show_lift *lift, enum length_style style);

/* "Next:" during a change of the bit. */
void show_day_next(struct say *say, const struct show_lift *lift, const char *name);

/* A line of its own below the height, where something rides. */
void show_day_riding(struct say *say, const struct show_lift *lift, enum length_style style);

/* The same and the rest in a few words, behind a height on its line. */
void show_day_tail(struct say *say, const struct show_lift *lift, enum length_style style);

#endif
