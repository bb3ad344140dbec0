/* SPDX-License-Identifier: MIT */
/*
 * The cable and its adapter, one direction each: bytes enter when they are written, and come out
 * at the line's rate (86.8 us a byte at 115 200 baud), no faster; towards the host an adapter
 * holds them back until its latency time is over. A pseudo-terminal paces nothing by itself.
 * Noise is made here. Pure: times are ticks of the generator's timer, handed in.
 */
#ifndef REGLET_CONTRIB_PRACTICE_WIRE_H
#define REGLET_CONTRIB_PRACTICE_WIRE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { WIRE_ROOM = 8192 };
#define WIRE_NEVER UINT64_MAX

struct noise {
    uint32_t flip_ppm; /* bytes of a million with one bit flipped */
    uint32_t drop_ppm; /* bytes of a million lost */
    uint64_t seed;     /* advances */
    uint64_t hits;
};

struct wire {
    uint32_t byte_ticks;
    uint32_t latency_ticks; /* the adapter collects bytes up to this long; 0: hands on at once */
    struct noise noise;
    uint8_t byte[WIRE_ROOM]; /* in flight, a ring */
    uint64_t due[WIRE_ROOM]; /* when each is there */
    size_t head;
    size_t count;
    uint64_t line_free; /* when the line has sent all that was given to it */
    uint64_t overrun;   /* bytes lost because the ring was full */
};

void wire_init(struct wire *wire, uint32_t byte_ticks, uint32_t latency_ticks);

/* A byte is written at `now`. */
void wire_put(struct wire *wire, uint64_t now, uint8_t byte);

/* When the next byte is there, or WIRE_NEVER. */
uint64_t wire_due(const struct wire *wire);

/* The next byte that is there at `now`, or -1. */
int wire_get(struct wire *wire, uint64_t now);

/* All in flight is lost: the adapter was unplugged. */
void wire_clear(struct wire *wire);

#endif
