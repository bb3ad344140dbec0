/* SPDX-License-Identifier: MIT */
#include "contrib/practice/machine.h"

static void start_board(struct machine *m, uint32_t id, uint32_t boot)
{
    struct generator_board board = {
        .id = id,
        .boot = boot,
        .tick_hz = MACHINE_TICK_HZ,
        .inside_min_ticks = MACHINE_INSIDE_MIN_TICKS,
        .first_min_ticks = MACHINE_FIRST_MIN_TICKS,
        .inputs_present = 1u << LINK_INPUT_TOP_SWITCH | 1u << LINK_INPUT_STOP_CIRCUIT |
                          1u << LINK_INPUT_MOTOR_SUPPLY,
    };
    generator_init(&m->generator, &board);
    m->edge_due = WIRE_NEVER;
    m->millisecond_due = m->now + MACHINE_TICKS_PER_MS;
    m->powered = true;
}

void machine_init(struct machine *m, uint32_t board_id, uint32_t boot, uint32_t latency_ms)
{
    *m = (struct machine){.now = 0};
    model_init(&m->model);
    wire_init(&m->to_generator, MACHINE_BYTE_TICKS, 0);
    wire_init(&m->to_host, MACHINE_BYTE_TICKS, latency_ms * MACHINE_TICKS_PER_MS);
    start_board(m, board_id, boot);
}

void machine_reset(struct machine *m)
{
    start_board(m, m->generator.board.id, m->generator.board.boot + 1);
}

void machine_power_off(struct machine *m)
{
    m->powered = false;
    m->edge_due = WIRE_NEVER;
    m->millisecond_due = WIRE_NEVER;
}

void machine_write(struct machine *m, uint8_t byte)
{
    wire_put(&m->to_generator, m->now, byte);
}

int machine_read(struct machine *m)
{
    return wire_get(&m->to_host, m->now);
}

static uint16_t levels(const struct machine *m)
{
    return (uint16_t)((model_top_switch(&m->model) ? 1u << LINK_INPUT_TOP_SWITCH : 0) |
                      (m->stop_open ? 1u << LINK_INPUT_STOP_CIRCUIT : 0) |
                      (m->supply_lost ? 1u << LINK_INPUT_MOTOR_SUPPLY : 0));
}

static void make_edge(struct machine *m)
{
    bool down = m->generator.down;
    if (!m->stop_open && !m->supply_lost) {
        model_step(&m->model, down); /* an open stop circuit cuts the motor's supply */
    }
    m->edges++;
    if (m->edge) {
        m->edge(m->edge_context, m->now, down);
    }
    uint32_t ticks = generator_edge(&m->generator);
    m->edge_due = ticks > 0 ? m->now + ticks : WIRE_NEVER;
    if (ticks == 0) {
        m->still_since = m->now;
    }
}

static void hear(struct machine *m)
{
    int byte;
    while ((byte = wire_get(&m->to_generator, m->now)) >= 0) {
        if (m->powered) {
            generator_byte(&m->generator, (uint8_t)byte);
        }
    }
}

static void settle(struct machine *m)
{
    uint32_t ticks;
    if (generator_start(&m->generator, &ticks)) {
        m->edge_due = m->now + ticks;
        m->first_edge = m->edge_due;
    }
    /* The transmitter takes its next byte when the line has sent the one before. */
    int byte;
    while (m->powered && m->to_host.line_free <= m->now &&
           (byte = generator_send(&m->generator)) >= 0) {
        wire_put(&m->to_host, m->now, (uint8_t)byte);
    }
}

/* When the transmitter is next free to take a byte, if it has any to take. */
static uint64_t send_due(const struct machine *m)
{
    const struct generator *g = &m->generator;
    bool more = m->powered && (g->pending != 0 || g->out_at < g->out_size);
    return more ? m->to_host.line_free : WIRE_NEVER;
}

static uint64_t earlier(uint64_t a, uint64_t b)
{
    return a < b ? a : b;
}

void machine_advance(struct machine *m, uint64_t until, bool stop_at_byte)
{
    settle(m);
    for (;;) {
        uint64_t next = earlier(m->edge_due, m->millisecond_due);
        next = earlier(next, earlier(wire_due(&m->to_generator), send_due(m)));
        if (stop_at_byte && wire_due(&m->to_host) <= earlier(next, until)) {
            if (m->now < wire_due(&m->to_host)) {
                m->now = wire_due(&m->to_host);
            }
            return;
        }
        if (next > until) {
            m->now = until > m->now ? until : m->now;
            return;
        }
        m->now = next > m->now ? next : m->now;
        if (m->edge_due <= m->now) {
            make_edge(m);
        }
        if (m->millisecond_due <= m->now) {
            m->millisecond_due += MACHINE_TICKS_PER_MS;
            generator_stop_circuit(&m->generator, m->stop_open);
            generator_millisecond(&m->generator, levels(m));
        }
        hear(m);
        settle(m);
    }
}
