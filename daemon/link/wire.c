/* SPDX-License-Identifier: MIT */
#include "daemon/link/wire.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BITS_PER_BYTE = 10, NS_PER_S = 1000000000 };

static void on_room(void *owner)
{
    struct wire *wire = owner;
    wire->events->room(wire->owner);
}

static void on_readable(uv_poll_t *handle, int status, int events);

static void listen_again(void *owner)
{
    struct wire *wire = owner;
    clock_clear(wire->clock, &wire->leave);
    clock_port_left(wire->clock, false);
    uv_poll_start(wire->poll, UV_READABLE, on_readable);
}

void wire_leave(struct wire *wire, int64_t ns)
{
    clock_set(wire->clock, &wire->leave, clock_now_ns(wire->clock) + ns);
    clock_port_left(wire->clock, true);
    uv_poll_stop(wire->poll);
}

void wire_init(struct wire *wire, uv_loop_t *loop, struct clock *clock,
               const struct serial_operations *port, const struct wire_events *events, void *owner)
{
    *wire = (struct wire){.clock = clock, .port = port, .events = events, .owner = owner};
    wire->loop = loop;
    wire->room = (struct clock_timer){.due = on_room, .owner = wire};
    wire->leave = (struct clock_timer){.due = listen_again, .owner = wire};
}

static void on_poll_closed(uv_handle_t *handle)
{
    free(handle);
}

void wire_close(struct wire *wire)
{
    if (!wire->serial) {
        return;
    }
    clock_clear(wire->clock, &wire->room);
    clock_clear(wire->clock, &wire->leave);
    uv_poll_stop(wire->poll);
    uv_close((uv_handle_t *)wire->poll, on_poll_closed);
    wire->poll = NULL;
    wire->port->close(wire->serial);
    wire->serial = NULL;
    clock_port_closed(wire->clock);
}

static void lose(struct wire *wire)
{
    char why[120];
    bool hung_up = errno == EIO || errno == EBADF || errno == ENXIO;
    snprintf(why, sizeof why, "%s",
             hung_up ? "its cable was pulled out, or its port went away" : strerror(errno));
    wire_close(wire);
    wire->events->gone(wire->owner, why);
}

static void take_bytes(struct wire *wire, const uint8_t *bytes, ssize_t size)
{
    for (ssize_t i = 0; i < size && wire->serial; i++) {
        struct link_line line;
        enum link_got got = link_reader_byte(&wire->reader, bytes[i], &line);
        if (got == LINK_GOT_LINE) {
            wire->events->line(wire->owner, &line);
        } else if (got != LINK_GOT_NOTHING) {
            wire->spoilt++; /* counts as not sent; the next poll's answer repairs it */
        }
    }
}

static void on_readable(uv_poll_t *handle, int status, int events)
{
    struct wire *wire = handle->data;
    (void)events;
    uint8_t bytes[256];
    ssize_t size = status < 0 ? 0 : wire->port->read(wire->serial, bytes, sizeof bytes);
    if (status < 0) {
        errno = -status;
    }
    if (status < 0 || size < 0) {
        lose(wire);
        return;
    }
    clock_read(wire->clock, (size_t)size);
    take_bytes(wire, bytes, size);
}

bool wire_open(struct wire *wire, const char *path, int baud, char *why, size_t why_size)
{
    wire->serial = wire->port->open(path, baud, why, why_size);
    if (!wire->serial) {
        return false;
    }
    wire->poll = calloc(1, sizeof *wire->poll);
    if (!wire->poll || uv_poll_init(wire->loop, wire->poll, wire->port->fd(wire->serial)) != 0) {
        snprintf(why, why_size, "the loop cannot wait for %s", path);
        free(wire->poll);
        wire->port->close(wire->serial);
        wire->serial = NULL;
        return false;
    }
    wire->poll->data = wire;
    wire->reader = (struct link_reader){.size = 0};
    wire->byte_ns = (int64_t)BITS_PER_BYTE * NS_PER_S / baud;
    wire->line_free_ns = 0;
    listen_again(wire);
    clock_port_opened(wire->clock);
    return true;
}

static bool write_bytes(struct wire *wire, const void *bytes, size_t size)
{
    if (wire->leave.set) {
        listen_again(wire);
    }
    ssize_t written = wire->port->write(wire->serial, bytes, size);
    if (written < 0) {
        return false; /* a port that is gone says so when it is read */
    }
    int64_t now_ns = clock_now_ns(wire->clock);
    if (wire->line_free_ns < now_ns) {
        wire->line_free_ns = now_ns;
    }
    wire->line_free_ns += written * wire->byte_ns;
    clock_wrote(wire->clock, (size_t)written);
    return (size_t)written == size; /* a line cut short cannot be read, and counts as not sent */
}

bool wire_send(struct wire *wire, const struct link_line *line)
{
    char text[LINK_LINE_MAX];
    uint8_t size = link_write(line, text);
    if (!wire->serial || size == 0) {
        return false;
    }
    int64_t room_ns = wire->line_free_ns - (int64_t)(WIRE_AHEAD - size) * wire->byte_ns;
    if (room_ns > clock_now_ns(wire->clock)) {
        clock_set(wire->clock, &wire->room, room_ns);
        return false;
    }
    if (!write_bytes(wire, text, size)) {
        /* From now: at a time that is past already it would be tried for ever, and a port that is
         * gone never be read. */
        int64_t from_ns = clock_now_ns(wire->clock);
        from_ns = wire->line_free_ns > from_ns ? wire->line_free_ns : from_ns;
        clock_set(wire->clock, &wire->room, from_ns + wire->byte_ns);
        return false;
    }
    return true;
}

bool wire_brake(struct wire *wire)
{
    uint8_t byte = LINK_BRAKE_BYTE;
    return wire->serial && write_bytes(wire, &byte, 1);
}
