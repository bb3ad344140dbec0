/* SPDX-License-Identifier: MIT */
/*
 * What the daemon said about the lift, as text for somebody with gloves and a dust mask: the
 * height first, then how far it may be believed, what the lift does, and what to do next. No I/O.
 *
 * A height that is not the present one is never shown as if it were.
 */
#ifndef REGLET_CLIENTS_SHOW_H
#define REGLET_CLIENTS_SHOW_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "clients/common/say.h"
#include "protocol/attributes.h"
#include "protocol/length.h"

enum {
    SHOW_OLD_MS = 1000, /* the generator is asked four times a second, even at rest */
    SHOW_LINE_SIZE = 160,
};

/* A status, read. Words are borrowed from it, and "" where absent. */
struct show_lift {
    bool practice;
    const char *activity;
    const char *reference; /* how far the place in the lift's own travel may be believed */
    const char *trust;     /* of the table zero */
    const char *play;
    const char *preset; /* the kept height at which it stands */
    const char *why;    /* while barred or unplugged, or when something else is wrong */
    bool stop_open;
    bool height_known; /* there is a height, or a last one, and the table zero is not lost */
    int64_t height_nm;
    bool going_known; /* the height it goes to */
    int64_t going_nm;
    bool position_known; /* of the lift on its own scale */
    int64_t position_nm;
    bool left_known; /* without a height: how far it still goes; below zero is down */
    int64_t left_nm;
    int64_t end_nm;    /* where that ends, on the lift's own scale */
    int64_t age_ms;    /* 0 where absent */
    const char *bit;   /* the name of the fitted one */
    const char *stage; /* of a change of the bit */
    bool riding_known; /* something lies on the table, and all heights are over it */
    int64_t riding_nm;
    bool zero_moved_known; /* by how much higher the last touch-off found the zero */
    int64_t zero_moved_nm;
    bool corrected_known; /* by how much the last correction raised the bit */
    int64_t corrected_nm;
    bool asks_bit; /* what the operator is asked before the next height */
    bool asks_riding;
    bool router_turning;
    bool carriage_locked; /* by another clamp than the lift's own, which it loosens itself */
    bool dust_on;         /* the extraction runs */
    bool plate_closed;    /* the touch plate's contact */
    const cJSON *story;   /* that is loaded; see stories.h. NULL: none */
    bool readout_checks;  /* moves are compared with it */
    const char *unit;     /* how the shop has heights shown */
    const char *readout;  /* what the digital scale does; "" where none is fitted */
};

/* A touch-off that moved the zero further than this means another thing than the same bit: .003 in
 * (protocol/LOCAL.md). */
#define SHOW_SLIPPED_NM INT64_C(76200)

/* False when it is no status: no object, or without activity and table zero. Members that are not
 * known here are ignored, missing ones are not made up. */
REGLET_MUST_CHECK bool show_read(const cJSON *status, struct show_lift *lift);

/* Takes over what a `position` notification tells. The lift keeps the rest of its status. */
void show_move(const cJSON *position, struct show_lift *lift);

/* Moving or braking. */
bool show_in_motion(const struct show_lift *lift);

/* The height is there, it is of now, and nothing has to be said about it. */
bool show_is_plain(const struct show_lift *lift);

/* It stands still at a height that is of now: the bit can be compared with it. */
bool show_stands(const struct show_lift *lift);

/* The line that says where the bit is, with its newline; and below it what the height is over,
 * where that is not the table. */
void show_head(struct say *say, const struct show_lift *lift, enum length_style style);

/* What stands below: trust, activity, what to do next. */
void show_details(struct say *say, const struct show_lift *lift, enum length_style style);

/* Both: all that the bare `reglet` says. */
void show_status(struct say *say, const struct show_lift *lift, enum length_style style);

/* Behind a motion that is over: the head, and the details only where something is to be said. */
void show_rest(struct say *say, const struct show_lift *lift, enum length_style style);

/* Behind what was to find the lift's own top: whether that is known now, then as show_rest. */
void show_top(struct say *say, const struct show_lift *lift, enum length_style style);

/* Behind a touch-off: by how much the zero moved, and what that means; then as show_rest. */
void show_touched(struct say *say, const struct show_lift *lift, enum length_style style);

/* All that matters on one line, without a newline: for a list of what changes. */
void show_change(struct say *say, const struct show_lift *lift, enum length_style style);

/* One line without newline, at most `columns` long, that is drawn again and again while the lift
 * moves: where it is and where it goes. */
void show_progress(const struct show_lift *lift, enum length_style style, size_t columns, char *out,
                   size_t out_size);

#endif
