/* SPDX-License-Identifier: MIT */
/* The inside of the lift module, shared by its files. */
#ifndef REGLET_DAEMON_LIFT_STATE_H
#define REGLET_DAEMON_LIFT_STATE_H

#include "daemon/lift/lift.h"
#include "daemon/link/link.h"
#include "daemon/motion/encode.h"
#include "daemon/motion/plan.h"
#include "daemon/motion/profile.h"

/* Where find-top is. */
enum search_stage {
    SEARCH_NONE = 0,
    SEARCH_CLEAR, /* down, off a switch that is closed at the start */
    SEARCH_SEEK,  /* up, to the switch */
    SEARCH_BACK,  /* down again */
    SEARCH_SLOW,  /* and up to it slowly: this one counts */
    SEARCH_LEAVE, /* down to the travel, by an ordinary move */
    PLATE_SEEK,   /* up, to the touch plate */
    PLATE_BACK,   /* down again */
    PLATE_SLOW,   /* and up to it slowly: these count */
    PLATE_LEAVE,  /* down from it, for good */
};

/* Kinds of motion, for what is allowed when (rules.c). */
enum move_kind {
    MOVE_HEIGHT, /* to a height over the table */
    MOVE_NUDGE,
    MOVE_HOLD,        /* hold-to-run towards the end of the travel */
    MOVE_HELD_HEIGHT, /* hold-to-run to a height */
    MOVE_HELD_NUDGE,  /* or by a distance */
    MOVE_FIND_TOP,
    MOVE_CHANGE,
    MOVE_PLATE,
    MOVE_GAUGE, /* to where the screw is measured, from either side */
    MOVE_KINDS,
};

/* The motion under way. */
struct lift_move {
    bool active;
    enum move_kind kind;
    bool marks; /* it goes to a mark */
    struct lift_place place;
    enum lift_dust dust; /* of that mark; 0: as it is */
    bool holding;        /* hold-to-run: where it ends is no height that anybody wanted */
    bool waiting;        /* its intent is on disk, and the link is being agreed on */
    bool unlocking;      /* the carriage's clamp is being loosened, which takes its time */
    bool unlocked;       /* and that time has passed */
    bool begun;          /* legs are fed */
    enum search_stage search;
    struct plan plan;  /* counts of the generator */
    int leg;           /* the one under way */
    int64_t target_nm; /* position */
    uint32_t preset;
    double rate_hz;
    struct profile profile;
    struct encoder encoder;
    lift_done *done; /* NULL: nobody waits */
    void *owner;
    char stopped_by[80]; /* who asked for the brake, if anybody did */
    bool checking;       /* its legs are run; the readout is waited for */
    bool checked;        /* and has told, or does not */
    bool corrected;      /* a correction by the readout is on its way, or was made */
    bool ended;          /* its outcome stands; it is told when it is kept and the link is ready */
    bool kept;
    bool reached;
    struct lift_refusal outcome;
};

/* What can be undone when it could not be kept. */
struct lift_zero {
    struct trusted trusted;
    int32_t origin;
    int64_t zero_nm;
    bool wanted_known; /* nudges go on from there, exactly */
    int64_t wanted_nm; /* position */
    uint32_t preset;   /* whose height that is, or 0 */
    uint32_t bit;      /* fitted, or 0 */
    int64_t riding_nm;
    enum lift_stage stage;
    unsigned asks;
    struct lift_place place;
    uint32_t before_bit; /* the one before, or 0 */
    int64_t before_nm;   /* the height that it stood at when it was taken out */
    bool corrected_known;
    int64_t corrected_nm;
    bool moved_known; /* by the last touch-off */
    int64_t moved_nm;
};

/* What the readout has told. Its readings are of rest only. */
enum { READOUT_GROUP = 4 };
struct lift_readout {
    enum lift_readout_state state;
    int64_t heard_ns; /* the last frame, whatever was in it; 0: none yet */
    int64_t read_ns;  /* the last whole group */
    unsigned misread; /* frames since the last whole group that made no sense */
    bool passed;      /* the first frame at this place: it may have been measured before */
    int count;        /* of the group that is being read: each near the first */
    int64_t group_nm[READOUT_GROUP];
    bool known;         /* since the lift came to rest */
    int64_t reading_nm; /* mean of the last whole group */
    bool before_known;  /* what it was before the motion */
    int64_t before_nm;
    int64_t before_position_nm; /* where the count had the carriage then */
    bool steady;                /* the last group was all alike */
    bool gauging;               /* the last motion was one to measure the screw */
    bool matched;               /* the offset is known */
    bool recalled;              /* from before the daemon's start, and not compared since */
    int64_t offset_nm;          /* reading less position of the carriage, where they agree */
    bool apart_known;
    int64_t apart_nm; /* carriage by the readout less carriage by the count */
    bool second_look; /* the first was beyond the tolerance */
    int64_t first_apart_nm;
    int64_t corrections_nm; /* sum of those since it was matched */
    double drift_nm;
    int64_t logged_drift_nm;
    int64_t logged_ns;
    struct clock_timer timer; /* patience at the end of a motion */
};

