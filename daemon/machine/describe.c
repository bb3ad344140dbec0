/* SPDX-License-Identifier: MIT */
#include "daemon/machine/describe.h"

#include "daemon/config/fnv.h"
#include "protocol/link.h"

enum {
    FULL_STEPS_SETTLED = 2,
    HALF_CYCLE_FULL_STEPS = 2, /* a motor slips by four full steps or a multiple of them */
    NUDGE_MOST_NM = 12700000,  /* 1/2 in */
};

static void add_input(struct lift_config *machine, enum link_input input, enum config_input wiring)
{
    if (wiring != CONFIG_INPUT_ABSENT) {
        machine->inputs |= 1u << input;
    }
    if (wiring == CONFIG_INPUT_ACTIVE_LOW) {
        machine->input_invert |= 1u << input;
    }
}

/* 0: there is none. */
static uint8_t output_bit(enum config_output output)
{
    return (uint8_t)(output == CONFIG_OUTPUT_ABSENT ? 0 : 1u << (output - CONFIG_OUTPUT_1));
}

/* It changes when a count comes to mean another position: by the screw, or by the table. */
static uint32_t digest(const struct screw *screw, const struct error_table *table)
{
    uint32_t hash = config_screw_digest(screw);
    for (int i = 0; i < table->count; i++) {
        int64_t point[2] = {table->said_nm[i], table->error_nm[i]};
        unsigned char bytes[20];
        for (size_t at = 0; at < 16; at++) {
            bytes[at] = (unsigned char)((uint64_t)point[at / 8] >> at % 8 * 8);
        }
        for (size_t at = 0; at < 4; at++) {
            bytes[16 + at] = (unsigned char)(hash >> at * 8);
        }
        hash = fnv1a_32(bytes, sizeof bytes);
    }
    return hash;
}

/* A lash that was never measured is not added to anything. */
static enum plan_finish finish_of(const struct config *config)
{
    switch (config->finish) {
    case CONFIG_FINISH_DOWNWARD:
        return PLAN_DOWNWARD;
    case CONFIG_FINISH_EITHER:
        return config->lash_known ? PLAN_EITHER : PLAN_UPWARD;
    default:
        return PLAN_UPWARD;
    }
}

void machine_describe(const struct config *config, const struct calibration_values *measured,
                      struct lift_config *machine)
{
    *machine = (struct lift_config){
        .port_path = config->port,
        .baud = config->baud,
        .screw = config->screw,
        .table = measured->table,
        .screw_digest = digest(&config->screw, &measured->table),
        .move_hz = config->move_hz,
        .search_hz = config->search_hz,
        .hold_slow_hz = config->hold_slow_hz,
        .hold_fast_hz = config->hold_fast_hz,
        .brake_hz_s = config->brake_hz_s,
        .lash_nm = config->lash_nm,
        .take_up_nm = config->take_up_nm,
        .finish = finish_of(config),
        .travel_nm = config->travel_nm - config->top_margin_nm,
        .top_margin_nm = config->top_margin_nm,
        .change_nm = config->change_nm,
        .while_running = (enum lift_running)config->while_running,
        .run_down_ns = (int64_t)config->run_down_s * 1000 * CLOCK_NS_PER_MS,
        .plate_height_nm = config->plate_height_nm,
        .plate_spread_nm = config->plate_spread_nm,
        .nudge_most_nm = NUDGE_MOST_NM,
        .confirm_nm = FULL_STEPS_SETTLED * config->screw.lead_num_nm /
                      (config->screw.lead_den * config->full_steps),
        .readout = config->readout != CONFIG_READOUT_ABSENT,
        .readout_checks = measured->lead_known,
        .readout_falls = config->readout == CONFIG_READOUT_FALLING,
        .readout_unit_nm = config->readout_unit_nm,
        .readout_tolerance_nm = config->readout_tolerance_nm,
        .readout_bar_nm = HALF_CYCLE_FULL_STEPS * config->screw.lead_num_nm /
                          (config->screw.lead_den * config->full_steps),
        .debounce_ms = config->debounce_ms,
        .silence_ms = config->silence_ms,
    };
    machine->dust_output = output_bit(config->dust);
    machine->dust_run_on_ns = (int64_t)config->dust_run_on_s * 1000 * CLOCK_NS_PER_MS;
    machine->lock_output = output_bit(config->lock);
    machine->lock_on_holds = config->lock_holds == CONFIG_HOLDS_ON;
    machine->lock_wait_ns = (int64_t)config->lock_wait_ms * CLOCK_NS_PER_MS;
    add_input(machine, LINK_INPUT_TOP_SWITCH, config->top_switch);
    add_input(machine, LINK_INPUT_BOTTOM_SWITCH, config->bottom_switch);
    add_input(machine, LINK_INPUT_TOUCH_PLATE, config->touch_plate);
    add_input(machine, LINK_INPUT_ROUTER, config->router);
    add_input(machine, LINK_INPUT_CARRIAGE_LOCK, config->carriage_lock);
    add_input(machine, LINK_INPUT_STOP_CIRCUIT, config->stop_circuit);
    add_input(machine, LINK_INPUT_MOTOR_SUPPLY, config->motor_supply);
}
