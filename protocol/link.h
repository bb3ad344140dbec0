/* SPDX-License-Identifier: MIT */
/*
 * The lines of the serial link between the daemon and the step generator: words, numbers, check
 * value. protocol/LINK.md is the specification; this module reads and writes what it says.
 *
 * A line is an upper-case word, lower-case hexadecimal numbers, '=', four digits of CRC-16/MCRF4XX
 * over all before the '=', and a newline; at most LINK_LINE_MAX bytes in all.
 *
 * Freestanding: no allocation, no standard input or output, no floating point; also compiled for
 * the microcontroller.
 */
#ifndef REGLET_PROTOCOL_LINK_H
#define REGLET_PROTOCOL_LINK_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol/attributes.h"
#include "protocol/stride.h"

enum {
    LINK_MAJOR = 1,
    LINK_MINOR = 1,
    LINK_LINE_MAX = 48, /* bytes of a line, newline included */
    LINK_VALUES_MAX = 7,
    LINK_WINDOW = 256,      /* sequence numbers are counted modulo this */
    LINK_BRAKE_BYTE = 0xae, /* out of band: brakes wherever it stands, spoils no line */
};

/* Daemon to generator first, then generator to daemon; the order is that of the table in link.c. */
enum link_word {
    LINK_HAIL = 0, /* who are you? */
    LINK_SET,      /* setting, value */
    LINK_SYNC,     /* epoch, count */
    LINK_STRIDE,   /* tag (flags and sequence), steps, interval, change, curve */
    LINK_BEGIN,    /* epoch, last sequence that must be there, awaited input + 1 or 0 */
    LINK_BRAKE,    /* epoch (of no consequence: a brake is always obeyed) */
    LINK_POLL,     /* epoch, next sequence, poll number */
    LINK_OUT,      /* epoch, outputs */
    LINK_BOARD,    /* major, minor, board id, boot number */
    LINK_ABLE,     /* ticks a second, queue, inside minimum, first minimum, inputs present */
    LINK_TOOK,     /* epoch, last taken, last used, end count, sum */
    LINK_WANT,     /* epoch, sequence expected */
    LINK_USED,     /* epoch, last used */
    LINK_AT,       /* epoch, poll number, state, count, count at last reversal */
    LINK_SEE,      /* epoch, poll number, inputs, last taken, last used, late, settings sum */
    LINK_ENDED,    /* epoch, count */
    LINK_STOPPED,  /* epoch, why, count at rest, count when the cause was seen */
    LINK_REFUSED,  /* epoch, word refused, why */
    LINK_SCALE,    /* epoch, reading number, 24 bits as the scale sent them (since 1.1) */
    LINK_WORDS,
};

/* Settings, by number. None of them may change while the motor moves. */
enum link_setting {
    LINK_SET_BRAKE_RATE = 0, /* steps/s^2, 1 or more: what the motor bears */
    LINK_SET_BOUND_LOW,      /* counts that the generator itself will not leave */
    LINK_SET_BOUND_HIGH,
    LINK_SET_INPUT_INVERT, /* inputs that are active when their pin is low */
    LINK_SET_INPUT_BRAKE,  /* inputs that brake whenever they become active */
    LINK_SET_DEBOUNCE_MS,  /* 0 to 250 */
    LINK_SET_SILENCE_MS,   /* 10 to 60 000 */
    LINK_SETTINGS,
};

/* Inputs, by bit number. */
enum link_input {
    LINK_INPUT_TOP_SWITCH = 0,
    LINK_INPUT_BOTTOM_SWITCH,
    LINK_INPUT_TOUCH_PLATE,
    LINK_INPUT_STOP_CIRCUIT,  /* active: open. Acts at once, not debounced */
    LINK_INPUT_ROUTER,        /* active: running */
    LINK_INPUT_CARRIAGE_LOCK, /* active: locked */
    LINK_INPUT_MOTOR_SUPPLY,  /* active: lost */
    LINK_INPUTS,
};

enum link_state {
    LINK_STATE_ADRIFT = 0, /* no epoch since boot or since a stop: refuses strides */
    LINK_STATE_STILL,      /* synced, at rest */
    LINK_STATE_RUNNING,
    LINK_STATE_BRAKING,
};

