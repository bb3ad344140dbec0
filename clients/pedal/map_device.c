/* SPDX-License-Identifier: MIT */
#include <libevdev/libevdev.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/pedal/map_parts.h"

/* What was given in a group; NULL was not. */
struct members {
    const cJSON *called;
    const cJSON *path;
    const cJSON *vendor;
    const cJSON *product;
    const cJSON *name;
    const cJSON *keypad;
    const cJSON *keys;
};

static bool sort_members(const struct map_source *source, const cJSON *group,
                         struct members *members)
{
    const struct {
        const char *name;
        const cJSON **item;
    } known[] = {
        {"called", &members->called},   {"path", &members->path}, {"vendor", &members->vendor},
        {"product", &members->product}, {"name", &members->name}, {"keypad", &members->keypad},
        {"keys", &members->keys},
    };
    const cJSON *item;
    cJSON_ArrayForEach(item, group)
    {
        size_t i = 0;
        while (i < sizeof known / sizeof *known && strcmp(known[i].name, item->string) != 0) {
            i++;
        }
        if (i == sizeof known / sizeof *known) {
            return map_refuse(source, item,
                              "found the unknown word \"%.40s\" of a device; \"called\", \"path\", "
                              "\"vendor\", \"product\", \"name\", \"keypad\" or \"keys\" would do",
                              item->string);
        }
        *known[i].item = item;
    }
    return true;
}

/* Absent is as good. */
static bool read_text(const struct map_source *source, const cJSON *item, char *out)
{
    if (!item) {
        return true;
    }
    if (!cJSON_IsString(item) || item->valuestring[0] == '\0' ||
        strlen(item->valuestring) >= MAP_TEXT_SIZE) {
        return map_refuse(source, item,
                          "found no text for \"%s\"; one of 1 to %d bytes, in quotes, would do",
                          item->string, MAP_TEXT_SIZE - 1);
    }
    (void)snprintf(out, MAP_TEXT_SIZE, "%s", item->valuestring);
    return true;
}

static bool read_hex(const struct map_source *source, const cJSON *item, uint16_t *number)
{
    const char *text = cJSON_IsString(item) ? item->valuestring : "";
    if (strlen(text) != 4 || strspn(text, "0123456789abcdefABCDEF") != 4) {
        return map_refuse(source, item,
                          "found no \"%s\" of four hexadecimal digits; such as \"1a2b\", as "
                          "'reglet-pedal --learn' tells it, would do",
                          item->string);
    }
    *number = (uint16_t)strtoul(text, NULL, 16);
    return true;
}

/* /dev/input/event7 is another device after the next start. */
static bool check_path(const struct map_source *source, const cJSON *item)
{
    const char *path = item->valuestring;
    if (path[0] != '/') {
        return map_refuse(source, item,
                          "found a path that does not begin with /; one in /dev/input/by-id, as "
                          "'reglet-pedal --learn' tells it, would do");
    }
    if (strncmp(path, "/dev/input/event", 16) == 0) {
        return map_refuse(source, item,
                          "found the name '%.64s', which another device may have tomorrow; one in "
                          "/dev/input/by-id or by-path, or vendor, product and name, would do",
                          path);
    }
    return true;
}

static bool read_identity(const struct map_source *source, const cJSON *group,
                          const struct members *members, struct map_device *device)
{
    if (members->path && (members->vendor || members->product || members->name)) {
        return map_refuse(source, members->path,
                          "found a path and a vendor, product or name too; the path alone, or the "
                          "others without it, would do");
    }
    if (members->path) {
        return read_text(source, members->path, device->path) && check_path(source, members->path);
    }
    if (!members->vendor || !members->product) {
        return map_refuse(source, group,
                          "found nothing by which the device is known; a \"path\", or \"vendor\" "
                          "and \"product\", as 'reglet-pedal --learn' tells them, would do");
    }
    return read_hex(source, members->vendor, &device->vendor) &&
           read_hex(source, members->product, &device->product) &&
           read_text(source, members->name, device->name);
}

