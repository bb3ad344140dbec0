/* SPDX-License-Identifier: MIT */
#include "daemon/serve/server.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/serve/method.h"
#include "protocol/paths.h"

enum { TURN_LINES_MAX = 16 }; /* of some 10 to 50 us each */

static void on_connection(uv_stream_t *listener, int status)
{
    if (status == 0) {
        session_accept(listener->data);
    }
}

/* Goes on where the turn before left off; the serial port is served between. */
static void on_idle(uv_idle_t *handle)
{
    struct server *server = handle->data;
    bool more = false;
    struct session *next;
    server->turn_lines = 0;
    for (struct session *s = server->sessions; s; s = next) {
        next = s->next;
        if (session_waits(s) && s->round != server->round) {
            if (!server_grants(server, s)) {
                return; /* the round goes on in the next turn */
            }
            session_take_line(s);
        }
        more = more || session_waits(s);
    }
    server->round++;
    if (!more) {
        uv_idle_stop(handle);
    }
}

bool server_grants(struct server *server, struct session *session)
{
    if (session->round == server->round || server->turn_lines >= TURN_LINES_MAX) {
        return false;
    }
    session->round = server->round;
    server->turn_lines++;
    return true;
}

void server_flush(struct server *server)
{
    struct session *next;
    for (struct session *s = server->sessions; s; s = next) {
        next = s->next;
        session_flush(s);
    }
}

void server_turn(struct server *server)
{
    server->turn_lines = 0;
    if (!uv_is_active((const uv_handle_t *)&server->idle)) {
        server->round++; /* nobody waits */
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

/* The folder of the socket, if it is not there: open to all, as the socket is, whatever the umask
 * would take away. One that is there is its owner's affair. */
static bool make_folder(const char *path)
{
    char folder[PATHS_SIZE];
    snprintf(folder, sizeof folder, "%s", path);
    char *slash = strrchr(folder, '/');
    if (!slash || slash == folder) {
        return true;
    }
    *slash = '\0';
    return mkdir(folder, 0755) == 0 ? chmod(folder, 0755) == 0 : errno == EEXIST;
}

/* 0, or libuv's error. */
static int bind_listener(struct server *server, const struct server_config *config)
{
    if (config->listener_fd >= 0) {
        return uv_pipe_open(&server->listener, config->listener_fd);
    }
    if (!make_folder(config->path)) {
        return uv_translate_sys_error(errno);
    }
    unlink(config->path);
    mode_t mask = umask(config->practice ? 0177 : 0111);
    int failed = uv_pipe_bind(&server->listener, config->path);
    umask(mask);
    return failed;
}

struct server *server_open(const struct server_config *config, char *why, size_t why_size)
{
    struct server *server = calloc(1, sizeof *server);
    if (!server) {
        snprintf(why, why_size, "not enough memory for the socket");
        return NULL;
    }
    things_prepare();
    server->clock = config->clock;
    server->lift = config->lift;
    server->shop = config->shop;
    server->calibration = config->calibration;
    server->stories = config->stories;
    server->surface = config->surface;
    server->keeper = config->keeper;
    server->practice = config->practice;
    uv_pipe_init(config->loop, &server->listener, 0);
    server->listener.data = server;
    int failed = bind_listener(server, config);
    if (failed == 0) {
        failed = uv_listen((uv_stream_t *)&server->listener, SESSIONS_MAX, on_connection);
    }
    if (failed != 0) {
        snprintf(why, why_size, "cannot listen at %s: %s", config->path, uv_strerror(failed));
        uv_close((uv_handle_t *)&server->listener, on_listener_failed);
        return NULL;
    }
    uv_idle_init(config->loop, &server->idle);
    server->idle.data = server;
    watch_open(server, config->loop);
    hold_open(server);
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
    watch_close(server);
    hold_close(server);
}

void server_free(struct server *server)
{
    if (server) {
        status_text_free(&server->status_text);
    }
    free(server);
}