/* Why a motion was stopped. */
enum link_why {
    LINK_WHY_BRAKE = 1,  /* the BRAKE line */
    LINK_WHY_BYTE,       /* the brake byte */
    LINK_WHY_SILENCE,    /* neither poll nor stride for the silence time */
    LINK_WHY_UNDERRUN,   /* the queue ran empty before the leg was at rest */
    LINK_WHY_INPUT = 16, /* plus the input's number */
};

/* Why a line was refused. */
enum link_refusal {
    LINK_REFUSED_MOVING = 1,
    LINK_REFUSED_SETTINGS,  /* not all of them set since boot */
    LINK_REFUSED_ADRIFT,    /* sync first */
    LINK_REFUSED_COUNT,     /* a sync that names another count than the generator's own */
    LINK_REFUSED_BOUNDS,    /* a stride that would leave the bounds */
    LINK_REFUSED_QUEUE,     /* no free place, or nothing queued to begin */
    LINK_REFUSED_DIRECTION, /* a stride that turns round within a leg */
    LINK_REFUSED_VALUE,     /* a number out of its range */
    LINK_REFUSED_INPUT,     /* an input that brakes, or the one awaited, is active already */
};

/* The smallest interval of a slow stride, and of the first step behind one: what is planned so has
 * time, and the generator takes its time with it. */
enum { LINK_SLOW_MIN_TICKS = 4096 };

/* One line taken apart; signed fields are two's complement. */
struct link_line {
    uint8_t word;  /* enum link_word */
    uint8_t count; /* values present */
    uint32_t value[LINK_VALUES_MAX];
};

/* CRC-16/MCRF4XX: polynomial 1021 reflected, start ffff, no final exclusive or. */
enum { LINK_CRC_START = 0xffff };
uint16_t link_crc(uint16_t crc, uint8_t byte);
uint16_t link_crc_of(const void *bytes, uint8_t size);

/* How many values a word takes. */
uint8_t link_values(uint8_t word);

/* Writes the whole line, newline included, into out[LINK_LINE_MAX] (no NUL). Returns its length, or
 * 0 when the word is unknown or does not take so many values. Of a value the digits are written
 * that its field has: what a reader would refuse above them is not there. */
uint8_t link_write(const struct link_line *line, char *out);

/* The same of values that are asked for one after the other; the word is a known one. */
typedef uint32_t link_value(void *owner);
uint8_t link_compose(uint8_t word, link_value *value, void *owner, char *out);

/* Reads text[0..size) without its newline. False when anything is wrong with it. */
REGLET_MUST_CHECK bool link_read(const char *text, uint8_t size, struct link_line *line);

/* A stride as a line and back. */
void link_stride_line(const struct stride *stride, uint8_t sequence, struct link_line *line);
REGLET_MUST_CHECK bool link_line_stride(const struct link_line *line, struct stride *stride,
                                        uint8_t *sequence);

/* The second guard over all strides accepted since a sync: Fletcher's sum (two sums modulo 255),
 * of another kind than the CRC on each line. Starts at LINK_SUM_START. */
enum { LINK_SUM_START = 0 };
uint16_t link_sum_byte(uint16_t sum, uint8_t byte);
uint16_t link_sum_words(uint16_t sum, const uint32_t *words, uint8_t count);
uint16_t link_sum_stride(uint16_t sum, const struct stride *stride, uint8_t sequence);
uint16_t link_sum_settings(const uint32_t setting[LINK_SETTINGS]);

/* Puts bytes together into lines. Starts zeroed. A byte that no line uses is kept like any other:
 * the line that it stands in cannot be read. */
struct link_reader {
    char text[LINK_LINE_MAX];
    uint8_t size;
};

enum link_got {
    LINK_GOT_NOTHING = 0, /* in the middle of a line, or an empty one */
    LINK_GOT_LINE,        /* *line is filled */
    LINK_GOT_SPOILT,      /* a line ended that cannot be read; it counts as not sent */
    LINK_GOT_BRAKE,       /* the brake byte */
};

enum link_got link_reader_byte(struct link_reader *reader, uint8_t byte, struct link_line *line);

#endif
