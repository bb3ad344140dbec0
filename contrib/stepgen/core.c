/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/core.h"

#include <string.h>

#include "contrib/stepgen/guard.h"
#include "contrib/stepgen/talk.h"

void generator_init(struct generator *g, const struct generator_board *board)
{
    memset(g, 0, sizeof *g);
    g->board = *board;
    g->inside_min_ticks = board->inside_min_ticks;
    g->used = LINK_WINDOW - 1;
    g->taken = LINK_WINDOW - 1;
    g->link_major = LINK_MAJOR;
    g->link_minor = LINK_MINOR;
    g->queue_size = GENERATOR_QUEUE;
}

static int32_t onward(int32_t count, bool down, uint32_t steps)
{
    return (int32_t)((uint32_t)count + (down ? 0u - steps : steps));
}

/* Of a running stride: the steps that follow the armed one, and that one. */
static int32_t count_of_run(const struct generator *g)
{
    return onward(g->run_end, !g->down, (uint32_t)g->run.steps_left + 1);
}

int32_t generator_count(const struct generator *g)
{
    uint8_t guard = guard_enter();
    int32_t count = g->state == LINK_STATE_RUNNING ? count_of_run(g) : g->count;
    guard_leave(guard);
    return count;
}

/* The queue is void after a stop: nothing in it may run again. g->count is where the motor is. */
static void come_adrift(struct generator *g)
{
    g->state = LINK_STATE_ADRIFT;
    g->starting = false;
    g->coasting = false;
    g->rest_count = g->count;
    g->stop_told = true;
    generator_owe(g, LINK_STOPPED);
}

/* `most`, or less where the plan ends sooner. Looks no further into the queue than it must: a
 * brake has to be quick. */
static uint16_t steps_planned(const struct generator *g, uint8_t head, uint16_t planned,
                              uint16_t most)
{
    const struct stride *stride;
    for (; planned < most && head != g->tail; head++) {
        stride = &g->queue[head % GENERATOR_QUEUE].stride;
        uint16_t sum = (uint16_t)(planned + stride->steps);
        planned = sum < planned ? UINT16_MAX : sum;
        if (stride->flags & STRIDE_REST) {
            return planned < most ? planned : most;
        }
    }
    return most;
}

__attribute__((noinline)) static uint32_t steps_to_bound(const struct generator *g, int32_t count)
{
    int32_t low = (int32_t)g->setting[LINK_SET_BOUND_LOW];
    int32_t high = (int32_t)g->setting[LINK_SET_BOUND_HIGH];
    if (!g->down) {
        low = count;
        count = high;
    }
    return count <= low ? 0 : (uint32_t)count - (uint32_t)low;
}

/* False when there is nothing to prepare: at rest, or braking already. */
static bool brake_at_once(struct generator *g, uint8_t why)
{
    if (g->state == LINK_STATE_BRAKING || g->brake_coming) {
        return true;
    }
    if (g->state == LINK_STATE_ADRIFT && g->stop_told) {
        return true; /* the first reason stands until the next sync */
    }
    bool runs = g->state == LINK_STATE_RUNNING;
    if (runs) {
        g->count = count_of_run(g);
    }
    g->brake_why = why;
    g->latched_count = g->count;
    if (runs && !g->starting) {
        return false;
    }
    come_adrift(g); /* begun, and no edge armed */
    return true;
}

static uint32_t interval_made(const struct stride_run *run)
{
    return run->interval - (run->change - run->curve); /* the one used last */
}

/* Makes the brake, while edges go on as they were; then puts it in their place. */
static void brake_prepare(struct generator *g)
{
    enum { MADE_MEANWHILE = 64 }; /* at most so many edges until it is ready */
    uint8_t guard = guard_enter();
    uint32_t interval = interval_made(&g->run);
    uint16_t planned = g->run.steps_left;
    uint8_t bits = g->run.bits;
    uint8_t head = g->head;
    bool rests = g->run_rests;
    bool coasting = g->coasting;
    g->brake_coming = true;
    guard_leave(guard);

    uint16_t steps = brake_steps(&g->brake_rate, interval, bits);
    uint16_t most = steps < BRAKE_STEPS_MAX - MADE_MEANWHILE ? steps + MADE_MEANWHILE : steps;
    uint32_t bound = steps_to_bound(g, g->latched_count);
    bound -= bound > 0; /* the armed one is made in any case */
    uint16_t room = bound < most ? (uint16_t)bound : most;
    if (rests) {
        room = planned < room ? planned : room;
    } else if (!coasting) {
        room = steps_planned(g, head, planned, room);
    }
    brake_start(&g->brake, steps < room ? steps : room);
    interval = (interval >> bits) + 1; /* the armed one may be rounded up */

    guard = guard_enter();
    g->brake_coming = false;
    if (g->state == LINK_STATE_STILL) { /* the leg came to its end meanwhile */
        come_adrift(g);
    } else if (g->state != LINK_STATE_ADRIFT) {
        if (!coasting) {
            g->count = count_of_run(g);
        }
        uint32_t made = (uint32_t)(g->count - g->latched_count);
        made = g->down ? 0u - made : made;
        room = made < room ? (uint16_t)(room - made) : 0;
        if (g->brake.steps_left > room) {
            g->brake.steps_left = room;
        }
        g->interval = interval;
        g->coasting = false;
        g->state = LINK_STATE_BRAKING;
        guard_edge_not_plain();
    }
    guard_leave(guard);
}