static void fill_label(const struct members *members, struct map_device *device)
{
    if (members->called) {
        return; /* read already */
    }
    if (device->path[0] != '\0' || device->name[0] != '\0') {
        (void)snprintf(device->label, sizeof device->label, "%s",
                       device->path[0] != '\0' ? device->path : device->name);
    } else {
        (void)snprintf(device->label, sizeof device->label, "device %04x:%04x", device->vendor,
                       device->product);
    }
}

static bool read_key(const struct map_source *source, const cJSON *item, struct map_device *device)
{
    char why[ACTION_WHY];
    int code = libevdev_event_code_from_name(EV_KEY, item->string);
    if (code < 0) {
        return map_refuse(source, item,
                          "found the unknown key \"%.40s\"; a name such as \"KEY_F13\", as "
                          "'reglet-pedal --learn' tells it, would do",
                          item->string);
    }
    if (map_action(device, (unsigned)code)) {
        return map_refuse(source, item,
                          "found \"%.40s\", a key that stands here under another name too; one of "
                          "the two would do",
                          item->string);
    }
    if (!cJSON_IsString(item)) {
        return map_refuse(source, item,
                          "found no text for \"%.40s\"; an action in quotes, such as "
                          "\"hold-up-slow\", would do",
                          item->string);
    }
    if (device->keys == MAP_KEYS_MAX) {
        return map_refuse(source, item, "found more than %d keys of one device; fewer would do",
                          MAP_KEYS_MAX);
    }
    struct map_key *key = &device->key[device->keys];
    key->code = (unsigned)code;
    if (!action_read(item->valuestring, key->code, &key->action, why)) {
        return map_refuse(source, item, "\"%.40s\": %s", item->string, why);
    }
    device->keys++;
    return true;
}

static bool read_keys(const struct map_source *source, const cJSON *group,
                      struct map_device *device)
{
    const cJSON *item;
    if (group && !cJSON_IsObject(group)) {
        return map_refuse(source, group,
                          "found no group for \"keys\"; {\"KEY_F13\": \"hold-up-slow\"} would do");
    }
    cJSON_ArrayForEach(item, group)
    {
        if (!read_key(source, item, device)) {
            return false;
        }
    }
    return true;
}

/* Every key that types something and has no entry of its own; there are fewer than MAP_KEYS_MAX,
 * so only entries can fill the list. */
static bool add_keypad(const struct map_source *source, const cJSON *item,
                       struct map_device *device)
{
    if (item && !cJSON_IsBool(item)) {
        return map_refuse(source, item,
                          "found something else than true or false for \"keypad\"; one of them, "
                          "without quotes, would do");
    }
    for (unsigned code = 1; cJSON_IsTrue(item) && code <= KEY_MAX; code++) {
        if (action_types(code) == '\0' || map_action(device, code)) {
            continue;
        }
        if (device->keys == MAP_KEYS_MAX) {
            return map_refuse(source, item, "found more than %d keys of one device; fewer would do",
                              MAP_KEYS_MAX);
        }
        device->key[device->keys++] =
            (struct map_key){code, {.kind = ACTION_KEYPAD, .types = action_types(code)}};
    }
    return true;
}

bool map_read_device(const struct map_source *source, const cJSON *group, struct map_device *device)
{
    struct members members = {0};
    if (!cJSON_IsObject(group)) {
        return map_refuse(source, group,
                          "found something else than a group in braces { } as a device; a group "
                          "would do");
    }
    if (!sort_members(source, group, &members) ||
        !read_text(source, members.called, device->label) ||
        !read_identity(source, group, &members, device) ||
        !read_keys(source, members.keys, device) || !add_keypad(source, members.keypad, device)) {
        return false;
    }
    fill_label(&members, device);
    return device->keys > 0 ||
           map_refuse(source, group,
                      "found a device without keys; \"keys\": {\"KEY_F13\": \"hold-up-slow\"}, or "
                      "\"keypad\": true, would do");
}
