/* SPDX-License-Identifier: MIT */
#include "daemon/lift/lift.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/lift/state.h"
#include "protocol/length.h"

enum { CLOSE_MS = 500 };

void lift_refuse(struct lift_refusal *refusal, enum reason reason, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    refusal->reason = reason;
    vsnprintf(refusal->sentence, sizeof refusal->sentence, format, arguments);
    va_end(arguments);
}

int64_t lift_position_nm(const struct lift *lift, int32_t count)
{
    return screw_position_nm(&lift->config.screw, count);
}

/* Where the carriage is when the nut is at `count`: sinking, the nut is ahead of it by the lash. */
static int64_t carriage_nm(const struct lift *lift, int32_t count, const struct play *play)
{
    return lift_position_nm(lift, count + (play->known ? play->slack_steps : 0));
}

int64_t lift_carriage_nm(const struct lift *lift)
{
    return carriage_nm(lift, lift->count, &lift->play);
}

void lift_say_height(const struct lift *lift, int64_t position_nm, char *text, size_t size)
{
    char inch[LENGTH_TEXT_SIZE];
    char mm[LENGTH_TEXT_SIZE];
    bool zero = lift->table_zero != LIFT_LOST;
    int64_t nm = zero ? position_nm - lift->zero_nm : position_nm;
    length_print(nm, LENGTH_STYLE_64, inch, sizeof inch);
    length_print(nm, LENGTH_STYLE_MM, mm, sizeof mm);
    const char *unit = inch[strlen(inch) - 1] == 'n' ? "" : "in";
    snprintf(text, size, "%s%s (%s)%s", inch, unit, mm, zero ? "" : " on the lift's own scale");
}

static void sync_link(struct lift *lift)
{
    uint16_t epoch = (uint16_t)(link_epoch(lift->link) + 1);
    link_sync(lift->link, epoch == 0 ? 1 : epoch, lift->count);
}

static void on_found(void *owner)
{
    struct lift *lift = owner;
    const struct link_board *board = link_board(lift->link);
    const struct link_report *report = link_report(lift->link);
    bool same = lift->board_known && lift->board == board->id && lift->boot == board->boot;
    if (same) {
        play_moved(&lift->play, lift->count, report->reversal_count,
                   lift_steps_up(lift, lift->config.lash_nm));
        play_moved(&lift->play, report->reversal_count, report->count,
                   lift_steps_up(lift, lift->config.lash_nm));
        lift->count = report->count;
    } else {
        /* It lost its supply, or it is another: it knows nothing, and the rotor may have moved. */
        lift->table_zero = LIFT_LOST;
        play_forget(&lift->play, lift_steps_up(lift, lift->config.lash_nm));
        lift->count = report->state == LINK_STATE_ADRIFT && link_epoch(lift->link) == 0
                          ? lift->count
                          : report->count;
    }
    lift->wanted_known = lift->wanted_known && same &&
                         lift_position_nm(lift, lift->count) == lift->wanted_nm;
    lift->board = board->id;
    lift->boot = board->boot;
    lift->board_known = true;
    lift->reported_gone = false;
    if (!lift->barred) {
        lift->why[0] = '\0';
        sync_link(lift);
    }
}

static void on_ready(void *owner)
{
    move_tell(owner);
}

static void bar(struct lift *lift, const char *why)
{
    lift->barred = true;
    snprintf(lift->why, sizeof lift->why, "%s", why);
    fprintf(stderr, "regletd: motion is barred: %s\n", why);
}

static void on_report(void *owner)
{
    struct lift *lift = owner;
    const struct link_report *report = link_report(lift->link);
    if (report->inputs & 1u << LINK_INPUT_STOP_CIRCUIT && !lift->barred) {
        bar(lift, "the stop circuit was opened");
    }
}

static void on_ended(void *owner, int32_t count)
{
    struct lift *lift = owner;
    move_ended(lift, count);
    if (lift->closed && !lift->move.active) {
        clock_set(lift->clock, &lift->close_timer, clock_now_ns(lift->clock));
    }
}

