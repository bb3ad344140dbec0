/* SPDX-License-Identifier: MIT */
/* Random things of a shop, each such as its table of fields allows. */
#ifndef REGLET_TESTS_UNIT_SHOP_RANDOM_H
#define REGLET_TESTS_UNIT_SHOP_RANDOM_H

#include <stdio.h>
#include <string.h>

#include "daemon/shop/things.h"
#include "tests/seed.h"

/* Up to `size - 1` bytes, of characters that need care in JSON too; no space at its ends. */
static inline void draw_text(char *text, size_t size, bool empty_too)
{
    static const char *const parts[] = {"a", "Z", "7", "\"", "\\", "/", "-", "\xc3\xa9", "{", "."};
    size_t wanted = (size_t)between(empty_too ? 0 : 1, (int64_t)size - 1);
    size_t used = 0;
    for (;;) {
        const char *part = parts[below(sizeof parts / sizeof *parts)];
        if (used + strlen(part) > wanted) {
            break;
        }
        memcpy(text + used, part, strlen(part));
        used += strlen(part);
    }
    if (used == 0 && !empty_too) {
        text[used++] = 'x';
    }
    text[used] = '\0';
}

static inline void draw_field(const struct field *field, void *thing)
{
    char *at = (char *)thing + field->at;
    if (!field->required && field->type != FIELD_WORD && below(3) == 0) {
        return; /* left out */
    }
    switch (field->type) {
    case FIELD_LENGTH:
        *(int64_t *)(void *)at = between(field->low, field->high);
        break;
    case FIELD_COUNT:
        *(uint32_t *)(void *)at = (uint32_t)between(field->low, field->high);
        break;
    case FIELD_WORD: {
        uint32_t words = 0;
        while (field->words[words]) {
            words++;
        }
        *(uint32_t *)(void *)at = (uint32_t)between(1, words);
        break;
    }
    case FIELD_FLAG:
        *(bool *)at = below(2) == 1;
        break;
    case FIELD_TEXT:
        draw_text(at, SHOP_TEXT_SIZE, true);
        break;
    case FIELD_THING:
        *(uint32_t *)(void *)at = (uint32_t)between(1, 50);
        break;
    }
}

/* What is not drawn is zero, padding too, so that things can be compared as they lie. */
static inline void draw_thing(enum shop_kind kind, uint32_t id, union things_any *any)
{
    memset(any, 0, sizeof *any);
    any->thing.id = id;
    draw_text(any->thing.name, SHOP_NAME_SIZE, false);
    for (const struct field *field = things_kinds[kind].fields; field->name; field++) {
        draw_field(field, any);
    }
}

#endif
