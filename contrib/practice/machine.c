/* SPDX-License-Identifier: MIT */
#include "contrib/practice/machine.h"

#include "protocol/link.h"

static bool plate_closed(const struct machine *m)
{
    const struct bench *b = &m->bench;
    return b->plate_by_hand || (b->plate_laid && model_height_nm(&m->model) >= b->plate_nm);
}

bool machine_locked(struct machine *m, uint64_t tick)
{
    struct bench *b = &m->bench;
    if (b->lock_output == 0) {
        return b->locked;
    }
    bool on = board_look(m->board).outputs & b->lock_output;
    bool told = on == b->lock_on_holds;
    if (b->lock_told && !told) {
        b->lock_loose = tick + b->lock_takes;
    }
    b->lock_told = told;
    return b->locked || told || tick < b->lock_loose;
}

static uint16_t levels(struct machine *m, uint64_t tick)
{
    return (uint16_t)((model_top_switch(&m->model) ? 1u << LINK_INPUT_TOP_SWITCH : 0) |
                      (model_bottom_switch(&m->model) ? 1u << LINK_INPUT_BOTTOM_SWITCH : 0) |
                      (m->stop_open ? 1u << LINK_INPUT_STOP_CIRCUIT : 0) |
                      (m->supply_lost ? 1u << LINK_INPUT_MOTOR_SUPPLY : 0) |
                      (plate_closed(m) ? 1u << LINK_INPUT_TOUCH_PLATE : 0) |
                      (m->bench.router_on ? 1u << LINK_INPUT_ROUTER : 0) |
                      (machine_locked(m, tick) ? 1u << LINK_INPUT_CARRIAGE_LOCK : 0));
}

void machine_router(struct machine *m, bool on)
{
    if (m->bench.router_on && !on) {
        m->bench.router_off = m->now;
    }
    m->bench.router_on = on;
}

bool machine_router_turns(const struct machine *m)
{
    const struct bench *b = &m->bench;
    return b->router_on || (b->router_off != 0 && m->now < b->router_off + b->coast);
}

/* What a step does besides moving. */
static void witness(struct machine *m, bool locked)
{
    struct bench *b = &m->bench;
    bool in_ring = b->ring_nm > 0 && b->cutter_nm > b->ring_nm &&
                   model_height_nm(&m->model) - b->cutting_nm < 0;
    b->cutter_in_ring += in_ring ? 1 : 0;
    b->against_lock += locked ? 1 : 0;
    b->turning_in_work += b->work_on_bit && machine_router_turns(m) ? 1 : 0;
}

static void on_edge(void *owner, uint64_t tick, bool down)
{
    struct machine *m = owner;
    if (!m->stop_open && !m->supply_lost) { /* an open stop circuit cuts the motor's supply */
        bool locked = machine_locked(m, tick);
        if (!locked) {
            model_step(&m->model, down);
        }
        witness(m, locked);
        board_levels(m->board, levels(m, tick));
    }
    m->edges++;
    m->last_edge = tick;
    if (m->edge) {
        m->edge(m->edge_context, tick, down);
    }
}

static void on_byte(void *owner, uint64_t tick, uint8_t byte)
{
    struct machine *m = owner;
    wire_put(&m->to_host, tick, byte);
    if (m->stop_at_byte) {
        board_stop(m->board); /* to be run again, only as far as that */
    }
}

bool machine_open(struct machine *m, uint32_t board_id, uint32_t boot, uint32_t latency_ms)
{
    const struct board_events events = {.edge = on_edge, .byte = on_byte, .owner = m};
    *m = (struct machine){.now = 0};
    model_init(&m->model);
    m->bench.lock_takes = UINT64_C(150) * BOARD_TICKS_PER_MS;
    scale_init(&m->scale);
    m->bench.coast = UINT64_C(8000) * BOARD_TICKS_PER_MS;
    wire_init(&m->to_generator, BOARD_BYTE_TICKS, 0);
    wire_init(&m->to_host, 0, latency_ms * BOARD_TICKS_PER_MS);
    m->board = board_open(board_id, boot, &events);
    return m->board != NULL;
}

void machine_close(struct machine *m)
{
    board_close(m->board);
    m->board = NULL;
}

void machine_reset(struct machine *m)
{
    board_reset(m->board);
}

void machine_power(struct machine *m, bool on)
{
    board_power(m->board, on);
}

void machine_write(struct machine *m, uint8_t byte)
{
    wire_put(&m->to_generator, m->now, byte);
}

int machine_read(struct machine *m)
{
    return wire_get(&m->to_host, m->now);
}

static bool hear(struct machine *m)
{
    int byte;
    bool heard = false;
    while ((byte = wire_get(&m->to_generator, m->now)) >= 0) {
        board_byte(m->board, (uint8_t)byte);
        heard = true;
    }
    return heard;
}

static bool clock_scale(struct machine *m)
{
    bool clock;
    bool data;
    if (m->now < m->scale.due) {
        return false;
    }
    scale_step(&m->scale, m->model.carriage_nm, &clock, &data);
    board_scale(m->board, clock, data);
    return true;
}

/* To where the host can read a byte, if nothing makes that later on the way. */
static bool reach_byte(struct machine *m, uint64_t due)
{
    if (m->now < due && board_run(m->board, due - 1) < due - 1) {
        return false;
    }
    m->now = due > m->now ? due : m->now;
    return true;
}

void machine_advance(struct machine *m, uint64_t until, bool stop_at_byte)
{
    board_levels(m->board, levels(m, m->now)); /* someone may have had a hand in the machine */
    m->stop_at_byte = stop_at_byte;
    for (;;) {
        uint64_t target = wire_due(&m->to_generator);
        target = target < until ? target : until;
        target = target < m->scale.due ? target : m->scale.due;
        if (stop_at_byte && wire_due(&m->to_host) <= target) {
            if (reach_byte(m, wire_due(&m->to_host))) {
                return;
            }
            continue;
        }
        uint64_t reached = board_run(m->board, target);
        m->now = reached > m->now ? reached : m->now;
        bool heard = hear(m);
        if (!clock_scale(m) && !heard && m->now >= until) {
            board_run(m->board, m->now);
            return;
        }
    }
}
