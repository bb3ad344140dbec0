/* SPDX-License-Identifier: MIT */
/*
 * The one owner of the lift's position: count, play, table zero, trust, activity, and the move
 * under way. Everybody else asks.
 *
 * Positions are the lift's own, in nanometres from the count 0; heights are positions less that of
 * the table zero. Up is positive.
 */
#ifndef REGLET_DAEMON_LIFT_LIFT_H
#define REGLET_DAEMON_LIFT_LIFT_H

#include <stdbool.h>
#include <stdint.h>
#include <uv.h>

#include "daemon/clock/clock.h"
#include "daemon/lift/trust.h"
#include "daemon/link/serial.h"
#include "daemon/motion/plan.h"
#include "daemon/motion/screw.h"
#include "daemon/store/keeper.h"
#include "protocol/attributes.h"
#include "protocol/reason.h"

enum { LIFT_SENTENCE = 320 };

enum lift_activity {
    LIFT_STILL = 1,
    LIFT_MOVING,
    LIFT_BRAKING,
    LIFT_UNPOWERED, /* the motor is not energised */
    LIFT_BARRED,    /* motion refused until all-clear */
    LIFT_UNPLUGGED, /* no step generator */
};

/* Where a change of the bit is. */
enum lift_stage {
    LIFT_STAGE_NONE = 0,
    LIFT_STAGE_CHANGING, /* hands are at the collet: nothing moves until a bit is said to be in */
    LIFT_STAGE_FITTED,   /* a bit is in, its height unknown: hold-to-run only, once */
};

/* Where in a story the lift is. */
struct lift_place {
    uint32_t story; /* id, 0: none is loaded */
    uint16_t mark;  /* the one it is at, from 1; 0: before the first */
    uint16_t cut;   /* pieces that were counted there */
};

/* When the dust extraction runs. */
enum lift_dust { LIFT_DUST_AUTO = 1, LIFT_DUST_ON, LIFT_DUST_OFF }; /* auto: with the router */

/* One mark of a story, as far as it is the lift's. */
struct lift_mark {
    struct lift_place place; /* that the lift has when it is there */
    int64_t height_nm;
    bool router_off;     /* the router must not turn for it, whatever is allowed else */
    enum lift_dust dust; /* what the extraction does from there on; 0: as it did */
};

/* What the operator is to be asked before the next absolute height; bits. */
enum lift_ask {
    LIFT_ASK_BIT = 1,    /* is it the same bit still, untouched? */
    LIFT_ASK_RIDING = 2, /* does what carries the work still lie there? */
};

/* What may move while the router runs. */
enum lift_running { LIFT_RUNNING_NEVER = 1, LIFT_RUNNING_BETWEEN_CUTS, LIFT_RUNNING_PLUNGE };

/* What the readout does. */
enum lift_readout_state {
    LIFT_READOUT_ABSENT = 0,
    LIFT_READOUT_WAITS,   /* nothing was read yet, or not since the lift came to rest */
    LIFT_READOUT_READS,   /* what it tells is of now */
    LIFT_READOUT_SILENT,  /* it tells nothing */
    LIFT_READOUT_FROZEN,  /* it did not change though the lift moved, and has not since */
    LIFT_READOUT_GARBLED, /* what it tells makes no sense */
};

/* What the fitted bit allows; from the shop, afresh before each motion. */
struct lift_bit_facts {
    bool lowest_known; /* its ring stops it */
    int64_t lowest_nm; /* height over the TABLE that its reference point may have at the least */
    bool plunging;
};