/* What the touch plate has told so far. */
enum { PLATE_TOUCHES = 3 };
struct lift_plate {
    bool seen_closed; /* by hand, at rest */
    bool seen_open;   /* and after that */
    int touches;
    int32_t count[PLATE_TOUCHES];
    int64_t offset_nm;
    int64_t most_nm;
};

/* What the outputs are to be. */
struct lift_outputs {
    enum lift_dust dust;
    bool dust_on;
    bool lock_set;
    struct clock_timer dust_timer; /* the end of the run-on */
    struct clock_timer lock_timer; /* the clamp is loose */
};

struct lift {
    struct lift_config config;
    struct lift_outputs outputs;
    struct clock *clock;
    struct link *link;
    struct keeper *keeper;
    struct lift_move move;

    int32_t count; /* the generator's, at rest */
    struct play play;
    struct lift_zero zero;
    struct lift_bit_facts bit;
    struct lift_plate plate;
    struct lift_readout readout;
    bool router_known;                 /* its sense was heard since the generator was found */
    bool router_on;                    /* as heard last, also before the daemon's start */
    struct clock_timer run_down_timer; /* its end is kept too */
    int64_t router_off_ns; /* when it was last switched off; 0: not since the daemon's start */
    int64_t moved_ns;      /* when the lift last moved or was told something */
    bool under_way;        /* as the journal has it: an intent, and no result yet */
    uint32_t board;
    uint32_t boot;
    bool board_known;
    uint16_t epoch; /* last used */
    bool barred;
    bool synced;           /* the link may be used; false while it is being agreed or journalled */
    bool top_open_allowed; /* the top switch does not brake: find-top is at work */
    char why[LIFT_SENTENCE];      /* barred, or nothing can be kept */
    char gone_why[LIFT_SENTENCE]; /* unplugged, barred or not */
    bool reported_gone;
    char asker[48]; /* of what was asked for last */
    struct lift_waiter *waiters;
    unsigned waiter_round;
    struct lift_change *changes; /* being kept */

    struct clock_timer retry_timer; /* the journal could not be written */
    struct clock_timer done_timer;
    struct clock_timer close_timer;
    bool down; /* the link is closed for good */
    void (*closed)(void *owner);
    void *closed_owner;
};

/* move.c */
enum { LIFT_PLAN_PERCENT = 80 }; /* of the acceleration that the motor bears */
void move_leg(struct lift *lift, uint8_t awaited);
void move_ended(struct lift *lift, int32_t count);
/* The outcome stands; it is kept, and told when the generator is ready or there is none. */
void move_finish(struct lift *lift, enum reason reason, const char *sentence);
void move_tell(struct lift *lift);
void move_reach(struct lift *lift); /* it is where it was told to be */
/* The link has been agreed on; a move may have waited for that. True when one has. */
bool move_link_ready(struct lift *lift);
void move_begin(struct lift *lift, const struct lift_move *move); /* its intent is kept first */
REGLET_MUST_CHECK bool move_plan(const struct lift *lift, int64_t target_nm,
                                 enum plan_finish finish, struct plan *plan,
                                 struct lift_refusal *refusal);
/* The same, coming down to it by the take-up at the least. */
REGLET_MUST_CHECK bool move_plan_from_above(const struct lift *lift, int64_t target_nm,
                                            struct plan *plan, struct lift_refusal *refusal);
double move_rate_hz(const struct lift *lift);
/* The clamp is loose, or has had the time for it. */
void move_unlocked(struct lift *lift);
/* Within the travel, as the generator counts. */
struct plan_limits move_limits(const struct lift *lift);
struct plan_limits move_limits_travel(const struct lift *lift); /* whatever the ring is */
/* Takes up the planned move, or tells that it is there already. */
void move_go(struct lift *lift, const struct lift_move *move);

/* rules.c */
/* May anything be told or asked of the lift at all? */
REGLET_MUST_CHECK bool rules_ready(const struct lift *lift, struct lift_refusal *refusal);
/* May a motion of this kind begin now? */
REGLET_MUST_CHECK bool rules_allow(struct lift *lift, enum move_kind kind,
                                   struct lift_refusal *refusal);
/* May it with this plan? What holds while the router turns. */
REGLET_MUST_CHECK bool rules_allow_plan(const struct lift *lift, const struct plan *plan,
                                        struct lift_refusal *refusal);
bool rules_turning(const struct lift *lift);
void rules_init(struct lift *lift);
void rules_close(struct lift *lift);
/* The inputs as reported; true when the motion under way must end for them. */
bool rules_heard(struct lift *lift);

