/* SPDX-License-Identifier: MIT */
/*
 * The mapping file: which key of which device asks for what. JSON with comments from // to the end
 * of the line; read strictly, once, when the program starts.
 *
 *     {
 *         "unit": "in",              in, mm, 32, 64 or 128; may be left out
 *         "debounce_ms": 20,         0 to 100; may be left out
 *         "devices": [
 *             {
 *                 "called": "the left pedal",      for sentences; may be left out
 *                 "path": "/dev/input/by-id/...",  one device; or, instead of it,
 *                 "vendor": "1a2b", "product": "00c4", "name": "...",   all devices that say so;
 *                                                  the name may be left out
 *                 "keypad": true,    each key that types something does; may be left out
 *                 "keys": {"KEY_F13": "hold-up-slow", ...}
 *             }
 *         ]
 *     }
 *
 * A key's own entry stands over "keypad". A device that several entries fit is the first one's.
 */
#ifndef REGLET_CLIENTS_PEDAL_MAP_H
#define REGLET_CLIENTS_PEDAL_MAP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "clients/pedal/action.h"
#include "protocol/attributes.h"
#include "protocol/length.h"

enum {
    MAP_DEVICES_MAX = 16,
    MAP_KEYS_MAX = 64, /* of one device */
    MAP_TEXT_SIZE = 256,
    MAP_FILE_MAX = 65536, /* bytes */
    MAP_FAULT_SIZE = 640,

    /* A press acts at once, and what the contact does in the time after it is not believed: so it
     * costs no delay, and only a key let go within it is seen to be so a little later. Foot
     * switches chatter for a few ms, worn ones for 10 or more; nobody treads and lets go within
     * 20 ms: common practice, no source. */
    MAP_DEBOUNCE_MS = 20,
    MAP_DEBOUNCE_MOST_MS = 100,
};

struct map_key {
    unsigned code;
    struct action action;
};

struct map_device {
    char label[MAP_TEXT_SIZE]; /* what sentences call it: `called`, or the path, or the name */
    char path[MAP_TEXT_SIZE];  /* "": by vendor, product and name */
    uint16_t vendor;
    uint16_t product;
    char name[MAP_TEXT_SIZE]; /* "": any */
    struct map_key key[MAP_KEYS_MAX];
    size_t keys;
};

/* Large; the caller's. */
struct map {
    bool has_style;
    enum length_style style; /* of the unit, when it was said */
    int debounce_ms;
    struct map_device device[MAP_DEVICES_MAX];
    size_t devices;
};

/* Reads the file. After false `fault` (of MAP_FAULT_SIZE bytes) says the file, the line, what was
 * found and what would do. */
REGLET_MUST_CHECK bool map_load(const char *path, struct map *map, char *fault);

/* The same from memory: text[0..size), NUL-terminated behind it; comments in it are blanked. */
REGLET_MUST_CHECK bool map_read(char *text, size_t size, const char *file, struct map *map,
                                char *fault);

/* What this key of the device is for; NULL: nothing. Lives as long as the map. */
const struct action *map_action(const struct map_device *device, unsigned code);

#endif
