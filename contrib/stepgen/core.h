/* SPDX-License-Identifier: MIT */
/*
 * The step generator's portable core: lines in and out, the queue of strides, the recurrence, the
 * brake, bounds and inputs. protocol/LINK.md says what it does on the wire.
 *
 * The same code runs on the microcontroller and inside the practice lift. It knows no hardware:
 * whoever runs it hands in bytes, milliseconds and input levels, and asks for bytes and for the
 * ticks to the next edge. No allocation, no floating point; of the C library memcpy and memset.
 *
 * Three contexts on a microcontroller. The main loop owns lines, settings, inputs and the queue's
 * tail. The edge's interrupt (generator_edge_now, generator_edge_plain) owns the running stride and
 * the queue's head while the motor moves. A brake may be asked for from any of them, and from the
 * interrupts of the receiver and of the stop circuit; it takes longer than a step, so it may itself
 * be interrupted by edges. Where two touch the same, guard.h stands around it.
 */
#ifndef REGLET_CONTRIB_STEPGEN_CORE_H
#define REGLET_CONTRIB_STEPGEN_CORE_H

#include <stdbool.h>
#include <stdint.h>

#include "contrib/stepgen/brake.h"
#include "contrib/stepgen/guard.h"
#include "protocol/link.h"
#include "protocol/stride.h"

/* The smallest intervals, inside a stride and before its first step, are what the ATmega328P can
 * do: the cycles of its paths and how late they may be entered (tests/bench/bench_firmware.c). */
enum {
    GENERATOR_QUEUE = 64,
    GENERATOR_INSIDE_MIN_TICKS = 266,
    GENERATOR_FIRST_MIN_TICKS = 400,
};

/* A two-wire scale: frames of 24 bits, lowest first, a bit each 0.3 to 1 ms, some 100 ms apart
 * (common practice, no source). No clock for longer than the gap is the end of a frame. */
enum { GENERATOR_SCALE_BITS = 24, GENERATOR_SCALE_GAP_MS = 5, GENERATOR_SCALE_SPOILT = 0xff };

/* Where a call would cost what the edge has not. */
#define GENERATOR_HOT __attribute__((always_inline)) static inline

/* What a board says of itself in answer to HAIL; constant after start. */
struct generator_board {
    uint32_t id;   /* drawn once, at first start */
    uint32_t boot; /* how often it has started */
    uint32_t tick_hz;
    uint16_t inputs_present; /* bits of enum link_input; of the first eight */
};

/* What is touched most stands first: an AVR reaches 64 bytes from a pointer with short
 * instructions. */
struct generator {
    /* The motion: the edge's. */
    uint8_t state;
    uint8_t head;       /* next place of the queue to run, counting on and on */
    uint8_t tail;       /* next place to fill */
    uint8_t load_until; /* places of the queue up to here can be loaded the short way */
    uint8_t run_flags;  /* of the running stride */
    bool run_open;      /* it is not over */
    bool down;
    bool starting;
    int32_t count; /* steps, absolute since the sync that set it; while it moves the leg's first,
                      from which generator_count goes on */
    uint32_t run_steps; /* of the leg, made when the running stride's last one is armed; a brake
                           goes on from there */
    uint32_t interval;  /* ticks: the first of a stride; while braking, the one made last */
    uint16_t pending;   /* answers owed: talk.h */

    /* The brake. */
    uint16_t brake_left; /* steps to go behind the armed one; before it has taken over, those from
                            the end of what is queued to the bound, UINT16_MAX at the most */
    bool brake_coming;   /* being prepared: no edge works on it as well */
    bool brake_made;     /* not so when the queue ran empty: the last interval until it is */
    uint8_t brake_why;
    bool stop_told; /* a stop since boot: polls repeat it until the next sync */

    int32_t end_count; /* where the motor stands after all that is queued */

    /* The main loop's: agreement with the daemon. */
    int32_t reversal_count; /* where the direction last changed */
    uint16_t epoch;
    uint16_t sum; /* over all strides taken since the sync */
    uint16_t settings_sum;
    uint16_t silent_ms;
    uint8_t settings_set; /* bit a setting */
    uint8_t tail_flags;
    uint8_t taken;   /* sequence number last accepted; the next one is expected */
    uint8_t used;    /* sequence number last used up, when that was last looked at */
    uint8_t wanted;  /* the next one, for an answer */
    uint8_t awaited; /* the input that ends this leg, as a bit, or 0 */
    uint8_t poll_number;
    bool count_set; /* since boot */
    bool want_told;
    uint8_t refused_word;
    uint8_t refused_why;
    uint8_t outputs;
    uint8_t inputs;       /* debounced, active ones set */
    uint8_t inputs_above; /* 0: what a report tells of them is wider than a byte */
    uint8_t out_size;
    uint8_t out_at;