static const char *input_name(uint8_t input)
{
    static const char *const names[LINK_INPUTS] = {
        [LINK_INPUT_TOP_SWITCH] = "the top switch",
        [LINK_INPUT_BOTTOM_SWITCH] = "the bottom switch",
        [LINK_INPUT_TOUCH_PLATE] = "the touch plate",
        [LINK_INPUT_STOP_CIRCUIT] = "the stop circuit",
        [LINK_INPUT_ROUTER] = "the router's starting",
        [LINK_INPUT_CARRIAGE_LOCK] = "the carriage lock",
        [LINK_INPUT_MOTOR_SUPPLY] = "the loss of the motor's supply",
    };
    return input < LINK_INPUTS ? names[input] : "an input";
}

/* Who or what braked, in words. */
static void say_cause(const struct lift *lift, uint8_t why, char *text, size_t size)
{
    if (why >= LINK_WHY_INPUT) {
        snprintf(text, size, "%s", input_name((uint8_t)(why - LINK_WHY_INPUT)));
    } else if (lift->move.stopped_by[0] != '\0') {
        snprintf(text, size, "%s", lift->move.stopped_by);
    } else if (why == LINK_WHY_SILENCE) {
        snprintf(text, size, "the step generator, which heard nothing from the daemon");
    } else if (why == LINK_WHY_UNDERRUN) {
        snprintf(text, size, "the step generator, whose queue ran empty");
    } else {
        snprintf(text, size, "a brake signal on the cable that nobody asked for (noise)");
    }
}

static void on_stopped(void *owner, uint8_t why, int32_t rest_count, int32_t latched_count)
{
    struct lift *lift = owner;
    char cause[LIFT_SENTENCE / 2];
    char height[64];
    char sentence[LIFT_SENTENCE];
    (void)latched_count;
    play_moved(&lift->play, lift->count, rest_count,
               lift_steps_up(lift, lift->config.lash_nm));
    lift->count = rest_count;
    say_cause(lift, why, cause, sizeof cause);
    lift_say_height(lift, lift_carriage_nm(lift), height, sizeof height);
    snprintf(sentence, sizeof sentence, "Stopped by %s. The lift is at rest at %s.", cause, height);
    if (why >= LINK_WHY_INPUT && !lift->barred) {
        bar(lift, cause);
    }
    if (lift->move.active && !lift->move.ended) {
        lift->wanted_known = false;
        move_finish(lift, REASON_STOPPED, sentence);
    }
    if (lift->closed) {
        clock_set(lift->clock, &lift->close_timer, clock_now_ns(lift->clock));
    } else if (!lift->barred) {
        sync_link(lift);
    }
}

static void on_fault(void *owner, const char *sentence)
{
    struct lift *lift = owner;
    lift->table_zero = LIFT_LOST;
    bar(lift, sentence);
    move_finish(lift, REASON_LINK_FAULT, sentence);
}

static void on_gone(void *owner, const char *why)
{
    struct lift *lift = owner;
    if (!lift->reported_gone) {
        lift->reported_gone = true;
        fprintf(stderr, "regletd: no step generator: %s\n", why);
    }
    if (!lift->barred) {
        snprintf(lift->why, sizeof lift->why, "%s", why);
    }
    if (lift->move.active && !lift->move.ended) {
        char sentence[LIFT_SENTENCE];
        snprintf(sentence, sizeof sentence,
                 "The step generator went away in mid-move: %s. It brakes by itself when it is "
                 "left alone. Look where the bit stands before you go on.", why);
        lift->wanted_known = false;
        move_finish(lift, REASON_UNPLUGGED, sentence);
    }
}

static const struct link_events link_events = {on_found, on_ready,  on_report, on_ended,
                                               on_stopped, on_fault, on_gone};

static void on_done_timer(void *owner)
{
    move_tell(owner);
}

static void on_close_timer(void *owner)
{
    struct lift *lift = owner;
    clock_clear(lift->clock, &lift->done_timer);
    link_close(lift->link);
    lift->closed(lift->closed_owner);
}

