/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/talk.h"

enum {
    SETTINGS_ALL = (1 << LINK_SETTINGS) - 1,
    DEBOUNCE_MAX_MS = 250,
    KEPT_BY_SYNC = 1 << (LINK_AT - LINK_BOARD) | 1 << (LINK_SEE - LINK_BOARD) |
                   1 << (LINK_ABLE - LINK_BOARD) | 1,
};

void generator_owe(struct generator *g, uint8_t word)
{
    g->pending |= (uint16_t)(1u << (word - LINK_BOARD));
}

static void refuse(struct generator *g, uint8_t word, uint8_t why)
{
    g->refused_word = word;
    g->refused_why = why;
    generator_owe(g, LINK_REFUSED);
}

static void want(struct generator *g)
{
    if (!g->want_told) {
        g->want_told = true;
        generator_owe(g, LINK_WANT);
    }
}

static bool setting_valid(uint8_t setting, uint32_t value)
{
    switch (setting) {
    case LINK_SET_BRAKE_RATE:
        return value >= 1 && value <= INT32_MAX;
    case LINK_SET_INPUT_INVERT:
    case LINK_SET_INPUT_BRAKE:
        return value < UINT32_C(1) << LINK_INPUTS;
    case LINK_SET_DEBOUNCE_MS:
        return value <= DEBOUNCE_MAX_MS;
    case LINK_SET_SILENCE_MS:
        return value >= 10 && value <= 60000;
    default:
        return setting < LINK_SETTINGS;
    }
}

static void take_setting(struct generator *g, const struct link_line *line)
{
    uint8_t setting = (uint8_t)line->value[0];
    if (generator_moving(g)) {
        refuse(g, LINK_SET, LINK_REFUSED_MOVING);
    } else if (!setting_valid(setting, line->value[1])) {
        refuse(g, LINK_SET, LINK_REFUSED_VALUE);
    } else {
        g->setting[setting] = line->value[1];
        g->settings_set |= (uint8_t)(1u << setting);
        g->settings_sum = link_sum_settings(g->setting);
        if (g->queued > 0) { /* accepted under other bounds: void, and a new sync is needed */
            g->queued = 0;
            g->end_count = g->count;
            g->state = LINK_STATE_ADRIFT;
        }
        if (setting == LINK_SET_BRAKE_RATE) {
            brake_rate_init(&g->brake_rate, g->board.tick_hz, line->value[1]);
        }
    }
}

static void take_sync(struct generator *g, const struct link_line *line)
{
    int32_t count = (int32_t)line->value[1];
    if (generator_moving(g)) {
        refuse(g, LINK_SYNC, LINK_REFUSED_MOVING);
    } else if (line->value[0] == 0) {
        refuse(g, LINK_SYNC, LINK_REFUSED_VALUE); /* 0 is the epoch of a board just started */
    } else if (line->value[0] == g->epoch && g->state == LINK_STATE_STILL && count == g->count) {
        return; /* the same sync once more: its answer was lost */
    } else if (line->value[0] == g->epoch) {
        refuse(g, LINK_SYNC, LINK_REFUSED_VALUE);
    } else if (g->count_set && count != g->count) {
        refuse(g, LINK_SYNC, LINK_REFUSED_COUNT);
    } else {
        if (!g->count_set) {
            g->reversal_count = count;
        }
        g->count_set = true;
        g->count = count;
        g->end_count = count;
        g->epoch = (uint16_t)line->value[0];
        g->state = LINK_STATE_STILL;
        g->expected = 0;
        g->used = LINK_WINDOW - 1;
        g->queued = 0;
        g->tail_flags = STRIDE_REST;
        g->sum = LINK_SUM_START;
        g->want_told = false;
        g->stop_told = false;
        g->pending &= KEPT_BY_SYNC; /* what is owed of an older epoch is void */
    }
}

/* Where the motor stands after a stride that comes next; false when that is out of bounds. */
static bool stride_end(const struct generator *g, const struct stride *stride, int32_t *end)
{
    bool down = stride->flags & STRIDE_DOWN;
    uint32_t steps = stride->steps;
    *end = (int32_t)((uint32_t)g->end_count + (down ? 0u - steps : steps));
    bool wrapped = down ? *end > g->end_count : *end < g->end_count;
    return !wrapped && *end >= (int32_t)g->setting[LINK_SET_BOUND_LOW] &&
           *end <= (int32_t)g->setting[LINK_SET_BOUND_HIGH];
}

