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
    KEPT_BY_SYNC = OWED_BOARD | OWED_ABLE | OWED_AT | OWED_SEE | OWED_SCALE,
};

void generator_owe(struct generator *g, uint16_t answers)
{
    uint8_t guard = guard_enter();
    g->pending |= answers;
    guard_leave(guard);
}

static void want(struct generator *g)
{
    if (!g->want_told) {
        g->want_told = true;
        generator_owe(g, OWED_WANT);
    }
}

/* What a setting may be: from `least` on, and `more` above that. */
static ROM struct {
    uint8_t least;
    uint32_t more;
} allowed[LINK_SETTINGS] = {
    [LINK_SET_BRAKE_RATE] = {1, INT32_MAX - 1},
    [LINK_SET_BOUND_LOW] = {0, UINT32_MAX},
    [LINK_SET_BOUND_HIGH] = {0, UINT32_MAX},
    [LINK_SET_INPUT_INVERT] = {0, (1 << LINK_INPUTS) - 1},
    [LINK_SET_INPUT_BRAKE] = {0, (1 << LINK_INPUTS) - 1},
    [LINK_SET_DEBOUNCE_MS] = {0, 250},
    [LINK_SET_SILENCE_MS] = {10, 60000 - 10},
};

/* What is taken here returns why it is refused, or 0. */

static uint8_t take_setting(struct generator *g, const struct link_line *line)
{
    uint8_t setting = (uint8_t)line->value[0];
    uint32_t value = line->value[1];
    if (generator_moving(g)) {
        return LINK_REFUSED_MOVING;
    }
    if (setting >= LINK_SETTINGS || value - allowed[setting].least > allowed[setting].more) {
        return LINK_REFUSED_VALUE;
    }
    g->setting[setting] = value;
    g->settings_set |= (uint8_t)(1u << setting);
    g->settings_sum = link_sum_settings(g->setting);
    if (generator_queued(g) > 0) { /* accepted under other bounds: void until a new sync */
        g->state = LINK_STATE_ADRIFT;
    }
    if (setting == LINK_SET_BRAKE_RATE) {
        brake_rate_init(&g->brake_rate, g->board.tick_hz, value);
    }
    return 0;
}

static uint8_t take_sync(struct generator *g, const struct link_line *line)
{
    uint16_t epoch = (uint16_t)line->value[0];
    int32_t count = (int32_t)line->value[1];
    if (generator_moving(g)) {
        return LINK_REFUSED_MOVING;
    }
    bool same = !g->count_set || count == g->count;
    if (epoch == 0 || epoch == g->epoch) { /* 0 is the epoch of a board just started */
        bool again = g->state == LINK_STATE_STILL && same; /* its answer was lost */
        return again && epoch != 0 ? 0 : LINK_REFUSED_VALUE;
    }
    if (!same) {
        return LINK_REFUSED_COUNT;
    }
    /* The motor is at rest, so a long guard delays no edge; a brake comes before all of it or
     * after. */
    uint8_t guard = guard_enter();
    if (!g->count_set) {
        g->reversal_count = g->count = count;
    }
    g->count_set = true;
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
    return 0;
}

/* Where the motor stands after a stride that comes next; false when that is out of bounds. */
static bool stride_end(const struct generator *g, const struct stride *stride, int32_t *end)
{
    bool down = stride->flags & STRIDE_DOWN;
    *end = generator_onward(g->end_count, down, stride->steps);
    bool wrapped = (*end < g->end_count) != down;
    return !wrapped && *end >= (int32_t)g->setting[LINK_SET_BOUND_LOW] &&
           *end <= (int32_t)g->setting[LINK_SET_BOUND_HIGH];
}