/* The machine, as its owner describes it. */
struct lift_config {
    const char *port_path; /* borrowed, as long as the lift lives */
    int baud;
    struct screw screw;
    struct error_table table; /* of the screw, its positions below the top; without points: none */
    uint32_t screw_digest;    /* changes whenever one of the two does */
    double move_hz;           /* of moves to a height */
    double search_hz;         /* of find-top, and of all motion while the reference is lost */
    double hold_slow_hz;      /* hold-to-run */
    double hold_fast_hz;
    double brake_hz_s; /* the most that the motor bears; moves use 0.8 of it */
    int64_t lash_nm;
    int64_t take_up_nm;      /* lash and a margin */
    enum plan_finish finish; /* of moves to a height; others come up to their place */
    int64_t travel_nm;       /* down from the top margin */
    int64_t top_margin_nm;   /* of the highest position under the top */
    int64_t change_nm;       /* position of a change, below the top */
    enum lift_running while_running;
    int64_t run_down_ns;     /* it turns so long after its sense fell */
    int64_t plate_height_nm; /* of the touch plate's lower face, over what the work rides on */
    int64_t plate_spread_nm; /* that several touches may show */
    int64_t nudge_most_nm;   /* how far a nudge may go while the height is not sure */
    int64_t confirm_nm;      /* two full steps: as far as the rotor may settle by itself */
    uint8_t dust_output;     /* bit of the link's OUT, 0: none */
    int64_t dust_run_on_ns;  /* behind the router */
    uint8_t lock_output;     /* the carriage's clamp; the same */
    bool lock_on_holds;      /* it holds while its output is on */
    int64_t lock_wait_ns;    /* until it is loose */
    uint32_t inputs;         /* fitted ones, bits of enum link_input */
    uint32_t input_invert;   /* those that are active when low */
    uint32_t debounce_ms;
    uint32_t silence_ms;
    bool readout;            /* a two-wire scale is fitted */
    bool readout_checks;     /* the lead was measured: before that, nothing tells it from slip */
    bool readout_falls;      /* it reads less where the carriage is higher */
    int64_t readout_unit_nm; /* of its amount; 0: .01 mm or .0005 in, as each frame says */
    int64_t readout_tolerance_nm; /* readout and count agree within it */
    int64_t readout_bar_nm;       /* two full steps, half of what a slip is at the least */
};

/* What can be asked at any time. */
struct lift_status {
    enum lift_activity activity;
    enum trust reference;
    enum trust table_zero;
    bool height_known; /* present, or when unplugged the last that was known at rest */
    bool play_known;
    bool play_taken_up;
    int32_t count;
    int64_t position_nm; /* of the carriage: the count's, and what of the lash is open */
    int64_t height_nm;   /* only with a table zero that is not lost */
    bool reach_known;    /* heights can be asked for from lowest_nm to highest_nm */
    int64_t lowest_nm;
    int64_t highest_nm;
    struct lift_place place;
    bool wanted_known; /* the height that it was last told, exactly; to come back to */
    int64_t wanted_nm;
    bool moving_to_known;
    int64_t moving_to_nm; /* height, or position without a table zero */
    int64_t age_ns;       /* of the count; while moving it is as old as the last report */
    uint32_t bit;         /* fitted, or 0: none that is named */
    uint32_t before_bit;  /* the one before whose height was known then, or 0 */
    int64_t before_nm;    /* the height that it stood at when it was taken out */
    int64_t riding_nm;    /* thickness of what carries the work */
    enum lift_stage stage;
    unsigned asks;         /* enum lift_ask */
    bool router_turning;   /* it runs, or runs down; never without its sense */
    bool carriage_locked;  /* never without its sense */
    bool plate_closed;     /* the same */
    bool zero_moved_known; /* the last touch-off found the zero of the same fitting elsewhere */
    int64_t zero_moved_nm; /* by so much higher */
    bool corrected_known;  /* the last correction can be undone */
    int64_t corrected_nm;
    uint32_t preset; /* at whose height the lift stands since it was sent there; or 0 */
    bool in_motion;  /* asked for, and not told to be over */
    bool holding;    /* and it is hold-to-run */
    bool dust_fitted;
    bool dust_on;
    bool lock_fitted; /* a clamp that is switched by an output */
    bool lock_set;
    bool stop_open;
    enum lift_readout_state readout;
    bool readout_checks; /* motions are compared with it */
    bool reading_known;  /* the mean of the last ones, of the place where the lift is at rest */
    int64_t reading_nm;
    int64_t reading_age_ns;
    bool apart_known; /* how much higher the carriage is by the readout than by the count */
    int64_t apart_nm;
    int64_t drift_nm; /* the same in the long run, corrections counted in */
    uint32_t inputs;  /* fitted ones that have something to tell, bits of enum link_input */
    uint32_t board;
    uint32_t boot;
    const char *barred_why; /* while barred or unplugged; valid until the next turn of the loop */
};

