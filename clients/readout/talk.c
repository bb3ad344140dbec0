/* SPDX-License-Identifier: MIT */
#include "clients/readout/talk.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/readout/hear.h"
#include "protocol/local.h"

enum { CONNECTED_MS = 500 /* an older trouble stands on the screen no longer than this */ };

struct talk {
    uv_loop_t *loop;
    const char *path;
    void (*changed)(void *owner);
    void *owner;
    uv_pipe_t pipe;
    uv_timer_t pause;
    uv_connect_t connecting;
    bool open;      /* the pipe is initialised, and not being closed */
    bool connected; /* and there is somebody */
    bool closing;
    int closed; /* handles, while closing */
    bool away;  /* `hear.why` says why; until something is said of the lift */
    uint64_t pause_ms;
    uint64_t heard_ms; /* of the loop's time: when something was said of the lift, or connected */
    uint64_t stop_ms;  /* when `hear.stop` last changed */
    size_t used;
    struct hear hear;
    char line[LOCAL_LINE_MAX];
};

static void try_connection(uv_timer_t *timer);

static void free_when_closed(struct talk *talk)
{
    if (talk->closing && !talk->open && ++talk->closed == 2) {
        free(talk);
    }
}

static void on_pipe_closed(uv_handle_t *handle)
{
    struct talk *talk = handle->data;
    if (talk->closing) {
        free_when_closed(talk);
        return;
    }
    (void)uv_timer_start(&talk->pause, try_connection, talk->pause_ms, 0); /* refuses no callback */
    talk->pause_ms = 2 * talk->pause_ms;
    if (talk->pause_ms > TALK_PAUSE_MOST_MS) {
        talk->pause_ms = TALK_PAUSE_MOST_MS;
    }
}

static void on_pause_closed(uv_handle_t *handle)
{
    free_when_closed(handle->data);
}

/* All that was known goes with it. `hear.why` has been said. */
static void hang_up(struct talk *talk)
{
    if (talk->hear.stop == FACE_STOP_ASKED) {
        talk->stop_ms = uv_now(talk->loop);
    }
    hear_end(&talk->hear);
    talk->used = 0;
    talk->connected = false;
    talk->away = true;
    if (talk->open) {
        talk->open = false;
        uv_close((uv_handle_t *)&talk->pipe, on_pipe_closed);
    }
    talk->changed(talk->owner);
}

/* --- Saying --- */

struct saying {
    uv_write_t request;
    char *text;
};

/* A connection that does not take it ends by itself: the reader sees that. */
static void on_said(uv_write_t *request, int status)
{
    struct saying *saying = request->data;
    (void)status;
    cJSON_free(saying->text);
    free(saying);
}

/* Takes `text` over. False when it is not on its way. */
static bool say(struct talk *talk, char *text, size_t size)
{
    struct saying *saying = malloc(sizeof *saying);
    if (text && saying) {
        uv_buf_t buffer = uv_buf_init(text, (unsigned)size);
        *saying = (struct saying){.text = text};
        saying->request.data = saying;
        if (uv_write(&saying->request, (uv_stream_t *)&talk->pipe, &buffer, 1, on_said) == 0) {
            return true;
        }
    }
    cJSON_free(text);
    free(saying);
    return false;
}

static void say_why(struct talk *talk, const char *reason)
{
    (void)snprintf(talk->hear.why, sizeof talk->hear.why, "%s It is tried again by itself: %s",
                   reason, talk->path);
}

/* --- Hearing --- */

static void on_room(uv_handle_t *handle, size_t suggested, uv_buf_t *buffer)
{
    struct talk *talk = handle->data;
    (void)suggested;
    *buffer = uv_buf_init(talk->line + talk->used, (unsigned)(sizeof talk->line - talk->used));
}

/* False when the connection was given up. */
static bool take_line(struct talk *talk, size_t size)
{
    switch (hear_line(&talk->hear, talk->line, size)) {
    case HEAR_LIFT:
        talk->heard_ms = uv_now(talk->loop);
        talk->pause_ms = TALK_PAUSE_MS;
        talk->away = false;
        talk->changed(talk->owner);
        return true;
    case HEAR_STOP:
        talk->stop_ms = uv_now(talk->loop);
        talk->changed(talk->owner);
        return true;
    case HEAR_USELESS:
        talk->pause_ms = TALK_PAUSE_MOST_MS;
        hang_up(talk);
        return false;
    case HEAR_OTHER:
        break;
    }
    return true;
}

