/* SPDX-License-Identifier: MIT */
/* The inside of the link module: its state, and what its files do for one another. */
#ifndef REGLET_DAEMON_LINK_TALK_H
#define REGLET_DAEMON_LINK_TALK_H

#include "daemon/link/link.h"
#include "daemon/link/plug.h"
#include "daemon/link/wire.h"

/*
 * All its times, in milliseconds, and why.
 *  POLL_MOVING   a lost line is repaired within this; four fit into the silence time
 *  POLL_STILL    how soon a restarted board is noticed at rest; after a poll without an answer the
 *                next ones follow as in motion, so that silence is known as soon
 *  LEAVE         nothing is read for so long behind a poll at rest: its answers take about that
 *                long, and are read in one go instead of in five. A cable that is pulled out is
 *                still told of within 10 ms
 *  MUTE          no line for so long, and to so many polls: no generator. Six of its answers in a
 *                row are lost by noise at one byte in 500 less than once in a million polls. The
 *                polls count because a daemon that was held up has not asked
 *  REOPEN        between two tries to open a port that is not there, at first, and at the most:
 *                each is twice the one before. What is plugged in is told by plug.h; these find
 *                what it cannot tell, such as another program that has closed the port
 *  BEGIN_AHEAD   motion queued before a leg begins: covers the worst delay of adapter and loop
 */
enum link_times {
    POLL_MOVING_MS = 25,
    POLL_STILL_MS = 250,
    LEAVE_MS = 8,
    MUTE_MS = 400,
    MUTE_POLLS = 6,
    REOPEN_MS = 250,
    REOPEN_MOST_MS = 4000,
    BEGIN_AHEAD_MS = 80,
};

/* How often outputs are said when they have changed, besides with every poll at rest. */
enum { OUT_REPEATS = 4 };

enum link_phase {
    PHASE_CLOSED = 1, /* no port */
    PHASE_GREETING,   /* hailing */
    PHASE_CALMING,    /* found it moving: braking */
    PHASE_FOUND,      /* at rest; waiting for the owner's link_sync */
    PHASE_SETTING,    /* agreeing on the settings that link_sync brought */
    PHASE_SYNCING,
    PHASE_READY,
    PHASE_LEG,
};

/* The generator holds at most half of it, so that the newest used one is there to compare with. */
enum { SENT_RING = 128, QUEUE_MOST = SENT_RING / 2 };

/* A stride that was sent, until it is known to be used up. */
struct sent {
    struct stride stride;
    uint16_t sum;      /* over all strides since the sync, up to this one */
    int32_t end_count; /* where the motor stands after it */
    uint64_t leg_ticks;
};

struct leg {
    link_source *source; /* NULL: all strides are made */
    void *source_owner;
    int32_t end_count;
    uint8_t awaited; /* input that ends it, plus one; or 0 */
    bool made;       /* at least one stride of it */
    bool begin_sent;
    bool running;       /* seen so */
    uint8_t begin_poll; /* the first poll that goes out after the begin */
    uint8_t last;       /* sequence of the newest stride made */
};

struct link {
    struct wire wire;
    struct link_config config;
    const struct link_events *events;
    void *owner;
    struct clock *clock;
    struct clock_timer poll_timer;
    struct plug plug;
    int64_t reopen_ms; /* until the next try */
    enum link_phase phase;

    struct link_board board;
    bool board_known;
    bool able_known;
    struct link_report report;
    bool at_known; /* since the greeting began */
    bool report_known;
    uint8_t at_poll; /* poll number of the last AT */
    uint16_t at_epoch;
    uint8_t poll_number; /* of the last poll sent */
    uint8_t unanswered;  /* polls since the last line, at most MUTE_POLLS */
    uint32_t setting[LINK_SETTINGS];
    uint32_t settings_sum; /* as reported */

    uint16_t epoch;      /* in which we talk */
    uint16_t sync_epoch; /* in which we want to talk */
    int32_t sync_count;
    uint8_t next_new;  /* sequence of the next stride to be made */
    uint8_t next_send; /* and of the next to be sent: behind it after a loss */
    uint8_t took;      /* last taken and last used, as told */
    uint8_t used;
    struct sent sent[SENT_RING];
    struct leg leg;
    bool braking;
    bool outputs_used; /* they were asked for, at least once */
    uint8_t outputs;
    int out_repeats;

    bool owe_brake;
    bool owe_hail;
    bool owe_sync;
    bool owe_poll;
    bool owe_begin;
    bool owe_out;
    uint8_t owe_setting; /* next to be sent; LINK_SETTINGS: none */
};

/* link.c */
void link_pump(struct link *link); /* sends what is owed, as far as there is room */
void link_poll_soon(struct link *link);
void link_regreet(struct link *link, const char *why);
void link_fault(struct link *link, const char *sentence);

/* hear.c */
void link_hear(struct link *link, const struct link_line *line);

/* feed.c */
void feed_reset(struct link *link); /* a new epoch: nothing is queued */
/* Sends what of the leg can be sent; false when the wire has no room. */
bool feed_send(struct link *link);
void feed_took(struct link *link, uint8_t took, uint8_t used, int32_t end_count, uint16_t sum);
void feed_used(struct link *link, uint8_t used);
void feed_want(struct link *link, uint8_t sequence);
/* A report says that the motor is at rest, or that it runs. */
void feed_report(struct link *link);

#endif
