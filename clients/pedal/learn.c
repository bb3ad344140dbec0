/* SPDX-License-Identifier: MIT */
#include "clients/pedal/learn.h"

#include <dirent.h>
#include <signal.h>
#include <string.h>

#include "clients/common/say.h"
#include "clients/pedal/pedal.h"

/* The name in FOLDER/KIND that leads to this node. False: there is none. */
static bool find_link(const char *folder, const char *kind, const struct stat *node, char *path,
                      size_t size)
{
    char within[MAP_TEXT_SIZE];
    bool found = false;
    int length = snprintf(within, sizeof within, "%s/%s", folder, kind);
    DIR *links = length > 0 && (size_t)length < sizeof within ? opendir(within) : NULL;
    if (!links) {
        return false;
    }
    for (const struct dirent *entry = readdir(links); entry && !found; entry = readdir(links)) {
        struct stat target;
        int used = snprintf(path, size, "%s/%s", within, entry->d_name);
        found = used > 0 && (size_t)used < size && stat(path, &target) == 0 &&
                target.st_dev == node->st_dev && target.st_ino == node->st_ino;
    }
    (void)closedir(links);
    return found;
}

/* Text between quotes, as JSON has it. A device tells its own name: anything may be in it. */
static void add_quoted(struct say *say, const char *text)
{
    say_add(say, "\"");
    for (; *text != '\0'; text++) {
        unsigned char byte = (unsigned char)*text;
        if (byte < ' ' || byte == 0x7f) {
            say_add(say, "\\u%04x", byte);
        } else {
            say_add(say, "%s%c", byte == '"' || byte == '\\' ? "\\" : "", *text);
        }
    }
    say_add(say, "\"");
}

static void add_identity(struct say *say, const struct learn *learn, const struct device *device)
{
    char path[MAP_TEXT_SIZE];
    if (find_link(learn->folder, "by-id", &device->node, path, sizeof path) ||
        find_link(learn->folder, "by-path", &device->node, path, sizeof path)) {
        say_add(say, "    \"path\": ");
        add_quoted(say, path);
        say_add(say, ",\n");
        return;
    }
    say_add(say, "    \"vendor\": \"%04x\", \"product\": \"%04x\", \"name\": ",
            (unsigned)libevdev_get_id_vendor(device->evdev) & 0xffff,
            (unsigned)libevdev_get_id_product(device->evdev) & 0xffff);
    add_quoted(say, libevdev_get_name(device->evdev));
    say_add(say, ",\n");
}

static void on_key(void *owner, struct device *device, unsigned code, bool down, bool synced,
                   int64_t at_ms)
{
    struct learn *learn = owner;
    struct say say = {0};
    const char *name = libevdev_event_code_get_name(EV_KEY, code);
    (void)synced;
    (void)at_ms;
    if (!down) {
        return;
    }
    if (learn->shown != device->number + 1) {
        learn->shown = device->number + 1;
        add_identity(&say, learn, device);
    }
    if (name) {
        say_add(&say, "        \"%s\": \"%s\",\n", name,
                action_types(code) != '\0' ? "keypad" : "hold-up-slow");
    } else {
        say_add(&say, "        // this key (number %u) has no name, and cannot be mapped\n", code);
    }
    (void)fputs(say.text, learn->shows); /* main looks at ferror */
    (void)fflush(learn->shows);
}

static void on_found(void *owner, struct device *device)
{
    const struct learn *learn = owner;
    struct say say = {0};
    say_add(&say, "Listening to \"%s\".", libevdev_get_name(device->evdev));
    pedal_say(learn->says, say.text);
}

static void on_gone(void *owner, struct device *device)
{
    struct learn *learn = owner;
    if (learn->shown == device->number + 1) {
        learn->shown = 0;
    }
}

static void on_dropped(void *owner, struct device *device)
{
    (void)owner;
    (void)device; /* the key can be pressed again */
}

static void on_say(void *owner, const char *sentence)
{
    const struct learn *learn = owner;
    pedal_say(learn->says, sentence);
}

void learn_end(struct learn *learn)
{
    if (learn->closing) {
        return;
    }
    learn->closing = true;
    finder_close(&learn->finder);
    for (size_t i = 0; i < LEARN_SIGNALS; i++) {
        uv_close((uv_handle_t *)&learn->signal[i], NULL);
    }
}

static void on_signal(uv_signal_t *signal, int number)
{
    (void)number;
    learn_end(signal->data);
}

int learn_start(struct learn *learn, uv_loop_t *loop, const char *folder, FILE *shows, FILE *says)
{
    static const int numbers[LEARN_SIGNALS] = {SIGINT, SIGTERM};
    const struct finder_events events = {learn, on_found, on_key, on_dropped, on_gone, on_say};
    learn->folder = folder;
    learn->shows = shows;
    learn->says = says;
    learn->shown = 0;
    learn->closing = false;
    for (size_t i = 0; i < LEARN_SIGNALS; i++) {
        int error = uv_signal_init(loop, &learn->signal[i]);
        learn->signal[i].data = learn;
        error = error == 0 ? uv_signal_start(&learn->signal[i], on_signal, numbers[i]) : error;
        if (error != 0) {
            return error;
        }
    }
    return finder_start(&learn->finder, loop, folder, NULL, &events);
}
