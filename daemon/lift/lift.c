/* SPDX-License-Identifier: MIT */
#include "daemon/lift/lift.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/lift/state.h"
#include "protocol/length.h"

enum { CLOSE_MS = 500, RETRY_MS = 1000 };

void lift_refuse(struct lift_refusal *refusal, enum reason reason, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    refusal->reason = reason;
    vsnprintf(refusal->sentence, sizeof refusal->sentence, format, arguments);
    va_end(arguments);
}

/* A sentence that is too long is cut; none of ours is. */
static REGLET_PRINTF(2, 3) void say(char *sentence, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(sentence, LIFT_SENTENCE, format, arguments);
    va_end(arguments);
}

int32_t lift_steps_up(const struct lift *lift, int64_t nm)
{
    int32_t steps;
    if (!screw_steps(&lift->config.screw, nm, &steps)) {
        return INT32_MAX / 4;
    }
    return screw_position_nm(&lift->config.screw, steps) < nm ? steps + 1 : steps;
}

int32_t lift_lash_steps(const struct lift *lift)
{
    return lift_steps_up(lift, lift->config.lash_nm);
}

/* Without a reference nobody knows which place of the screw the count means. */
const struct error_table *lift_table(const struct lift *lift)
{
    return lift->zero.trusted.reference == TRUST_LOST ? NULL : &lift->config.table;
}

int64_t lift_position_nm(const struct lift *lift, int32_t count)
{
    return screw_true_position_nm(&lift->config.screw, lift_table(lift),
                                  (int64_t)count - lift->zero.origin);
}

bool lift_count_at(const struct lift *lift, int64_t position_nm, int32_t *count)
{
    int32_t steps;
    if (!screw_true_steps(&lift->config.screw, lift_table(lift), position_nm, &steps) ||
        steps > INT32_MAX / 2 || steps < INT32_MIN / 2) {
        return false;
    }
    *count = lift->zero.origin + steps;
    return true;
}

int32_t lift_count_outside(const struct lift *lift, int64_t position_nm, bool above)
{
    int32_t count;
    if (!lift_count_at(lift, position_nm, &count)) {
        return above ? INT32_MAX / 4 : -(INT32_MAX / 4);
    }
    int64_t at_nm = lift_position_nm(lift, count);
    return above ? count + (at_nm < position_nm) : count - (at_nm > position_nm);
}

/* Where the carriage is when the nut is at `count`: sinking, the nut is ahead of it by the lash. */
int64_t lift_carriage_at_nm(const struct lift *lift, int32_t count, const struct play *play)
{
    return lift_position_nm(lift, count + (play->known ? play->slack_steps : 0));
}

int64_t lift_carriage_nm(const struct lift *lift)
{
    return lift_carriage_at_nm(lift, lift->count, &lift->play);
}

/* With a reference, position 0 is the top. Without one the travel may be anywhere around. */
int64_t lift_high_nm(const struct lift *lift)
{
    if (lift->zero.trusted.reference == TRUST_LOST) {
        return lift_position_nm(lift, lift->count) + lift->config.travel_nm;
    }
    return -lift->config.top_margin_nm;
}

int64_t lift_low_nm(const struct lift *lift)
{
    if (lift->zero.trusted.reference == TRUST_LOST) {
        return lift_position_nm(lift, lift->count) - lift->config.travel_nm;
    }
    return -lift->config.top_margin_nm - lift->config.travel_nm;
}

void lift_say_length(int64_t nm, char *text, size_t size)
{
    char inch[LENGTH_TEXT_SIZE];
    char mm[LENGTH_TEXT_SIZE];
    size_t length = length_print(nm, LENGTH_STYLE_64, inch, sizeof inch);
    length_print(nm, LENGTH_STYLE_MM, mm, sizeof mm);
    const char *unit = length > 0 && inch[length - 1] == 'n' ? "" : "in";
    snprintf(text, size, "%s%s (%s)", inch, unit, mm);
}

void lift_say_height(const struct lift *lift, int64_t position_nm, char *text, size_t size)
{
    bool known = lift->zero.trusted.table_zero != TRUST_LOST;
    char length[2 * LENGTH_TEXT_SIZE];
    lift_say_length(known ? position_nm - lift->zero.zero_nm - lift->zero.riding_nm : position_nm,
                    length, sizeof length);
    snprintf(text, size, "%s%s", length, known ? "" : " on the lift's own scale");
}