/* The first step is rounded; what is over 16 bits of it is enough. */
static bool begins_too_quick(uint8_t before, const struct stride *stride)
{
    if (stride->flags & STRIDE_SLOW) {
        return (uint16_t)((stride->interval + 0x80) >> 16) < LINK_SLOW_MIN_TICKS >> 8;
    }
    uint16_t ticks = (uint16_t)((stride->interval + 0x8000) >> 16);
    return ticks < (before & STRIDE_SLOW ? LINK_SLOW_MIN_TICKS : GENERATOR_FIRST_MIN_TICKS);
}

/* 0 when the stride may be queued; *end is then where it ends. */
static uint8_t stride_refusal(const struct generator *g, const struct stride *stride, int32_t *end)
{
    uint8_t before = g->tail_flags & STRIDE_REST ? stride->flags : g->tail_flags;
    if (g->settings_set != SETTINGS_ALL) {
        return LINK_REFUSED_SETTINGS;
    }
    if (generator_queued(g) >= GENERATOR_QUEUE) {
        return LINK_REFUSED_QUEUE;
    }
    if ((before ^ stride->flags) & STRIDE_DOWN) {
        return LINK_REFUSED_DIRECTION;
    }
    if (!stride_end(g, stride, end)) {
        return LINK_REFUSED_BOUNDS;
    }
    return begins_too_quick(before, stride) ? LINK_REFUSED_VALUE : 0;
}

/* Steps from a count within the bounds to the one ahead, UINT16_MAX at the most. */
static uint16_t room_ahead(const struct generator *g, int32_t count, bool down)
{
    uint32_t room = g->setting[LINK_SET_BOUND_HIGH] - (uint32_t)count;
    if (down) {
        room = (uint32_t)count - g->setting[LINK_SET_BOUND_LOW];
    }
    return room > UINT16_MAX ? UINT16_MAX : (uint16_t)room;
}

static void queue_stride(struct generator *g, const struct stride *stride, int32_t end)
{
    uint16_t room = room_ahead(g, end, stride->flags & STRIDE_DOWN);
    bool loads = !((g->tail_flags & (STRIDE_REST | STRIDE_SLOW)) | (stride->flags & STRIDE_SLOW));
    g->queue[g->tail % GENERATOR_QUEUE] = *stride;
    uint8_t guard = guard_enter();
    if (loads && g->load_until == g->tail) {
        g->load_until++;
    }
    g->tail++;
    g->brake_left = room;
    g->end_count = end;
    guard_leave(guard);
    g->tail_flags = stride->flags;
}

static uint8_t take_stride(struct generator *g, const struct link_line *line)
{
    struct stride stride;
    uint8_t sequence;
    if (!link_line_stride(line, &stride, &sequence) || g->state == LINK_STATE_ADRIFT ||
        g->state == LINK_STATE_BRAKING) {
        return 0; /* in flight when the motion was stopped: must not run */
    }
    g->silent_ms = 0;
    uint8_t behind = (uint8_t)(g->taken - sequence);
    if (behind < GENERATOR_QUEUE) {
        generator_owe(g, OWED_TOOK); /* had it already: the answer was lost */
        return 0;
    }
    if (behind != LINK_WINDOW - 1) {
        want(g);
        return 0;
    }
    int32_t end;
    uint8_t why = stride_refusal(g, &stride, &end);
    if (why == 0) {
        queue_stride(g, &stride, end);
        g->taken = sequence;
        g->sum = link_sum_stride(g->sum, &stride, sequence);
        g->want_told = false;
        generator_owe(g, OWED_TOOK);
    }
    return why;
}

static void begin_leg(struct generator *g, uint8_t ends)
{
    uint8_t guard = guard_enter(); /* at rest; a brake comes before all of it or after */
    if (g->state == LINK_STATE_STILL) {
        bool down = g->queue[g->head % GENERATOR_QUEUE].flags & STRIDE_DOWN;
        if (down != g->down) {
            g->down = down;
            g->reversal_count = g->count;
        }
        g->pending &= (uint16_t)~OWED_SCALE; /* it was read where the motor is no more */
        g->scale_bits = GENERATOR_SCALE_SPOILT;
        g->awaited = ends;
        g->silent_ms = 0;
        g->run_steps = UINT32_MAX; /* one less than none */
        g->interval = generator_load(g);
        g->state = LINK_STATE_RUNNING;
        g->starting = true;
    }
    guard_leave(guard);
}

