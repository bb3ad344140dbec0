/* SPDX-License-Identifier: MIT */
/*
 * How far the two truths may be believed: the reference (the count against the lift's own frame)
 * and the table zero (this fitting of this bit against the table). What each event does to them
 * is one table, in trust.c. Pure.
 */
#ifndef REGLET_DAEMON_LIFT_TRUST_H
#define REGLET_DAEMON_LIFT_TRUST_H

#include <stdbool.h>

#include "daemon/store/journal.h"

enum trust_event {
    TRUST_TOP_FOUND = 1, /* by the switch, or said to be there */
    TRUST_TOUCHED,       /* a touch-off */
    TRUST_CONFIRMED,     /* the operator has compared the height shown with the bit */
    TRUST_SAME_BOARD,    /* met again without a new start: it has kept count */
    TRUST_AT_REST_DOUBT, /* supply of generator or motor lost, or stop circuit opened, at rest */
    TRUST_IN_MOVE_LOSS,  /* the same in mid-move; a slip; an accepted sum that differs */
    TRUST_SCREW_CHANGED, /* the count means other lengths now */
    TRUST_BIT_CHANGED,   /* the fitting that the zero belonged to has ended */
    TRUST_EVENTS,
};

struct trusted {
    enum trust reference;
    enum trust table_zero;
    bool zero_known;    /* a position was touched off in this fitting, whatever may be doubted */
    bool zero_in_frame; /* and the reference was sure then: finding the top brings it back */
};

/* At the very first start. */
#define TRUSTED_NOTHING ((struct trusted){.reference = TRUST_LOST, .table_zero = TRUST_LOST})

void trust_apply(struct trusted *trusted, enum trust_event event);

const char *trust_word(enum trust trust);

#endif
