/* SPDX-License-Identifier: MIT */
/*
 * The edges: Timer1 at the processor's clock, running freely. The compare output itself raises the
 * step pin on the tick that was armed, whatever the processor is doing then; the interrupt that
 * follows has the pin lowered by the next match and arms the next edge.
 */
#ifndef REGLET_CONTRIB_STEPGEN_EDGE_H
#define REGLET_CONTRIB_STEPGEN_EDGE_H

#include "contrib/stepgen/core.h"

/* There is one motor. */
extern struct generator the_generator;

void edge_init(void);

/* Arms the first edge of a leg if one was begun, and lets the edges know of a stride that has come;
 * the main loop calls it after each byte. */
void edge_start(void);

#endif
