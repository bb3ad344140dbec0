/* SPDX-License-Identifier: MIT */
#include "clients/reglet/watching.h"

#include <string.h>

/* Takes the message over as the status whose words the lift borrows. */
static bool take_status(struct watching *watching, const cJSON *status)
{
    struct show_lift lift;
    if (!show_read(status, &lift)) {
        return false;
    }
    client_answer_free(&watching->status);
    watching->status = watching->message;
    watching->message = (struct client_answer){0};
    watching->lift = lift;
    return true;
}

enum client_exit watching_begin(struct watching *watching)
{
    struct run *run = watching->run;
    enum client_exit code = run_ask(run, "watch", NULL, &watching->message);
    watching->heard_ms = client_now_ms();
    if (code == CLIENT_DONE && watching->message.error) {
        return run_tell(run, &watching->message);
    }
    if (code == CLIENT_DONE && !take_status(watching, watching->message.result)) {
        return run_trouble(run, CLIENT_GARBLED);
    }
    return code;
}

/* 0: nothing that is of use. */
static enum watching_heard take(struct watching *watching)
{
    const struct client_answer *message = &watching->message;
    if (strcmp(message->method, "changed") == 0 && take_status(watching, message->params)) {
        return WATCHING_CHANGED;
    }
    if (strcmp(message->method, "position") == 0) {
        show_move(message->params, &watching->lift);
        return WATCHING_MOVED;
    }
    return 0;
}

static enum watching_heard end_with(struct watching *watching, enum client_end end)
{
    struct run *run = watching->run;
    watching->code = client_exit_of_end(end);
    if (end == CLIENT_SILENT) {
        run_say("regletd has said nothing for three seconds: it hangs, and where the bit is is not "
                "known any more. A lift that is left alone brakes by itself, but do not rely on "
                "it: keep clear of the bit. See what regletd does (its log), and ask again.");
    } else if (end != CLIENT_INTERRUPTED) {
        watching->code = run_trouble(run, end);
    }
    return WATCHING_OVER;
}

enum watching_heard watching_next(struct watching *watching, int64_t deadline_ms,
                                  void (*wipe)(void *owner), void *owner)
{
    for (;;) {
        int64_t silent_ms = watching->heard_ms + WATCHING_SILENT_MS;
        bool timed = deadline_ms >= 0 && deadline_ms < silent_ms;
        int64_t left_ms = (timed ? deadline_ms : silent_ms) - client_now_ms();
        client_answer_free(&watching->message);
        enum client_end end = client_hear(&watching->run->client, left_ms, &watching->message);
        if (end == CLIENT_SILENT && timed) {
            return WATCHING_TIME;
        }
        if (end == CLIENT_ANSWERED) { /* nothing else was asked */
            continue;
        }
        if (end != CLIENT_TOLD) {
            if (wipe) {
                wipe(owner);
            }
            return end_with(watching, end);
        }
        watching->heard_ms = client_now_ms();
        enum watching_heard heard = take(watching);
        if (heard) {
            return heard;
        }
    }
}

void watching_end(struct watching *watching)
{
    client_answer_free(&watching->status);
    client_answer_free(&watching->message);
}