static uint8_t take_begin(struct generator *g, const struct link_line *line)
{
    uint8_t behind = (uint8_t)(g->taken - (uint8_t)line->value[1]);
    uint8_t awaited = (uint8_t)line->value[2];
    uint8_t ends = (uint8_t)(1u << awaited >> 1);
    if ((uint16_t)line->value[0] != g->epoch || g->state != LINK_STATE_STILL) {
        return 0; /* a begin once more, or of before a stop; the next report tells the state */
    }
    if (behind >= LINK_WINDOW / 2) {
        want(g);
        return 0;
    }
    if (g->settings_set != SETTINGS_ALL) {
        return LINK_REFUSED_SETTINGS;
    }
    if (awaited > LINK_INPUTS || ends & ~(uint8_t)g->board.inputs_present) {
        return LINK_REFUSED_VALUE;
    }
    if (g->inputs & ((uint8_t)g->setting[LINK_SET_INPUT_BRAKE] | ends)) {
        return LINK_REFUSED_INPUT;
    }
    /* It names a stride of its leg. When that has run, this is a begin once more, and must not
     * start the leg that is queued behind. */
    if (behind >= generator_queued(g)) {
        return LINK_REFUSED_QUEUE;
    }
    begin_leg(g, ends);
    return 0;
}

static void take_poll(struct generator *g, const struct link_line *line)
{
    g->poll_number = (uint8_t)line->value[2];
    generator_owe(g, OWED_AT | OWED_SEE);
    if (g->state == LINK_STATE_ADRIFT && g->stop_told) {
        generator_owe(g, OWED_STOPPED);
    }
    if ((uint16_t)line->value[0] != g->epoch) {
        return;
    }
    g->silent_ms = 0;
    bool takes = g->state == LINK_STATE_STILL || g->state == LINK_STATE_RUNNING;
    if (takes && (uint8_t)(line->value[1] - g->taken) != 1) {
        g->want_told = true;
        generator_owe(g, OWED_WANT);
    }
}

static uint8_t take_line(struct generator *g, const struct link_line *line)
{
    switch (line->word) {
    case LINK_HAIL:
        generator_owe(g, OWED_BOARD | OWED_ABLE | OWED_AT | OWED_SEE);
        break;
    case LINK_SET:
        return take_setting(g, line);
    case LINK_SYNC:
        return take_sync(g, line);
    case LINK_STRIDE:
        return take_stride(g, line);
    case LINK_BEGIN:
        return take_begin(g, line);
    case LINK_BRAKE:
        generator_brake(g, LINK_WHY_BRAKE);
        break;
    case LINK_POLL:
        take_poll(g, line);
        break;
    case LINK_OUT:
        if ((uint16_t)line->value[0] == g->epoch) {
            g->outputs = (uint8_t)line->value[1];
        }
        break;
    default:
        break; /* an answer, which only a generator gives: not for us */
    }
    return 0;
}

void generator_byte(struct generator *g, uint8_t byte)
{
    struct link_line line;
    enum link_got got = link_reader_byte(&g->reader, byte, &line);
    if (got == LINK_GOT_BRAKE) {
        generator_brake(g, LINK_WHY_BYTE);
    } else if (got == LINK_GOT_LINE) { /* a spoilt one counts as not sent; polls find the gap */
        uint8_t why = take_line(g, &line);
        if (why != 0) {
            g->refused_word = line.word;
            g->refused_why = why;
            generator_owe(g, OWED_REFUSED);
        }
    }
}

/* Where an answer's values stand, or which of those that never change. Both ends of the link that
 * know this code keep numbers lowest byte first, and what is written of one are the digits of its
 * field: four bytes are read of all. */
#define PLACE(member) offsetof(struct generator, member)

