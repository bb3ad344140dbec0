/* SPDX-License-Identifier: MIT */
/*
 * Finds the devices of the mapping, also those that are plugged in later or come back: the folder
 * of the nodes is watched, and looked through again a few times behind each change, since the
 * rights of a new node come after the node itself; and every five seconds, for what a watch may
 * miss.
 */
#ifndef REGLET_CLIENTS_PEDAL_FINDER_H
#define REGLET_CLIENTS_PEDAL_FINDER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <uv.h>

#include "clients/pedal/device.h"
#include "clients/pedal/map.h"

enum {
    FINDER_DEVICES_MAX = 32,
    FINDER_PASSED_MAX = 128, /* nodes that are known to be none of ours */
    FINDER_SOON_MS = 100,    /* behind a change; doubled up to */
    FINDER_SLOW_MS = 5000,
    FINDER_TEXT_SIZE = 640,
};

/* What is heard. `say` gets one sentence a change. */
struct finder_events {
    void *owner;
    void (*found)(void *owner, struct device *device); /* may be NULL */
    void (*key)(void *owner, struct device *device, unsigned code, bool down, bool synced,
                int64_t at_ms);
    void (*dropped)(void *owner, struct device *device);
    void (*gone)(void *owner, struct device *device);
    void (*say)(void *owner, const char *sentence);
};

/* A node as it was when it was looked at. */
struct finder_passed {
    uint64_t dev;
    uint64_t ino;
    int64_t changed_s;
    long changed_ns;
};

struct finder {
    uv_loop_t *loop;
    const char *folder;
    const struct map *map; /* NULL: listen to all that have keys, and grab none */
    struct finder_events events;
    struct finder_slot {
        struct device device;
        struct finder *finder;
        enum { FINDER_FREE, FINDER_OPEN, FINDER_CLOSING } state;
    } slot[FINDER_DEVICES_MAX];
    struct finder_passed passed[FINDER_PASSED_MAX];
    size_t passed_count;
    /* What was last said of each entry of the map, and of the folder. */
    char told[MAP_DEVICES_MAX + 1][FINDER_TEXT_SIZE];
    uint64_t wait_ms;
    bool watching;
    bool ended;
    uv_timer_t timer;
    uv_fs_event_t watch;
};

/* Looks now, and goes on. `folder` and `map` stay the caller's, and must live on. Large; stays
 * until the loop has run out behind finder_close. 0, or an error of libuv. */
REGLET_MUST_CHECK int finder_start(struct finder *finder, uv_loop_t *loop, const char *folder,
                                   const struct map *map, const struct finder_events *events);

/* Lets go of all devices. */
void finder_close(struct finder *finder);

/* How many are open. */
size_t finder_count(const struct finder *finder);

#endif
