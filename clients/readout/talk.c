/* SPDX-License-Identifier: MIT */
#include "clients/readout/talk.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/line/line.h"
#include "clients/readout/hear.h"

enum { CONNECTED_MS = 500 /* an older trouble stands on the screen no longer than this */ };

struct talk {
    uv_loop_t *loop;
    const char *path;
    void (*changed)(void *owner);
    void *owner;
    uv_timer_t pause;
    bool connected; /* there is somebody */
    bool closing;
    int closed; /* handles, while closing */
    bool away;  /* `hear.why` says why; until something is said of the lift */
    uint64_t pause_ms;
    uint64_t heard_ms; /* of the loop's time: when something was said of the lift, or connected */
    uint64_t stop_ms;  /* when `hear.stop` last changed */
    struct hear hear;
    struct line line;
};

static void try_connection(uv_timer_t *timer);

static void free_when_closed(struct talk *talk)
{
    if (talk->closing && !talk->line.open && ++talk->closed == 2) {
        free(talk);
    }
}

static void wait_for_next_try(struct talk *talk)
{
    (void)uv_timer_start(&talk->pause, try_connection, talk->pause_ms, 0); /* refuses no callback */
    talk->pause_ms = 2 * talk->pause_ms;
    if (talk->pause_ms > TALK_PAUSE_MOST_MS) {
        talk->pause_ms = TALK_PAUSE_MOST_MS;
    }
}

static void on_line_closed(void *owner)
{
    struct talk *talk = owner;
    if (talk->closing) {
        free_when_closed(talk);
        return;
    }
    wait_for_next_try(talk);
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
    talk->connected = false;
    talk->away = true;
    line_close(&talk->line);
    talk->changed(talk->owner);
}

/* --- Hearing --- */

static void say_why(struct talk *talk, const char *reason)
{
    (void)snprintf(talk->hear.why, sizeof talk->hear.why, "%s It is tried again by itself: %s",
                   reason, talk->path);
}

static void on_said(void *owner, const char *text, size_t size)
{
    struct talk *talk = owner;
    switch (hear_line(&talk->hear, text, size)) {
    case HEAR_LIFT:
        talk->heard_ms = uv_now(talk->loop);
        talk->pause_ms = TALK_PAUSE_MS;
        talk->away = false;
        talk->changed(talk->owner);
        break;
    case HEAR_STOP:
        talk->stop_ms = uv_now(talk->loop);
        talk->changed(talk->owner);
        break;
    case HEAR_USELESS:
        talk->pause_ms = TALK_PAUSE_MOST_MS;
        hang_up(talk);
        break;
    case HEAR_OTHER:
        break;
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

static void on_ended(void *owner, int error)
{
    struct talk *talk = owner;
    if (!talk->connected) {
        say_absent(talk, error);
    } else if (error == UV_ENOBUFS) {
        say_why(talk, "What answers there does not speak as regletd does.");
    } else {
        say_why(talk, "The connection to regletd has ended.");
    }
    hang_up(talk);
}

static void on_connected(void *owner)
{
    struct talk *talk = owner;
    size_t size = 0;
    talk->connected = true;
    talk->heard_ms = uv_now(talk->loop);
    char *greeting = hear_greeting(&size);
    if (line_send(&talk->line, greeting, size) != 0) {
        say_why(talk, "regletd could not be asked.");
        hang_up(talk);
        return;
    }
    talk->changed(talk->owner);
}

static void try_connection(uv_timer_t *timer)
{
    struct talk *talk = timer->data;
    const struct line_events events = {talk, on_connected, on_said, on_ended, on_line_closed};
    int failed = line_open(&talk->line, talk->loop, talk->path, &events);
    if (failed != 0) {
        say_absent(talk, failed);
        hang_up(talk);
        wait_for_next_try(talk);
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
    bool waits = !talk->line.open && uv_is_active((uv_handle_t *)&talk->pause);
    talk->closing = true;
    hear_end(&talk->hear);
    uv_close((uv_handle_t *)&talk->pause, on_pause_closed);
    if (talk->line.open) {
        line_close(&talk->line);
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
    if (!talk->connected || line_send(&talk->line, text, size) != 0) {
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
