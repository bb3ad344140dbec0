/* SPDX-License-Identifier: MIT */
/*
 * One serial port, raw and never blocking: a device through libserialport, a pseudo-terminal
 * (which lacks the modem control that libserialport asks for) through termios.
 *
 * The functions are a table, so that a test can put a faulty port in their place.
 */
#ifndef REGLET_DAEMON_LINK_SERIAL_H
#define REGLET_DAEMON_LINK_SERIAL_H

#include <stddef.h>
#include <sys/types.h>

#include "protocol/attributes.h"

struct serial;

struct serial_operations {
    /* Opens `path` for us alone. NULL, and a sentence with the cure in `why`, when it cannot. */
    struct serial *(*open)(const char *path, int baud, char *why, size_t why_size);
    /* To wait for in the loop. */
    int (*fd)(const struct serial *serial);
    /* Bytes moved, 0 when none can be now, -1 (errno) when the port is gone. */
    ssize_t (*read)(struct serial *serial, void *bytes, size_t size);
    ssize_t (*write)(struct serial *serial, const void *bytes, size_t size);
    void (*close)(struct serial *serial);
};

extern const struct serial_operations serial_real;

#endif
