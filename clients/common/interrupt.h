/* SPDX-License-Identifier: MIT */
/*
 * What asks a program to end while the lift moves: Ctrl-C and SIGTERM, and Ctrl-Z too, since a
 * client that is suspended could not be told to stop the lift any more.
 *
 * The first makes a descriptor readable, so that the lift can be stopped and its rest awaited. The
 * second leaves at once; the connection that closes brakes the lift. One that comes within
 * INTERRUPT_SAME_MS is the first once more: coreutils' timeout, for one, signals the program and
 * then its whole group.
 */
#ifndef REGLET_CLIENTS_INTERRUPT_H
#define REGLET_CLIENTS_INTERRUPT_H

#include <stdbool.h>
#include <termios.h>

#include "protocol/attributes.h"

enum { INTERRUPT_SAME_MS = 200 };

/* Catches the signals from here on, but none that was ignored already. *fd (an eventfd, not
 * blocking, of the process) becomes readable. False and errno when that cannot be had. */
REGLET_MUST_CHECK bool interrupt_watch(int *fd);

/* What a terminal is to be set to again when the second signal leaves at once; NULL: nothing. The
 * settings are copied. */
void interrupt_terminal(int fd, const struct termios *settings);

/* Has a signal come? */
bool interrupt_came(void);

#endif
