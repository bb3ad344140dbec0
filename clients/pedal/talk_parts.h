/* SPDX-License-Identifier: MIT */
/* What the parts of the connection share. */
#ifndef REGLET_CLIENTS_PEDAL_TALK_PARTS_H
#define REGLET_CLIENTS_PEDAL_TALK_PARTS_H

#include "clients/pedal/talk.h"

/* Ends this connection and says why, unless that was said last; it is tried again later. Harmless
 * when repeated. */
void talk_lose(struct talk *talk, const char *why);

/* The same for an error of libuv. */
void talk_lose_for(struct talk *talk, int error);

/* Asks for what is answered by its id. `params` is taken over. */
void talk_greet(struct talk *talk, double id, const char *method, cJSON *params);

/* One line (without its newline) of the daemon's. */
void talk_take_line(struct talk *talk, const char *line, size_t size);

#endif
