/* SPDX-License-Identifier: MIT */
#include "clients/pedal/device.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { MS_PER_S = 1000, US_PER_MS = 1000 };

/* --- Reading --- */

static void tell_key(struct device *device, const struct input_event *event, bool synced)
{
    bool edge = event->value == 0 || event->value == 1; /* 2 is the kernel's own repeat */
    if (event->type == EV_KEY && edge) {
        int64_t at_ms =
            (int64_t)event->input_event_sec * MS_PER_S + event->input_event_usec / US_PER_MS;
        device->events.key(device->events.owner, device, event->code, event->value == 1, synced,
                           at_ms);
    }
}

/* All that is there. Behind SYN_DROPPED libevdev compares with the kernel's present state, and
 * tells what has changed as events. False: it cannot be read any more. */
static bool read_all(struct device *device)
{
    struct input_event event;
    unsigned flag = LIBEVDEV_READ_FLAG_NORMAL;
    for (;;) {
        int result = libevdev_next_event(device->evdev, flag, &event);
        bool syncing = flag == LIBEVDEV_READ_FLAG_SYNC;
        if (result == LIBEVDEV_READ_STATUS_SYNC && !syncing) {
            device->events.dropped(device->events.owner, device);
            flag = LIBEVDEV_READ_FLAG_SYNC;
        } else if (result == LIBEVDEV_READ_STATUS_SYNC || result == LIBEVDEV_READ_STATUS_SUCCESS) {
            tell_key(device, &event, syncing);
        } else if (result == -EAGAIN && syncing) {
            flag = LIBEVDEV_READ_FLAG_NORMAL;
        } else if (result != -EINTR) {
            return result == -EAGAIN;
        }
    }
}

static void on_poll(uv_poll_t *poll, int status, int events)
{
    struct device *device = poll->data;
    bool alive = status == 0 && read_all(device);
    if (!alive || (events & UV_DISCONNECT) != 0) {
        (void)uv_poll_stop(poll);
        device->events.gone(device->events.owner, device);
    }
}

/* --- Opening --- */

enum device_end device_open(struct device *device, const char *path)
{
    memset(device, 0, sizeof *device);
    device->fd = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (device->fd < 0) {
        return DEVICE_REFUSED;
    }
    int error = fstat(device->fd, &device->node) != 0
                    ? -errno
                    : libevdev_new_from_fd(device->fd, &device->evdev);
    if (error != 0) {
        (void)close(device->fd);
        errno = -error;
        return DEVICE_REFUSED;
    }
    return DEVICE_OPEN;
}

void device_drop(struct device *device)
{
    libevdev_free(device->evdev);
    (void)close(device->fd);
}

static bool has_a_key_of(const struct device *device, const struct map_device *map)
{
    for (size_t i = 0; i < map->keys; i++) {
        if (libevdev_has_event_code(device->evdev, EV_KEY, map->key[i].code)) {
            return true;
        }
    }
    return false;
}

bool device_fits(const struct device *device, const struct map_device *map)
{
    struct stat node;
    if (map->path[0] != '\0') {
        return stat(map->path, &node) == 0 && node.st_dev == device->node.st_dev &&
               node.st_ino == device->node.st_ino;
    }
    return libevdev_get_id_vendor(device->evdev) == map->vendor &&
           libevdev_get_id_product(device->evdev) == map->product &&
           (map->name[0] == '\0' || strcmp(libevdev_get_name(device->evdev), map->name) == 0) &&
           has_a_key_of(device, map);
}

static bool a_key_is_down(const struct device *device)
{
    for (unsigned code = 0; code <= KEY_MAX; code++) {
        if (libevdev_get_event_value(device->evdev, EV_KEY, code) != 0) {
            return true;
        }
    }
    return false;
}

enum device_end device_start(struct device *device, uv_loop_t *loop, const struct map_device *map,
                             const struct device_events *events)
{
    device->map = map;
    device->events = *events;
    if (!libevdev_has_event_type(device->evdev, EV_KEY)) {
        return DEVICE_NOT_OURS;
    }
    if (map && a_key_is_down(device)) {
        return DEVICE_HELD;
    }
    int error = libevdev_set_clock_id(device->evdev, CLOCK_MONOTONIC);
    if (error == 0 && map) {
        error = libevdev_grab(device->evdev, LIBEVDEV_GRAB);
        if (error == -EBUSY) {
            return DEVICE_GRABBED;
        }
    }
    error = error == 0 ? uv_poll_init(loop, &device->poll, device->fd) : error;
    if (error != 0) {
        errno = -error; /* libuv's are the negative ones too */
        return DEVICE_REFUSED;
    }
    device->poll.data = device;
    (void)uv_poll_start(&device->poll, UV_READABLE | UV_DISCONNECT, on_poll); /* just made */
    return DEVICE_OPEN;
}

/* The descriptor goes when the loop has let go of it. */
void device_close(struct device *device, uv_close_cb closed)
{
    uv_close((uv_handle_t *)&device->poll, closed);
    libevdev_free(device->evdev);
    device->evdev = NULL;
    (void)close(device->fd);
}
