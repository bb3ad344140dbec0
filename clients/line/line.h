/* SPDX-License-Identifier: MIT */
/*
 * The daemon's socket on libuv, one message a line, for the clients that run on a loop. When to
 * connect, and what to do when it ends, is theirs. Nothing here blocks.
 */
#ifndef REGLET_CLIENTS_LINE_LINE_H
#define REGLET_CLIENTS_LINE_LINE_H

#include <stdbool.h>
#include <stddef.h>
#include <uv.h>

#include "protocol/attributes.h"
#include "protocol/local.h"

enum { LINE_BACKLOG_MAX = 65536 }; /* bytes that wait to be written */

/* None is called behind line_close, but `closed`. */
struct line_events {
    void *owner;
    void (*connected)(void *owner);
    /* One line without its newline, which is not NUL-terminated. */
    void (*said)(void *owner, const char *text, size_t size);
    /* It could not connect, or has ended: UV_EOF, UV_ENOBUFS for a line without an end, or another
     * error of libuv. The owner closes it. */
    void (*ended)(void *owner, int error);
    void (*closed)(void *owner); /* it may be opened again, or its memory be given back */
};

struct line {
    struct line_events events;
    uv_pipe_t pipe;
    uv_connect_t connect;
    bool open; /* from line_open to line_close */
    size_t used;
    char text[LOCAL_LINE_MAX];
};

/* Begins to connect to `path`. The struct is the caller's, and stays until `closed`. 0, or an error
 * of libuv: then there is nothing to close. */
REGLET_MUST_CHECK int line_open(struct line *line, uv_loop_t *loop, const char *path,
                                const struct line_events *events);

/* `text` (NULL: memory was short) is taken over, to be freed by cJSON_free. 0, or an error of libuv
 * when it is not on its way: UV_ETIMEDOUT when the other side does not read. */
REGLET_MUST_CHECK int line_send(struct line *line, char *text, size_t size);

/* What is still to be written is dropped. Harmless when it is not open. */
void line_close(struct line *line);

#endif
