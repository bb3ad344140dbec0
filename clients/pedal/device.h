/* SPDX-License-Identifier: MIT */
/*
 * One evdev device, read through libevdev on a libuv loop. Times are those of the kernel's
 * monotonic clock, which is libuv's too.
 */
#ifndef REGLET_CLIENTS_PEDAL_DEVICE_H
#define REGLET_CLIENTS_PEDAL_DEVICE_H

#include <libevdev/libevdev.h>
#include <stdbool.h>
#include <stdint.h>
#include <sys/stat.h>
#include <uv.h>

#include "clients/pedal/map.h"
#include "protocol/attributes.h"

struct device;

struct device_events {
    void *owner;
    /* synced: found behind lost events. */
    void (*key)(void *owner, struct device *device, unsigned code, bool down, bool synced,
                int64_t at_ms);
    void (*dropped)(void *owner, struct device *device); /* events were lost */
    void (*gone)(void *owner, struct device *device);    /* once; then close it */
};

struct device {
    struct device_events events;
    const struct map_device *map; /* NULL: it is only listened to */
    unsigned number;              /* among those that are open */
    struct libevdev *evdev;
    int fd;
    struct stat node; /* which file it was opened as */
    uv_poll_t poll;
};

/* How opening ended. */
enum device_end {
    DEVICE_OPEN = 1,
    DEVICE_REFUSED,  /* errno says why */
    DEVICE_HELD,     /* a key of it is down, which would then never be let go for others */
    DEVICE_GRABBED,  /* another program has it */
    DEVICE_NOT_OURS, /* no keys, or not what is wanted */
};

/* Opens the node, without grabbing it; takes nothing from anybody. */
REGLET_MUST_CHECK enum device_end device_open(struct device *device, const char *path);

/* Does the entry mean this device? */
bool device_fits(const struct device *device, const struct map_device *map);

/* Grabs it (with a map) and reads from now on. */
REGLET_MUST_CHECK enum device_end device_start(struct device *device, uv_loop_t *loop,
                                               const struct map_device *map,
                                               const struct device_events *events);

/* Ends an open one that was not started. */
void device_drop(struct device *device);

/* Ends a started one; `closed` is called when the struct may be used anew. */
void device_close(struct device *device, uv_close_cb closed);

#endif
