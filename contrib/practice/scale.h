/* SPDX-License-Identifier: MIT */
/*
 * A two-wire digital scale on the carriage: frames of 24 bits, lowest first, data good when the
 * clock rises, a frame each 100 ms (common practice, no source; protocol/LINK.md, SCALE). It
 * measures at the beginning of a frame, and knows the true carriage. Pure.
 *
 * Bits 0 to 19 are the amount, bit 20 its minus sign, bit 23 says that it is in .0005 in.
 */
#ifndef REGLET_CONTRIB_PRACTICE_SCALE_H
#define REGLET_CONTRIB_PRACTICE_SCALE_H

#include <stdbool.h>
#include <stdint.h>

#define SCALE_NEVER UINT64_MAX

struct scale {
    /* Its build. */
    double unit_nm;  /* of the amount in millimetres: 10 000, unless it is a finer one */
    double noise_nm; /* standard deviation of a reading */
    double zero_nm;  /* carriage at which it reads nothing */
    bool inches;
    bool falling; /* it reads less where the carriage is higher */
    bool frozen;  /* it goes on to tell what it told last */
    bool garbled; /* its bits are anything */
    uint64_t seed;

    /* Its state. */
    uint64_t due;  /* tick of its next level; SCALE_NEVER: it is silent, or not there */
    uint32_t raw;  /* the frame that is being sent */
    unsigned half; /* half bits of it that were sent */
};

void scale_init(struct scale *scale);

/* From `now` on, or not any more. */
void scale_switch(struct scale *scale, bool on, uint64_t now);

/* When `due` is there: the next levels of its two wires. */
void scale_step(struct scale *scale, double carriage_nm, bool *clock, bool *data);

#endif
