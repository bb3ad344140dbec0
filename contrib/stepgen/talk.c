/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/talk.h"

#include <stddef.h>
#include <string.h>

#include "contrib/stepgen/guard.h"

#ifdef __AVR__
#define ROM const __flash
#else
#define ROM const
#endif

enum {
    SETTINGS_ALL = (1 << LINK_SETTINGS) - 1,
    DEBOUNCE_MAX_MS = 250,
    KEPT_BY_SYNC = 1 << (LINK_AT - LINK_BOARD) | 1 << (LINK_SEE - LINK_BOARD) |
                   1 << (LINK_ABLE - LINK_BOARD) | 1,
};

void generator_owe(struct generator *g, uint16_t words)
{
    uint8_t guard = guard_enter();
    g->pending |= words;
    guard_leave(guard);
}

static uint8_t expected(const struct generator *g)
{
    return (uint8_t)(g->taken + 1);
}

static void refuse(struct generator *g, uint8_t word, uint8_t why)
{
    g->refused_word = word;
    g->refused_why = why;
    generator_owe(g, OWED(LINK_REFUSED));
}

static void want(struct generator *g)
{
    if (!g->want_told) {
        g->want_told = true;
        generator_owe(g, OWED(LINK_WANT));
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
        if (generator_queued(g) > 0) { /* accepted under other bounds: void until a new sync */
            g->state = LINK_STATE_ADRIFT;
        }
        if (setting == LINK_SET_BRAKE_RATE) {
            brake_rate_init(&g->brake_rate, g->board.tick_hz, line->value[1]);
        }
    }
}

static uint8_t sync_refusal(const struct generator *g, uint16_t epoch, int32_t count)
{
    if (generator_moving(g)) {
        return LINK_REFUSED_MOVING;
    }
    if (epoch == 0 || epoch == g->epoch) {
        return LINK_REFUSED_VALUE; /* 0 is the epoch of a board just started */
    }
    return g->count_set && count != g->count ? LINK_REFUSED_COUNT : 0;
}

