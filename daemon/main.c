/* SPDX-License-Identifier: MIT */
/* regletd: the daemon. One process, one thread, one loop. */
#include <argp.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/mman.h>
#include <unistd.h>
#include <uv.h>

#include "daemon/clock/clock.h"
#include "daemon/lift/lift.h"
#include "daemon/practice.h"
#include "daemon/serve/server.h"
#include "protocol/paths.h"

const char *argp_program_version = "regletd " REGLET_VERSION;

struct options {
    bool practice;
    bool lockstep;
};

/* In the order in which they are made; taken down in reverse. */
struct daemon {
    uv_loop_t loop;
    struct clock *clock;
    struct lift *lift;
    struct server *server;
    uv_signal_t terminated;
    uv_signal_t interrupted;
    bool ending;
    int lock_fd;
    char folder[PATHS_SIZE];
    char port_path[PATHS_SIZE + 8];
    char socket_path[PATHS_SIZE + 16];
};

static const struct argp_option option_list[] = {
    {"practice", 'p', 0, 0, "Start and drive the practice lift, never the real one", 0},
    {"lockstep", 'l', 0, 0, "Share simulated time with a practice lift that runs so already", 0},
    {0}};

static error_t take_option(int key, char *argument, struct argp_state *state)
{
    struct options *options = state->input;
    (void)argument;
    switch (key) {
    case 'p':
        options->practice = true;
        return 0;
    case 'l':
        options->lockstep = true;
        return 0;
    case ARGP_KEY_ARG:
        argp_error(state, "regletd takes options only");
        return 0;
    default:
        return ARGP_ERR_UNKNOWN;
    }
}

static const struct argp command_line = {
    option_list, take_option, NULL,
    "regletd: keeps a motorised router-table lift where it is told to be.\v"
    "This version drives the practice lift only. Software is no safety device: a real lift has "
    "its stop circuit in hardware.",
    NULL, NULL, NULL};

static int fail(const char *sentence)
{
    fprintf(stderr, "regletd: %s\n", sentence);
    return 1;
}

static void on_lift_closed(void *owner)
{
    struct daemon *d = owner;
    server_close(d->server);
    uv_close((uv_handle_t *)&d->terminated, NULL);
    uv_close((uv_handle_t *)&d->interrupted, NULL);
    clock_close(d->clock);
}

/* The brake first; all else when the lift is at rest. */
static void on_signal(uv_signal_t *handle, int number)
{
    struct daemon *d = handle->data;
    (void)number;
    if (!d->ending) {
        d->ending = true;
        lift_close(d->lift, on_lift_closed, d);
    }
}

static bool lock_folder(struct daemon *d, char *why, size_t size)
{
    char path[PATHS_SIZE + 16];
    if (!paths_make_private(d->folder, why, size)) {
        return false;
    }
    snprintf(path, sizeof path, "%s/daemon.lock", d->folder);
    d->lock_fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (d->lock_fd < 0) {
        snprintf(why, size, "cannot open %s: %s", path, strerror(errno));
        return false;
    }
    if (flock(d->lock_fd, LOCK_EX | LOCK_NB) != 0) {
        snprintf(why, size, "another regletd works in %s already; there can be only one", d->folder);
        return false;
    }
    return true;
}

static bool open_clock(struct daemon *d, const struct options *options, char *why, size_t size)
{
    char path[PATHS_SIZE + 16];
    snprintf(path, sizeof path, "%s/lockstep.sock", d->folder);
    d->clock = options->lockstep ? clock_open_lockstep(&d->loop, path) : clock_open(&d->loop);
    if (!d->clock) {
        snprintf(why, size, "no clock (%s): %s", options->lockstep ? path : "system",
                 strerror(errno));
    }
    return d->clock != NULL;
}

static void watch_signal(struct daemon *d, uv_signal_t *handle, int number)
{
    uv_signal_init(&d->loop, handle);
    handle->data = d;
    uv_signal_start(handle, on_signal, number);
}

/* A loop that waits for a page from a busy disk is late. Where it is not permitted the link's
 * queue covers that, so a refusal is no fault. */
static void stay_in_memory(void)
{
#ifndef __SANITIZE_ADDRESS__
    (void)mlockall(MCL_CURRENT | MCL_FUTURE | MCL_ONFAULT);
#endif
}

static bool start(struct daemon *d, const struct options *options, char *why, size_t size)
{
    struct lift_config machine;
    if (!lock_folder(d, why, size) || !practice_start(d->folder, why, size) ||
        !open_clock(d, options, why, size)) {
        return false;
    }
    snprintf(d->port_path, sizeof d->port_path, "%s/port", d->folder);
    snprintf(d->socket_path, sizeof d->socket_path, "%s/reglet.sock", d->folder);
    practice_machine(&machine, d->port_path);
    d->lift = lift_create(&d->loop, d->clock, &serial_real, &machine);
    if (!d->lift) {
        snprintf(why, size, "not enough memory");
        return false;
    }
    d->server = server_open(&d->loop, d->lift, d->socket_path, options->practice, why, size);
    return d->server != NULL;
}

int main(int count, char **word)
{
    static struct daemon d;
    struct options options = {.practice = false};
    char why[400];
    argp_parse(&command_line, count, word, 0, NULL, &options);
    if (!options.practice) {
        return fail("say --practice: this version drives the practice lift only");
    }
    if (!paths_practice(d.folder, sizeof d.folder)) {
        return fail("the name of the practice lift's folder is too long; shorten REGLET_PRACTICE");
    }
    signal(SIGPIPE, SIG_IGN);
    if (uv_loop_init(&d.loop) != 0) {
        return fail("the event loop could not be made");
    }
    if (!start(&d, &options, why, sizeof why)) {
        return fail(why); /* the kernel takes back what stands half made */
    }
    watch_signal(&d, &d.terminated, SIGTERM);
    watch_signal(&d, &d.interrupted, SIGINT);
    stay_in_memory();
    fprintf(stderr, "regletd: PRACTICE lift in %s, listening at %s\n", d.folder, d.socket_path);
    clock_run(d.clock);
    server_free(d.server);
    lift_free(d.lift);
    clock_free(d.clock);
    uv_loop_close(&d.loop);
    close(d.lock_fd);
    fprintf(stderr, "regletd: ended\n");
    return 0;
}
