/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/core.h"

#include "contrib/stepgen/talk.h"

void generator_init(struct generator *g, const struct generator_board *board)
{
    *g = (struct generator){.board = *board, .used = LINK_WINDOW - 1};
}

static int32_t step_sign(bool down)
{
    return down ? -1 : 1;
}

/* The queue is void after a stop: nothing in it may run again. */
static void come_adrift(struct generator *g)
{
    g->state = LINK_STATE_ADRIFT;
    g->queued = 0;
    g->starting = false;
    g->run.steps_left = 0;
    g->rest_count = g->count;
    g->end_count = g->count;
    g->stop_told = true;
    generator_owe(g, LINK_STOPPED);
}

/* `most`, or less where the plan ends sooner. Looks no further into the queue than it must: a
 * brake has to be quick. */
static uint16_t steps_planned(const struct generator *g, uint16_t most)
{
    uint32_t planned = g->run.steps_left;
    bool rests = g->run_rests;
    for (uint8_t i = 0; !rests && i < g->queued && planned < most; i++) {
        const struct stride *stride = &g->queue[(uint8_t)(g->head + i) % GENERATOR_QUEUE].stride;
        planned += stride->steps;
        rests = stride->flags & STRIDE_REST;
    }
    return rests && planned < most ? (uint16_t)planned : most;
}

/* `most`, or as many of them as may still be made after `armed` edges on their way: to the bound,
 * and to the planned end where it is known (the armed edge is off its count already). */
static uint16_t steps_allowed(const struct generator *g, uint8_t armed, uint16_t most)
{
    int32_t bound = (int32_t)g->setting[g->down ? LINK_SET_BOUND_LOW : LINK_SET_BOUND_HIGH];
    if (g->down ? g->count <= bound : g->count >= bound) {
        return 0;
    }
    uint32_t room =
        g->down ? (uint32_t)g->count - (uint32_t)bound : (uint32_t)bound - (uint32_t)g->count;
    room -= armed;
    return steps_planned(g, room < most ? (uint16_t)room : most);
}

static void latch(struct generator *g, uint8_t why)
{
    g->brake_why = why;
    g->latched_count = g->count;
}

static void start_brake(struct generator *g, uint8_t why, uint8_t armed)
{
    const struct stride_run *run = &g->run;
    uint32_t interval = run->interval - (run->change - run->curve); /* the one used last */
    latch(g, why);
    uint16_t steps = brake_steps(&g->brake_rate, interval, run->bits);
    brake_start(&g->brake, steps_allowed(g, armed, steps));
    g->state = LINK_STATE_BRAKING;
}

void generator_brake(struct generator *g, uint8_t why)
{
    if (g->state == LINK_STATE_BRAKING) {
        return;
    }
    if (g->state == LINK_STATE_RUNNING && !g->starting) {
        start_brake(g, why, 1);
        return;
    }
    if (g->state == LINK_STATE_ADRIFT && g->stop_told) {
        return; /* the first reason stands until the next sync */
    }
    latch(g, why);
    come_adrift(g);
}

static uint32_t brake_edge(struct generator *g)
{
    if (g->brake.steps_left == 0) {
        come_adrift(g);
        return 0;
    }
    uint32_t ticks = brake_next(&g->brake, &g->brake_rate);
    if (ticks > g->interval) {
        g->interval = ticks; /* a brake never makes a step quicker than the one before */
    }
    return g->interval;
}

static uint32_t run_next(struct generator *g)
{
    uint32_t ticks = stride_run_next(&g->run);
    if (ticks < g->board.inside_min_ticks) {
        ticks = g->board.inside_min_ticks;
        g->late++;
    }
    g->interval = ticks;
    return ticks;
}

void generator_load(struct generator *g)
{
    const struct generator_slot *slot = &g->queue[g->head];
    stride_run_start(&g->run, &slot->stride);
    g->run_sequence = slot->sequence;
    g->run_rests = slot->stride.flags & STRIDE_REST;
    g->head = (uint8_t)(g->head + 1) % GENERATOR_QUEUE;
    g->queued--;
    run_next(g);
}

static uint32_t stride_over(struct generator *g)
{
    g->used = g->run_sequence;
    generator_owe(g, LINK_USED);
    if (g->run_rests) {
        g->state = LINK_STATE_STILL;
        g->ended_count = g->count;
        generator_owe(g, LINK_ENDED);
        return 0;
    }
    if (g->queued == 0) {
        start_brake(g, LINK_WHY_UNDERRUN, 0);
        return brake_edge(g);
    }
    generator_load(g);
    return g->interval;
}

uint32_t generator_edge(struct generator *g)
{
    g->count += step_sign(g->down);
    if (g->state == LINK_STATE_BRAKING) {
        return brake_edge(g);
    }
    if (g->run.steps_left > 0) {
        return run_next(g);
    }
    return stride_over(g);
}

bool generator_start(struct generator *g, uint32_t *ticks)
{
    if (!g->starting) {
        return false;
    }
    g->starting = false;
    *ticks = g->interval;
    return true;
}

static void input_changed(struct generator *g, uint8_t input, bool active)
{
    uint16_t bit = (uint16_t)(1u << input);
    g->inputs = (uint16_t)(active ? g->inputs | bit : g->inputs & ~bit);
    g->unsteady_ms[input] = 0;
    generator_owe(g, LINK_AT);
    generator_owe(g, LINK_SEE);
    bool awaited = generator_moving(g) && g->awaited == input + 1;
    if (active && (awaited || g->setting[LINK_SET_INPUT_BRAKE] & bit)) {
        generator_brake(g, (uint8_t)(LINK_WHY_INPUT + input));
    }
}

/* Before their senses are set, levels mean nothing. */
static bool senses_set(const struct generator *g)
{
    return g->settings_set & 1u << LINK_SET_INPUT_INVERT;
}

static uint16_t active_inputs(const struct generator *g, uint16_t levels)
{
    return (uint16_t)((levels ^ g->setting[LINK_SET_INPUT_INVERT]) & g->board.inputs_present);
}

void generator_stop_circuit(struct generator *g, bool level)
{
    uint16_t bit = 1u << LINK_INPUT_STOP_CIRCUIT;
    bool open = senses_set(g) && active_inputs(g, level ? bit : 0) & bit;
    if (open && !(g->inputs & bit)) {
        input_changed(g, LINK_INPUT_STOP_CIRCUIT, true);
    }
}

static void debounce(struct generator *g, uint16_t active)
{
    for (uint8_t input = 0; input < LINK_INPUTS; input++) {
        uint16_t bit = (uint16_t)(1u << input);
        if (!((active ^ g->inputs) & bit)) {
            g->unsteady_ms[input] = 0;
        } else if (g->unsteady_ms[input]++ >= g->setting[LINK_SET_DEBOUNCE_MS]) {
            input_changed(g, input, active & bit);
        }
    }
}

void generator_millisecond(struct generator *g, uint16_t levels)
{
    generator_stop_circuit(g, levels & 1u << LINK_INPUT_STOP_CIRCUIT);
    if (senses_set(g)) {
        debounce(g, active_inputs(g, levels));
    }
    if (g->state == LINK_STATE_RUNNING && ++g->silent_ms >= g->setting[LINK_SET_SILENCE_MS]) {
        generator_brake(g, LINK_WHY_SILENCE);
    }
}
