/* SPDX-License-Identifier: MIT */
/*
 * The step generator's portable core: lines in and out, the queue of strides, the recurrence, the
 * brake, bounds and inputs. protocol/LINK.md says what it does on the wire.
 *
 * The same code runs on the microcontroller and inside the practice lift. It knows no hardware:
 * whoever runs it hands in bytes, milliseconds and input levels, and asks for bytes and for the
 * ticks to the next edge. No allocation, no floating point, five freestanding headers at most.
 *
 * Two contexts on a microcontroller: generator_edge() belongs to the timer's interrupt; the
 * brake byte may be told from the receiver's interrupt (generator_brake). All else is the main
 * loop's. What both touch is written by one side only, or guarded by the caller.
 */
#ifndef REGLET_CONTRIB_STEPGEN_CORE_H
#define REGLET_CONTRIB_STEPGEN_CORE_H

#include <stdbool.h>
#include <stdint.h>

#include "contrib/stepgen/brake.h"
#include "protocol/link.h"
#include "protocol/stride.h"

enum { GENERATOR_QUEUE = 64 };

/* What a board says of itself in answer to HAIL; constant after start. */
struct generator_board {
    uint32_t id;   /* drawn once, at first start */
    uint32_t boot; /* how often it has started */
    uint32_t tick_hz;
    uint16_t inside_min_ticks; /* smallest interval inside a stride */
    uint16_t first_min_ticks;  /* smallest interval before a stride's first step */
    uint16_t inputs_present;   /* bits of enum link_input */
};

struct generator_slot {
    struct stride stride;
    uint8_t sequence;
};

struct generator {
    struct generator_board board;

    /* The motion. */
    int32_t count;          /* steps, absolute since the sync that set it */
    int32_t reversal_count; /* where the direction last changed */
    uint32_t interval;      /* ticks from the last edge (or the start) to the armed one */
    struct stride_run run;
    uint8_t run_sequence;
    bool run_rests; /* the running stride ends the leg */
    bool down;
    bool starting;
    uint8_t state;   /* enum link_state */
    uint8_t awaited; /* input number + 1 that ends this leg, or 0 */
    uint16_t late;   /* edges that the board could not make in time; it counts them */

    /* The brake. */
    struct brake_rate brake_rate;
    struct brake brake;
    uint8_t brake_why;
    int32_t latched_count;
    int32_t rest_count;

    /* The queue, oldest first. */
    struct generator_slot queue[GENERATOR_QUEUE];
    uint8_t head;
    uint8_t queued;
    int32_t end_count; /* where the motor stands after all that is queued */
    uint8_t tail_flags;
    uint8_t expected; /* sequence number */
    uint8_t used;     /* sequence number last used up */
    uint16_t sum;     /* over all strides taken since the sync */

    /* Agreement with the daemon. */
    uint16_t epoch;
    bool count_set;       /* since boot */
    uint8_t settings_set; /* bit a setting */
    uint32_t setting[LINK_SETTINGS];
    uint16_t settings_sum;
    uint32_t silent_ms;
    uint8_t outputs;

    /* Inputs. */
    uint16_t inputs; /* debounced, active ones set */
    uint8_t unsteady_ms[LINK_INPUTS];

    /* Lines. */
    struct link_reader reader;
    uint16_t pending; /* bit an answer owed: 1 << (word - LINK_BOARD) */
    uint8_t poll_number;
    bool stop_told; /* a stop since boot: polls repeat it until the next sync */
    int32_t ended_count;
    uint8_t refused_word;
    uint8_t refused_why;
    bool want_told;
    char out[LINK_LINE_MAX];
    uint8_t out_size;
    uint8_t out_at;
};

void generator_init(struct generator *generator, const struct generator_board *board);

/* One byte from the wire. */
void generator_byte(struct generator *generator, uint8_t byte);

/* The next byte for the wire, or -1 when there is nothing to say. */
int generator_send(struct generator *generator);

/* True once after a BEGIN: arm the timer for *ticks from now; generator->down is the direction. */
bool generator_start(struct generator *generator, uint32_t *ticks);

/* Tells that the armed edge has just been made. Returns the ticks from it to the next one, or 0
 * when the motor is at rest. */
uint32_t generator_edge(struct generator *generator);

/* Brakes for a reason of enum link_why, from any state. */
void generator_brake(struct generator *generator, uint8_t why);

/* Once a millisecond, with the electrical levels of the inputs (bit of enum link_input). */
void generator_millisecond(struct generator *generator, uint16_t levels);

/* As soon as the stop circuit's level may have changed; acts at once, without debouncing. */
void generator_stop_circuit(struct generator *generator, bool level);

static inline bool generator_moving(const struct generator *generator)
{
    return generator->state >= LINK_STATE_RUNNING;
}

#endif
