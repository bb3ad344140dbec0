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
#include <sys/resource.h>
#include <unistd.h>
#include <uv.h>

#include "daemon/clock/clock.h"
#include "daemon/config/config.h"
#include "daemon/lift/lift.h"
#include "daemon/machine/calibration.h"
#include "daemon/machine/describe.h"
#include "daemon/machine/surface.h"
#include "daemon/practice.h"
#include "daemon/serve/server.h"
#include "daemon/service.h"
#include "daemon/shop/shop.h"
#include "daemon/store/document.h"
#include "daemon/store/keeper.h"
#include "protocol/paths.h"

const char *argp_program_version = "regletd " REGLET_VERSION;

#define CONFIG_DEFAULT "/etc/reglet.json"

struct options {
    bool practice;
    bool lockstep;
    bool check;
    const char *config; /* NULL: none was named */
};

/* In the order in which they are made; taken down in reverse. */
struct daemon {
    struct config config;
    struct service service;
    uv_loop_t loop;
    struct clock *clock;
    struct files files;
    struct keeper *keeper;
    struct shop *shop;
    struct calibration *calibration;
    struct stories *stories;
    struct surface *surface;
    struct lift *lift;
    struct server *server;
    uv_signal_t terminated;
    uv_signal_t interrupted;
    bool ending;
    int lock_fd;
};

static const struct argp_option option_list[] = {
    {"practice", 'p', 0, 0, "Start and drive the practice lift, never the real one", 0},
    {"config", 'c', "FILE", 0, "The machine's configuration (" CONFIG_DEFAULT ")", 0},
    {"check", 'k', 0, 0, "Only read the configuration, and say what is wrong with it", 0},
    {"lockstep", 'l', 0, 0, "Share simulated time with a practice lift that runs so already", 0},
    {0}};

