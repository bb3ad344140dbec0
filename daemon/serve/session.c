/* SPDX-License-Identifier: MIT */
#include "daemon/serve/session.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct write {
    uv_write_t request;
    struct shared *shared;
};

static void on_closed(uv_handle_t *handle)
{
    struct session *session = handle->data;
    free(session->text);
    free(session);
}

void session_close(struct session *session)
{
    if (session->closing) {
        return;
    }
    struct server *server = session->server;
    session->closing = true;
    session_flush(session);
    for (struct session **at = &server->sessions; *at; at = &(*at)->next) {
        if (*at == session) {
            *at = session->next;
            server->count--;
            server->strangers -= session->may_command ? 0 : 1;
            break;
        }
    }
    watch_end(session);
    calls_abandon(session);
    uv_close((uv_handle_t *)&session->pipe, on_closed);
}

/* Takes `text` over; NULL when that is, or memory is short. */
static struct shared *share(char *text, size_t size)
{
    struct shared *shared = text ? malloc(sizeof *shared) : NULL;
    if (!shared) {
        cJSON_free(text);
        return NULL;
    }
    *shared = (struct shared){1, text, size};
    return shared;
}

struct shared *shared_print(const cJSON *message)
{
    size_t size = 0;
    char *text = message ? local_print(message, &size) : NULL;
    return share(text, size);
}

void shared_drop(struct shared *shared)
{
    if (shared && --shared->users == 0) {
        cJSON_free(shared->text);
        free(shared);
    }
}

static void on_written(uv_write_t *request, int status)
{
    struct write *write = (struct write *)request;
    struct session *session = request->handle->data;
    shared_drop(write->shared);
    free(write);
    if (status != 0) {
        session_close(session);
    }
}

size_t session_backlog(const struct session *session)
{
    return uv_stream_get_write_queue_size((const uv_stream_t *)&session->pipe);
}

/* How much of it the socket takes at once, which spares a turn of the loop. What it does not take
 * waits, and an error comes again with that. */
static size_t write_at_once(struct session *session, const struct shared *shared)
{
    uv_buf_t buffer = uv_buf_init(shared->text, (unsigned)shared->size);
    int written = uv_try_write((uv_stream_t *)&session->pipe, &buffer, 1);
    return written > 0 ? (size_t)written : 0;
}

static void write_rest(struct session *session, struct shared *shared, size_t from)
{
    struct write *write = malloc(sizeof *write);
    if (!write) {
        session_close(session);
        return;
    }
    write->shared = shared;
    shared->users++;
    uv_buf_t buffer = uv_buf_init(shared->text + from, (unsigned)(shared->size - from));
    if (uv_write(&write->request, (uv_stream_t *)&session->pipe, &buffer, 1, on_written) != 0) {
        shared_drop(shared);
        free(write);
        session_close(session);
    }
}

void session_flush(struct session *session)
{
    struct shared *shared = session->last;
    if (!shared) {
        return;
    }
    session->last = NULL;
    size_t written = write_at_once(session, shared);
    if (written < shared->size && !session->closing) {
        write_rest(session, shared, written);
    }
    shared_drop(shared);
}

void session_send_shared(struct session *session, struct shared *shared)
{
    session_flush(session);
    if (session->closing || session_backlog(session) > SESSION_BACKLOG) {
        session_close(session); /* never half an answer: a client sees its connection end */
        return;
    }
    shared->users++;
    session->last = shared;
}

/* Takes `shared` over. */
static void send_or_close(struct session *session, struct shared *shared)
{
    if (shared) {
        session_send_shared(session, shared);
        shared_drop(shared);
    } else {
        session_close(session);
    }
}

void session_send(struct session *session, const cJSON *message)
{
    send_or_close(session, shared_print(message));
}

void session_send_line(struct session *session, char *line, size_t size)
{
    send_or_close(session, share(line, size));
}

