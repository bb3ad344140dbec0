/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/core.h"

#include <stddef.h>
#include <string.h>

#include "contrib/stepgen/guard.h"
#include "contrib/stepgen/talk.h"

void generator_init(struct generator *g)
{
    g->used = LINK_WINDOW - 1;
    g->taken = LINK_WINDOW - 1;
}

__attribute__((noinline)) int32_t generator_onward(int32_t count, bool down, uint32_t steps)
{
    return (int32_t)((uint32_t)count + (down ? 0u - steps : steps));
}

int32_t generator_count(const struct generator *g)
{
    uint8_t guard = guard_enter();
    bool moves = generator_moving(g);
    int32_t count = g->count;
    uint32_t steps = g->run_steps;
    uint16_t left = g->run.steps_left;
    guard_leave(guard);
    return moves ? generator_onward(count, g->down, steps - left) : count;
}

/* The queue is void after a stop: nothing in it may run again. */
static void come_adrift(struct generator *g)
{
    g->count = generator_count(g);
    g->state = LINK_STATE_ADRIFT;
    g->starting = false;
    g->stop_told = true;
    generator_owe(g, OWED_STOPPED);
}

/* A motion at one moment: what a brake is planned from. */
struct brake_view {
    uint32_t interval; /* the one used last, with its fraction */
    int32_t count;     /* the leg's first */
    uint32_t run_steps;
    uint16_t steps_left;
    uint16_t room; /* behind what is queued */
    uint8_t flags;
    uint8_t head;
};

__attribute__((noinline)) static uint16_t sum_at_most(uint16_t a, uint16_t b)
{
    uint16_t sum = (uint16_t)(a + b);
    return sum < a ? UINT16_MAX : sum;
}

/* `most`, or less where the plan ends sooner or, when the brake takes more than is queued, where
 * the bound is. Looks no further into the queue than it must: a brake has to be quick. */
static uint16_t steps_allowed(const struct generator *g, const struct brake_view *view,
                              uint16_t most)
{
    uint8_t flags = view->flags;
    uint8_t head = view->head;
    uint16_t planned = view->steps_left;
    while (planned < most) {
        if (flags & STRIDE_REST) {
            return planned;
        }
        if (head == g->tail) {
            planned = sum_at_most(planned, view->room);
            return planned < most ? planned : most;
        }
        const struct stride *stride = &g->queue[head++ % GENERATOR_QUEUE];
        planned = sum_at_most(planned, stride->steps);
        flags = stride->flags;
    }
    return most;
}

/* Goes on with every edge that is armed; only differences mean something. */
static uint16_t edges_armed(const struct generator *g)
{
    return (uint16_t)((uint16_t)g->run_steps - g->run.steps_left);
}

/* The interval used last, with its fraction. */
__attribute__((noinline)) static uint32_t interval_made(const struct stride_run *run)
{
    LONG_IN(interval, "r22") = run->interval;
    LONG_IN(change, "r18") = run->change;
    KEEP_LONG(change);
    interval -= change;
    KEEP_LONG(interval);
    change = run->curve;
    KEEP_LONG(change);
    return interval + change;
}

__attribute__((noinline)) static uint32_t in_ticks(uint32_t interval, uint8_t flags)
{
    return flags & STRIDE_SLOW ? interval >> STRIDE_SLOW_BITS : interval >> STRIDE_FAST_BITS;
}

static void hold(struct generator *g, uint32_t ticks)
{
    uint8_t guard = guard_enter();
    g->interval = ticks;
    guard_leave(guard);
}

/* The interval of the next step to come. Edges that are made meanwhile hold the last one. */
static void follow_brake(struct generator *g)
{
    uint8_t guard = guard_enter();
    uint16_t left = g->brake_left;
    guard_leave(guard);
    if (left > 0) {
        uint32_t ticks = brake_interval(&g->brake, &g->brake_rate, left);
        if (ticks > g->interval) { /* no step is quicker than the one before */
            hold(g, ticks);
        }
    }
}

/* Puts the brake in the place of the run: `steps` of them behind the one that was armed then. False
 * when the leg has come to its end meanwhile. */
static bool take_over(struct generator *g, uint16_t steps, uint16_t armed)
{
    uint8_t guard = guard_enter();
    bool ended = g->state == LINK_STATE_STILL;
    if (ended) {
        come_adrift(g);
    } else {
        uint16_t made = (uint16_t)(edges_armed(g) - armed);
        g->brake_left = made < steps ? (uint16_t)(steps - made) : 0;
        g->brake_made = true;
        if (g->state == LINK_STATE_RUNNING) {
            g->state = LINK_STATE_BRAKING;
            guard_edge_long_way();
        }
    }
    guard_leave(guard);
    return !ended;
}

