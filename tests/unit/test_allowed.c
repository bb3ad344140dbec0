/* SPDX-License-Identifier: MIT */
/*
 * What may be asked of the lift when: every command in every combination of trust, activity and
 * interlock, against a table written from what a person is promised, not from the code.
 *
 * The promises: nothing moves without a step generator, with the stop circuit open, while barred,
 * without supply, while something moves already, or when nothing can be kept; no motion against
 * the carriage lock; with the router turning nothing moves, and no hands or eyes are called to the
 * bit, but what its configuration lets go on; while the bit is out nothing moves at all, and
 * behind that only hold-to-run; heights want a zero that is sure and questions answered; a change
 * wants the lift's own frame; unsure, a nudge is a small one. Stop is never refused.
 */
#include <check.h>

#include "tests/suite.h"
#include "tests/unit/lift_alone.h"

/* What stands against a command, in the order in which it is to be said. */
enum column {
    UNPLUGGED,
    STOP_OPEN,
    BARRED,
    UNPOWERED,
    BUSY, /* moving, braking, or a change is being kept */
    DISK, /* nothing can be kept */
    LOCKED,
    TURNING,
    CHANGING, /* hands are at the collet */
    FITTED,   /* a bit is in, its height unknown */
    NO_TOP,   /* the reference is not sure */
    NO_ZERO,
    DOUBTED, /* the zero is unchecked */
    ASK_BIT,
    ASK_RIDING,
    COLUMNS,
};

static const enum reason said[COLUMNS] = {
    REASON_UNPLUGGED, REASON_STOP_OPEN,  REASON_BARRED,          REASON_UNPOWERED,
    REASON_BUSY,      REASON_NOT_KEPT,   REASON_CARRIAGE_LOCKED, REASON_ROUTER_RUNNING,
    REASON_BIT_OUT,   REASON_HOLD_FIRST, REASON_TOP_UNKNOWN,     REASON_HEIGHT_UNKNOWN,
    REASON_UNCHECKED, REASON_ASK_BIT,    REASON_ASK_RIDING,
};

/* clang-format off */
/*
 * x refused, . allowed. Of a turning router: b where the configuration says between-cuts, or plunge
 * and the bit plunges; p only the latter, d never, but said last where b would let it pass. f:
 * refused as too far for a nudge.
 */
static const struct row {
    const char *command;
    const char *cells; /* generator, stop, barred, supply, busy, disk; lock, router; out, fitted;
                          top; zero, doubt; bit?, riding? */
} table[] = {
    {"to",               "xxxxxx xx xx . xx xx"},
    {"to a mark",        "xxxxxx xx xx . xx xx"},
    {"correct",          "xxxxxx xx xx . xx xx"},
    {"undo",             "xxxxxx xx xx . xx xx"},
    {"nudge",            "xxxxxx xx xx . .. .."},
    {"far nudge",        "xxxxxx xx xx . ff .."},
    {"hold up",          "xxxxxx xx x. . .. .."},
    {"hold down",        "xxxxxx xx x. . .. .."},
    {"held to a height", "xxxxxx xb xx . xx xx"},
    {"held up",          "xxxxxx xb xx . .. .."},
    {"held up 1/4in",    "xxxxxx xp xx . .. .."},
    {"held down",        "xxxxxx xd xx . .. .."},
    {"find-top",         "xxxxxx xx xx . .. .."},
    {"change",           "xxxxxx xx x. x .. .."},
    {"touch plate",      "xxxxxx xx xx . .. .."},
    {"touch",            "xxxxxx .x xx . .. .."},
    {"fit",              "xxxxxx .x .. . .. .."},
    {"riding",           "xxxxxx .. .. . .. .."},
    {"confirm",          "xxxxxx .x .. . x. .."},
    {"here-top",         "xxxxxx .x .. . .. .."},
    {"place in a story", "....x. .. .. . .. .."},
    {"calibrate",        "....x. .. .. . .. .."},
    {"all-clear",        ".x.... .. .. . .. .."},
    {"stop",             "...... .. .. . .. .."},
    {"held to a mark",   "xxxxxx xb xx . xx xx"},
    {"held, router off", "xxxxxx xx xx . xx xx"}, /* to a mark that wants it so */
};
/* clang-format on */
enum { COMMANDS = sizeof table / sizeof *table };

