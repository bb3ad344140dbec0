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
};

/* The motion under way. */
struct lift_move {
    bool active;
    bool holding; /* hold-to-run: where it ends is no height that anybody wanted */
    bool waiting; /* its intent is on disk, and the link is being agreed on */
    bool begun;   /* its intent is on disk, and legs are fed */
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
};

struct lift {
    struct lift_config config;
    struct clock *clock;
    struct link *link;
    struct keeper *keeper;
    struct lift_move move;

    int32_t count; /* the generator's, at rest */
    struct play play;
    struct lift_zero zero;
    bool under_way; /* as the journal has it: an intent, and no result yet */
    uint32_t board;
    uint32_t boot;
    bool board_known;
    uint16_t epoch; /* last used */
    bool barred;
    bool synced;           /* the link may be used; false while it is being agreed or journalled */
    bool top_open_allowed; /* the top switch does not brake: find-top is at work */
    char why[LIFT_SENTENCE]; /* barred or unplugged */
    bool reported_gone;
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
/* The link has been agreed on; a move may have waited for that. True when one has. */
bool move_link_ready(struct lift *lift);
void move_begin(struct lift *lift, const struct lift_move *move); /* its intent is kept first */
REGLET_MUST_CHECK bool move_allowed(const struct lift *lift, struct lift_refusal *refusal);
REGLET_MUST_CHECK bool move_plan(const struct lift *lift, int64_t target_nm, struct plan *plan,
                                 struct lift_refusal *refusal);
double move_rate_hz(const struct lift *lift);
/* Within the travel, as the generator counts. */
struct plan_limits move_limits(const struct lift *lift);
/* Takes up the planned move, or tells that it is there already. */
void move_go(struct lift *lift, const struct lift_move *move);

/* zero.c */
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
int64_t lift_position_nm(const struct lift *lift, int32_t count);
int64_t lift_carriage_nm(const struct lift *lift); /* at rest, its play counted in */
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
