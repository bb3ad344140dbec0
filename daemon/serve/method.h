/* SPDX-License-Identifier: MIT */
/* What the files of methods share; each file holds the methods of one subject. */
#ifndef REGLET_DAEMON_SERVE_METHOD_H
#define REGLET_DAEMON_SERVE_METHOD_H

#include "daemon/serve/session.h"

struct method {
    const char *name;
    const struct local_param *params;
    void (*carry_out)(struct call *call);
    bool for_all; /* a stranger may */
};

/* Each ends with a NULL name. */
extern const struct method methods_state[];       /* hello, status, watch, stop, all-clear */
extern const struct method methods_motion[];      /* to, by, find-top, recall */
extern const struct method methods_hold[];        /* hold, renew, release */
extern const struct method methods_day[];         /* change, fit, riding, correct, undo, under */
extern const struct method methods_zero[];        /* touch, here-top, confirm */
extern const struct method methods_calibration[]; /* calibration, calibrate */
extern const struct method methods_log[];         /* log, surface */
/* Answers nobody any more. */
void log_abandon(struct server *server, const struct call *call);
extern const struct method methods_stories[];
/* Hold-to-run to the next mark of the loaded story: that is where the lift is once it has reached
 * it, and not before. Else answers, and false. */
REGLET_MUST_CHECK bool stories_hold_next(struct call *call, lift_done *done, void *owner);
/* Where in the loaded story the lift is. */
void stories_add_status(cJSON *object, const struct server *server, const struct lift_status *s);
extern const struct method methods_display[]; /* display, keep-display */
const char *display_unit(const struct server *server);
extern const struct method methods_pair[]; /* match */
/* The bit before the fitted one, and how high it stood. */
void pair_add_status(cJSON *object, const struct server *server, const struct lift_status *s);
void things_prepare(void);                 /* before any of methods_shop is called */
extern const struct method methods_shop[]; /* keep, presets, forget */

extern const struct local_param method_no_params[];

/* status.c */
void method_brake(const struct call *call); /* what a stop does */
cJSON *method_status(const struct call *call);
/* The same printed, which is valid until the next call; NULL when memory is short. */
const char *status_text(struct server *server, size_t *size);
void status_text_free(struct status_text *kept);
cJSON *status_object(const struct server *server, const struct lift_status *status);
/* The little of it that a place is. */
cJSON *status_place(const struct lift_status *status);
const char *status_activity(enum lift_activity activity);
/* Adds a length in both its forms: NAME as text with its unit, and NAME_nm. */
void method_add_length(cJSON *object, const char *name, int64_t nm);
void method_length_text(int64_t nm, char *text, size_t size); /* for a sentence */

/* dispatch.c */
/* The length in parameter `at` (text with its unit) or the one behind it (_nm): just one of the
 * two. Else answers, and false. */
REGLET_MUST_CHECK bool method_length(struct call *call, int at, int64_t *length_nm);
/* Answers with LOCAL_INVALID_PARAMS: "Found ...; ... would do." What is quoted of the request may
 * hold anything, and goes in as printable ASCII. */
void method_invalid(struct call *call, const char *format, ...) REGLET_PRINTF(2, 3);
/* The same for the name of a thing or a story. */
void method_invalid_name(struct call *call, const char *name);
void method_refuse(struct call *call, enum reason reason, const char *sentence);
void method_done(void *owner, const struct lift_refusal *refusal); /* a lift_done */
/* Whose end brakes a motion: the call's while it waits, else the session's. */
struct method_asker {
    lift_done *done;
    void *owner;
};
/* False, and answered, when the request may not ask for a motion. `wait`: the parameter. */
REGLET_MUST_CHECK bool method_asker(struct call *call, const cJSON *wait,
                                    struct method_asker *asker);
/* A motion was asked for, and was taken or not. */
void method_asked(struct call *call, bool taken, const struct method_asker *asker,
                  const struct lift_refusal *refusal);

/* False, and answered with what to look at, unless the operator has said that all is clear. */
REGLET_MUST_CHECK bool method_said_clear(struct call *call, const cJSON *clear, const char *what);

/* fitted.c: what the shop knows of the bit in the collet */
void fitted_tell_lift(const struct server *server);
const char *fitted_name(const struct server *server, uint32_t bit);
/* The id of the bit that is named (absent: one without a name, 0). Else answers, and false. */
REGLET_MUST_CHECK bool fitted_find(struct call *call, const cJSON *name, uint32_t *bit);
/* The height at which all of the fitted bit is just below the table. Else answers, and false. */
REGLET_MUST_CHECK bool fitted_under(struct call *call, int64_t *height_nm);
/* Does that preset go with the bit in the collet and what the work rides on? Else answers. */
REGLET_MUST_CHECK bool fitted_allows_preset(struct call *call, const struct preset *preset);
/* How much higher its reference point is than what a block or plate meets. */
int64_t fitted_offset_nm(const struct server *server);

/* False, and answered, when the request has no id and so may not ask for a motion. */
REGLET_MUST_CHECK bool method_may_move(struct call *call);
/* The motion that `call` asked for was taken: its client is in charge. */
void method_in_charge(struct call *call);
/* Answers with the status once nothing moves. */
void method_await_rest(struct call *call);

#endif
