/* SPDX-License-Identifier: MIT */
/*
 * The terminal: taken, painted, given back as it was. Only one can be open.
 *
 * It is wiped before it is given back, on every way out that leaves us time for it, so that no
 * height stays behind on a terminal that has no second page. After SIGKILL nothing can be done.
 */
#ifndef REGLET_CLIENTS_READOUT_SCREEN_H
#define REGLET_CLIENTS_READOUT_SCREEN_H

#include <stdbool.h>
#include <stddef.h>

#include "clients/readout/grid.h"
#include "protocol/attributes.h"

/* Takes the terminal of stdin and stdout. False, and a sentence, when there is none, or one that
 * cannot be written all over. */
REGLET_MUST_CHECK bool screen_open(char *why, size_t why_size);

/* Gives it back; harmless when repeated. */
void screen_close(void);

/* Can cells be reversed? */
bool screen_reversible(void);

/* Its size of now: reads it anew. */
void screen_size(int *rows, int *columns);

void screen_paint(const struct grid *grid);

/* Gives the terminal back, stops this process as Ctrl-Z does, and takes it again afterwards. */
void screen_suspend(void);

#endif