enum { CONSTANTS = 0xfa, END = 0xff };
static ROM uint16_t constants[] = {LINK_MAJOR, LINK_MINOR, GENERATOR_QUEUE,
                                   GENERATOR_INSIDE_MIN_TICKS, GENERATOR_FIRST_MIN_TICKS};

_Static_assert(offsetof(struct generator, setting) <= CONSTANTS,
               "what answers tell is within reach of a byte");

/* What is owed, lowest bit first. */
static ROM uint8_t owed_word[] = {LINK_ENDED, LINK_STOPPED, LINK_REFUSED, LINK_BOARD,
                                  LINK_ABLE,  LINK_WANT,    LINK_TOOK,    LINK_USED,
                                  LINK_AT,    LINK_SEE,     LINK_SCALE};

/* In the same order. */
static ROM uint8_t places[] = {
    /* ENDED */ PLACE(epoch),
    PLACE(count), /* that of the last rest, until the next */
    END,
    /* STOPPED */ PLACE(epoch),
    PLACE(brake_why),
    PLACE(told_count),
    PLACE(latched_count),
    END,
    /* REFUSED */ PLACE(epoch),
    PLACE(refused_word),
    PLACE(refused_why),
    END,
    /* BOARD */ CONSTANTS,
    CONSTANTS + 1,
    PLACE(board.id),
    PLACE(board.boot),
    END,
    /* ABLE */ PLACE(board.tick_hz),
    CONSTANTS + 2,
    CONSTANTS + 3,
    CONSTANTS + 4,
    PLACE(board.inputs_present),
    END,
    /* WANT */ PLACE(epoch),
    PLACE(wanted),
    END,
    /* TOOK */ PLACE(epoch),
    PLACE(taken),
    PLACE(used),
    PLACE(end_count),
    PLACE(sum),
    END,
    /* USED */ PLACE(epoch),
    PLACE(used),
    END,
    /* AT */ PLACE(epoch),
    PLACE(poll_number),
    PLACE(state),
    PLACE(told_count),
    PLACE(reversal_count),
    END,
    /* SEE */ PLACE(epoch),
    PLACE(poll_number),
    PLACE(inputs),
    PLACE(taken),
    PLACE(used),
    PLACE(late),
    PLACE(settings_sum),
    END,
    /* SCALE */ PLACE(epoch),
    PLACE(scale_readings),
    PLACE(scale_raw),
    END,
};

struct answer {
    const struct generator *generator;
    ROM uint8_t *place; /* of its next value */
};

static uint32_t next_value(void *owner)
{
    struct answer *answer = owner;
    uint8_t place = *answer->place++;
    uint32_t value;
    if (place >= CONSTANTS) {
        return constants[place - CONSTANTS];
    }
    uint8_t guard = guard_enter(); /* the edge may be writing it */
    memcpy(&value, (const uint8_t *)answer->generator + place, sizeof value);
    guard_leave(guard);
    return value;
}

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

/* Takes the first of what is owed, and writes it. */
static void write_answer(struct generator *g)
{
    struct answer answer = {g, places};
    ROM uint8_t *word = owed_word;
    uint16_t bit = 1;
    for (; !(g->pending & bit); bit = (uint16_t)(bit << 1)) {
        word++;
        while (*answer.place++ != END) {
        }
    }
    uint8_t guard = guard_enter();
    g->pending &= (uint16_t)~bit;
    guard_leave(guard);
    g->told_count = generator_count(g);
    g->wanted = (uint8_t)(g->taken + 1);
    g->out_size = link_compose(*word, next_value, &answer, g->out);
    g->out_at = 0;
}

int generator_send(struct generator *g)
{
    uint8_t used = used_up(g);
    if (used != g->used) {
        g->used = used;
        generator_owe(g, OWED_USED);
    }
    if (g->out_at == g->out_size) {
        if (g->pending == 0) {
            return -1;
        }
        write_answer(g);
    }
    return (uint8_t)g->out[g->out_at++];
}