/* Why something was refused or ended early. */
struct lift_refusal {
    enum reason reason;
    char sentence[LIFT_SENTENCE];
};

/* The end of what was asked for, kept on disk; `refusal` is NULL when it was done. Called once,
 * from the loop, never from within the call that asked. */
typedef void lift_done(void *owner, const struct lift_refusal *refusal);

/* Waits for the lift to be at rest; belongs to whoever declares it. */
struct lift_waiter {
    void (*rested)(void *owner);
    void *owner;
    unsigned round; /* one that begins to wait while others are told is told the next time */
    struct lift_waiter *next;
};

struct lift;

/* `record` and `found`: what the journal held at start. */
REGLET_MUST_CHECK struct lift *lift_create(uv_loop_t *loop, struct clock *clock,
                                           const struct serial_operations *port,
                                           const struct lift_config *config, struct keeper *keeper,
                                           const struct journal_record *record,
                                           enum journal_found found);
/* Brakes what moves, waits for rest (half a second at the most), closes the port, then calls
 * `closed`. */
void lift_close(struct lift *lift, void (*closed)(void *owner), void *owner);
void lift_free(struct lift *lift);

void lift_status(const struct lift *lift, struct lift_status *status);
uint32_t lift_bit(const struct lift *lift); /* that of the status, for itself */
const char *lift_port_path(const struct lift *lift);

/* To an absolute height over the table (for a preset: its id, else 0); by a distance from where it
 * was last told to be. When false, *refusal says why and `done` will not be called. */
REGLET_MUST_CHECK bool lift_to(struct lift *lift, int64_t height_nm, uint32_t preset,
                               lift_done *done, void *owner, struct lift_refusal *refusal);
REGLET_MUST_CHECK bool lift_by(struct lift *lift, int64_t distance_nm, lift_done *done, void *owner,
                               struct lift_refusal *refusal);

/* To the height of a mark; the lift is at it in the same moment in which it has reached it. */
REGLET_MUST_CHECK bool lift_to_mark(struct lift *lift, const struct lift_mark *mark,
                                    lift_done *done, void *owner, struct lift_refusal *refusal);
/* The place without a move: a story loaded or given up, a mark without a height, a piece counted.
 */
REGLET_MUST_CHECK bool lift_set_place(struct lift *lift, const struct lift_place *place,
                                      lift_done *done, void *owner, struct lift_refusal *refusal);

/* Hold-to-run: one leg to the end of the travel, which lift_stop ends. It needs no zero; without a
 * reference it is slow in any case. */
REGLET_MUST_CHECK bool lift_hold(struct lift *lift, bool up, bool fast, lift_done *done,
                                 void *owner, struct lift_refusal *refusal);

/* The same to a height, to a mark, or by a distance: what lift_to and lift_by allow, and what may
 * be done while the router turns, where the configuration lets it: straight up in one leg, slowly.
 */
REGLET_MUST_CHECK bool lift_hold_to(struct lift *lift, int64_t height_nm, lift_done *done,
                                    void *owner, struct lift_refusal *refusal);
REGLET_MUST_CHECK bool lift_hold_by(struct lift *lift, int64_t distance_nm, lift_done *done,
                                    void *owner, struct lift_refusal *refusal);
REGLET_MUST_CHECK bool lift_hold_to_mark(struct lift *lift, const struct lift_mark *mark,
                                         lift_done *done, void *owner,
                                         struct lift_refusal *refusal);

/* To where the collet can be reached. The table zero ends with it, and nothing moves any more until
 * lift_fit. */
REGLET_MUST_CHECK bool lift_change(struct lift *lift, lift_done *done, void *owner,
                                   struct lift_refusal *refusal);

/* That bit is in the collet now (0: one without a name). The table zero of the one before ends. */
REGLET_MUST_CHECK bool lift_fit(struct lift *lift, uint32_t bit, lift_done *done, void *owner,
                                struct lift_refusal *refusal);

/* What carries the work is so thick; 0: the table itself. Heights are over it from now on. */
REGLET_MUST_CHECK bool lift_ride(struct lift *lift, int64_t riding_nm, lift_done *done, void *owner,
                                 struct lift_refusal *refusal);