/* Plans the brake, while edges go on as they were, and puts it in their place. All that it needs
 * for that are the steps to rest, counted from when it was asked for; so only they are worked out
 * first. Its first step takes as long as the last one did, which is right but for a rounding; what
 * follows is worked out when the brake is on its way. */
static void make_brake(struct generator *g)
{
    struct brake_view view;
    view.count = g->count;
    uint8_t guard = guard_enter(); /* two, because it is better that they are short */
    uint8_t scale = g->run_flags;
    view.interval = interval_made(&g->run);
    guard_leave(guard);
    guard = guard_enter();
    view.steps_left = g->run.steps_left;
    view.run_steps = g->run_steps;
    view.room = g->brake_left;
    view.flags = g->run_flags;
    view.head = g->head;
    guard_leave(guard);
    uint16_t steps = brake_steps(&g->brake_rate, view.interval, stride_bits(scale));
    steps = steps_allowed(g, &view, steps);
    hold(g, in_ticks(view.interval, scale) + 1); /* the armed one may be rounded up */
    if (!take_over(g, steps, (uint16_t)((uint16_t)view.run_steps - view.steps_left))) {
        g->latched_count = g->count;
    } else if (g->brake_why != LINK_WHY_UNDERRUN) { /* which has latched its own */
        g->latched_count = generator_onward(view.count, g->down, view.run_steps - view.steps_left);
    }
    brake_start(&g->brake, steps);
    follow_brake(g);
    g->brake_coming = false; /* until here no edge works on it as well */
}

void generator_brake(struct generator *g, uint8_t why)
{
    uint8_t guard = guard_enter();
    bool runs = g->state == LINK_STATE_RUNNING && !g->starting;
    if (g->brake_coming || g->state == LINK_STATE_BRAKING ||
        (g->state == LINK_STATE_ADRIFT && g->stop_told)) {
        runs = false; /* the first reason stands until the next sync */
    } else {
        g->brake_why = why;
        g->brake_coming = runs;
        if (!runs) { /* at rest, or begun and no edge armed: there is none to delay */
            come_adrift(g);
            g->latched_count = g->count;
        }
    }
    guard_leave(guard);
    if (runs) {
        make_brake(g);
    }
}

static uint32_t brake_edge(struct generator *g)
{
    g->run_steps++;
    if (g->brake_left-- == 0) {
        come_adrift(g);
        return 0;
    }
    return g->interval;
}

void generator_edge_later(struct generator *g)
{
    if (g->state != LINK_STATE_BRAKING || g->brake_coming) {
        return;
    }
    if (g->brake_made) {
        follow_brake(g);
    } else {
        g->brake_coming = true;
        make_brake(g);
    }
}

static uint32_t run_next(struct generator *g)
{
    struct stride_run *run = &g->run;
    KEEP_POINTER(run);
    uint32_t ticks = stride_run_acc(run);
    uint16_t least = GENERATOR_INSIDE_MIN_TICKS;
    run->fraction = (uint16_t)ticks;
    if (g->run_flags & STRIDE_SLOW) {
        run->fraction = (uint8_t)ticks;
        least = LINK_SLOW_MIN_TICKS;
    }
    ticks = in_ticks(ticks, g->run_flags);
    if (ticks < least) {
        ticks = least;
        g->late++;
    }
    return ticks;
}

/* From fast strides to fast ones, within the leg. */
static void find_loads(struct generator *g)
{
    uint8_t until = g->head;
    uint8_t flags = g->run_flags;
    while (until != g->tail && !(flags & (STRIDE_REST | STRIDE_SLOW))) {
        flags = g->queue[until % GENERATOR_QUEUE].flags;
        if (flags & STRIDE_SLOW) {
            break;
        }
        until++;
    }
    g->load_until = until;
}

_Static_assert(offsetof(struct stride_run, interval) == offsetof(struct stride, interval) &&
                   offsetof(struct stride_run, change) == offsetof(struct stride, change) &&
                   offsetof(struct stride_run, curve) == offsetof(struct stride, curve),
               "a run begins with what its stride begins with");

uint32_t generator_load(struct generator *g)
{
    const struct stride *stride = &g->queue[g->head % GENERATOR_QUEUE];
    memcpy(&g->run, stride, offsetof(struct stride, steps));
    g->run.steps_left = stride->steps;
    g->run.fraction = stride->flags & STRIDE_SLOW ? 0x80 : 0x8000; /* one half */
    g->run_flags = stride->flags;
    g->run_open = true;
    g->run_steps += stride->steps;
    g->head++;
    find_loads(g);
    return run_next(g);
}