/* One combination. */
struct state {
    enum lift_activity activity;
    bool stop_open, locked, kept, disk;
    int router; /* 0 at rest, 1 runs, 2 runs down, 3 nobody has heard yet */
    enum lift_running running;
    bool plunging;
    enum lift_stage stage;
    enum trust reference, zero;
    int asks; /* 0 none, 1 bit, 2 riding, 3 both, 4 it has stood for a night */
};

static void ignore_done(void *owner, const struct lift_refusal *refusal)
{
    (void)owner, (void)refusal;
}

static void set_inputs(const struct state *s)
{
    alone.plugged = s->activity != LIFT_UNPLUGGED;
    alone.report.inputs = (s->stop_open ? 1u << LINK_INPUT_STOP_CIRCUIT : 0) |
                          (s->locked ? 1u << LINK_INPUT_CARRIAGE_LOCK : 0) |
                          (s->router == 1 ? 1u << LINK_INPUT_ROUTER : 0) |
                          (s->activity == LIFT_UNPOWERED ? 1u << LINK_INPUT_MOTOR_SUPPLY : 0);
}

static void set_state(struct lift *lift, const struct state *s)
{
    static struct lift_change *const being_kept = (struct lift_change *)&alone;
    alone_reset(lift);
    set_inputs(s);
    lift->config.while_running = s->running;
    lift->bit.plunging = s->plunging;
    lift->barred = s->activity == LIFT_BARRED;
    lift->changes = s->kept ? being_kept : NULL;
    lift->retry_timer.set = s->disk;
    lift->router_on = s->router == 1;
    lift->router_known = s->router != 3;
    lift->router_off_ns = s->router == 2 ? ALONE_NOW_NS - INT64_C(9000) * CLOCK_NS_PER_MS : 0;
    lift->zero.stage = s->stage;
    lift->zero.trusted.reference = s->reference;
    lift->zero.trusted.table_zero = s->zero;
    lift->zero.riding_nm = s->asks != 0 ? 1000000 : 0;
    lift->zero.asks = s->asks < 4 ? (unsigned)s->asks : 0;
    lift->moved_ns =
        s->asks == 4 ? ALONE_NOW_NS - INT64_C(8) * 3600 * 1000 * CLOCK_NS_PER_MS : ALONE_NOW_NS;
    if (s->activity == LIFT_MOVING || s->activity == LIFT_BRAKING) {
        lift->move = (struct lift_move){
            .active = true, .begun = true, .plan = {.legs = 1, .end = {ALONE_COUNT + 100}}};
        snprintf(lift->move.stopped_by, sizeof lift->move.stopped_by, "%s",
                 s->activity == LIFT_BRAKING ? "somebody" : "");
    }
}

/* --- The commands --- */

/* Motions: 0 to 14 of the table. */
static bool ask_motion(struct lift *lift, int command, struct lift_refusal *r)
{
    static const struct lift_mark mark = {.place = {.story = 1, .mark = 1}, .height_nm = 3000000};
    switch (command) {
    case 0:
        return lift_to(lift, 3000000, 0, ignore_done, NULL, r);
    case 1:
        return lift_to_mark(lift, &mark, ignore_done, NULL, r);
    case 2:
        return lift_correct(lift, 100000, ignore_done, NULL, r);
    case 3:
        return lift_undo(lift, ignore_done, NULL, r);
    case 4:
        return lift_by(lift, -1000000, ignore_done, NULL, r);
    case 5:
        return lift_by(lift, 12800000, ignore_done, NULL, r);
    case 6:
        return lift_hold(lift, true, true, ignore_done, NULL, r);
    case 7:
        return lift_hold(lift, false, false, ignore_done, NULL, r);
    case 8:
        return lift_hold_to(lift, 3000000, ignore_done, NULL, r);
    case 9:
        return lift_hold_by(lift, 1000000, ignore_done, NULL, r);
    case 10:
        return lift_hold_by(lift, 6350000, ignore_done, NULL, r);
    case 11:
        return lift_hold_by(lift, -1000000, ignore_done, NULL, r);
    case 12:
        return lift_find_top(lift, ignore_done, NULL, r);
    case 13:
        return lift_change(lift, ignore_done, NULL, r);
    default:
        return lift_touch_plate(lift, 5000000, 0, ignore_done, NULL, r);
    }
}

