/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/core.h"

#include <string.h>

#include "contrib/stepgen/guard.h"
#include "contrib/stepgen/talk.h"

void generator_init(struct generator *g, const struct generator_board *board)
{
    memset(g, 0, sizeof *g);
    g->board = *board;
    g->inside_min_ticks = GENERATOR_INSIDE_MIN_TICKS;
    g->first_min_ticks = GENERATOR_FIRST_MIN_TICKS;
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
    return onward(g->count, g->down, g->run_steps - g->run.steps_left - 1);
}

static uint16_t read_left(const struct generator *g)
{
    uint8_t guard = guard_enter();
    uint16_t left = g->run.steps_left;
    guard_leave(guard);
    return left;
}

int32_t generator_count(const struct generator *g)
{
    uint8_t guard = guard_enter();
    bool runs = g->state == LINK_STATE_RUNNING;
    int32_t count = g->count;
    uint32_t steps = g->run_steps;
    uint16_t left = g->run.steps_left;
    guard_leave(guard);
    return runs ? onward(count, g->down, steps - left - 1) : count;
}

/* The queue is void after a stop: nothing in it may run again. g->count is where the motor is. */
static void come_adrift(struct generator *g)
{
    g->state = LINK_STATE_ADRIFT;
    g->starting = false;
    g->rest_count = g->count;
    g->stop_told = true;
    generator_owe(g, OWED(LINK_STOPPED));
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

/* What a brake is planned from: the motion as it was at one moment. */
struct brake_view {
    uint32_t interval; /* the one used last, with its fraction */
    uint16_t steps_left;
    uint8_t bits;
    uint8_t head;
    bool rests;
    bool runs; /* not so when the queue ran empty */
};

static uint32_t interval_made(const struct stride_run *run)
{
    return run->interval - (run->change - run->curve);
}

/* The steps to rest, or as many of them as there is room for behind the armed one. */
static uint16_t plan_brake(const struct generator *g, const struct brake_view *view, int32_t count)
{
    uint16_t steps = brake_steps(&g->brake_rate, view->interval, view->bits);
    uint32_t bound = steps_to_bound(g, count);
    bound -= bound > 0; /* the armed one is made in any case */
    uint16_t room = bound < steps ? (uint16_t)bound : steps;
    if (view->runs && view->rests) {
        room = view->steps_left < room ? view->steps_left : room;
    } else if (view->runs) {
        room = steps_planned(g, view->head, view->steps_left, room);
    }
    return room;
}

/* Puts the brake in the place of the run. False when an edge came in between: the count is another
 * then. A guard is short, so all else is done before: what a brake needs, nobody reads while the
 * motor runs. */
static bool take_over(struct generator *g, uint16_t steps, uint32_t interval)
{
    uint16_t left = read_left(g);
    uint8_t head = g->head;
    int32_t count = generator_count(g);
    uint16_t made = (uint16_t)(g->down ? g->latched_count - count : count - g->latched_count);
    g->brake_left = made < steps ? (uint16_t)(steps - made) : 0;
    uint8_t guard = guard_enter();
    g->interval = interval; /* but this, when the queue ran empty */
    guard_leave(guard);

    guard = guard_enter();
    bool same = true;
    if (g->state == LINK_STATE_RUNNING) {
        same = g->run.steps_left == left && g->head == head;
        if (same) {
            g->count = count;
            g->state = LINK_STATE_BRAKING;
            g->brake_made = true;
            guard_edge_long_way();
        }
    } else {
        same = g->count == count;
        g->brake_made = same; /* at rest it means nothing */
    }
    guard_leave(guard);
    return same;
}

/* The interval of the next step to come. Edges that are made meanwhile hold the last one. */
static void follow_brake(struct generator *g)
{
    uint8_t guard = guard_enter();
    uint16_t left = g->brake_left;
    guard_leave(guard);
    uint32_t ticks = left > 0 ? brake_interval(&g->brake, &g->brake_rate, left) : 0;
    if (ticks > g->interval) { /* no step is quicker than the one before */
        guard = guard_enter();
        g->interval = ticks;
        guard_leave(guard);
    }
}

/* Plans the brake, while edges go on as they were, and puts it in their place. Its first step takes
 * as long as the last one did, which is right but for a rounding; what follows is worked out when
 * the brake is on its way. */
static void make_brake(struct generator *g)
{
    struct brake_view view;
    uint8_t guard = guard_enter();
    view.interval = interval_made(&g->run);
    view.steps_left = g->run.steps_left;
    view.bits = g->run.bits;
    view.head = g->head;
    view.rests = g->run_flags & STRIDE_REST;
    view.runs = g->state == LINK_STATE_RUNNING;
    guard_leave(guard);
    int32_t count = generator_count(g);
    g->latched_count = count;
    uint16_t steps = plan_brake(g, &view, count);
    uint32_t ticks = view.bits == STRIDE_FAST_BITS ? view.interval >> STRIDE_FAST_BITS
                                                   : view.interval >> STRIDE_SLOW_BITS;
    while (!take_over(g, steps, ticks + 1)) { /* the armed one may be rounded up */
    }
    if (g->state == LINK_STATE_STILL) { /* the leg came to its end meanwhile: no edge to delay */
        guard = guard_enter();
        come_adrift(g);
        guard_leave(guard);
    } else {
        brake_start(&g->brake, steps);
        follow_brake(g);
    }
    g->brake_coming = false; /* until here no edge works on it as well */
}

void generator_brake(struct generator *g, uint8_t why)
{
    uint8_t guard = guard_enter();
    bool runs = g->state == LINK_STATE_RUNNING && !g->starting;
    bool stands = g->state == LINK_STATE_BRAKING || g->brake_coming ||
                  (g->state == LINK_STATE_ADRIFT && g->stop_told);
    if (!stands) { /* else the first reason stands until the next sync */
        g->brake_why = why;
        g->brake_coming = runs;
        if (!runs) { /* no edge to delay */
            if (g->state == LINK_STATE_RUNNING) {
                g->count = count_of_run(g); /* begun, and no edge armed */
            }
            g->latched_count = g->count;
            come_adrift(g);
        }
    }
    guard_leave(guard);
    if (!stands && runs) {
        make_brake(g);
    }
}

static uint32_t brake_edge(struct generator *g)
{
    g->count = onward(g->count, g->down, 1);
    if (g->brake_made ? g->brake_left-- == 0 : steps_to_bound(g, g->count) == 0) {
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
    uint32_t ticks = stride_run_next(&g->run);
    uint16_t least =
        g->run.bits == STRIDE_SLOW_BITS ? LINK_SLOW_MIN_TICKS : GENERATOR_INSIDE_MIN_TICKS;
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
        flags = g->queue[until % GENERATOR_QUEUE].stride.flags;
        if (flags & STRIDE_SLOW) {
            break;
        }
        until++;
    }
    g->load_until = until;
}

uint32_t generator_load(struct generator *g)
{
    const struct generator_slot *slot = &g->queue[g->head % GENERATOR_QUEUE];
    stride_run_start(&g->run, &slot->stride);
    g->run_flags = slot->stride.flags;
    g->run_open = true;
    g->run_steps += slot->stride.steps;
    g->head++;
    find_loads(g);
    return run_next(g);
}

/* The queue has run empty, and a brake takes longer to prepare than a step: the last interval goes
 * on until it is ready, but over no bound. */
static uint32_t coast(struct generator *g)
{
    g->count = onward(g->count, g->down, g->run_steps);
    if (!g->brake_coming) {
        g->latched_count = g->count;
        g->brake_why = LINK_WHY_UNDERRUN;
    }
    g->interval = (interval_made(&g->run) >> g->run.bits) + 1;
    g->state = LINK_STATE_BRAKING;
    g->run_open = false;
    g->brake_made = false;
    if (steps_to_bound(g, g->count) == 0) {
        come_adrift(g);
        return 0;
    }
    return g->interval;
}

static uint32_t stride_over(struct generator *g)
{
    if (g->run_flags & STRIDE_REST) {
        g->run_open = false;
        g->count = onward(g->count, g->down, g->run_steps);
        g->ended_count = g->count;
        g->state = LINK_STATE_STILL;
        generator_owe(g, OWED(LINK_ENDED));
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
            generator_owe(g, OWED(LINK_AT) | OWED(LINK_SEE));
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
