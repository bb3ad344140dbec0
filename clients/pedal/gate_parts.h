/* SPDX-License-Identifier: MIT */
/* What the parts of the gate share. */
#ifndef REGLET_CLIENTS_PEDAL_GATE_PARTS_H
#define REGLET_CLIENTS_PEDAL_GATE_PARTS_H

#include "clients/pedal/gate.h"

/* Gives it an id and sends it. 0 when too many wait for their answers, which was then said. */
double gate_send(struct gate *gate, struct gate_request *request);

void gate_say(const struct gate *gate, const char *sentence);

/* Something moves, or was asked to. */
bool gate_in_motion(const struct gate *gate);

/* Stops what moves: nothing that a key keeps up goes on. */
void gate_halt(struct gate *gate, const char *sentence);

/* The deed's key was let go, or is to count as that. */
void gate_let_go(struct gate *gate);

/* Its key, while there is a deed; it is down. */
struct gate_key *gate_deed_key(struct gate *gate);

/* The deed ends without a word to the daemon; its key begins nothing before it is pressed anew. */
void gate_forget_deed(struct gate *gate);

/* A key that counts was pressed, at rest; and the key of `next` was let go. */
void gate_begin(struct gate *gate, int64_t now_ms, const struct gate_key *key);
void gate_next_let_go(struct gate *gate, int64_t now_ms);

/* What is typed is dropped, and that is shown. */
void gate_clear_typed(struct gate *gate);

#endif