static void fill_settings(const struct lift_config *config, struct link_config *link)
{
    int32_t low;
    int32_t high;
    /* The bounds lie a take-up outside the travel, so that a move may dip at its lower end. */
    if (!screw_steps(&config->screw, config->low_nm, &low) ||
        !screw_steps(&config->screw, config->high_nm, &high)) {
        low = high = 0;
    }
    *link = (struct link_config){.path = config->port_path, .baud = config->baud};
    link->setting[LINK_SET_BRAKE_RATE] = (uint32_t)config->brake_hz_s;
    link->setting[LINK_SET_BOUND_LOW] = (uint32_t)low;
    link->setting[LINK_SET_BOUND_HIGH] = (uint32_t)high;
    link->setting[LINK_SET_INPUT_BRAKE] = 1u << LINK_INPUT_STOP_CIRCUIT;
    link->setting[LINK_SET_DEBOUNCE_MS] = 5;
    link->setting[LINK_SET_SILENCE_MS] = 100;
}

struct lift *lift_create(uv_loop_t *loop, struct clock *clock,
                         const struct serial_operations *port, const struct lift_config *config)
{
    struct lift *lift = calloc(1, sizeof *lift);
    struct link_config link;
    if (!lift) {
        return NULL;
    }
    lift->config = *config;
    lift->clock = clock;
    lift->table_zero = LIFT_LOST;
    play_forget(&lift->play, lift_steps_up(lift, config->lash_nm));
    snprintf(lift->why, sizeof lift->why, "it has not been found yet");
    lift->done_timer = (struct clock_timer){.due = on_done_timer, .owner = lift};
    lift->close_timer = (struct clock_timer){.due = on_close_timer, .owner = lift};
    fill_settings(config, &link);
    lift->link = link_create(loop, clock, port, &link, &link_events, lift);
    if (!lift->link) {
        free(lift);
        return NULL;
    }
    return lift;
}

void lift_close(struct lift *lift, void (*closed)(void *owner), void *owner)
{
    bool moving = lift_stop(lift, "the daemon, which is shutting down");
    int64_t wait_ns = moving ? (int64_t)CLOSE_MS * CLOCK_NS_PER_MS : 0;
    lift->closed = closed;
    lift->closed_owner = owner;
    clock_set(lift->clock, &lift->close_timer, clock_now_ns(lift->clock) + wait_ns);
}

void lift_free(struct lift *lift)
{
    if (lift) {
        link_free(lift->link);
        free(lift);
    }
}

bool lift_all_clear(struct lift *lift, struct lift_refusal *refusal)
{
    const struct link_report *report = link_report(lift->link);
    if (report && report->inputs & 1u << LINK_INPUT_STOP_CIRCUIT) {
        lift_refuse(refusal, REASON_STOP_OPEN,
                    "The stop circuit is still open. Nothing can move. Close it, then say "
                    "all-clear again.");
        return false;
    }
    if (lift->barred) {
        lift->barred = false;
        lift->why[0] = '\0';
        sync_link(lift);
    }
    return true;
}

static enum lift_activity activity(const struct lift *lift)
{
    const struct link_report *report = link_report(lift->link);
    if (!report) {
        return LIFT_UNPLUGGED;
    }
    if (lift->move.active && !lift->move.ended) {
        return lift->move.stopped_by[0] != '\0' || report->state == LINK_STATE_BRAKING
                   ? LIFT_BRAKING
                   : LIFT_MOVING;
    }
    return lift->barred ? LIFT_BARRED : LIFT_STILL;
}

void lift_status(const struct lift *lift, struct lift_status *status)
{
    const struct link_report *report = link_report(lift->link);
    bool moving = lift->move.active && !lift->move.ended;
    int32_t count = moving && report ? report->count : lift->count;
    struct play play = lift->play;
    play_moved(&play, lift->count, count, lift_steps_up(lift, lift->config.lash_nm));
    int64_t zero_nm = lift->table_zero == LIFT_LOST ? 0 : lift->zero_nm;
    *status = (struct lift_status){
        .activity = activity(lift),
        .table_zero = lift->table_zero,
        .play_known = play.known,
        .play_taken_up = play.slack_steps == 0,
        .count = count,
        .position_nm = carriage_nm(lift, count, &play),
        .moving_to_known = moving,
        .moving_to_nm = moving ? lift->move.target_nm - zero_nm : 0,
        .age_ns = report ? clock_now_ns(lift->clock) - report->heard_ns : 0,
        .stop_open = report && report->inputs & 1u << LINK_INPUT_STOP_CIRCUIT,
        .board = lift->board,
        .boot = lift->boot,
        .barred_why = lift->why,
    };
    status->height_nm = status->position_nm - zero_nm;
}
