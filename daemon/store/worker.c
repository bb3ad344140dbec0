/* SPDX-License-Identifier: MIT */
#include "daemon/store/worker.h"

#include <assert.h>
#include <errno.h>
#include <stdlib.h>

struct worker {
    uv_loop_t *loop;
    struct clock *clock;
    uv_work_t request;
    struct worker_job *first; /* under way, unless `calling` */
    struct worker_job *last;
    bool calling; /* in a `done` */
    bool freed;   /* while it was calling */
};

static void work(uv_work_t *request)
{
    struct worker_job *job = ((struct worker *)request->data)->first;
    errno = 0;
    job->worked = job->work(job);
    job->error = job->worked ? 0 : errno;
}

static void after_work(uv_work_t *request, int status);

static void start(struct worker *worker)
{
    clock_job_begin(worker->clock);
    if (uv_queue_work(worker->loop, &worker->request, work, after_work) != 0) {
        abort(); /* it refuses nothing but a missing `work` */
    }
}

static void after_work(uv_work_t *request, int status)
{
    struct worker *worker = request->data;
    struct worker_job *job = worker->first;
    (void)status; /* 0: nobody cancels */
    clock_job_end(worker->clock);
    worker->first = job->next;
    worker->calling = true;
    job->done(job, job->worked, job->error);
    worker->calling = false;
    if (worker->freed) {
        free(worker);
    } else if (worker->first != NULL) {
        start(worker);
    }
}

struct worker *worker_create(uv_loop_t *loop, struct clock *clock)
{
    struct worker *worker = calloc(1, sizeof *worker);
    if (worker != NULL) {
        worker->loop = loop;
        worker->clock = clock;
        worker->request.data = worker;
    }
    return worker;
}

void worker_do(struct worker *worker, struct worker_job *job)
{
    job->next = NULL;
    if (worker->first != NULL) {
        worker->last->next = job;
        worker->last = job;
        return;
    }
    worker->first = worker->last = job;
    if (!worker->calling) {
        start(worker);
    }
}

bool worker_busy(const struct worker *worker)
{
    return worker->first != NULL;
}

void worker_free(struct worker *worker)
{
    assert(worker == NULL || !worker_busy(worker));
    if (worker != NULL && worker->calling) {
        worker->freed = true;
    } else {
        free(worker);
    }
}