    struct stride_run run; /* its bits are those of run_flags */
    uint16_t late;         /* edges that the board could not make in time; it counts them */
    struct brake brake;
    struct brake_rate brake_rate;
    int32_t told_count; /* generator_count, for an answer */
    int32_t latched_count;
    uint32_t scale_frame;   /* as it comes in */
    uint32_t scale_raw;     /* the last good one */
    uint8_t scale_readings; /* counts them */
    uint8_t scale_bits;     /* of the frame so far, or spoilt */
    uint8_t scale_quiet_ms; /* since its last bit */
    struct generator_board board;
    uint32_t setting[LINK_SETTINGS];
    uint8_t unsteady_ms[LINK_INPUTS];
    struct link_reader reader;
    char out[LINK_LINE_MAX];
    struct stride queue[GENERATOR_QUEUE];
};

/* Of a generator that is all zeros. Who runs it fills in generator->board then. */
void generator_init(struct generator *generator);

/* One byte from the wire. */
void generator_byte(struct generator *generator, uint8_t byte);

/* The next byte for the wire, or -1 when there is nothing to say. */
int generator_send(struct generator *generator);

/* True once after a BEGIN: arm the timer for generator->interval from now; generator->down is the
 * direction. */
bool generator_start(struct generator *generator);

/* Tells that the armed edge has just been made. Returns the ticks from it to the next one, or 0
 * when the motor is at rest. */
uint32_t generator_edge(struct generator *generator);

/* The same in two parts, for a board whose edges are interrupts: what the next edge needs, and what
 * may follow when that edge is armed and interrupts are allowed again. While it is at work there
 * may be further edges, each at the interval of the one before. */
uint32_t generator_edge_now(struct generator *generator);
void generator_edge_later(struct generator *generator);

/* generator_edge in the case that counts, inside a stride, as short as it can be made: when
 * generator_edge_is_plain said so after the edge before, and no brake has begun since. */
GENERATOR_HOT uint16_t generator_edge_plain(struct generator *generator)
{
    uint16_t ticks = stride_run_next_fast(&generator->run);
    if (generator->run.steps_left == 0) {
        guard_stride_ends();
    }
    if (ticks < GENERATOR_INSIDE_MIN_TICKS) {
        ticks = GENERATOR_INSIDE_MIN_TICKS;
        generator->late++;
    }
    return ticks;
}

GENERATOR_HOT bool generator_edge_is_plain(const struct generator *generator)
{
    return generator->state == LINK_STATE_RUNNING && generator->run.steps_left > 0 &&
           !(generator->run_flags & STRIDE_SLOW);
}

static inline uint8_t generator_queued(const struct generator *generator)
{
    return (uint8_t)(generator->tail - generator->head);
}

/* The same from one fast stride to the next, when generator_edge_loads. */
GENERATOR_HOT uint16_t generator_edge_load(struct generator *generator)
{
    const struct stride *stride = &generator->queue[generator->head % GENERATOR_QUEUE];
    struct stride_run *run = &generator->run;
    KEEP_POINTER(stride);
    KEEP_POINTER(run);
    uint32_t interval = stride->interval;
    uint16_t ticks = (uint16_t)(interval >> STRIDE_FAST_BITS);
    run->fraction = (uint16_t)interval ^ 0x8000; /* from one half on, with its carry */
    ticks += (uint16_t)interval >> 15;
    uint32_t change = (uint32_t)stride->change;
    uint16_t steps = stride->steps;
    run->interval = interval + change;
    run->curve = (uint32_t)stride->curve;
    run->change = change + run->curve;
    run->steps_left = (uint16_t)(steps - 1);
    generator->run_flags = stride->flags;
    generator->run_steps += steps;
    generator->head++;
    if (run->steps_left > 0) {
        guard_stride_goes_on();
    }
    return ticks; /* not too short: it was looked at when it came */
}

/* While it runs: can the stride behind the running one be loaded the short way? */
GENERATOR_HOT bool generator_edge_loads(const struct generator *generator)
{
    return generator->head != generator->load_until;
}

/* Is there anything to say? */
bool generator_has_news(const struct generator *generator);

/* Edges made so far. */
int32_t generator_count(const struct generator *generator);

/* Brakes for a reason of enum link_why, from any state and any context. */
void generator_brake(struct generator *generator, uint8_t why);

/* Once a millisecond, with the electrical levels of the inputs (bit of enum link_input). */
void generator_millisecond(struct generator *generator, uint8_t levels);

/* As soon as the stop circuit's level may have changed, from any context: brakes when it is open,
 * without debouncing. The next millisecond reports it. */
void generator_stop_circuit(struct generator *generator, bool level);

/* A bit of the scale, when its clock has risen. Not while the motor moves: what is measured then is
 * left out, and so is the frame that a leg's beginning has cut. */
void generator_scale_bit(struct generator *generator, bool high);

static inline bool generator_moving(const struct generator *generator)
{
    return generator->state >= LINK_STATE_RUNNING;
}

#endif
