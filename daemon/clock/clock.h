/* SPDX-License-Identifier: MIT */
/*
 * The only place that asks for time, and the only owner of the loop's timers.
 *
 * Two sources: the system's monotonic clock, or a simulated time that the practice lift shares in
 * lockstep (protocol/lockstep.h). All else sees one kind of time: nanoseconds that never go back.
 */
#ifndef REGLET_DAEMON_CLOCK_CLOCK_H
#define REGLET_DAEMON_CLOCK_CLOCK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <uv.h>

#include "protocol/attributes.h"

enum { CLOCK_NS_PER_MS = 1000000 };

struct clock;

/* Belongs to whoever declares it, and must be cleared before it goes. Zeroed: not set. */
struct clock_timer {
    void (*due)(void *owner);
    void *owner;
    int64_t at_ns;
    bool set;
    struct clock_timer *next;
};

/* NULL (with errno) when the loop refuses. */
REGLET_MUST_CHECK struct clock *clock_open(uv_loop_t *loop);

/* Simulated time, from the socket at `path`; NULL with errno when nobody listens there. */
REGLET_MUST_CHECK struct clock *clock_open_lockstep(uv_loop_t *loop, const char *path);

/* Closes the handles; the memory goes with clock_free, once the loop has run out. */
void clock_close(struct clock *clock);
void clock_free(struct clock *clock);

int64_t clock_now_ns(const struct clock *clock);

/* The date and time of day for people and logs, as RFC 3339 has it, in UTC: "2026-01-31T09:30:00Z".
 * In lockstep it counts from 1970. 24 bytes are enough. */
void clock_wall_time(const struct clock *clock, char *text, size_t size);

/* Runs the loop until nothing is left in it. */
void clock_run(struct clock *clock);

/* Calls timer->due(timer->owner) once, at `at_ns` or as soon after as may be. Setting a timer that
 * is set moves it. */
void clock_set(struct clock *clock, struct clock_timer *timer, int64_t at_ns);
void clock_clear(struct clock *clock, struct clock_timer *timer);

/* The serial port tells that it was opened (before anything is written to it), every byte that
 * passes, and that it was closed: in lockstep, time goes on only when all bytes are where they
 * belong, but for those that come in while the port is left unread. Without meaning on the system's
 * clock. */
void clock_port_opened(struct clock *clock);
void clock_port_closed(struct clock *clock);
void clock_port_left(struct clock *clock, bool left);
void clock_wrote(struct clock *clock, size_t bytes);
void clock_read(struct clock *clock, size_t bytes);

/* Work that the loop waits for in another thread begins and ends; meanwhile simulated time stands.
 */
void clock_job_begin(struct clock *clock);
void clock_job_end(struct clock *clock);

#endif
