/* SPDX-License-Identifier: MIT */
#include "daemon/serve/server.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/serve/session.h"

static void on_connection(uv_stream_t *listener, int status)
{
    if (status == 0) {
        session_accept(listener->data);
    }
}

/* One line of each client a turn of the loop; the serial port is served between. */
static void on_idle(uv_idle_t *handle)
{
    struct server *server = handle->data;
    bool more = false;
    struct session *next;
    for (struct session *s = server->sessions; s; s = next) {
        next = s->next;
        more = session_take_line(s) || more;
    }
    if (!more) {
        uv_idle_stop(handle);
    }
}

void server_more(struct server *server)
{
    uv_idle_start(&server->idle, on_idle);
}

static void on_listener_failed(uv_handle_t *handle)
{
    free(handle->data);
}

struct server *server_open(uv_loop_t *loop, struct lift *lift, struct shop *shop, const char *path,
                           bool practice, char *why, size_t why_size)
{
    struct server *server = calloc(1, sizeof *server);
    if (!server) {
        snprintf(why, why_size, "not enough memory for the socket");
        return NULL;
    }
    server->lift = lift;
    server->shop = shop;
    server->practice = practice;
    uv_pipe_init(loop, &server->listener, 0);
    server->listener.data = server;
    unlink(path);
    mode_t mask = umask(0177);
    int failed = uv_pipe_bind(&server->listener, path);
    umask(mask);
    if (failed == 0) {
        failed = uv_listen((uv_stream_t *)&server->listener, SESSIONS_MAX, on_connection);
    }
    if (failed != 0) {
        snprintf(why, why_size, "cannot listen at %s: %s", path, uv_strerror(failed));
        uv_close((uv_handle_t *)&server->listener, on_listener_failed);
        return NULL;
    }
    uv_idle_init(loop, &server->idle);
    server->idle.data = server;
    return server;
}

void server_close(struct server *server)
{
    server->closing = true;
    while (server->sessions) {
        session_close(server->sessions);
    }
    uv_close((uv_handle_t *)&server->listener, NULL);
    uv_close((uv_handle_t *)&server->idle, NULL);
}

void server_free(struct server *server)
{
    free(server);
}