/* Once more, when it is about to begin: does anything hinder it now? */
REGLET_MUST_CHECK bool rules_still_allow(const struct lift *lift, enum move_kind kind,
                                         struct lift_refusal *refusal);

/* outputs.c */
void outputs_init(struct lift *lift);
void outputs_close(struct lift *lift);
/* What follows from router, motion and hand; said to the generator where it has changed. */
void outputs_update(struct lift *lift);
/* Loosens the clamp for the move under way, which goes on by move_unlocked. */
void outputs_unlock(struct lift *lift);

/* plate.c */
bool plate_stopped(struct lift *lift, uint8_t why, int32_t latched_count);
void plate_ended(struct lift *lift);
void plate_synced(struct lift *lift);
void plate_begin(struct lift *lift);
void plate_heard(struct lift *lift); /* at rest: was it closed and opened by hand? */

/* readout.c */
void readout_init(struct lift *lift);
void readout_heard(struct lift *lift, uint32_t raw);
/* A report has come: is it silent? */
void readout_look(struct lift *lift);
/* A motion begins: what it reads from here on is of another place. */
void readout_leave(struct lift *lift);
/* The legs are run. True: the motion is not over yet, the readout is waited for. */
bool readout_awaited(struct lift *lift);
void readout_enter(struct lift *lift, enum lift_readout_state state);
/* What was found, with both figures, for the log. */
void readout_note(struct lift *lift, const char *event, const char *sentence);

/* readout_check.c */
/* The count means another place now: what the readout was matched with is void. */
void readout_unmatch(struct lift *lift);
/* What it was matched with when the daemon ended. */
void readout_recall(struct lift *lift, int64_t offset_nm, int64_t corrections_nm);
int32_t readout_slack_steps(const struct lift *lift); /* by which corrections may shift bounds */
/* There is a reading of the place at which the lift rests. */
void readout_compare(struct lift *lift);
/* The motion that has waited for it is over. */
void readout_end_check(struct lift *lift);

/* zero.c */
/* The bit stands at this height over what carries the work, when the lift is at `position_nm`. */
void lift_set_zero(struct lift *lift, int64_t position_nm, int64_t height_nm);
/* The zero is about to end: the height at which the fitted bit stands is remembered, if it has a
 * name and the height is sure. */
void lift_remember_bit(struct lift *lift);
/* The count at the top is position 0 from now on. */
void lift_place_top(struct lift *lift, int32_t top_count);

/* search.c */
void search_ended(struct lift *lift);
/* True when the stop belongs to the search, which has gone on. */
bool search_stopped(struct lift *lift, uint8_t why, int32_t latched_count);
void search_synced(struct lift *lift);

/* save.c */
typedef void lift_then(struct lift *lift, bool kept, const char *why);
void lift_save(struct lift *lift, lift_then *then);
/* Keeps what has been changed since *before, and tells `done`; takes it back if it cannot be. */
void lift_keep_change(struct lift *lift, const struct lift_zero *before, lift_done *done,
                      void *owner);
void lift_forget_owner(struct lift *lift, void *owner);
void lift_load(struct lift *lift, const struct journal_record *record, enum journal_found found);

/* lift.c */
REGLET_PRINTF(3, 4)
void lift_refuse(struct lift_refusal *refusal, enum reason reason, const char *format, ...);
int32_t lift_steps_up(const struct lift *lift, int64_t nm); /* a length in steps, rounded up */
int32_t lift_lash_steps(const struct lift *lift);
/* What the screw does beside its lead, or NULL where that cannot be known. */
const struct error_table *lift_table(const struct lift *lift);
int64_t lift_position_nm(const struct lift *lift, int32_t count);
/* The count nearest to a position. False when that is beyond all counts. */
REGLET_MUST_CHECK bool lift_count_at(const struct lift *lift, int64_t position_nm, int32_t *count);
/* The first count that is not below it (above), or not above it. */
int32_t lift_count_outside(const struct lift *lift, int64_t position_nm, bool above);
int64_t lift_carriage_nm(const struct lift *lift); /* at rest, its play counted in */
/* The same with the nut at `count`, in that play. */
int64_t lift_carriage_at_nm(const struct lift *lift, int32_t count, const struct play *play);
int64_t lift_high_nm(const struct lift *lift);
int64_t lift_low_nm(const struct lift *lift);
/* A position for people: a height when there is a table zero. */
void lift_say_height(const struct lift *lift, int64_t position_nm, char *text, size_t size);
void lift_say_length(int64_t nm, char *text, size_t size);
bool lift_input(const struct lift *lift, enum link_input input);
/* A new epoch, on disk before it is used; then the generator is synced in it. */
void lift_resync(struct lift *lift);
void lift_bar(struct lift *lift, const char *why);

#endif