static void on_bytes(uv_stream_t *stream, ssize_t count, const uv_buf_t *buffer)
{
    struct talk *talk = stream->data;
    (void)buffer;
    if (count < 0) {
        say_why(talk, "The connection to regletd has ended.");
        hang_up(talk);
        return;
    }
    talk->used += (size_t)count;
    char *newline;
    while ((newline = memchr(talk->line, '\n', talk->used)) != NULL) {
        size_t size = (size_t)(newline - talk->line);
        if (!take_line(talk, size)) {
            return;
        }
        talk->used -= size + 1;
        memmove(talk->line, newline + 1, talk->used);
    }
    if (talk->used == sizeof talk->line) {
        say_why(talk, "What answers there does not speak as regletd does.");
        hang_up(talk);
    }
}

/* --- Connecting --- */

static void say_absent(struct talk *talk, int error)
{
    char reason[160];
    (void)snprintf(reason, sizeof reason, "regletd is not there: %s.",
                   error == UV_ENOENT                        ? "there is no such socket"
                   : error == UV_ECONNREFUSED                ? "it has ended"
                   : error == UV_EACCES || error == UV_EPERM ? "you may not open its socket"
                                                             : uv_strerror(error));
    say_why(talk, reason);
}

static void on_connected(uv_connect_t *request, int status)
{
    struct talk *talk = request->data;
    size_t size = 0;
    if (!talk->open) {
        return; /* closed meanwhile */
    }
    if (status != 0) {
        say_absent(talk, status);
        hang_up(talk);
        return;
    }
    talk->connected = true;
    talk->heard_ms = uv_now(talk->loop);
    char *greeting = hear_greeting(&size);
    if (!say(talk, greeting, size) ||
        uv_read_start((uv_stream_t *)&talk->pipe, on_room, on_bytes) != 0) {
        say_why(talk, "regletd could not be asked.");
        hang_up(talk);
        return;
    }
    talk->changed(talk->owner);
}

static void try_connection(uv_timer_t *timer)
{
    struct talk *talk = timer->data;
    int failed = uv_pipe_init(talk->loop, &talk->pipe, 0);
    if (failed == 0) {
        talk->open = true;
        talk->pipe.data = talk;
        talk->connecting.data = talk;
        uv_pipe_connect(&talk->connecting, &talk->pipe, talk->path, on_connected);
    }
}

struct talk *talk_open(uv_loop_t *loop, const char *path, bool practice,
                       void (*changed)(void *owner), void *owner)
{
    struct talk *talk = calloc(1, sizeof *talk);
    if (!talk || uv_timer_init(loop, &talk->pause) != 0) {
        free(talk);
        return NULL;
    }
    talk->loop = loop;
    talk->path = path;
    talk->changed = changed;
    talk->owner = owner;
    talk->hear.practice = practice;
    talk->pause.data = talk;
    talk->pause_ms = TALK_PAUSE_MS;
    talk->heard_ms = uv_now(loop);
    try_connection(&talk->pause);
    return talk;
}

void talk_close(struct talk *talk)
{
    bool waits = !talk->open && uv_is_active((uv_handle_t *)&talk->pause);
    talk->closing = true;
    hear_end(&talk->hear);
    uv_close((uv_handle_t *)&talk->pause, on_pause_closed);
    if (talk->open) {
        talk->open = false;
        uv_close((uv_handle_t *)&talk->pipe, on_pipe_closed);
    } else if (waits) {
        talk->closed++; /* there is no pipe; else its closing is under way */
    }
}

void talk_stop(struct talk *talk)
{
    size_t size = 0;
    uint64_t now_ms = uv_now(talk->loop);
    bool asked = talk->hear.stop == FACE_STOP_ASKED;
    if (asked && now_ms - talk->stop_ms < TALK_AGAIN_MS) {
        return;
    }
    char *text = talk->connected ? hear_stop_request(&talk->hear, &size) : NULL;
    if (!talk->connected || !say(talk, text, size)) {
        talk->hear.stop = FACE_STOP_UNSENT;
    }
    talk->stop_ms = now_ms;
    talk->changed(talk->owner);
}

static enum face_stop stop_of(const struct talk *talk)
{
    uint64_t age_ms = uv_now(talk->loop) - talk->stop_ms;
    if (talk->hear.stop == FACE_STOP_ASKED) {
        return age_ms > TALK_ANSWER_MS ? FACE_STOP_UNANSWERED : FACE_STOP_ASKED;
    }
    return age_ms > TALK_SAID_MS ? FACE_STOP_NONE : talk->hear.stop;
}

void talk_face(const struct talk *talk, struct face *face)
{
    uint64_t age_ms = uv_now(talk->loop) - talk->heard_ms;
    bool old_trouble = talk->away && (!talk->connected || age_ms < CONNECTED_MS);
    face->practice = talk->hear.practice;
    face->heard_ms = (int64_t)age_ms;
    face->why = talk->hear.why;
    face->bit = "";
    face->stop = stop_of(talk);
    face->link = old_trouble ? FACE_AWAY : hear_lift(&talk->hear, face) ? FACE_TOLD : FACE_WAITING;
}