/* A test cut wants the bit higher by so much at the same height: the zero moves. And back. Only
 * when the lift may go to that height over the new zero: the caller sends it there next. */
REGLET_MUST_CHECK bool lift_correct(struct lift *lift, int64_t raise_nm, lift_done *done,
                                    void *owner, struct lift_refusal *refusal);
REGLET_MUST_CHECK bool lift_undo(struct lift *lift, lift_done *done, void *owner,
                                 struct lift_refusal *refusal);

/* Touches off by the plate: up to it within `most_nm`, back, and up to it slowly three times.
 * `offset_nm` is how high the bit's reference point is over what the plate meets. */
REGLET_MUST_CHECK bool lift_touch_plate(struct lift *lift, int64_t most_nm, int64_t offset_nm,
                                        lift_done *done, void *owner, struct lift_refusal *refusal);

void lift_set_bit_facts(struct lift *lift, const struct lift_bit_facts *facts);

/* The bit stands at `height_nm` now. */
REGLET_MUST_CHECK bool lift_touch(struct lift *lift, int64_t height_nm, lift_done *done,
                                  void *owner, struct lift_refusal *refusal);

/* Up to the top switch, slowly, twice; then to the highest position of the travel. */
REGLET_MUST_CHECK bool lift_find_top(struct lift *lift, lift_done *done, void *owner,
                                     struct lift_refusal *refusal);

/* The operator says that the lift stands at its mechanical top; only where no switch is fitted. */
REGLET_MUST_CHECK bool lift_here_top(struct lift *lift, lift_done *done, void *owner,
                                     struct lift_refusal *refusal);

/* The operator has compared the height shown with the bit; with *height_nm (may be NULL) he says
 * what he found, which must agree within two full steps. Ends `unchecked`. */
REGLET_MUST_CHECK bool lift_confirm(struct lift *lift, const int64_t *height_nm, lift_done *done,
                                    void *owner, struct lift_refusal *refusal);

/* The readout is compared with the count: where they agree within the tolerance, `unchecked` ends.
 * Whether it is the same bit is still to be asked. */
REGLET_MUST_CHECK bool lift_confirm_by_readout(struct lift *lift, lift_done *done, void *owner,
                                               struct lift_refusal *refusal);

/* Brakes; `who` goes into the answer of the motion that it ends. True when there was any. */
bool lift_stop(struct lift *lift, const char *who);

/* To a position of the lift on its own scale, come up to from below, or down to from above, the
 * lash taken up that way: to gauge the screw. Needs a sure reference; no table zero. */
REGLET_MUST_CHECK bool lift_approach(struct lift *lift, int64_t position_nm, bool from_above,
                                     lift_done *done, void *owner, struct lift_refusal *refusal);

/* Calls waiter->rested once, from the loop, when no motion is under way. */
void lift_await_rest(struct lift *lift, struct lift_waiter *waiter);
void lift_await_cancel(struct lift *lift, struct lift_waiter *waiter);

/* The preset of that id is about to go: the journal forgets it first. */
void lift_forget_preset(struct lift *lift, uint32_t preset, lift_done *done, void *owner);

/* Other values for screw, lash and speeds, when the lift is at rest; the rest of *config is as it
 * was. With another screw the count means other lengths, and position and zero are lost. What
 * follows from it is on disk, and the link agreed on anew, once lift_await_rest calls back. */
void lift_recalibrate(struct lift *lift, const struct lift_config *config);

/* Dust extraction by hand, or with the router; not remembered beyond the daemon's life. */
void lift_set_dust(struct lift *lift, enum lift_dust dust);

/* Is it at rest, with nothing under way or being kept? */
REGLET_MUST_CHECK bool lift_at_rest(const struct lift *lift, struct lift_refusal *refusal);

/* Motion may be asked for again. */
REGLET_MUST_CHECK bool lift_all_clear(struct lift *lift, struct lift_refusal *refusal);

/* Who asks for what comes next, for the log. */
void lift_asked_by(struct lift *lift, const char *who);

/* A line in the log: who asked for what, and what became of it. */
void lift_note(struct lift *lift, const char *event, const char *sentence);

/* Who asked (`owner`) has gone: what he waits for is not told to him any more, and a motion of his
 * is braked. */
void lift_abandon(struct lift *lift, void *owner);

#endif
