/* SPDX-License-Identifier: MIT */
#include "clients/pedal/finder.h"

#include <dirent.h>
#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "clients/pedal/finder_parts.h"

static void on_timer(uv_timer_t *timer);

static void say(struct finder *finder, const char *sentence)
{
    finder->events.say(finder->events.owner, sentence);
}

void finder_tell(struct finder *finder, size_t entry, const char *format, ...)
{
    char text[FINDER_TEXT_SIZE];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    if (strcmp(finder->told[entry], text) != 0) {
        memcpy(finder->told[entry], text, sizeof text);
        say(finder, text);
    }
}

void finder_look_soon(struct finder *finder)
{
    finder->wait_ms = FINDER_SOON_MS;
    (void)uv_timer_start(&finder->timer, on_timer, finder->wait_ms, 0); /* not while it closes */
}

/* --- Looking --- */

static void on_watch(uv_fs_event_t *watch, const char *name, int events, int status)
{
    struct finder *finder = watch->data;
    (void)name;
    (void)events;
    if (status != 0) {
        (void)uv_fs_event_stop(watch);
        finder->watching = false; /* the folder went: it is watched again once it is there */
    }
    if (!uv_is_active((const uv_handle_t *)&finder->timer) || finder->wait_ms > FINDER_SOON_MS) {
        finder_look_soon(finder);
    }
}

static void look_through(struct finder *finder, DIR *folder)
{
    for (const struct dirent *entry = readdir(folder); entry; entry = readdir(folder)) {
        if (strncmp(entry->d_name, "event", 5) == 0) {
            finder_try_node(finder, entry->d_name);
        }
    }
}

/* A link may come after its node, so what was passed over may be meant after all. */
static bool has_new_path(const struct finder *finder)
{
    struct stat node;
    for (size_t i = 0; finder->map && i < finder->map->devices; i++) {
        const char *path = finder->map->device[i].path;
        if (path[0] != '\0' && stat(path, &node) == 0 && finder_was_passed(finder, &node)) {
            return true;
        }
    }
    return false;
}

static void tell_missing(struct finder *finder)
{
    for (size_t i = 0; finder->map && i < finder->map->devices; i++) {
        if (finder->told[i][0] == '\0') {
            finder_tell(finder, i, "%s is not there yet. It is taken when it is plugged in.",
                        finder->map->device[i].label);
        }
    }
}

static void look(struct finder *finder)
{
    if (!finder->watching) {
        finder->watching = uv_fs_event_start(&finder->watch, on_watch, finder->folder, 0) == 0;
    }
    if (has_new_path(finder)) {
        finder->passed_count = 0;
    }
    DIR *folder = opendir(finder->folder);
    if (folder) {
        look_through(finder, folder);
        (void)closedir(folder);
    } else {
        finder_tell(finder, MAP_DEVICES_MAX,
                    "%s cannot be looked through: %s. No device is found before it can.",
                    finder->folder, strerror(errno));
    }
    tell_missing(finder);
}

static void on_timer(uv_timer_t *timer)
{
    struct finder *finder = timer->data;
    look(finder);
    finder->wait_ms = finder->wait_ms * 2 < FINDER_SLOW_MS ? finder->wait_ms * 2 : FINDER_SLOW_MS;
    (void)uv_timer_start(&finder->timer, on_timer, finder->wait_ms, 0);
}

int finder_start(struct finder *finder, uv_loop_t *loop, const char *folder, const struct map *map,
                 const struct finder_events *events)
{
    memset(finder, 0, sizeof *finder);
    finder->loop = loop;
    finder->folder = folder;
    finder->map = map;
    finder->events = *events;
    finder->wait_ms = FINDER_SOON_MS;
    int error = uv_timer_init(loop, &finder->timer);
    error = error == 0 ? uv_fs_event_init(loop, &finder->watch) : error;
    if (error == 0) {
        finder->timer.data = finder->watch.data = finder;
        look(finder);
        error = uv_timer_start(&finder->timer, on_timer, finder->wait_ms, 0);
    }
    return error;
}

void finder_close(struct finder *finder)
{
    if (finder->ended) {
        return;
    }
    finder->ended = true;
    uv_close((uv_handle_t *)&finder->timer, NULL);
    uv_close((uv_handle_t *)&finder->watch, NULL);
    for (size_t i = 0; i < FINDER_DEVICES_MAX; i++) {
        if (finder->slot[i].state == FINDER_OPEN) {
            finder_let_go(&finder->slot[i]);
        }
    }
}

size_t finder_count(const struct finder *finder)
{
    size_t count = 0;
    for (size_t i = 0; i < FINDER_DEVICES_MAX; i++) {
        count += finder->slot[i].state == FINDER_OPEN;
    }
    return count;
}
