/* SPDX-License-Identifier: MIT */
/* One node: whose it is, and what becomes of it. */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "clients/pedal/finder_parts.h"

/* --- Devices that are open --- */

static void on_key(void *owner, struct device *device, unsigned code, bool down, bool synced,
                   int64_t at_ms)
{
    struct finder *finder = ((struct finder_slot *)owner)->finder;
    finder->events.key(finder->events.owner, device, code, down, synced, at_ms);
}

static void on_dropped(void *owner, struct device *device)
{
    struct finder *finder = ((struct finder_slot *)owner)->finder;
    finder->events.dropped(finder->events.owner, device);
}

static void on_closed(uv_handle_t *handle)
{
    struct device *device = handle->data;
    ((struct finder_slot *)device->events.owner)->state = FINDER_FREE;
}

void finder_let_go(struct finder_slot *slot)
{
    slot->state = FINDER_CLOSING;
    device_close(&slot->device, on_closed);
}

static void on_gone(void *owner, struct device *device)
{
    struct finder_slot *slot = owner;
    struct finder *finder = slot->finder;
    if (device->map) {
        finder_tell(finder, (size_t)(device->map - finder->map->device),
                    "%s is gone. It is taken again when it comes back.", device->map->label);
    }
    finder->events.gone(finder->events.owner, device);
    finder_let_go(slot);
    finder_look_soon(finder);
}

static bool is_open(const struct finder *finder, const struct stat *node)
{
    for (size_t i = 0; i < FINDER_DEVICES_MAX; i++) {
        const struct finder_slot *slot = &finder->slot[i];
        if (slot->state == FINDER_OPEN && slot->device.node.st_dev == node->st_dev &&
            slot->device.node.st_ino == node->st_ino) {
            return true;
        }
    }
    return false;
}

/* --- Nodes that are none of ours: each is opened once, not every five seconds --- */

static struct finder_passed passed_of(const struct stat *node)
{
    return (struct finder_passed){node->st_dev, node->st_ino, node->st_ctim.tv_sec,
                                  node->st_ctim.tv_nsec};
}

bool finder_was_passed(const struct finder *finder, const struct stat *node)
{
    struct finder_passed it = passed_of(node);
    for (size_t i = 0; i < finder->passed_count; i++) {
        const struct finder_passed *passed = &finder->passed[i];
        if (passed->dev == it.dev && passed->ino == it.ino && passed->changed_s == it.changed_s &&
            passed->changed_ns == it.changed_ns) {
            return true;
        }
    }
    return false;
}

static void pass(struct finder *finder, const struct stat *node)
{
    if (finder->passed_count == FINDER_PASSED_MAX) {
        finder->passed_count = 0; /* only costs looking again */
    }
    finder->passed[finder->passed_count++] = passed_of(node);
}

/* --- Taking one --- */

static const struct map_device *entry_for(const struct finder *finder, const struct device *device)
{
    for (size_t i = 0; i < finder->map->devices; i++) {
        if (device_fits(device, &finder->map->device[i])) {
            return &finder->map->device[i];
        }
    }
    return NULL;
}

static void refused_to_start(struct finder *finder, const struct map_device *map,
                             enum device_end end, int error)
{
    if (!map) {
        return;
    }
    size_t entry = (size_t)(map - finder->map->device);
    if (end == DEVICE_HELD) {
        finder_tell(finder, entry, "%s: a key of it is down. It is taken when that is let go.",
                    map->label);
    } else if (end == DEVICE_GRABBED) {
        finder_tell(finder, entry,
                    "%s: another program has taken it for itself. End that one; it is tried again.",
                    map->label);
    } else if (end == DEVICE_NOT_OURS) {
        finder_tell(finder, entry, "%s has no keys. Name another device for this entry.",
                    map->label);
    } else {
        finder_tell(finder, entry, "%s cannot be read: %s. It is tried again.", map->label,
                    strerror(error));
    }
}

/* True when it is open now. */
static bool start(struct finder *finder, struct finder_slot *slot, const struct map_device *map)
{
    const struct device_events events = {slot, on_key, on_dropped, on_gone};
    enum device_end end = device_start(&slot->device, finder->loop, map, &events);
    if (end != DEVICE_OPEN) {
        refused_to_start(finder, map, end, errno);
        device_drop(&slot->device);
        return false;
    }
    slot->state = FINDER_OPEN;
    slot->device.number = (unsigned)(slot - finder->slot);
    if (map) {
        finder_tell(finder, (size_t)(map - finder->map->device), "%s is there: \"%s\".", map->label,
                    libevdev_get_name(slot->device.evdev));
    }
    if (finder->events.found) {
        finder->events.found(finder->events.owner, &slot->device);
    }
    return true;
}

static struct finder_slot *free_slot(struct finder *finder)
{
    for (size_t i = 0; i < FINDER_DEVICES_MAX; i++) {
        if (finder->slot[i].state == FINDER_FREE) {
            return &finder->slot[i];
        }
    }
    return NULL;
}

/* What may not be opened cannot be asked what it is. One sentence for all of them: with none of
 * their names it is said once. */
static void refused_to_open(struct finder *finder, int error)
{
    if (error == EACCES || error == EPERM) {
        finder_tell(
            finder, MAP_DEVICES_MAX,
            "Some devices in %s may not be opened. If yours is among them: user %u must be "
            "allowed to read it, mostly as a member of the group 'input'. It is tried again.",
            finder->folder, (unsigned)geteuid());
    } else if (error != ENOENT && error != ENODEV && error != ENXIO) { /* those went meanwhile */
        finder_tell(finder, MAP_DEVICES_MAX,
                    "A device in %s cannot be opened: %s. It is tried again.", finder->folder,
                    strerror(error));
    }
}

void finder_try_node(struct finder *finder, const char *name)
{
    char path[MAP_TEXT_SIZE];
    struct stat node;
    struct finder_slot *slot = free_slot(finder);
    int size = snprintf(path, sizeof path, "%s/%s", finder->folder, name);
    if (!slot || size < 0 || (size_t)size >= sizeof path || stat(path, &node) != 0 ||
        is_open(finder, &node) || finder_was_passed(finder, &node)) {
        return;
    }
    slot->finder = finder;
    if (device_open(&slot->device, path) != DEVICE_OPEN) {
        refused_to_open(finder, errno);
        return;
    }
    const struct map_device *map = finder->map ? entry_for(finder, &slot->device) : NULL;
    if ((finder->map && !map) ||
        (!finder->map && !libevdev_has_event_type(slot->device.evdev, EV_KEY))) {
        pass(finder, &node);
        device_drop(&slot->device);
        return;
    }
    if (start(finder, slot, map)) {
        finder->wait_ms = FINDER_SOON_MS;
    }
}