void generator_brake(struct generator *g, uint8_t why)
{
    uint8_t guard = guard_enter();
    bool done = brake_at_once(g, why);
    if (!done) {
        g->brake_coming = true;
    }
    guard_leave(guard);
    if (!done) {
        brake_prepare(g);
    }
}

static uint32_t brake_edge(struct generator *g)
{
    g->count = onward(g->count, g->down, 1);
    if (g->coasting ? steps_to_bound(g, g->count) == 0 : g->brake.steps_left == 0) {
        come_adrift(g);
        return 0;
    }
    if (!g->coasting) {
        uint32_t ticks = brake_next(&g->brake, &g->brake_rate);
        if (ticks > g->interval) {
            g->interval = ticks; /* a brake never makes a step quicker than the one before */
        }
    }
    return g->interval;
}

static uint32_t run_next(struct generator *g)
{
    uint32_t ticks = stride_run_next(&g->run);
    if (ticks < g->inside_min_ticks) {
        ticks = g->inside_min_ticks;
        g->late++;
    }
    return ticks;
}

uint32_t generator_load(struct generator *g)
{
    const struct generator_slot *slot = &g->queue[g->head % GENERATOR_QUEUE];
    stride_run_start(&g->run, &slot->stride);
    g->run_sequence = slot->sequence;
    g->run_rests = slot->stride.flags & STRIDE_REST;
    g->run_end = onward(g->run_end, g->down, slot->stride.steps);
    g->head++;
    return run_next(g);
}

/* The queue has run empty, and a brake takes longer to prepare than a step: the last interval goes
 * on until it is ready, but over no bound. */
static uint32_t coast(struct generator *g)
{
    g->count = g->run_end;
    g->latched_count = g->count;
    g->brake_why = LINK_WHY_UNDERRUN;
    g->interval = (interval_made(&g->run) >> g->run.bits) + 1;
    g->state = LINK_STATE_BRAKING;
    g->coasting = true;
    if (steps_to_bound(g, g->count) == 0) {
        come_adrift(g);
        return 0;
    }
    return g->interval;
}

static uint32_t stride_over(struct generator *g)
{
    g->used = g->run_sequence;
    generator_owe(g, LINK_USED);
    if (g->run_rests) {
        g->count = g->run_end;
        g->ended_count = g->count;
        g->state = LINK_STATE_STILL;
        generator_owe(g, LINK_ENDED);
        return 0;
    }
    return g->head == g->tail ? coast(g) : generator_load(g);
}

uint32_t generator_edge_now(struct generator *g)
{
    if (g->state == LINK_STATE_BRAKING) {
        return brake_edge(g);
    }
    return g->run.steps_left > 0 ? run_next(g) : stride_over(g);
}

void generator_edge_later(struct generator *g)
{
    brake_prepare(g);
}

uint32_t generator_edge(struct generator *g)
{
    uint32_t ticks = generator_edge_now(g);
    if (g->coasting) {
        generator_edge_later(g);
    }
    return ticks;
}

bool generator_start(struct generator *g, uint32_t *ticks)
{
    uint8_t guard = guard_enter();
    bool starts = g->starting;
    g->starting = false;
    *ticks = g->interval;
    guard_leave(guard);
    return starts;
}

static bool is_set(const struct generator *g, uint8_t setting, uint8_t bit)
{
    return (uint8_t)g->setting[setting] & bit;
}

/* An input that has become active ends the leg that awaits it, and brakes if it is one that does.
 */
static void heed(struct generator *g, uint8_t input, uint8_t bit)
{
    bool awaited = generator_moving(g) && g->awaited == input + 1;
    if (awaited || is_set(g, LINK_SET_INPUT_BRAKE, bit)) {
        generator_brake(g, (uint8_t)(LINK_WHY_INPUT + input));
    }
}

/* Before their senses are set, levels mean nothing. */
static uint8_t active_inputs(const struct generator *g, uint8_t levels)
{
    if (!(g->settings_set & 1u << LINK_SET_INPUT_INVERT)) {
        return 0;
    }
    return (levels ^ (uint8_t)g->setting[LINK_SET_INPUT_INVERT]) & g->board.inputs_present;
}

enum { STOP_BIT = 1 << LINK_INPUT_STOP_CIRCUIT };

void generator_stop_circuit(struct generator *g, bool level)
{
    if (active_inputs(g, level ? STOP_BIT : 0) & STOP_BIT) {
        heed(g, LINK_INPUT_STOP_CIRCUIT, STOP_BIT);
    }
}

static void debounce(struct generator *g, uint8_t active)
{
    uint8_t bit = 1;
    for (uint8_t input = 0; input < LINK_INPUTS; input++, bit <<= 1) {
        uint8_t *unsteady_ms = &g->unsteady_ms[input];
        bool open = bit == STOP_BIT && active & bit; /* not debounced */
        if (!((active ^ g->inputs) & bit)) {
            *unsteady_ms = 0;
        } else if ((*unsteady_ms)++ >= (uint8_t)g->setting[LINK_SET_DEBOUNCE_MS] || open) {
            *unsteady_ms = 0;
            g->inputs ^= bit;
            generator_owe(g, LINK_AT);
            generator_owe(g, LINK_SEE);
            if (g->inputs & bit) {
                heed(g, input, bit);
            }
        }
    }
}

void generator_millisecond(struct generator *g, uint8_t levels)
{
    debounce(g, active_inputs(g, levels));
    if (g->state == LINK_STATE_RUNNING &&
        ++g->silent_ms >= (uint16_t)g->setting[LINK_SET_SILENCE_MS]) {
        generator_brake(g, LINK_WHY_SILENCE);
    }
}
