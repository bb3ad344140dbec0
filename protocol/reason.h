/* SPDX-License-Identifier: MIT */
/*
 * Why the lift refuses, or why a motion ended early: a closed list. The word goes into
 * `data.reason` of an error with code LOCAL_REFUSED; protocol/LOCAL.md says what each means and
 * what to do, and is tested against this list.
 */
#ifndef REGLET_PROTOCOL_REASON_H
#define REGLET_PROTOCOL_REASON_H

#define REASON_LIST(X)                                                                             \
    X(REASON_ABOVE_TRAVEL, "above-travel")                                                         \
    X(REASON_ASK_RIDING, "ask-riding")                                                             \
    X(REASON_ASK_BIT, "ask-bit")                                                                   \
    X(REASON_BARRED, "barred")                                                                     \
    X(REASON_BELOW_TRAVEL, "below-travel")                                                         \
    X(REASON_BIT_OUT, "bit-out")                                                                   \
    X(REASON_BUSY, "busy")                                                                         \
    X(REASON_CARRIAGE_LOCKED, "carriage-locked")                                                   \
    X(REASON_COME_UP_FIRST, "come-up-first")                                                       \
    X(REASON_DISAGREES, "disagrees")                                                               \
    X(REASON_HEIGHT_UNKNOWN, "height-unknown")                                                     \
    X(REASON_HOLD_OVER, "hold-over")                                                               \
    X(REASON_IN_USE, "in-use")                                                                     \
    X(REASON_HOLD_FIRST, "hold-first")                                                             \
    X(REASON_LINK_FAULT, "link-fault")                                                             \
    X(REASON_NAME_TAKEN, "name-taken")                                                             \
    X(REASON_NOT_KEPT, "not-kept")                                                                 \
    X(REASON_NOT_PERMITTED, "not-permitted")                                                       \
    X(REASON_NOTHING_BEFORE, "nothing-before")                                                     \
    X(REASON_NO_SUCH_PRESET, "no-such-preset")                                                     \
    X(REASON_NO_SUCH_STORY, "no-such-story")                                                       \
    X(REASON_NO_SUCH_THING, "no-such-thing")                                                       \
    X(REASON_NO_TOP_SWITCH, "no-top-switch")                                                       \
    X(REASON_NO_DUST, "no-dust")                                                                   \
    X(REASON_NO_LOCK, "no-lock")                                                                   \
    X(REASON_NO_PLATE, "no-plate")                                                                 \
    X(REASON_NUDGE_TOO_FAR, "nudge-too-far")                                                       \
    X(REASON_WRONG_BIT, "wrong-bit")                                                               \
    X(REASON_SAY_CLEAR, "say-clear")                                                               \
    X(REASON_RECOMPUTE, "recompute")                                                               \
    X(REASON_READOUT_APART, "readout-apart")                                                       \
    X(REASON_READOUT_FROZEN, "readout-frozen")                                                     \
    X(REASON_NO_READOUT, "no-readout")                                                             \
    X(REASON_OTHER_RIDING, "other-riding")                                                         \
    X(REASON_NOT_UNDER, "not-under")                                                               \
    X(REASON_NO_SUCH_BIT, "no-such-bit")                                                           \
    X(REASON_ROUTER_RUNNING, "router-running")                                                     \
    X(REASON_RING, "ring")                                                                         \
    X(REASON_PLATE_SPREAD, "plate-spread")                                                         \
    X(REASON_PLATE_NOT_MET, "plate-not-met")                                                       \
    X(REASON_PLATE_CLOSED, "plate-closed")                                                         \
    X(REASON_PLATE_CHECK, "plate-check")                                                           \
    X(REASON_STOP_OPEN, "stop-open")                                                               \
    X(REASON_STORY_END, "story-end")                                                               \
    X(REASON_STOPPED, "stopped")                                                                   \
    X(REASON_TAKE_UP, "take-up")                                                                   \
    X(REASON_TOO_MANY, "too-many")                                                                 \
    X(REASON_TOP_NOT_FOUND, "top-not-found")                                                       \
    X(REASON_TOP_SWITCH_FITTED, "top-switch-fitted")                                               \
    X(REASON_TOP_UNKNOWN, "top-unknown")                                                           \
    X(REASON_UNCHECKED, "unchecked")                                                               \
    X(REASON_UNPLUGGED, "unplugged")                                                               \
    X(REASON_UNPOWERED, "unpowered")

#define REASON_ENUM(name, word) name,
enum reason { REASON_NONE = 0, REASON_LIST(REASON_ENUM) REASON_COUNT };
#undef REASON_ENUM

/* The word of a reason, never NULL. */
const char *reason_word(enum reason reason);

#endif
