/* SPDX-License-Identifier: MIT */
#include "daemon/lift/trust.h"

/* What an event does to one of the two. */
enum effect { KEEPS, MAKES_SURE, DOUBTS, LOSES, SETTLES_DOUBT, RETURNS };

static const struct {
    enum effect reference;
    enum effect table_zero;
    bool forgets_zero;  /* the position that was touched off means nothing any more */
    bool forgets_frame; /* the frame itself is another */
} table[TRUST_EVENTS] = {
    [TRUST_TOP_FOUND] = {MAKES_SURE, RETURNS, false, false},
    [TRUST_TOUCHED] = {KEEPS, MAKES_SURE, false, false},
    [TRUST_CONFIRMED] = {SETTLES_DOUBT, SETTLES_DOUBT, false, false},
    [TRUST_SAME_BOARD] = {KEEPS, KEEPS, false, false},
    [TRUST_AT_REST_DOUBT] = {DOUBTS, DOUBTS, false, false},
    [TRUST_IN_MOVE_LOSS] = {LOSES, LOSES, false, false},
    [TRUST_SCREW_CHANGED] = {LOSES, LOSES, true, true},
    [TRUST_BIT_CHANGED] = {KEEPS, LOSES, true, false},
};

static enum trust after(enum trust trust, enum effect effect, const struct trusted *trusted)
{
    switch (effect) {
    case MAKES_SURE:
        return TRUST_SURE;
    case DOUBTS:
        return trust == TRUST_SURE ? TRUST_UNCHECKED : trust;
    case LOSES:
        return TRUST_LOST;
    case SETTLES_DOUBT:
        return trust == TRUST_UNCHECKED ? TRUST_SURE : trust;
    case RETURNS:
        return trusted->zero_known && trusted->zero_in_frame ? TRUST_SURE : trust;
    default:
        return trust;
    }
}

void trust_apply(struct trusted *trusted, enum trust_event event)
{
    struct trusted before = *trusted;
    trusted->reference = after(before.reference, table[event].reference, &before);
    trusted->table_zero = after(before.table_zero, table[event].table_zero, &before);
    if (event == TRUST_TOUCHED) {
        trusted->zero_known = true;
        trusted->zero_in_frame = before.reference == TRUST_SURE;
    }
    if (event == TRUST_TOP_FOUND && trusted->table_zero == TRUST_SURE) {
        trusted->zero_in_frame = true; /* it kept its place beside a count that is placed now */
    }
    if (table[event].forgets_zero) {
        trusted->zero_known = trusted->zero_in_frame = false;
    }
    if (table[event].forgets_frame) {
        trusted->zero_in_frame = false;
    }
}

const char *trust_word(enum trust trust)
{
    static const char *const words[] = {
        [TRUST_SURE] = "sure", [TRUST_UNCHECKED] = "unchecked", [TRUST_LOST] = "lost"};
    return words[trust];
}