static error_t take_option(int key, char *argument, struct argp_state *state)
{
    struct options *options = state->input;
    switch (key) {
    case 'c':
        options->config = argument;
        return 0;
    case 'k':
        options->check = true;
        return 0;
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
    option_list,
    take_option,
    NULL,
    "regletd: keeps a motorised router-table lift where it is told to be.\v"
    "Software is no safety device: a real lift has its stop circuit in hardware. Before you touch "
    "a bit, disconnect the router. The makers' manuals and local codes have the last word.",
    NULL,
    NULL,
    NULL};

static int fail(const char *sentence)
{
    fprintf(stderr, "regletd: %s\n", sentence);
    return 1;
}

static void on_kept(void *owner)
{
    struct daemon *d = owner;
    uv_close((uv_handle_t *)&d->terminated, NULL);
    uv_close((uv_handle_t *)&d->interrupted, NULL);
    clock_close(d->clock);
}

static void on_lift_closed(void *owner)
{
    struct daemon *d = owner;
    server_close(d->server);
    keeper_close(d->keeper, on_kept, d);
}

/* The brake first; all else when the lift is at rest. */
static void on_signal(uv_signal_t *handle, int number)
{
    struct daemon *d = handle->data;
    (void)number;
    if (!d->ending) {
        d->ending = true;
        lift_close(d->lift, on_lift_closed, d);
        service_stopping(&d->service);
    }
}

/* One daemon a state folder: its lock is taken before anything else. */
static bool lock_folder(struct daemon *d, char *why, size_t size)
{
    char path[CONFIG_PATH_SIZE + 16];
    if (!paths_make_private(d->config.state, why, size)) {
        return false;
    }
    snprintf(path, sizeof path, "%s/daemon.lock", d->config.state);
    d->lock_fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (d->lock_fd < 0) {
        snprintf(why, size, "cannot open %s: %s", path, strerror(errno));
        return false;
    }
    if (flock(d->lock_fd, LOCK_EX | LOCK_NB) != 0) {
        snprintf(why, size, "another regletd works in %s already; there can be only one",
                 d->config.state);
        return false;
    }
    return true;
}

static bool open_clock(struct daemon *d, const struct options *options, char *why, size_t size)
{
    char path[CONFIG_PATH_SIZE + 16];
    snprintf(path, sizeof path, "%s/lockstep.sock", d->config.state);
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

/* On a busy machine the lift comes before the rest, where that is permitted: a step generator whose
 * queue runs empty stops in mid-move. It is the loop's thread alone, and no real-time class: a
 * fault of ours must not take the machine away. In lockstep time waits for the daemon. */
static void come_first(void)
{
    enum { NICE = -15 };
    (void)setpriority(PRIO_PROCESS, 0, NICE);
}

static bool read_config(struct daemon *d, const struct options *options, char *why, size_t size)
{
    struct config_fault fault = {.line = 0};
    char text[1024];
    bool read =
        options->config || !options->practice
            ? config_load(options->config ? options->config : CONFIG_DEFAULT, &d->config, &fault)
            : config_read(text, practice_config(text, sizeof text), "practice", &d->config, &fault);
    if (!read) {
        snprintf(why, size, "%s", fault.text);
        return false;
    }
    return true;
}

/* The practice lift has a folder, a port and a socket of its own, never the real lift's. */
static bool practise(struct daemon *d, char *why, size_t size)
{
    char folder[PATHS_SIZE];
    if (!paths_practice(folder, sizeof folder) ||
        !paths_socket(true, d->config.socket, PATHS_SIZE)) {
        snprintf(why, size,
                 "the name of the practice lift's folder is too long; shorten "
                 "REGLET_PRACTICE");
        return false;
    }
    snprintf(d->config.state, sizeof d->config.state, "%s", folder);
    snprintf(d->config.port, sizeof d->config.port, "%s/port", folder);
    return true;
}

/* The environment's word goes over the configuration's, as it does for the clients. */
static bool name_socket(struct daemon *d, char *why, size_t size)
{
    if (paths_socket_named() && !paths_socket(false, d->config.socket, PATHS_SIZE)) {
        snprintf(why, size,
                 "REGLET_SOCKET is longer than %d bytes, so there can be no such socket, and "
                 "nobody is served. Name a shorter path, or leave it unset",
                 PATHS_SIZE - 1);
        return false;
    }
    return true;
}

/* What the journal names and the shop has not, as after a damaged file. */
static void say_what_is_gone(const struct daemon *d, const struct journal_record *record)
{
    uint32_t bit = (uint32_t)strtoul(record->bit, NULL, 10); /* we wrote it */
    if (record->preset != 0 && !shop_find_id(d->shop, SHOP_PRESET, record->preset)) {
        fprintf(stderr, "regletd: the preset that the lift was last sent to is not in the shop's "
                        "list any more. The height holds; the name is gone\n");
    }
    if (bit != 0 && !shop_find_id(d->shop, SHOP_BIT, bit)) {
        fprintf(stderr, "regletd: the bit in the collet is not in the shop's list any more, so "
                        "nobody knows whether it fits through its ring. Its height holds. Keep it "
                        "again, and fit it by its name, before it goes down\n");
    }
}

static bool start(struct daemon *d, const struct options *options, char *why, size_t size)
{
    struct lift_config machine;
    struct config calibrated;
    struct journal_record record;
    enum journal_found found;
    if (!lock_folder(d, why, size) ||
        (options->practice && !practice_start(d->config.state, why, size)) ||
        !open_clock(d, options, why, size) || !files_open(&d->files, d->config.state, why, size)) {
        return false;
    }
    d->keeper = keeper_open(&d->loop, d->clock, &d->files, &record, &found, why, size);
    d->shop = d->keeper ? shop_open(d->keeper, why, size) : NULL;
    d->stories = d->shop ? stories_open(d->keeper, why, size) : NULL;
    d->calibration = d->stories ? calibration_open(d->keeper, &d->config, why, size) : NULL;
    d->surface = d->calibration ? surface_open(d->keeper, why, size) : NULL;
    if (!d->surface) {
        return false;
    }
    calibration_config(d->calibration, &calibrated);
    machine_describe(&calibrated, calibration_now(d->calibration), &machine);
    machine.port_path = d->config.port;
    d->lift = lift_create(&d->loop, d->clock, &serial_real, &machine, d->keeper, &record, found);
    if (!d->lift) {
        snprintf(why, size, "not enough memory");
        return false;
    }
    say_what_is_gone(d, &record);
    struct server_config socket = {.loop = &d->loop,
                                   .clock = d->clock,
                                   .lift = d->lift,
                                   .shop = d->shop,
                                   .calibration = d->calibration,
                                   .stories = d->stories,
                                   .surface = d->surface,
                                   .keeper = d->keeper,
                                   .path = d->config.socket,
                                   .listener_fd = d->service.listener_fd,
                                   .practice = options->practice};
    d->server = server_open(&socket, why, size);
    return d->server != NULL;
}

static void take_down(struct daemon *d)
{
    server_free(d->server);
    lift_free(d->lift);
    surface_free(d->surface);
    calibration_free(d->calibration);
    stories_free(d->stories);
    shop_free(d->shop);
    keeper_free(d->keeper);
    files_close(&d->files);
    clock_free(d->clock);
    uv_loop_close(&d->loop);
    close(d->lock_fd);
}

int main(int count, char **word)
{
    static struct daemon d;
    struct options options = {.practice = false};
    char why[DOCUMENT_WHY_SIZE];
    argp_parse(&command_line, count, word, 0, NULL, &options);
    if (!read_config(&d, &options, why, sizeof why)) {
        return fail(why);
    }
    if (options.check) {
        printf("The configuration is sound.\n");
        return 0;
    }
    if (options.practice ? !practise(&d, why, sizeof why) : !name_socket(&d, why, sizeof why)) {
        return fail(why);
    }
    if (!service_open(&d.service, options.practice, why, sizeof why)) {
        return fail(why);
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
    if (!options.lockstep) {
        come_first();
    }
    fprintf(stderr, "regletd: %slistening at %s\n", options.practice ? "PRACTICE lift, " : "",
            d.service.listener_fd < 0 ? d.config.socket : "the socket that was passed to it");
    service_ready(&d.service);
    clock_run(d.clock);
    take_down(&d);
    fprintf(stderr, "regletd: ended\n");
    return 0;
}