bool lift_input(const struct lift *lift, enum link_input input)
{
    const struct link_report *report = link_report(lift->link);
    return report && report->inputs & 1u << input;
}

void lift_bar(struct lift *lift, const char *why)
{
    if (!lift->barred) {
        fprintf(stderr, "regletd: motion is barred: %s\n", why);
    }
    lift->barred = true;
    snprintf(lift->why, sizeof lift->why, "%s", why);
}

/* Bounds in the generator's counts: the travel, and beyond it what find-top needs; without a
 * reference, as far as the travel could go. */
static void fill_settings(const struct lift *lift, uint32_t setting[LINK_SETTINGS])
{
    const struct lift_config *config = &lift->config;
    bool lost = lift->zero.trusted.reference == TRUST_LOST || lift->top_open_allowed;
    int32_t travel = lift_steps_up(lift, config->travel_nm + config->top_margin_nm);
    int32_t low = lost ? lift->count - 2 * travel : move_limits_travel(lift).low;
    int32_t high = lost ? lift->count + 2 * travel : lift->zero.origin;
    uint32_t brakes = 1u << LINK_INPUT_STOP_CIRCUIT | 1u << LINK_INPUT_MOTOR_SUPPLY;
    if (!lift->top_open_allowed && !lift_input(lift, LINK_INPUT_TOP_SWITCH)) {
        brakes |= 1u << LINK_INPUT_TOP_SWITCH;
    }
    if (!lift_input(lift, LINK_INPUT_BOTTOM_SWITCH)) {
        brakes |= 1u << LINK_INPUT_BOTTOM_SWITCH; /* else nothing would lead away from it */
    }
    brakes |= 1u << LINK_INPUT_CARRIAGE_LOCK;
    if (config->while_running == LIFT_RUNNING_NEVER) {
        brakes |= 1u << LINK_INPUT_ROUTER;
    }
    setting[LINK_SET_BRAKE_RATE] = (uint32_t)config->brake_hz_s;
    setting[LINK_SET_BOUND_LOW] = (uint32_t)(low - readout_slack_steps(lift));
    setting[LINK_SET_BOUND_HIGH] = (uint32_t)(high > lift->count ? high : lift->count);
    setting[LINK_SET_INPUT_INVERT] = config->input_invert;
    setting[LINK_SET_INPUT_BRAKE] = brakes & config->inputs;
    setting[LINK_SET_DEBOUNCE_MS] = config->debounce_ms;
    setting[LINK_SET_SILENCE_MS] = config->silence_ms;
}

static void then_sync(struct lift *lift, bool kept, const char *why)
{
    uint32_t setting[LINK_SETTINGS];
    if (lift->closed || lift->barred) {
        return;
    }
    if (!kept) {
        /* An epoch that is not on disk must not be used. */
        snprintf(lift->why, sizeof lift->why, "what the lift must remember cannot be kept: %s",
                 why);
        clock_set(lift->clock, &lift->retry_timer,
                  clock_now_ns(lift->clock) + (int64_t)RETRY_MS * CLOCK_NS_PER_MS);
        return;
    }
    lift->why[0] = '\0';
    fill_settings(lift, setting);
    link_sync(lift->link, lift->epoch, lift->count, setting);
}

void lift_resync(struct lift *lift)
{
    uint16_t newest = link_epoch(lift->link) > lift->epoch ? link_epoch(lift->link) : lift->epoch;
    lift->epoch = (uint16_t)(newest + 1) == 0 ? 1 : (uint16_t)(newest + 1);
    lift->synced = false;
    lift_save(lift, then_sync);
}

static void on_retry(void *owner)
{
    lift_resync(owner);
}

/* Met again: the same board without a new start has kept count, whatever became of us. */
static void follow(struct lift *lift, const struct link_report *report)
{
    int32_t lash = lift_lash_steps(lift);
    int32_t before = lift->count;
    if (report->count != before) {
        play_moved(&lift->play, before, report->reversal_count, lash);
        play_moved(&lift->play, report->reversal_count, report->count, lash);
        lift->zero.wanted_known = false;
        readout_leave(lift);
    }
    lift->count = report->count;
    trust_apply(&lift->zero.trusted, TRUST_SAME_BOARD);
}

