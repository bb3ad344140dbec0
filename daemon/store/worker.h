/* SPDX-License-Identifier: MIT */
/*
 * Disk work off the loop: jobs run one after the other, in the order given, in libuv's thread
 * pool; the loop never waits for a disk. Simulated time stands while a job is under way.
 *
 * A job's `done` returns before the next job's `work` begins, so one may prepare the other. All
 * calls are made in the loop's thread.
 */
#ifndef REGLET_DAEMON_STORE_WORKER_H
#define REGLET_DAEMON_STORE_WORKER_H

#include <stdbool.h>
#include <uv.h>

#include "daemon/clock/clock.h"
#include "protocol/attributes.h"

struct worker;

/* One job: belongs to whoever declares it; the worker's from worker_do until `done` is called,
 * which may free it, or give it again. `work` and `done` are set by the owner. */
struct worker_job {
    bool (*work)(struct worker_job *job); /* in the thread: may block, touches only its own data */
    void (*done)(struct worker_job *job, bool worked, int error); /* in the loop; error is the errno
                                                                     of a work that gave false */
    struct worker_job *next; /* this and the rest are the worker's */
    bool worked;
    int error;
};

/* NULL (errno) when memory is short. The loop and the clock are only borrowed. */
REGLET_MUST_CHECK struct worker *worker_create(uv_loop_t *loop, struct clock *clock);

/* Never calls back before it returns. */
void worker_do(struct worker *worker, struct worker_job *job);

/* A job is waiting or under way; no longer so in the last one's `done`. */
bool worker_busy(const struct worker *worker);

/* Only when it is not busy; also in the last job's `done`. NULL is allowed. */
void worker_free(struct worker *worker);

#endif
