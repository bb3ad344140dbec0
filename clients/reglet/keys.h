/* SPDX-License-Identifier: MIT */
/* Keys of the terminal (stdin) as they are pressed, without a newline and unseen. */
#ifndef REGLET_CLIENTS_KEYS_H
#define REGLET_CLIENTS_KEYS_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>
#include <termios.h>

#include "protocol/attributes.h"

enum { KEYS_READ_MAX = 256 };

struct keys {
    bool open;
    struct termios before;
};

/* Sets the terminal; also a signal that leaves at once (interrupt.h) sets it back. False and errno
 * when that cannot be done: nothing has changed then. */
REGLET_MUST_CHECK bool keys_open(struct keys *keys);

/* Waits until the keys that are still held have fallen silent, two seconds at the most, so that the
 * shell does not get them, and sets the terminal back. */
void keys_close(struct keys *keys);

/* Drops what has come until now. */
void keys_drop(void);

#endif