/* Another start, or another board: it has counted nothing meanwhile, and the rotor was let go. */
static void doubt(struct lift *lift, const struct link_report *report)
{
    if (lift->board_known) {
        bool moved = lift->under_way || lift->move.active;
        trust_apply(&lift->zero.trusted, moved ? TRUST_IN_MOVE_LOSS : TRUST_AT_REST_DOUBT);
        lift_note(lift, "power-lost",
                  moved ? "the step generator lost its supply in mid-move"
                        : "the step generator lost its supply at rest");
    }
    play_forget(&lift->play, lift_lash_steps(lift));
    lift->zero.wanted_known = false;
    lift->zero.asks |= LIFT_ASK_BIT;
    if (link_epoch(lift->link) != 0) {
        readout_unmatch(lift);
        lift->count = report->count; /* it has a count that we may not change */
    }
}

static void on_found(void *owner)
{
    struct lift *lift = owner;
    const struct link_board *board = link_board(lift->link);
    const struct link_report *report = link_report(lift->link);
    if (lift->board_known && lift->board == board->id && lift->boot == board->boot) {
        follow(lift, report);
    } else {
        doubt(lift, report);
    }
    lift->under_way = false;
    lift->router_known = false;
    lift->board = board->id;
    lift->boot = board->boot;
    lift->board_known = true;
    lift->reported_gone = false;
    if (!lift->barred) {
        lift->why[0] = '\0';
    }
    lift->top_open_allowed = false;
    if (rules_heard(lift)) {
        lift_note(lift, "found", "the router runs");
    }
    if (lift->config.inputs & ~board->inputs_present) {
        lift_bar(lift, "the configuration names inputs that this step generator does not have. "
                       "Mend the configuration, or take the right board, and start regletd again");
        return;
    }
    lift_resync(lift);
}

static void on_ready(void *owner)
{
    struct lift *lift = owner;
    lift->synced = true;
    if (move_link_ready(lift)) {
        return;
    }
    outputs_update(lift);
    if (lift->move.active && lift->move.begun && lift->move.search != SEARCH_NONE &&
        !lift->move.ended) {
        search_synced(lift);
    } else {
        move_tell(lift);
    }
}

static void on_report(void *owner)
{
    struct lift *lift = owner;
    if (lift_input(lift, LINK_INPUT_STOP_CIRCUIT) && !lift->barred) {
        lift_bar(lift, "the lift was stopped by the stop circuit");
    }
    if (rules_heard(lift)) {
        lift_stop(lift, "the router's starting");
    }
    outputs_update(lift);
    readout_look(lift);
}

