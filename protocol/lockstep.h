/* SPDX-License-Identifier: MIT */
/*
 * How the daemon and the practice lift share one simulated time, over a Unix stream socket of the
 * practice lift's. Both run on one machine, so the messages are plain structures.
 *
 * The practice lift speaks first, with an answer.
 *
 * When the daemon has nothing left to do it says until when, and how many bytes it has written to
 * the port. The practice lift takes those bytes, goes on to the earlier of that deadline and its
 * own next bytes, and answers with the new time and how many bytes it has written, which the
 * daemon reads before it does anything else.
 *
 * Bytes are counted from the port's latest opening: what was on its way when an adapter was pulled
 * out is lost, and nobody may wait for it. A daemon that has opened the port says so, by a higher
 * `opened`, and writes nothing until an answer repeats the number. While the port is shut, or
 * pulled out, neither side waits for bytes.
 *
 * The daemon may speak again before it is answered (a client has asked for something meanwhile);
 * its latest word counts. A word that has not seen the practice lift's latest answer is ignored.
 */
#ifndef REGLET_PROTOCOL_LOCKSTEP_H
#define REGLET_PROTOCOL_LOCKSTEP_H

#include <stdint.h>

struct lockstep_idle { /* daemon to practice lift */
    uint64_t answers_seen;
    int64_t deadline_ns; /* INT64_MAX: none */
    uint64_t opened;     /* how often the daemon has opened the port */
    uint64_t bytes_written;
};

struct lockstep_answer { /* practice lift to daemon */
    int64_t now_ns;
    uint64_t opened;
    uint64_t bytes_written;
};

#endif
