/* SPDX-License-Identifier: MIT */
#include "clients/pedal/talk.h"

#include <stdio.h>
#include <string.h>

#include "clients/pedal/talk_parts.h"

static void on_timer(uv_timer_t *timer);

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

static void on_closed(void *owner)
{
    struct talk *talk = owner;
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
    line_close(&talk->line);
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

static void on_connected(void *owner)
{
    talk_greet(owner, TALK_ID_HELLO, "hello", words_params_text("client", "reglet-pedal"));
}

static void on_said(void *owner, const char *text, size_t size)
{
    struct talk *talk = owner;
    (void)uv_timer_start(&talk->timer, on_timer, TALK_SILENCE_MS, 0);
    talk_take_line(talk, text, size);
}

static void on_ended(void *owner, int error)
{
    talk_lose_for(owner, error);
}

static void try_now(struct talk *talk)
{
    const struct line_events events = {talk, on_connected, on_said, on_ended, on_closed};
    if (line_open(&talk->line, talk->loop, talk->path, &events) != 0) { /* out of memory */
        say_away(talk, "There is not enough memory to talk to regletd; it is tried again.");
        wait_for_next_try(talk);
        return;
    }
    talk->state = TALK_GREETING;
    (void)uv_timer_start(&talk->timer, on_timer, TALK_SILENCE_MS, 0);
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

/* What is not sent is not done: the end of the connection brakes. */
static void send_text(struct talk *talk, char *text, size_t size)
{
    int error = line_send(&talk->line, text, size);
    if (error != 0) {
        talk_lose_for(talk, error);
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
        line_close(&talk->line);
    }
    uv_close((uv_handle_t *)&talk->timer, NULL);
}
