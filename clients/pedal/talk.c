/* SPDX-License-Identifier: MIT */
#include "clients/pedal/talk.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/pedal/talk_parts.h"

static void on_timer(uv_timer_t *timer);
static void on_connect(uv_connect_t *connect, int status);

/* --- Losing it, and trying again --- */

static void wait_for_next_try(struct talk *talk)
{
    uint64_t wait_ms = TALK_AGAIN_MS;
    for (unsigned i = 0; i < talk->tries && wait_ms < TALK_AGAIN_MOST_MS; i++) {
        wait_ms *= 2;
    }
    talk->tries++;
    talk->state = TALK_AWAY;
    (void)uv_timer_start(&talk->timer, on_timer, wait_ms, 0); /* fails only while it closes */
}

static void on_closed(uv_handle_t *handle)
{
    struct talk *talk = handle->data;
    bool tell = talk->tell_lost;
    talk->tell_lost = false;
    if (!talk->ended) {
        wait_for_next_try(talk);
    }
    if (tell && !talk->ended) {
        talk->events.lost(talk->events.owner);
    }
}

/* Says why, but not again and again. */
static void say_away(struct talk *talk, const char *why)
{
    if (talk->ended || strcmp(talk->why, why) == 0) {
        return;
    }
    (void)snprintf(talk->why, sizeof talk->why, "%s", why);
    talk->events.say(talk->events.owner, talk->why);
}

void talk_lose(struct talk *talk, const char *why)
{
    if (talk->state == TALK_CLOSING) {
        return;
    }
    talk->tell_lost = talk->state == TALK_READY;
    talk->state = TALK_CLOSING;
    (void)uv_timer_stop(&talk->timer);
    uv_close((uv_handle_t *)&talk->pipe, on_closed);
    say_away(talk, why);
}

static const char *cause_of(int error)
{
    return error == UV_ENOENT         ? "there is no such socket"
           : error == UV_ECONNREFUSED ? "the daemon that listened there has ended"
           : error == UV_EOF          ? "it ended the connection"
           : error == UV_ETIMEDOUT    ? "it is silent"
                                      : uv_strerror(error);
}

void talk_lose_for(struct talk *talk, int error)
{
    char why[TALK_WHY_SIZE];
    bool was_ready = talk->state == TALK_READY;
    bool told = talk->why[0] != '\0'; /* that it is away; how, does not change what to do */
    bool plain = error == UV_ENOENT || error == UV_ECONNREFUSED || error == UV_EOF;
    const char *advice = error == UV_EACCES || error == UV_EPERM ? "See to the rights of that path."
                                                                 : "Start it if it does not run.";
    (void)snprintf(
        why, sizeof why,
        "%s at %s: %s. The keys do nothing until it is there. %s It is looked for again "
        "and again.",
        was_ready ? "regletd is lost" : "regletd is not there", talk->path, cause_of(error),
        was_ready ? "A lift that moved for a key brakes: look whether it does." : advice);
    talk_lose(talk, told && plain ? talk->why : why);
}

static void try_now(struct talk *talk)
{
    int error = uv_pipe_init(talk->loop, &talk->pipe, 0);
    if (error != 0) { /* out of memory: there is nothing to close */
        say_away(talk, "There is not enough memory to talk to regletd; it is tried again.");
        wait_for_next_try(talk);
        return;
    }
    talk->pipe.data = talk->connect.data = talk;
    talk->used = 0;
    talk->state = TALK_GREETING;
    (void)uv_timer_start(&talk->timer, on_timer, TALK_SILENCE_MS, 0);
    uv_pipe_connect(&talk->connect, &talk->pipe, talk->path, on_connect);
}

static void on_timer(uv_timer_t *timer)
{
    struct talk *talk = timer->data;
    if (talk->state == TALK_AWAY) {
        try_now(talk);
    } else {
        talk_lose_for(talk, UV_ETIMEDOUT);
    }
}

/* --- Sending --- */

struct write {
    uv_write_t write; /* its data is the talk */
    char *text;
};