static void refuse_over_long(struct session *session)
{
    cJSON *error = local_error(NULL, LOCAL_PARSE_ERROR,
                               "The line is longer than 16384 bytes. Nothing of it was carried "
                               "out, and the connection ends here.",
                               NULL);
    session_send(session, error);
    cJSON_Delete(error);
}

static void on_shutdown(uv_shutdown_t *request, int status)
{
    struct session *session = request->handle->data;
    (void)status;
    free(request);
    session_close(session);
}

/* Ends the connection behind what is still to be written. */
static void session_end(struct session *session)
{
    uv_shutdown_t *request = malloc(sizeof *request);
    session_flush(session);
    uv_read_stop((uv_stream_t *)&session->pipe);
    if (!request || uv_shutdown(request, (uv_stream_t *)&session->pipe, on_shutdown) != 0) {
        free(request);
        session_close(session);
    }
}

bool session_waits(const struct session *session)
{
    return !session->closing && memchr(session->text, '\n', session->size) != NULL;
}

void session_take_line(struct session *session)
{
    char *newline = memchr(session->text, '\n', session->size);
    size_t length = (size_t)(newline - session->text);
    if (length > 0) {
        exchange_take(session, session->text, length);
    }
    if (!session->closing) {
        session->size -= length + 1;
        memmove(session->text, newline + 1, session->size);
    }
}

static void give_room(uv_handle_t *handle, size_t suggested, uv_buf_t *buffer)
{
    struct session *session = handle->data;
    (void)suggested;
    *buffer =
        uv_buf_init(session->text + session->size, (unsigned)(LOCAL_LINE_MAX - session->size));
}

static void on_read(uv_stream_t *stream, ssize_t size, const uv_buf_t *buffer)
{
    struct session *session = stream->data;
    (void)buffer;
    if (size == UV_ENOBUFS) {
        /* Full: with a whole line in it the rest waits its turn; else no line is so long. */
        if (!memchr(session->text, '\n', session->size)) {
            refuse_over_long(session);
            if (!session->closing) {
                session_end(session);
            }
        }
        return;
    }
    if (size < 0) {
        session_close(session);
        return;
    }
    session->size += (size_t)size;
    if (session_waits(session) && server_grants(session->server, session)) {
        session_take_line(session);
    }
    if (session_waits(session)) {
        server_more(session->server);
    }
}

/* True when there is room for one more of his kind. */
static bool admit(struct session *session)
{
    struct server *server = session->server;
    uv_os_fd_t fd = -1;
    if (uv_fileno((const uv_handle_t *)&session->pipe, &fd) == 0) {
        session->may_command = peer_may_command(fd, &session->uid);
    }
    server->count++;
    server->strangers += session->may_command ? 0 : 1;
    session->next = server->sessions;
    server->sessions = session;
    return server->count <= SESSIONS_MAX && server->strangers <= STRANGERS_MAX;
}

static void turn_away(struct session *session)
{
    cJSON *data = cJSON_CreateObject();
    cJSON_AddStringToObject(data, "reason", reason_word(REASON_TOO_MANY));
    cJSON *error = local_error(NULL, LOCAL_REFUSED,
                               "There are too many connections. This one ends here, and nothing "
                               "was done. End some that are not needed.",
                               data);
    session_send(session, error);
    cJSON_Delete(error);
    if (!session->closing) {
        session_end(session);
    }
}

void session_accept(struct server *server)
{
    struct session *session = calloc(1, sizeof *session);
    char *text = malloc(LOCAL_LINE_MAX);
    if (!session || !text) {
        free(session);
        free(text);
        return;
    }
    session->server = server;
    session->text = text;
    session->round = server->round - 1;
    uv_pipe_init(server->listener.loop, &session->pipe, 0);
    session->pipe.data = session;
    if (uv_accept((uv_stream_t *)&server->listener, (uv_stream_t *)&session->pipe) != 0) {
        session->closing = true;
        uv_close((uv_handle_t *)&session->pipe, on_closed);
        return;
    }
    if (!admit(session)) {
        turn_away(session);
        return;
    }
    uv_read_start((uv_stream_t *)&session->pipe, give_room, on_read);
}
