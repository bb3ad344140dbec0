/* SPDX-License-Identifier: MIT */
#include "clients/common/held.h"

#include <stdbool.h>
#include <string.h>

enum { ESCAPE = 0x1b };

/* Bytes of the key that `text` begins with: ECMA-48 section 5.4 for ESC [, a UTF-8 character, or
 * one byte. At most HELD_KEY_SIZE, and never 0. */
static size_t key_size(const char *text, size_t size)
{
    size_t most = size < HELD_KEY_SIZE ? size : HELD_KEY_SIZE;
    size_t used = 1;
    if (text[0] == ESCAPE && most > 2 && text[1] == 'O') {
        return 3;
    }
    if (text[0] == ESCAPE && most > 1 && text[1] == '[') {
        for (used = 2; used < most && !(text[used] >= 0x40 && text[used] <= 0x7e); used++) {
        }
        return used < most ? used + 1 : most;
    }
    while (used < most && ((unsigned char)text[used] & 0xc0) == 0x80) {
        used++;
    }
    return used;
}

static bool quits(const char *key, size_t size)
{
    return size == 1 && memchr("qQ\r\n\003\004", key[0], 6) != NULL; /* Ctrl-C and Ctrl-D too */
}

/* The one key that was read; its repeats behind it. False: there are several. */
static bool one_key(const char *text, size_t size, struct held *read)
{
    read->size = key_size(text, size);
    memcpy(read->key, text, read->size);
    for (size_t at = 0; at < size; at += read->size) {
        if (size - at < read->size || memcmp(text + at, read->key, read->size) != 0) {
            return false;
        }
    }
    return true;
}

static bool has_quit(const char *text, size_t size)
{
    for (size_t at = 0; at < size;) {
        size_t used = key_size(text + at, size - at);
        if (quits(text + at, used)) {
            return true;
        }
        at += used;
    }
    return false;
}

static enum held_does press(struct held *held, const struct held *read, int64_t now_ms)
{
    *held = *read;
    held->state = HELD_PRESSED;
    held->heard_ms = now_ms;
    return HELD_NOTHING;
}

static enum held_does spend(struct held *held, int64_t now_ms)
{
    bool ran = held->state == HELD_RUNNING;
    held->state = HELD_SPENT;
    held->heard_ms = now_ms;
    return ran ? HELD_END : HELD_NOTHING;
}

void held_over(struct held *held, int64_t now_ms)
{
    (void)spend(held, now_ms);
}

static enum held_does repeat(struct held *held, int64_t now_ms)
{
    bool begins = held->state == HELD_PRESSED;
    if (begins && now_ms - held->heard_ms < HELD_SOONEST_MS) {
        return HELD_NOTHING; /* a key that is still held comes again */
    }
    held->state = HELD_RUNNING;
    held->heard_ms = now_ms;
    return begins ? HELD_BEGIN : HELD_NOTHING;
}

enum held_does held_keys(struct held *held, int64_t now_ms, const char *text, size_t size)
{
    struct held read = {0};
    if (size == 0) {
        return held_time(held, now_ms);
    }
    if (has_quit(text, size)) {
        (void)spend(held, now_ms);
        return HELD_QUIT;
    }
    enum held_does before = held_time(held, now_ms); /* it may come too late to go on */
    bool one = one_key(text, size, &read);
    bool same = one && read.size == held->size && memcmp(read.key, held->key, read.size) == 0;
    if (held->state == HELD_SPENT || !one) {
        enum held_does now = spend(held, now_ms);
        return before == HELD_NOTHING ? now : before;
    }
    if (before == HELD_NOTHING && same &&
        (held->state == HELD_RUNNING || held->state == HELD_PRESSED)) {
        return repeat(held, now_ms);
    }
    if (held->state == HELD_RUNNING) {
        return spend(held, now_ms);
    }
    (void)press(held, &read, now_ms);
    return before;
}

enum held_does held_time(struct held *held, int64_t now_ms)
{
    int64_t quiet_ms = now_ms - held->heard_ms;
    if (held->state == HELD_RUNNING && quiet_ms >= HELD_END_MS) {
        held->state = HELD_IDLE;
        return HELD_END;
    }
    if ((held->state == HELD_SPENT || held->state == HELD_PRESSED) && quiet_ms >= HELD_FIRST_MS) {
        held->state = HELD_IDLE;
    }
    return HELD_NOTHING;
}

int64_t held_left_ms(const struct held *held, int64_t now_ms)
{
    int64_t left_ms = held->heard_ms + HELD_END_MS - now_ms;
    return held->state != HELD_RUNNING ? -1 : left_ms > 0 ? left_ms : 0;
}