/* 0 when the stride may be queued; *end is then where it ends. */
static uint8_t stride_refusal(const struct generator *g, const struct stride *stride, int32_t *end)
{
    if (g->settings_set != SETTINGS_ALL) {
        return LINK_REFUSED_SETTINGS;
    }
    if (g->queued == GENERATOR_QUEUE) {
        return LINK_REFUSED_QUEUE;
    }
    if (!(g->tail_flags & STRIDE_REST) && (g->tail_flags ^ stride->flags) & STRIDE_DOWN) {
        return LINK_REFUSED_DIRECTION;
    }
    if (!stride_end(g, stride, end)) {
        return LINK_REFUSED_BOUNDS;
    }
    struct stride_run run;
    stride_run_start(&run, stride);
    return stride_run_next(&run) < g->board.first_min_ticks ? LINK_REFUSED_VALUE : 0;
}

static void take_stride(struct generator *g, const struct link_line *line)
{
    struct stride stride;
    uint8_t sequence;
    if (!link_line_stride(line, &stride, &sequence) || g->state == LINK_STATE_ADRIFT ||
        g->state == LINK_STATE_BRAKING) {
        return; /* in flight when the motion was stopped: must not run */
    }
    g->silent_ms = 0;
    if (sequence != g->expected) {
        if ((uint8_t)(g->expected - sequence) <= GENERATOR_QUEUE) {
            generator_owe(g, LINK_TOOK); /* had it already: the answer was lost */
        } else {
            want(g);
        }
        return;
    }
    int32_t end;
    uint8_t why = stride_refusal(g, &stride, &end);
    if (why != 0) {
        refuse(g, LINK_STRIDE, why);
        return;
    }
    struct generator_slot *slot = &g->queue[(uint8_t)(g->head + g->queued) % GENERATOR_QUEUE];
    slot->stride = stride;
    slot->sequence = sequence;
    g->queued++;
    g->end_count = end;
    g->tail_flags = stride.flags;
    g->expected++;
    g->sum = link_sum_stride(g->sum, &stride, sequence);
    g->want_told = false;
    generator_owe(g, LINK_TOOK);
}

static uint8_t begin_refusal(const struct generator *g, const struct link_line *line)
{
    uint16_t brakes = (uint16_t)g->setting[LINK_SET_INPUT_BRAKE];
    uint32_t awaited = line->value[2];
    if (g->settings_set != SETTINGS_ALL) {
        return LINK_REFUSED_SETTINGS;
    }
    uint16_t ends = awaited > 0 ? (uint16_t)(1u << (awaited - 1)) : 0;
    if (awaited > LINK_INPUTS || ends & ~g->board.inputs_present) {
        return LINK_REFUSED_VALUE;
    }
    if (g->inputs & (brakes | ends)) {
        return LINK_REFUSED_INPUT;
    }
    /* It names a stride of its leg. When that has run, this is a begin once more, and must not
     * start the leg that is queued behind. */
    uint8_t after_head = (uint8_t)(line->value[1] - g->queue[g->head].sequence);
    return g->queued == 0 || after_head >= g->queued ? LINK_REFUSED_QUEUE : 0;
}

static void take_begin(struct generator *g, const struct link_line *line)
{
    if (line->value[0] != g->epoch || g->state != LINK_STATE_STILL) {
        return; /* a begin once more, or of before a stop; the next report tells the state */
    }
    if ((uint8_t)(g->expected - 1 - line->value[1]) >= LINK_WINDOW / 2) {
        want(g);
        return;
    }
    uint8_t why = begin_refusal(g, line);
    if (why != 0) {
        refuse(g, LINK_BEGIN, why);
        return;
    }
    bool down = g->queue[g->head].stride.flags & STRIDE_DOWN;
    if (down != g->down) {
        g->down = down;
        g->reversal_count = g->count;
    }
    g->awaited = (uint8_t)line->value[2];
    g->silent_ms = 0;
    generator_load(g);
    g->state = LINK_STATE_RUNNING;
    g->starting = true;
}

static void take_poll(struct generator *g, const struct link_line *line)
{
    g->poll_number = (uint8_t)line->value[2];
    generator_owe(g, LINK_AT);
    generator_owe(g, LINK_SEE);
    if (g->state == LINK_STATE_ADRIFT && g->stop_told) {
        generator_owe(g, LINK_STOPPED);
    }
    if (line->value[0] != g->epoch) {
        return;
    }
    g->silent_ms = 0;
    bool takes = g->state == LINK_STATE_STILL || g->state == LINK_STATE_RUNNING;
    if (takes && (uint8_t)line->value[1] != g->expected) {
        g->want_told = true;
        generator_owe(g, LINK_WANT);
    }
}

