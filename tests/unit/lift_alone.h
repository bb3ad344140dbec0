/* SPDX-License-Identifier: MIT */
/*
 * The lift by itself: its own code, with link, keeper and clock put up here. So a test sets any
 * state at all, and asks; what is to be kept is kept at once.
 */
#ifndef REGLET_TESTS_UNIT_LIFT_ALONE_H
#define REGLET_TESTS_UNIT_LIFT_ALONE_H

#include <stdlib.h>
#include <string.h>

#include "daemon/lift/state.h"

/* --- What stands in for the modules around it --- */

static struct {
    bool plugged;
    struct link_report report;
    struct link_board board;
    int64_t now_ns;
    int legs; /* begun since alone_reset */
    int brakes;
    int syncs;
    uint8_t outputs;
    int records;
} alone;

struct link *link_create(uv_loop_t *loop, struct clock *clock, const struct serial_operations *port,
                         const struct link_config *config, const struct link_events *events,
                         void *owner)
{
    (void)loop, (void)clock, (void)port, (void)config, (void)events, (void)owner;
    return (struct link *)&alone;
}

void link_close(struct link *link)
{
    (void)link;
}

void link_free(struct link *link)
{
    (void)link;
}

void link_sync(struct link *link, uint16_t epoch, int32_t count,
               const uint32_t setting[LINK_SETTINGS])
{
    (void)link, (void)epoch, (void)count, (void)setting;
    alone.syncs++;
}

void link_leg(struct link *link, link_source *source, void *source_owner, int32_t end_count,
              uint8_t awaited)
{
    (void)link, (void)source, (void)source_owner, (void)end_count, (void)awaited;
    alone.legs++;
}

void link_brake(struct link *link)
{
    (void)link;
    alone.brakes++;
}

void link_outputs(struct link *link, uint8_t outputs)
{
    (void)link;
    alone.outputs = outputs;
}

bool link_is_moving(const struct link *link)
{
    (void)link;
    return alone.report.state >= LINK_STATE_RUNNING;
}

bool link_ready(const struct link *link)
{
    (void)link;
    return alone.plugged;
}

const struct link_board *link_board(const struct link *link)
{
    (void)link;
    return alone.plugged ? &alone.board : NULL;
}

const struct link_report *link_report(const struct link *link)
{
    (void)link;
    return alone.plugged ? &alone.report : NULL;
}

uint16_t link_epoch(const struct link *link)
{
    (void)link;
    return 1;
}

void keeper_record(struct keeper *keeper, const struct journal_record *record, keeper_done *done,
                   void *owner)
{
    (void)keeper, (void)record;
    alone.records++;
    if (done) {
        done(owner, true, "");
    }
}

void keeper_log(struct keeper *keeper, cJSON *line)
{
    (void)keeper;
    cJSON_Delete(line);
}

int64_t clock_now_ns(const struct clock *clock)
{
    (void)clock;
    return alone.now_ns;
}

void clock_set(struct clock *clock, struct clock_timer *timer, int64_t at_ns)
{
    (void)clock;
    timer->at_ns = at_ns;
    timer->set = true;
}

void clock_clear(struct clock *clock, struct clock_timer *timer)
{
    (void)clock;
    timer->set = false;
}

/* --- A lift that stands in the middle of its travel, all of it sure --- */

#define ALONE_NOW_NS (INT64_C(100000) * 1000 * CLOCK_NS_PER_MS)
enum { ALONE_COUNT = -40000 }; /* 50 mm below the top, at 1.25 um a step */

static const struct lift_config alone_config = {
    .port_path = "/dev/null",
    .baud = 115200,
    .screw = {.lead_num_nm = 2000000, .lead_den = 1, .steps_per_turn = 1600},
    .move_hz = 8000,
    .search_hz = 4000,
    .hold_slow_hz = 600,
    .hold_fast_hz = 5000,
    .brake_hz_s = 100000,
    .lash_nm = 200000,
    .take_up_nm = 454000,
    .travel_nm = 76000000,
    .top_margin_nm = 1000000,
    .change_nm = 1000000,
    .while_running = LIFT_RUNNING_NEVER,
    .run_down_ns = INT64_C(10000) * CLOCK_NS_PER_MS,
    .plate_spread_nm = 50800,
    .nudge_most_nm = 12700000,
    .confirm_nm = 20000,
    .inputs = 1u << LINK_INPUT_TOP_SWITCH | 1u << LINK_INPUT_TOUCH_PLATE |
              1u << LINK_INPUT_STOP_CIRCUIT | 1u << LINK_INPUT_ROUTER |
              1u << LINK_INPUT_CARRIAGE_LOCK | 1u << LINK_INPUT_MOTOR_SUPPLY,
    .debounce_ms = 5,
    .silence_ms = 100,
};

static inline void alone_reset(struct lift *lift)
{
    memset(&alone, 0, sizeof alone);
    alone.plugged = true;
    alone.now_ns = ALONE_NOW_NS;
    alone.board = (struct link_board){.major = 1,
                                      .id = 7,
                                      .boot = 1,
                                      .tick_hz = 16000000,
                                      .queue = 32,
                                      .inside_min_ticks = 240,
                                      .first_min_ticks = 400,
                                      .inputs_present = 0x7f};
    alone.report = (struct link_report){.state = LINK_STATE_STILL, .count = ALONE_COUNT};
    lift->config = alone_config;
    lift->move = (struct lift_move){.active = false};
    lift->count = ALONE_COUNT;
    lift->play = (struct play){.known = true, .slack_steps = 0, .risen_steps = 2000};
    lift->zero = (struct lift_zero){
        .trusted = {TRUST_SURE, TRUST_SURE, true, true},
        .zero_nm = INT64_C(-52000000), /* so that the bit stands at 2 mm */
        .wanted_known = true,
        .wanted_nm = INT64_C(-50000000),
        .corrected_known = true,
        .corrected_nm = 50000,
    };
    lift->bit = (struct lift_bit_facts){.plunging = false};
    lift->plate = (struct lift_plate){.seen_closed = true, .seen_open = true};
    lift->router_known = true;
    lift->router_on = false;
    lift->router_off_ns = 0;
    lift->moved_ns = ALONE_NOW_NS;
    lift->under_way = false;
    lift->board_known = true;
    lift->board = 7;
    lift->boot = 1;
    lift->barred = false;
    lift->synced = true;
    lift->top_open_allowed = false;
    lift->why[0] = '\0';
    lift->retry_timer.set = false;
    lift->changes = NULL;
}

static inline struct lift *alone_lift(void)
{
    struct journal_record record = {.sequence = 0};
    return lift_create(NULL, (struct clock *)&alone, NULL, &alone_config, (struct keeper *)&alone,
                       &record, JOURNAL_FRESH);
}

#endif
