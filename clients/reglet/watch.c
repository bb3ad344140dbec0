/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "clients/reglet/draw.h"
#include "clients/reglet/watching.h"

/* What stands on the terminal is no height of now any more. */
static void wipe(void *owner)
{
    struct draw *draw = owner;
    draw_wipe(draw, 2);
}

/* Not again where what has changed is not shown on it. In motion the height alone is no change. */
static void show_line(const struct watching *watching, struct say *last)
{
    struct say say = {0};
    struct say key = {0};
    struct show_lift lift = watching->lift;
    lift.height_nm = show_in_motion(&lift) ? 0 : lift.height_nm;
    show_change(&key, &lift, watching->run->style);
    if (strcmp(key.text, last->text) != 0) {
        show_change(&say, &watching->lift, watching->run->style);
        say_add(&say, "\n");
        run_print(&say);
        *last = key;
    }
}

/* The message as it came, and the answer to `watch` as --json prints any. */
static void show_json(const struct watching *watching, bool first)
{
    if (first) {
        (void)run_tell(watching->run, &watching->status);
        return;
    }
    const char *text = watching->message.text ? watching->message.text : watching->status.text;
    (void)printf("%s\n", text);
    (void)fflush(stdout);
}

static enum client_exit watch(struct watching *watching)
{
    struct draw draw = {0};
    struct say last = {0};
    bool json = watching->run->json;
    bool terminal = !json && isatty(STDOUT_FILENO) == 1 && isatty(STDERR_FILENO) == 1;
    enum watching_heard heard = WATCHING_CHANGED;
    for (bool first = true; heard != WATCHING_OVER && !ferror(stdout); first = false) {
        if (json) {
            show_json(watching, first);
        } else if (heard == WATCHING_CHANGED) {
            draw_wipe(&draw, 0);
            show_line(watching, &last);
        } else if (terminal && show_in_motion(&watching->lift)) {
            draw_progress(&draw, &watching->lift, watching->run->style);
        }
        heard = watching_next(watching, -1, wipe, &draw);
    }
    return heard == WATCHING_OVER ? watching->code : CLIENT_UNREACHABLE; /* main says why */
}

static enum client_exit carry_out(struct run *run)
{
    struct watching watching = {.run = run};
    enum client_exit code = watching_begin(&watching);
    if (code == CLIENT_DONE) {
        code = watch(&watching);
    }
    watching_end(&watching);
    return code;
}

const struct command command_watch = {
    "watch",
    NULL,
    "say what changes, until Ctrl-C",
    "One line for each change; on a terminal the moving height is drawn over and over. With --json "
    "the status, then each message of the daemon as it came. It asks nothing of the lift, and "
    "stops nothing when it ends.",
    carry_out,
    NULL};