static void take_line(struct generator *g, const struct link_line *line)
{
    switch (line->word) {
    case LINK_HAIL:
        generator_owe(g, LINK_BOARD);
        generator_owe(g, LINK_ABLE);
        generator_owe(g, LINK_AT);
        generator_owe(g, LINK_SEE);
        break;
    case LINK_SET:
        take_setting(g, line);
        break;
    case LINK_SYNC:
        take_sync(g, line);
        break;
    case LINK_STRIDE:
        take_stride(g, line);
        break;
    case LINK_BEGIN:
        take_begin(g, line);
        break;
    case LINK_BRAKE:
        generator_brake(g, LINK_WHY_BRAKE);
        break;
    case LINK_POLL:
        take_poll(g, line);
        break;
    case LINK_OUT:
        if (line->value[0] == g->epoch) {
            g->outputs = (uint8_t)line->value[1];
        }
        break;
    default:
        break; /* an answer, which only a generator gives: not for us */
    }
}

void generator_byte(struct generator *g, uint8_t byte)
{
    struct link_line line;
    switch (link_reader_byte(&g->reader, byte, &line)) {
    case LINK_GOT_LINE:
        take_line(g, &line);
        break;
    case LINK_GOT_BRAKE:
        generator_brake(g, LINK_WHY_BYTE);
        break;
    default:
        break; /* a spoilt line counts as not sent; the next poll finds the gap */
    }
}

/* What each answer says, apart from the epoch in front. */
static void compose(const struct generator *g, struct link_line *line)
{
    uint32_t *v = line->value;
    uint8_t took = (uint8_t)(g->expected - 1);
    v[0] = g->epoch;
    switch (line->word) {
    case LINK_BOARD:
        v[0] = LINK_MAJOR, v[1] = LINK_MINOR, v[2] = g->board.id, v[3] = g->board.boot;
        break;
    case LINK_ABLE:
        v[0] = g->board.tick_hz, v[1] = GENERATOR_QUEUE, v[2] = g->board.inside_min_ticks;
        v[3] = g->board.first_min_ticks, v[4] = g->board.inputs_present;
        break;
    case LINK_TOOK:
        v[1] = took, v[2] = g->used, v[3] = (uint32_t)g->end_count, v[4] = g->sum;
        break;
    case LINK_WANT:
        v[1] = g->expected;
        break;
    case LINK_USED:
        v[1] = g->used;
        break;
    case LINK_AT:
        v[1] = g->poll_number, v[2] = g->state;
        v[3] = (uint32_t)g->count, v[4] = (uint32_t)g->reversal_count;
        break;
    case LINK_SEE:
        v[1] = g->poll_number, v[2] = g->inputs, v[3] = took, v[4] = g->used;
        v[5] = g->late, v[6] = g->settings_sum;
        break;
    case LINK_ENDED:
        v[1] = (uint32_t)g->ended_count;
        break;
    case LINK_STOPPED:
        v[1] = g->brake_why, v[2] = (uint32_t)g->rest_count, v[3] = (uint32_t)g->latched_count;
        break;
    default:
        v[1] = g->refused_word, v[2] = g->refused_why;
        break;
    }
}

/* The end of a motion before anything that looks like its state; reports last. A leg can end and
 * then a brake come, but not the other way round. */
static const uint8_t order[] = {LINK_ENDED, LINK_STOPPED, LINK_REFUSED, LINK_BOARD, LINK_ABLE,
                                LINK_WANT,  LINK_TOOK,    LINK_USED,    LINK_AT,    LINK_SEE};

int generator_send(struct generator *g)
{
    for (uint8_t i = 0; g->out_at == g->out_size && i < sizeof order; i++) {
        uint16_t bit = (uint16_t)(1u << (order[i] - LINK_BOARD));
        if (g->pending & bit) {
            struct link_line line = {.word = order[i], .count = link_values(order[i])};
            compose(g, &line);
            g->pending &= (uint16_t)~bit;
            g->out_size = link_write(&line, g->out);
            g->out_at = 0;
        }
    }
    return g->out_at < g->out_size ? (uint8_t)g->out[g->out_at++] : -1;
}
