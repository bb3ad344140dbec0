/* SPDX-License-Identifier: MIT */
/*
 * What asks a program to end while the lift moves: Ctrl-C and SIGTERM, and Ctrl-Z too, since a
 * client that is suspended could not be told to stop the lift any more.
 *
 * The first makes a descriptor readable, so that the lift can be stopped and its rest awaited. The
 * second leaves at once; the connection that closes brakes the lift.
 */
#ifndef REGLET_CLIENTS_INTERRUPT_H
#define REGLET_CLIENTS_INTERRUPT_H

#include <stdbool.h>

#include "protocol/attributes.h"

/* Catches the signals from here on, but none that was ignored already. *fd (an eventfd, not
 * blocking, of the process) becomes readable. False and errno when that cannot be had. */
REGLET_MUST_CHECK bool interrupt_watch(int *fd);

/* Has a signal come? */
bool interrupt_came(void);

#endif
