/* SPDX-License-Identifier: MIT */
/*
 * Lines over the serial port: what comes in is put together, what goes out is paced, so that never
 * more than WIRE_AHEAD bytes are ahead of the line and a brake waits no longer than they take.
 */
#ifndef REGLET_DAEMON_LINK_WIRE_H
#define REGLET_DAEMON_LINK_WIRE_H

#include <uv.h>

#include "daemon/clock/clock.h"
#include "daemon/link/serial.h"
#include "protocol/link.h"

enum { WIRE_AHEAD = 64 };

struct wire_events {
    void (*line)(void *owner, const struct link_line *line);
    void (*room)(void *owner); /* there was none when wire_send was called, and now there is */
    void (*gone)(void *owner, const char *why); /* the port is closed already */
};

struct wire {
    struct clock *clock;
    const struct serial_operations *port;
    const struct wire_events *events;
    void *owner;
    uv_loop_t *loop;
    struct serial *serial; /* NULL: closed */
    uv_poll_t *poll;
    struct clock_timer room;
    struct clock_timer leave; /* set: nothing is read until then */
    int64_t byte_ns;
    int64_t line_free_ns; /* when the line has sent all that was written */
    struct link_reader reader;
    uint64_t spoilt; /* lines that could not be read */
};

void wire_init(struct wire *wire, uv_loop_t *loop, struct clock *clock,
               const struct serial_operations *port, const struct wire_events *events, void *owner);
REGLET_MUST_CHECK bool wire_open(struct wire *wire, const char *path, int baud, char *why,
                                 size_t why_size);
void wire_close(struct wire *wire);

/* Writes a line if there is room for it now; else false, and `room` will be called. */
REGLET_MUST_CHECK bool wire_send(struct wire *wire, const struct link_line *line);

/* Reads nothing for so long, or until something is sent: what comes meanwhile is read in one go. */
void wire_leave(struct wire *wire, int64_t ns);

/* Writes the brake byte, whatever is ahead of it. False when the port does not take it. */
REGLET_MUST_CHECK bool wire_brake(struct wire *wire);

#endif
