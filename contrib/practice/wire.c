/* SPDX-License-Identifier: MIT */
#include "contrib/practice/wire.h"

#include <string.h>

#include "protocol/link.h"

void wire_init(struct wire *w, uint32_t byte_ticks, uint32_t latency_ticks)
{
    memset(w, 0, sizeof *w);
    w->byte_ticks = byte_ticks;
    w->latency_ticks = latency_ticks;
}

/* splitmix64 (Steele, Lea and Flood, 2014): small, and good enough to place faults. */
static uint64_t draw(uint64_t *seed)
{
    uint64_t z = *seed += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ z >> 27) * UINT64_C(0x94d049bb133111eb);
    return z ^ z >> 31;
}

/* False when the byte is lost. Noise never makes the brake byte: that is a fault of its own. */
static bool disturb(struct noise *n, uint8_t *byte)
{
    if (n->flip_ppm == 0 && n->drop_ppm == 0) {
        return true;
    }
    uint64_t lot = draw(&n->seed) % 1000000;
    if (lot < n->drop_ppm) {
        n->hits++;
        return false;
    }
    if (lot < n->drop_ppm + n->flip_ppm) {
        uint8_t flipped = (uint8_t)(*byte ^ 1u << (draw(&n->seed) & 7));
        if (flipped != LINK_BRAKE_BYTE) {
            n->hits++;
            *byte = flipped;
        }
    }
    return true;
}

/* The adapter hands bytes on in bursts, at whole multiples of its latency time. */
static uint64_t burst(const struct wire *w, uint64_t ticks)
{
    if (w->latency_ticks == 0) {
        return ticks;
    }
    return (ticks + w->latency_ticks - 1) / w->latency_ticks * w->latency_ticks;
}

void wire_put(struct wire *w, uint64_t now, uint8_t byte)
{
    if (w->line_free < now) {
        w->line_free = now;
    }
    w->line_free += w->byte_ticks; /* a byte that is lost has still taken its time */
    if (!disturb(&w->noise, &byte)) {
        return;
    }
    if (w->count == WIRE_ROOM) {
        w->overrun++;
        return;
    }
    size_t at = (w->head + w->count++) % WIRE_ROOM;
    w->byte[at] = byte;
    w->due[at] = burst(w, w->line_free);
}

uint64_t wire_due(const struct wire *w)
{
    return w->count > 0 ? w->due[w->head] : WIRE_NEVER;
}

int wire_get(struct wire *w, uint64_t now)
{
    if (w->count == 0 || w->due[w->head] > now) {
        return -1;
    }
    uint8_t byte = w->byte[w->head];
    w->head = (w->head + 1) % WIRE_ROOM;
    w->count--;
    return byte;
}

void wire_clear(struct wire *w)
{
    w->count = 0;
    w->line_free = 0;
}