static void on_ended(void *owner, int32_t count)
{
    struct lift *lift = owner;
    move_ended(lift, count);
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

/* The motor is let go by the stop circuit and by the loss of its supply, whatever was counted. */
static void stop_trust(struct lift *lift, uint8_t why, bool moved)
{
    if (why == LINK_WHY_INPUT + LINK_INPUT_STOP_CIRCUIT ||
        why == LINK_WHY_INPUT + LINK_INPUT_MOTOR_SUPPLY) {
        trust_apply(&lift->zero.trusted, moved ? TRUST_IN_MOVE_LOSS : TRUST_AT_REST_DOUBT);
        play_forget(&lift->play, lift_lash_steps(lift));
    } else if (moved && why == LINK_WHY_INPUT + LINK_INPUT_CARRIAGE_LOCK) {
        trust_apply(&lift->zero.trusted, TRUST_AT_REST_DOUBT); /* it may have lost steps */
    }
}

/* Nothing is wrong with these by themselves, only with motion while they are active. */
static bool is_interlock(uint8_t why)
{
    return why == LINK_WHY_INPUT + LINK_INPUT_ROUTER ||
           why == LINK_WHY_INPUT + LINK_INPUT_CARRIAGE_LOCK;
}

/* The new record, with the epoch to come, is the result of the motion too. */
static void after_stop(struct lift *lift, const char *sentence)
{
    lift_note(lift, "stopped", sentence);
    if (!lift->closed) {
        lift_resync(lift);
    }
    move_finish(lift, REASON_STOPPED, sentence);
    if (lift->closed && !lift->move.active) {
        clock_set(lift->clock, &lift->close_timer, clock_now_ns(lift->clock));
    }
}

static void on_stopped(void *owner, uint8_t why, int32_t rest_count, int32_t latched_count)
{
    struct lift *lift = owner;
    char cause[LIFT_SENTENCE / 2];
    char height[128];
    char sentence[LIFT_SENTENCE];
    bool moved = lift->move.active && lift->move.begun && !lift->move.ended;
    play_moved(&lift->play, lift->count, rest_count, lift_lash_steps(lift));
    lift->count = rest_count;
    if (search_stopped(lift, why, latched_count)) {
        return;
    }
    lift->under_way = false;
    lift->top_open_allowed = false;
    if (moved) {
        lift->zero.wanted_known = false;
    }
    if (!moved && is_interlock(why)) {
        lift_resync(lift); /* it is allowed at rest; the generator only has to be told so */
        return;
    }
    say_cause(lift, why, cause, sizeof cause);
    stop_trust(lift, why, moved);
    lift_say_height(lift, lift_carriage_nm(lift), height, sizeof height);
    say(sentence, "Stopped by %s. The lift is at rest at %s.", cause, height);
    if (why >= LINK_WHY_INPUT && why != LINK_WHY_INPUT + LINK_INPUT_MOTOR_SUPPLY &&
        !is_interlock(why)) {
        char barred_why[LIFT_SENTENCE];
        say(barred_why, "the lift was stopped by %s", cause);
        lift_bar(lift, barred_why);
    }
    after_stop(lift, sentence);
}

static void on_fault(void *owner, const char *sentence)
{
    struct lift *lift = owner;
    trust_apply(&lift->zero.trusted, TRUST_IN_MOVE_LOSS);
    lift_bar(lift, sentence);
    lift_note(lift, "link-fault", sentence);
    move_finish(lift, REASON_LINK_FAULT, sentence);
}

static void on_gone(void *owner, const char *why)
{
    struct lift *lift = owner;
    lift->synced = false;
    if (!lift->reported_gone) {
        lift->reported_gone = true;
        fprintf(stderr, "regletd: no step generator: %s\n", why);
    }
    snprintf(lift->gone_why, sizeof lift->gone_why, "%s", why);
    if (lift->move.active && !lift->move.ended) {
        char sentence[LIFT_SENTENCE];
        snprintf(sentence, sizeof sentence,
                 "The step generator went away in mid-move: %s. It brakes by itself when it is "
                 "left alone. Look where the bit stands before you go on.",
                 why);
        lift->move.kept = true; /* the intent stays on disk until it is met again */
        move_finish(lift, REASON_UNPLUGGED, sentence);
    }
}

static void on_scale(void *owner, uint32_t raw)
{
    readout_heard(owner, raw);
}

static const struct link_events link_events = {on_found,   on_ready, on_report, on_ended,
                                               on_stopped, on_fault, on_gone,   on_scale};

static void on_done_timer(void *owner)
{
    move_tell(owner);
}

static void on_close_timer(void *owner)
{
    struct lift *lift = owner;
    if (lift->down) {
        return;
    }
    lift->down = true;
    clock_clear(lift->clock, &lift->done_timer);
    clock_clear(lift->clock, &lift->retry_timer);
    outputs_close(lift);
    rules_close(lift);
    clock_clear(lift->clock, &lift->readout.timer);
    link_close(lift->link);
    lift->closed(lift->closed_owner);
}

struct lift *lift_create(uv_loop_t *loop, struct clock *clock, const struct serial_operations *port,
                         const struct lift_config *config, struct keeper *keeper,
                         const struct journal_record *record, enum journal_found found)
{
    struct lift *lift = calloc(1, sizeof *lift);
    struct link_config link = {.path = config->port_path, .baud = config->baud};
    if (!lift) {
        return NULL;
    }
    lift->config = *config;
    lift->clock = clock;
    lift->keeper = keeper;
    snprintf(lift->gone_why, sizeof lift->gone_why, "it has not been found yet");
    lift->done_timer = (struct clock_timer){.due = on_done_timer, .owner = lift};
    lift->close_timer = (struct clock_timer){.due = on_close_timer, .owner = lift};
    lift->retry_timer = (struct clock_timer){.due = on_retry, .owner = lift};
    lift->moved_ns = clock_now_ns(clock);
    outputs_init(lift);
    rules_init(lift);
    readout_init(lift);
    lift_load(lift, record, found);
    lift->link = link_create(loop, clock, port, &link, &link_events, lift);
    if (!lift->link) {
        free(lift);
        return NULL;
    }
    return lift;
}

void lift_close(struct lift *lift, void (*closed)(void *owner), void *owner)
{
    bool moving = lift->move.begun && lift_stop(lift, "the daemon, which is shutting down");
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