/* The queue has run empty, and a brake takes longer to prepare than a step: the last interval goes
 * on until it is ready, but over no bound. */
static uint32_t coast(struct generator *g)
{
    g->state = LINK_STATE_BRAKING;
    g->run_open = false;
    g->brake_made = false;
    g->interval = in_ticks(interval_made(&g->run), g->run_flags) + 1;
    g->run_steps++;
    if (!g->brake_coming) {
        g->latched_count = g->end_count;
        g->brake_why = LINK_WHY_UNDERRUN;
    }
    if (g->brake_left-- == 0) {
        come_adrift(g);
        return 0;
    }
    return g->interval;
}

static uint32_t stride_over(struct generator *g)
{
    if (g->run_flags & STRIDE_REST) {
        g->run_open = false;
        g->count = generator_onward(g->count, g->down, g->run_steps + 1);
        g->state = LINK_STATE_STILL;
        generator_owe(g, OWED_ENDED);
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

uint32_t generator_edge(struct generator *g)
{
    if (generator_edge_is_plain(g)) { /* as the microcontroller does, by its short ways */
        return generator_edge_plain(g);
    }
    if (g->state == LINK_STATE_RUNNING && g->run.steps_left == 0 && generator_edge_loads(g)) {
        return generator_edge_load(g);
    }
    uint32_t ticks = generator_edge_now(g);
    generator_edge_later(g);
    return ticks;
}

bool generator_start(struct generator *g)
{
    uint8_t guard = guard_enter();
    bool starts = g->starting;
    g->starting = false;
    guard_leave(guard);
    return starts;
}

/* An input that has become active ends the leg that awaits it, and brakes if it is one that does.
 */
static void heed(struct generator *g, uint8_t input, uint8_t bit)
{
    bool awaited = generator_moving(g) && g->awaited & bit;
    if (awaited || (uint8_t)g->setting[LINK_SET_INPUT_BRAKE] & bit) {
        generator_brake(g, (uint8_t)(LINK_WHY_INPUT + input));
    }
}

/* Before their senses are set, levels mean nothing. */
static uint8_t active_inputs(const struct generator *g, uint8_t levels)
{
    if (!(g->settings_set & 1u << LINK_SET_INPUT_INVERT)) {
        return 0;
    }
    return (levels ^ (uint8_t)g->setting[LINK_SET_INPUT_INVERT]) & (uint8_t)g->board.inputs_present;
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
    if (active & STOP_BIT) { /* that it opens is not debounced */
        g->unsteady_ms[LINK_INPUT_STOP_CIRCUIT] = UINT8_MAX;
    }
    for (uint8_t input = 0; input < LINK_INPUTS; input++, bit <<= 1) {
        uint8_t *unsteady_ms = &g->unsteady_ms[input];
        if (!((active ^ g->inputs) & bit)) {
            *unsteady_ms = 0;
        } else if ((*unsteady_ms)++ >= (uint8_t)g->setting[LINK_SET_DEBOUNCE_MS]) {
            *unsteady_ms = 0;
            g->inputs ^= bit;
            generator_owe(g, OWED_AT | OWED_SEE);
            if (g->inputs & bit) {
                heed(g, input, bit);
            }
        }
    }
}

void generator_scale_bit(struct generator *g, bool high)
{
    uint32_t frame = g->scale_frame >> 1;
    if (high) {
        frame |= UINT32_C(1) << (GENERATOR_SCALE_BITS - 1);
    }
    g->scale_frame = frame;
    if (g->scale_bits != GENERATOR_SCALE_SPOILT) {
        g->scale_bits++;
    }
    g->scale_quiet_ms = 0;
}

/* The gap behind a frame has been long enough to be one. */
static void end_frame(struct generator *g)
{
    uint8_t guard = guard_enter(); /* no edge is to come when it was read at rest */
    if (g->scale_bits == GENERATOR_SCALE_BITS) {
        g->scale_raw = g->scale_frame;
        g->scale_readings++;
        generator_owe(g, OWED_SCALE);
    }
    g->scale_bits = 0;
    guard_leave(guard);
}

void generator_millisecond(struct generator *g, uint8_t levels)
{
    debounce(g, active_inputs(g, levels));
    if (++g->scale_quiet_ms == GENERATOR_SCALE_GAP_MS) {
        end_frame(g);
    }
    if (g->state == LINK_STATE_RUNNING &&
        ++g->silent_ms >= (uint16_t)g->setting[LINK_SET_SILENCE_MS]) {
        generator_brake(g, LINK_WHY_SILENCE);
    }
}