static void take_sync(struct generator *g, const struct link_line *line)
{
    uint16_t epoch = (uint16_t)line->value[0];
    int32_t count = (int32_t)line->value[1];
    if (epoch != 0 && epoch == g->epoch && g->state == LINK_STATE_STILL && count == g->count) {
        return; /* the same sync once more: its answer was lost */
    }
    uint8_t why = sync_refusal(g, epoch, count);
    if (why != 0) {
        refuse(g, LINK_SYNC, why);
        return;
    }
    /* The motor is at rest, so a long guard delays no edge; a brake comes before all of it or
     * after. */
    uint8_t guard = guard_enter();
    if (!g->count_set) {
        g->reversal_count = count;
    }
    g->count_set = true;
    g->count = count;
    g->end_count = count;
    g->epoch = epoch;
    g->state = LINK_STATE_STILL;
    g->taken = LINK_WINDOW - 1;
    g->used = LINK_WINDOW - 1;
    g->head = g->tail;
    g->run_open = false;
    g->tail_flags = STRIDE_REST;
    g->sum = LINK_SUM_START;
    g->want_told = false;
    g->stop_told = false;
    g->pending &= KEPT_BY_SYNC; /* what is owed of an older epoch is void */
    guard_leave(guard);
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
    if (generator_queued(g) >= GENERATOR_QUEUE) {
        return LINK_REFUSED_QUEUE;
    }
    if (!(g->tail_flags & STRIDE_REST) && (g->tail_flags ^ stride->flags) & STRIDE_DOWN) {
        return LINK_REFUSED_DIRECTION;
    }
    if (!stride_end(g, stride, end)) {
        return LINK_REFUSED_BOUNDS;
    }
    uint8_t bits = stride_bits(stride->flags); /* the first step is rounded */
    uint32_t first = (stride->interval + (UINT32_C(1) << (bits - 1))) >> bits;
    uint8_t slow = stride->flags | (g->tail_flags & STRIDE_REST ? 0 : g->tail_flags);
    uint16_t least = slow & STRIDE_SLOW ? LINK_SLOW_MIN_TICKS : GENERATOR_FIRST_MIN_TICKS;
    return first < least ? LINK_REFUSED_VALUE : 0;
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
    uint8_t behind = (uint8_t)(expected(g) - sequence);
    if (behind != 0) {
        if (behind <= GENERATOR_QUEUE) {
            generator_owe(g, OWED(LINK_TOOK)); /* had it already: the answer was lost */
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
    struct generator_slot *slot = &g->queue[g->tail % GENERATOR_QUEUE];
    slot->stride = stride;
    slot->sequence = sequence;
    uint8_t guard = guard_enter();
    bool loads = !(g->tail_flags & STRIDE_REST) && !(stride.flags & STRIDE_SLOW) &&
                 (g->head != g->tail || !(g->run_flags & STRIDE_SLOW));
    if (loads && g->load_until == g->tail) {
        g->load_until++;
    }
    g->tail++;
    guard_leave(guard);
    g->end_count = end;
    g->tail_flags = stride.flags;
    g->taken = sequence;
    g->sum = link_sum_stride(g->sum, &stride, sequence);
    g->want_told = false;
    generator_owe(g, OWED(LINK_TOOK));
}

static uint8_t begin_refusal(const struct generator *g, const struct link_line *line)
{
    uint8_t brakes = (uint8_t)g->setting[LINK_SET_INPUT_BRAKE];
    uint8_t awaited = (uint8_t)line->value[2];
    if (g->settings_set != SETTINGS_ALL) {
        return LINK_REFUSED_SETTINGS;
    }
    uint8_t ends = awaited > 0 ? (uint8_t)(1u << (awaited - 1)) : 0;
    if (awaited > LINK_INPUTS || ends & ~g->board.inputs_present) {
        return LINK_REFUSED_VALUE;
    }
    if (g->inputs & (brakes | ends)) {
        return LINK_REFUSED_INPUT;
    }
    /* It names a stride of its leg. When that has run, this is a begin once more, and must not
     * start the leg that is queued behind. */
    uint8_t after_head = (uint8_t)(line->value[1] - g->queue[g->head % GENERATOR_QUEUE].sequence);
    return after_head >= generator_queued(g) ? LINK_REFUSED_QUEUE : 0;
}

static void take_begin(struct generator *g, const struct link_line *line)
{
    if (line->value[0] != g->epoch || g->state != LINK_STATE_STILL) {
        return; /* a begin once more, or of before a stop; the next report tells the state */
    }
    if ((uint8_t)(g->taken - (uint8_t)line->value[1]) >= LINK_WINDOW / 2) {
        want(g);
        return;
    }
    uint8_t why = begin_refusal(g, line);
    if (why != 0) {
        refuse(g, LINK_BEGIN, why);
        return;
    }
    uint8_t guard = guard_enter(); /* at rest; a brake comes before all of it or after */
    if (g->state == LINK_STATE_STILL) {
        bool down = g->queue[g->head % GENERATOR_QUEUE].stride.flags & STRIDE_DOWN;
        if (down != g->down) {
            g->down = down;
            g->reversal_count = g->count;
        }
        g->awaited = (uint8_t)line->value[2];
        g->silent_ms = 0;
        g->run_steps = 0;
        g->interval = generator_load(g);
        g->state = LINK_STATE_RUNNING;
        g->starting = true;
    }
    guard_leave(guard);
}

static void take_poll(struct generator *g, const struct link_line *line)
{
    g->poll_number = (uint8_t)line->value[2];
    generator_owe(g, OWED(LINK_AT) | OWED(LINK_SEE));
    if (g->state == LINK_STATE_ADRIFT && g->stop_told) {
        generator_owe(g, OWED(LINK_STOPPED));
    }
    if (line->value[0] != g->epoch) {
        return;
    }
    g->silent_ms = 0;
    bool takes = g->state == LINK_STATE_STILL || g->state == LINK_STATE_RUNNING;
    if (takes && (uint8_t)line->value[1] != expected(g)) {
        g->want_told = true;
        generator_owe(g, OWED(LINK_WANT));
    }
}

static void take_line(struct generator *g, const struct link_line *line)
{
    switch (line->word) {
    case LINK_HAIL:
        generator_owe(g, OWED(LINK_BOARD) | OWED(LINK_ABLE) | OWED(LINK_AT) | OWED(LINK_SEE));
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

/* Where an answer's values stand. */
struct place {
    uint8_t at;
    uint8_t size;
};

#define PLACE(member)                                                                              \
    {                                                                                              \
        offsetof(struct generator, member), sizeof(((struct generator *)0)->member)                \
    }

_Static_assert(offsetof(struct generator, setting) <= UINT8_MAX,
               "what answers tell is within reach of a byte");

/* In the order of the words, each as long as link_values says. */
static ROM struct place places[] = {
    /* BOARD */ PLACE(link_major),
    PLACE(link_minor),
    PLACE(board.id),
    PLACE(board.boot),
    /* ABLE */ PLACE(board.tick_hz),
    PLACE(queue_size),
    PLACE(inside_min_ticks),
    PLACE(first_min_ticks),
    PLACE(board.inputs_present),
    /* TOOK */ PLACE(epoch),
    PLACE(taken),
    PLACE(used),
    PLACE(end_count),
    PLACE(sum),
    /* WANT */ PLACE(epoch),
    PLACE(wanted),
    /* USED */ PLACE(epoch),
    PLACE(used),
    /* AT */ PLACE(epoch),
    PLACE(poll_number),
    PLACE(state),
    PLACE(told_count),
    PLACE(reversal_count),
    /* SEE */ PLACE(epoch),
    PLACE(poll_number),
    PLACE(inputs),
    PLACE(taken),
    PLACE(used),
    PLACE(late),
    PLACE(settings_sum),
    /* ENDED */ PLACE(epoch),
    PLACE(ended_count),
    /* STOPPED */ PLACE(epoch),
    PLACE(brake_why),
    PLACE(rest_count),
    PLACE(latched_count),
    /* REFUSED */ PLACE(epoch),
    PLACE(refused_word),
    PLACE(refused_why),
};

/* The edge may be writing it, and a guard is to be short: four bytes are read whatever its size.
 * Both ends of the link that know this code keep numbers lowest byte first. */
static uint32_t read_place(const struct generator *g, const struct place *place)
{
    uint32_t value;
    uint8_t guard = guard_enter();
    memcpy(&value, (const uint8_t *)g + place->at, sizeof value);
    guard_leave(guard);
    return place->size == sizeof value ? value : value & ((UINT32_C(1) << 8 * place->size) - 1);
}

static void compose(struct generator *g, struct link_line *line)
{
    uint8_t first = 0;
    for (uint8_t word = LINK_BOARD; word < line->word; word++) {
        first = (uint8_t)(first + link_values(word));
    }
    g->told_count = generator_count(g);
    g->wanted = expected(g);
    for (uint8_t i = 0; i < line->count; i++) {
        struct place place = places[first + i];
        line->value[i] = read_place(g, &place);
    }
}

/* The end of a motion before anything that looks like its state; reports last. A leg can end and
 * then a brake come, but not the other way round. */
static const uint8_t order[] = {LINK_ENDED, LINK_STOPPED, LINK_REFUSED, LINK_BOARD, LINK_ABLE,
                                LINK_WANT,  LINK_TOOK,    LINK_USED,    LINK_AT,    LINK_SEE};

/* The queue's numbers follow each other: what was taken, less what waits and what runs. */
static uint8_t used_up(const struct generator *g)
{
    uint8_t guard = guard_enter();
    uint8_t waiting = (uint8_t)(generator_queued(g) + g->run_open);
    guard_leave(guard);
    return (uint8_t)(g->taken - waiting);
}

bool generator_has_news(const struct generator *g)
{
    return g->pending != 0 || g->out_at < g->out_size || g->used != used_up(g);
}

int generator_send(struct generator *g)
{
    uint8_t used = used_up(g);
    if (used != g->used) {
        g->used = used;
        generator_owe(g, OWED(LINK_USED));
    }
    for (uint8_t i = 0; g->out_at == g->out_size && i < sizeof order; i++) {
        uint16_t bit = (uint16_t)(1u << (order[i] - LINK_BOARD));
        if (g->pending & bit) {
            struct link_line line = {.word = order[i], .count = link_values(order[i])};
            uint8_t guard = guard_enter();
            g->pending &= (uint16_t)~bit;
            guard_leave(guard);
            compose(g, &line);
            g->out_size = link_write(&line, g->out);
            g->out_at = 0;
        }
    }
    return g->out_at < g->out_size ? (uint8_t)g->out[g->out_at++] : -1;
}
