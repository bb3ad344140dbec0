/* SPDX-License-Identifier: MIT */
/* The two switched outputs: dust extraction, and the carriage's clamp. */
#include "daemon/lift/state.h"

static bool dust_wanted(struct lift *lift)
{
    int64_t off_ns = lift->router_off_ns;
    int64_t end_ns = off_ns + lift->config.dust_run_on_ns;
    if (lift->outputs.dust != LIFT_DUST_AUTO) {
        return lift->outputs.dust == LIFT_DUST_ON;
    }
    if (lift->router_known && lift->router_on) {
        return true;
    }
    if (off_ns == 0 || clock_now_ns(lift->clock) >= end_ns) {
        return false;
    }
    clock_set(lift->clock, &lift->outputs.dust_timer, end_ns);
    return true;
}

/* It holds but while a move has it loose, and never before the motor is known to be at rest. */
static bool lock_wanted(const struct lift *lift)
{
    const struct lift_move *move = &lift->move;
    bool loose = move->active && !move->ended && (move->unlocking || move->unlocked);
    return !loose && !link_is_moving(lift->link);
}

void outputs_update(struct lift *lift)
{
    const struct lift_config *config = &lift->config;
    struct lift_outputs *outputs = &lift->outputs;
    uint8_t on = 0;
    if (config->dust_output == 0 && config->lock_output == 0) {
        return;
    }
    outputs->dust_on = config->dust_output != 0 && dust_wanted(lift);
    outputs->lock_set = config->lock_output != 0 && lock_wanted(lift);
    on |= outputs->dust_on ? config->dust_output : 0;
    on |= outputs->lock_set == config->lock_on_holds ? config->lock_output : 0;
    link_outputs(lift->link, on);
}

void outputs_unlock(struct lift *lift)
{
    outputs_update(lift);
    clock_set(lift->clock, &lift->outputs.lock_timer,
              clock_now_ns(lift->clock) + lift->config.lock_wait_ns);
}

void lift_set_dust(struct lift *lift, enum lift_dust dust)
{
    lift->outputs.dust = dust;
    outputs_update(lift);
}

static void on_dust_timer(void *owner)
{
    outputs_update(owner);
}

static void on_lock_timer(void *owner)
{
    move_unlocked(owner);
}

void outputs_init(struct lift *lift)
{
    lift->outputs = (struct lift_outputs){
        .dust = LIFT_DUST_AUTO,
        .dust_timer = {.due = on_dust_timer, .owner = lift},
        .lock_timer = {.due = on_lock_timer, .owner = lift},
    };
}

void outputs_close(struct lift *lift)
{
    clock_clear(lift->clock, &lift->outputs.dust_timer);
    clock_clear(lift->clock, &lift->outputs.lock_timer);
}