static bool ask(struct lift *lift, int command, struct lift_refusal *r)
{
    static const struct lift_place place = {.story = 1};
    struct lift_mark mark = {
        .place = {.story = 1, .mark = 1}, .height_nm = 3000000, .router_off = command == 25};
    switch (command) {
    case 15:
        return lift_touch(lift, 0, ignore_done, NULL, r);
    case 16:
        return lift_fit(lift, 1, ignore_done, NULL, r);
    case 17:
        return lift_ride(lift, 9525000, ignore_done, NULL, r);
    case 18:
        return lift_confirm(lift, NULL, ignore_done, NULL, r);
    case 19:
        lift->config.inputs &= ~(1u << LINK_INPUT_TOP_SWITCH); /* else it is another refusal */
        return lift_here_top(lift, ignore_done, NULL, r);
    case 20:
        return lift_set_place(lift, &place, ignore_done, NULL, r);
    case 21:
        return lift_at_rest(lift, r);
    case 22:
        return lift_all_clear(lift, r);
    case 23:
        (void)lift_stop(lift, "a test");
        return true;
    case 24:
    case 25:
        return lift_hold_to_mark(lift, &mark, ignore_done, NULL, r);
    default:
        return ask_motion(lift, command, r);
    }
}

/* --- What the table says --- */

static bool stands_against(const struct state *s, enum column column)
{
    switch (column) {
    case UNPLUGGED:
        return s->activity == LIFT_UNPLUGGED;
    case STOP_OPEN:
        return s->stop_open;
    case BARRED:
        return s->activity == LIFT_BARRED;
    case UNPOWERED:
        return s->activity == LIFT_UNPOWERED;
    case BUSY:
        return s->activity == LIFT_MOVING || s->activity == LIFT_BRAKING || s->kept;
    case DISK:
        return s->disk;
    case LOCKED:
        return s->locked;
    case TURNING:
        return s->router != 0;
    case CHANGING:
        return s->stage == LIFT_STAGE_CHANGING;
    case FITTED:
        return s->stage == LIFT_STAGE_FITTED;
    case NO_TOP:
        return s->reference != TRUST_SURE;
    case NO_ZERO:
        return s->zero == TRUST_LOST;
    case DOUBTED:
        return s->zero == TRUST_UNCHECKED;
    case ASK_BIT:
        return (s->asks & 1) != 0 || s->asks == 4;
    default:
        return (s->asks & 2) != 0;
    }
}

/* May anything that is held go on while the router turns? */
static bool held_may(const struct state *s)
{
    return s->running == LIFT_RUNNING_BETWEEN_CUTS ||
           (s->running == LIFT_RUNNING_PLUNGE && s->plunging);
}

static enum reason cell_reason(const struct state *s, char cell, enum column column)
{
    switch (cell) {
    case '.':
        return REASON_NONE;
    case 'f':
        return REASON_NUDGE_TOO_FAR;
    case 'b':
    case 'd':
    case 'p':
        return held_may(s) ? REASON_NONE : said[column];
    default:
        return said[column];
    }
}

/* It has passed all else; is it the way that is refused? */
static enum reason way_reason(const struct state *s, const char *cells)
{
    bool plunge = s->running == LIFT_RUNNING_PLUNGE && s->plunging;
    bool refused = strchr(cells, 'd') || (strchr(cells, 'p') && !plunge);
    return s->router != 0 && refused ? REASON_ROUTER_RUNNING : REASON_NONE;
}

static enum reason expected(const struct state *s, const char *row)
{
    const char *cells = row;
    for (int column = 0; column < COLUMNS; column++) {
        cells += *cells == ' ';
        char cell = *cells++;
        enum reason reason = stands_against(s, (enum column)column)
                                 ? cell_reason(s, cell, (enum column)column)
                                 : REASON_NONE;
        if (reason != REASON_NONE) {
            return reason;
        }
    }
    ck_assert_int_eq(*cells, '\0');
    return way_reason(s, row);
}

/* --- Every combination --- */