static void on_written(uv_write_t *request, int status)
{
    struct write *write = (struct write *)request;
    struct talk *talk = request->data;
    cJSON_free(write->text);
    free(write);
    if (status != 0 && status != UV_ECANCELED) {
        talk_lose_for(talk, status);
    }
}

/* The text is taken over. */
static void send_text(struct talk *talk, char *text, size_t size)
{
    struct write *write = text ? malloc(sizeof *write) : NULL;
    uv_buf_t buffer = uv_buf_init(text, (unsigned)size);
    size_t backlog = uv_stream_get_write_queue_size((const uv_stream_t *)&talk->pipe);
    int error = !write ? UV_ENOMEM : backlog > TALK_BACKLOG_MAX ? UV_ETIMEDOUT : 0;
    if (error == 0) {
        write->text = text;
        write->write.data = talk;
        error = uv_write(&write->write, (uv_stream_t *)&talk->pipe, &buffer, 1, on_written);
    }
    if (error != 0) {
        free(write);
        cJSON_free(text);
        talk_lose_for(talk,
                      error); /* what is not sent is not done: the end of the connection brakes */
    }
}

void talk_send(struct talk *talk, const struct gate_request *request)
{
    size_t size = 0;
    if (talk->state == TALK_READY) {
        char *text = speak_request(request, &size);
        send_text(talk, text, size);
    }
}

void talk_greet(struct talk *talk, double id, const char *method, cJSON *params)
{
    size_t size = 0;
    char *text = speak_line(id, method, params, &size);
    send_text(talk, text, size);
}

/* --- Reading --- */

static void on_buffer(uv_handle_t *handle, size_t suggested, uv_buf_t *buffer)
{
    struct talk *talk = handle->data;
    (void)suggested;
    *buffer = uv_buf_init(talk->line + talk->used, (unsigned)(sizeof talk->line - talk->used));
}

static void on_read(uv_stream_t *stream, ssize_t got, const uv_buf_t *buffer)
{
    struct talk *talk = stream->data;
    char *newline;
    (void)buffer;
    if (got < 0) { /* UV_ENOBUFS: a line without an end */
        talk_lose_for(talk, (int)got);
        return;
    }
    talk->used += (size_t)got;
    if (got > 0) {
        (void)uv_timer_start(&talk->timer, on_timer, TALK_SILENCE_MS, 0);
    }
    while (talk->state != TALK_CLOSING && (newline = memchr(talk->line, '\n', talk->used))) {
        size_t size = (size_t)(newline - talk->line);
        talk_take_line(talk, talk->line, size);
        talk->used -= size + 1;
        memmove(talk->line, newline + 1, talk->used);
    }
}

static void on_connect(uv_connect_t *connect, int status)
{
    struct talk *talk = connect->data;
    if (talk->state == TALK_CLOSING) {
        return; /* cancelled by it */
    }
    if (status == 0) {
        status = uv_read_start((uv_stream_t *)&talk->pipe, on_buffer, on_read);
    }
    if (status != 0) {
        talk_lose_for(talk, status);
        return;
    }
    talk_greet(talk, TALK_ID_HELLO, "hello", words_params_text("client", "reglet-pedal"));
}

/* --- Beginning and end --- */

int talk_start(struct talk *talk, uv_loop_t *loop, const char *path, bool practice,
               const struct talk_events *events)
{
    memset(talk, 0, sizeof *talk);
    talk->loop = loop;
    talk->practice = practice;
    talk->events = *events;
    if (strlen(path) >= sizeof talk->path) {
        return UV_ENAMETOOLONG;
    }
    memcpy(talk->path, path, strlen(path) + 1);
    int error = uv_timer_init(loop, &talk->timer);
    if (error == 0) {
        talk->timer.data = talk;
        try_now(talk);
    }
    return error;
}

void talk_close(struct talk *talk)
{
    if (talk->ended) {
        return;
    }
    talk->ended = true;
    if (talk->state != TALK_AWAY && talk->state != TALK_CLOSING) {
        talk->state = TALK_CLOSING;
        uv_close((uv_handle_t *)&talk->pipe, on_closed);
    }
    uv_close((uv_handle_t *)&talk->timer, NULL);
}