/* A refusal changes nothing: but that a night is a question from then on. */
static void expect_untouched(const struct lift *lift, const struct lift_zero *before, bool moving,
                             const char *command)
{
    struct lift_zero now = lift->zero;
    now.asks = before->asks;
    ck_assert_msg(memcmp(&now, before, sizeof now) == 0, "%s", command);
    ck_assert_msg(alone.legs + alone.syncs + alone.brakes + alone.records == 0, "%s", command);
    ck_assert_msg(lift->move.active == moving, "%s", command);
}

/* Where nobody knows where the lift is, nothing is fast; nor is what rises by a turning cutter. */
static void expect_slow(const struct lift *lift, const struct state *s, const char *command)
{
    double most_hz = s->reference == TRUST_LOST ? lift->config.search_hz : lift->config.move_hz;
    most_hz = s->router != 0 ? lift->config.hold_slow_hz : most_hz;
    ck_assert_msg(lift->move.rate_hz <= most_hz, "%s at %g steps/s", command, lift->move.rate_hz);
}

static void expect_row(struct lift *lift, const struct state *s, int command)
{
    struct lift_refusal refusal = {.reason = REASON_NONE};
    struct lift_zero before;
    set_state(lift, s);
    memcpy(&before, &lift->zero, sizeof before);
    bool moving = lift->move.active;
    enum reason reason = expected(s, table[command].cells);
    bool allowed = ask(lift, command, &refusal);
    ck_assert_msg(allowed == (reason == REASON_NONE) && (allowed || refusal.reason == reason),
                  "%s: %s where the table has %s (activity %d, router %d, stage %d, reference %d, "
                  "zero %d, asks %d, locked %d)",
                  table[command].command, allowed ? "allowed" : reason_word(refusal.reason),
                  reason == REASON_NONE ? "allowed" : reason_word(reason), s->activity, s->router,
                  s->stage, s->reference, s->zero, s->asks, s->locked);
    if (!allowed) {
        ck_assert_int_gt((int)strlen(refusal.sentence), 20);
        expect_untouched(lift, &before, moving, table[command].command);
    } else if (!moving && lift->move.active) {
        expect_slow(lift, s, table[command].command);
    }
}

/* Without a generator no input is seen; a barred lift does not move. */
static bool can_be(const struct state *s)
{
    bool moving = s->activity == LIFT_MOVING || s->activity == LIFT_BRAKING;
    if (s->activity == LIFT_UNPLUGGED && (s->stop_open || s->locked || s->router != 0)) {
        return false;
    }
    return !(moving && (s->kept || s->disk || s->stage == LIFT_STAGE_CHANGING)) &&
           !(s->kept && s->disk);
}

static void each_trust(struct lift *lift, struct state *s)
{
    for (int i = 0; i < 3 * 3 * 3 * 5; i++) {
        s->reference = (enum trust)(TRUST_SURE + i % 3);
        s->zero = (enum trust)(TRUST_SURE + i / 3 % 3);
        s->stage = (enum lift_stage)(i / 9 % 3);
        s->asks = i / 27;
        for (int command = 0; can_be(s) && command < COMMANDS; command++) {
            expect_row(lift, s, command);
        }
    }
}

/* One activity a test: the tests' processes share the work. */
START_TEST(every_command_is_allowed_or_refused_as_the_table_has_it)
{
    struct lift *lift = alone_lift();
    ck_assert_ptr_nonnull(lift);
    for (int i = 0; i < 2 * 2 * 3 * 4; i++) {
        struct state s = {.activity = (enum lift_activity)_i,
                          .stop_open = i % 2 != 0,
                          .locked = i / 2 % 2 != 0,
                          .kept = i / 4 % 3 == 1,
                          .disk = i / 4 % 3 == 2,
                          .router = i / 12};
        for (int running = 0; running < (s.router != 0 ? 4 : 1); running++) {
            s.running = (enum lift_running)(running < 3 ? running + 1 : LIFT_RUNNING_PLUNGE);
            s.plunging = running == 3;
            each_trust(lift, &s);
        }
    }
    lift_free(lift);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("allowed");
    TCase *cases = tcase_create("allowed");
    tcase_set_timeout(cases, 300);
    tcase_add_loop_test(cases, every_command_is_allowed_or_refused_as_the_table_has_it, LIFT_STILL,
                        LIFT_UNPLUGGED + 1);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
