/* SPDX-License-Identifier: MIT */
/* Jobs off the loop: their order, their results, and what time does meanwhile. */
#include <check.h>
#include <errno.h>
#include <pthread.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "daemon/store/worker.h"
#include "protocol/lockstep.h"
#include "tests/suite.h"
#include "tests/unit/folder.h"

enum { JOBS = 500 };

/* The loop, the clock and the worker of one test. */
struct bench {
    uv_loop_t loop;
    struct clock *clock;
    struct worker *worker;
    pthread_t loop_thread;
    int given; /* in `work`, one after the other */
    int done;
    int at_work; /* never two */
};

struct numbered {
    struct worker_job job; /* first: a numbered is found by its job */
    struct bench *bench;
    int number;
    int again; /* times that it is to be given once more */
};

static void open_bench(struct bench *bench, struct clock *clock)
{
    ck_assert_ptr_nonnull(clock);
    bench->clock = clock;
    bench->loop_thread = pthread_self();
    bench->worker = worker_create(&bench->loop, bench->clock);
    ck_assert_ptr_nonnull(bench->worker);
}

static void open_real(struct bench *bench)
{
    memset(bench, 0, sizeof *bench);
    ck_assert_int_eq(uv_loop_init(&bench->loop), 0);
    open_bench(bench, clock_open(&bench->loop));
}

/* Nothing may be left in the loop. */
static void close_bench(struct bench *bench)
{
    clock_close(bench->clock);
    clock_run(bench->clock);
    clock_free(bench->clock);
    ck_assert_int_eq(uv_loop_close(&bench->loop), 0);
}

static bool work_numbered(struct worker_job *job)
{
    struct numbered *numbered = (struct numbered *)job;
    struct bench *bench = numbered->bench;
    bool alone = __atomic_add_fetch(&bench->at_work, 1, __ATOMIC_SEQ_CST) == 1;
    bool off_the_loop = !pthread_equal(pthread_self(), bench->loop_thread);
    bool in_order = bench->given == numbered->number && bench->done == numbered->number;
    if (numbered->number % 50 == 0) {
        (void)usleep(1000); /* so that the loop could overtake */
    }
    bench->given++;
    __atomic_sub_fetch(&bench->at_work, 1, __ATOMIC_SEQ_CST);
    errno = numbered->number;
    return alone && off_the_loop && in_order && numbered->number % 3 != 0;
}

static void done_numbered(struct worker_job *job, bool worked, int error)
{
    struct numbered *numbered = (struct numbered *)job;
    struct bench *bench = numbered->bench;
    ck_assert(pthread_equal(pthread_self(), bench->loop_thread));
    bool fails = numbered->number % 3 == 0;
    if (worked == fails || error != (fails ? numbered->number : 0) ||
        bench->done != numbered->number) {
        ck_abort_msg("job %d: worked %d, error %d, after %d", numbered->number, worked, error,
                     bench->done);
    }
    bench->done++;
    ck_assert(worker_busy(bench->worker) == (bench->done < JOBS || numbered->again > 0));
}

START_TEST(many_jobs_are_done_one_by_one_in_their_order_and_told_in_the_loop)
{
    static struct numbered jobs[JOBS];
    struct bench bench;
    open_real(&bench);
    ck_assert(!worker_busy(bench.worker));
    for (int i = 0; i < JOBS; i++) {
        jobs[i] = (struct numbered){
            .job = {.work = work_numbered, .done = done_numbered}, .bench = &bench, .number = i};
        worker_do(bench.worker, &jobs[i].job);
    }
    ck_assert_int_eq(bench.done, 0); /* never before worker_do has returned */
    ck_assert(worker_busy(bench.worker));
    clock_run(bench.clock);
    ck_assert_int_eq(bench.done, JOBS);
    ck_assert_int_eq(bench.given, JOBS);
    ck_assert(!worker_busy(bench.worker));
    worker_free(bench.worker);
    close_bench(&bench);
}
END_TEST

static bool work_nothing(struct worker_job *job)
{
    struct numbered *numbered = (struct numbered *)job;
    numbered->bench->given++;
    return true;
}

/* Gives itself again, and frees the worker in the last one's `done`. */
static void done_again(struct worker_job *job, bool worked, int error)
{
    struct numbered *numbered = (struct numbered *)job;
    struct bench *bench = numbered->bench;
    ck_assert(worked);
    ck_assert_int_eq(error, 0);
    bench->done++;
    if (numbered->again-- > 0) {
        worker_do(bench->worker, job);
        ck_assert(worker_busy(bench->worker));
        ck_assert_int_eq(bench->given, bench->done); /* it does not begin in here */
        return;
    }
    free(numbered);
    if (!worker_busy(bench->worker)) {
        worker_free(bench->worker);
        bench->worker = NULL;
    }
}

START_TEST(a_job_may_be_given_again_or_freed_in_its_done_and_the_worker_in_the_last)
{
    struct bench bench;
    open_real(&bench);
    for (int i = 0; i < 2; i++) {
        struct numbered *job = calloc(1, sizeof *job);
        ck_assert_ptr_nonnull(job);
        *job = (struct numbered){
            .job = {.work = work_nothing, .done = done_again}, .bench = &bench, .again = 20 + i};
        worker_do(bench.worker, &job->job);
    }
    clock_run(bench.clock);
    ck_assert_int_eq(bench.done, 43);
    ck_assert_ptr_null(bench.worker);
    close_bench(&bench);
}
END_TEST

START_TEST(a_worker_without_jobs_is_freed_and_none_too)
{
    struct bench bench;
    open_real(&bench);
    worker_free(bench.worker);
    worker_free(NULL);
    close_bench(&bench);
}
END_TEST

/* The loop keeps its timers while a job is long. */

struct ticking {
    struct worker_job job;
    struct clock_timer timer;
    struct bench *bench;
    int ticks;
    bool stop; /* the job is done */
};

static bool work_long(struct worker_job *job)
{
    (void)job;
    (void)usleep(60000);
    return true;
}

static void tick(void *owner)
{
    struct ticking *ticking = owner;
    ticking->ticks++;
    if (!ticking->stop) {
        clock_set(ticking->bench->clock, &ticking->timer,
                  clock_now_ns(ticking->bench->clock) + CLOCK_NS_PER_MS);
    }
}

static void done_long(struct worker_job *job, bool worked, int error)
{
    struct ticking *ticking = (struct ticking *)job;
    ck_assert(worked && error == 0);
    ticking->stop = true;
}

START_TEST(the_loop_goes_on_while_a_job_blocks)
{
    struct bench bench;
    open_real(&bench);
    struct ticking ticking = {.job = {.work = work_long, .done = done_long}, .bench = &bench};
    ticking.timer = (struct clock_timer){.due = tick, .owner = &ticking};
    worker_do(bench.worker, &ticking.job);
    tick(&ticking);
    clock_run(bench.clock);
    ck_assert(ticking.stop);
    ck_assert_int_ge(ticking.ticks, 3); /* of sixty, on a machine however slow */
    clock_clear(bench.clock, &ticking.timer);
    worker_free(bench.worker);
    close_bench(&bench);
}
END_TEST

/* In lockstep: a practice lift that lets time go on as soon as it is asked to. */

struct pacer {
    struct sockaddr_un address;
    int listener;
    int words;   /* in which the daemon said that it was idle */
    int at_work; /* such words while a job was under way */
    int *working;
};

static void *pace(void *self)
{
    struct pacer *pacer = self;
    int fd = accept(pacer->listener, NULL, NULL);
    struct lockstep_answer answer = {0, 0, 0};
    struct lockstep_idle idle;
    while (send(fd, &answer, sizeof answer, MSG_NOSIGNAL) == sizeof answer &&
           recv(fd, &idle, sizeof idle, MSG_WAITALL) == sizeof idle) {
        pacer->words++;
        pacer->at_work += __atomic_load_n(pacer->working, __ATOMIC_SEQ_CST);
        answer.now_ns =
            idle.deadline_ns == INT64_MAX ? answer.now_ns + CLOCK_NS_PER_MS : idle.deadline_ns;
    }
    (void)close(fd);
    return NULL;
}

struct slow_job {
    struct worker_job job;
    struct clock_timer timer;
    struct bench *bench;
    int working;
    int rounds;
    int64_t begun_ns;
    bool moved;       /* time went on meanwhile */
    uv_async_t keeps; /* the loop, between the jobs, as a socket does in the daemon */
};

static bool work_slow(struct worker_job *job)
{
    struct slow_job *slow = (struct slow_job *)job;
    __atomic_store_n(&slow->working, 1, __ATOMIC_SEQ_CST);
    (void)usleep(3000);
    __atomic_store_n(&slow->working, 0, __ATOMIC_SEQ_CST);
    return true;
}

static void done_slow(struct worker_job *job, bool worked, int error)
{
    struct slow_job *slow = (struct slow_job *)job;
    struct clock *clock = slow->bench->clock;
    ck_assert(worked && error == 0);
    slow->moved = slow->moved || clock_now_ns(clock) != slow->begun_ns;
    if (--slow->rounds > 0) {
        clock_set(clock, &slow->timer, clock_now_ns(clock) + 5 * CLOCK_NS_PER_MS);
    } else {
        worker_free(slow->bench->worker);
        uv_close((uv_handle_t *)&slow->keeps, NULL);
        clock_close(clock);
    }
}

static void begin_slow(void *owner)
{
    struct slow_job *slow = owner;
    slow->begun_ns = clock_now_ns(slow->bench->clock);
    worker_do(slow->bench->worker, &slow->job);
}

START_TEST(simulated_time_stands_while_a_job_is_under_way_and_goes_on_after_it)
{
    struct bench bench = {.worker = NULL};
    struct slow_job slow = {
        .job = {.work = work_slow, .done = done_slow}, .bench = &bench, .rounds = 10};
    slow.timer = (struct clock_timer){.due = begin_slow, .owner = &slow};
    struct pacer pacer = {.address = {.sun_family = AF_UNIX}, .working = &slow.working};
    char folder[64];
    make_own_folder(folder, sizeof folder, "/tmp", "pacer");
    (void)snprintf(pacer.address.sun_path, sizeof pacer.address.sun_path, "%s/time", folder);
    pacer.listener = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    ck_assert_int_eq(bind(pacer.listener, (struct sockaddr *)&pacer.address, sizeof pacer.address),
                     0);
    ck_assert_int_eq(listen(pacer.listener, 1), 0);
    pthread_t thread;
    ck_assert_int_eq(pthread_create(&thread, NULL, pace, &pacer), 0);

    ck_assert_int_eq(uv_loop_init(&bench.loop), 0);
    open_bench(&bench, clock_open_lockstep(&bench.loop, pacer.address.sun_path));
    struct ticking ticking = {.bench = &bench, .stop = true};
    struct clock_timer other = {.due = tick, .owner = &ticking}; /* just after the first begins */
    clock_set(bench.clock, &other, 5 * CLOCK_NS_PER_MS + 1);
    clock_set(bench.clock, &slow.timer, 5 * CLOCK_NS_PER_MS);
    ck_assert_int_eq(uv_async_init(&bench.loop, &slow.keeps, NULL), 0);
    clock_run(bench.clock);
    clock_free(bench.clock);
    ck_assert_int_eq(pthread_join(thread, NULL), 0);
    ck_assert_int_eq(slow.rounds, 0);
    ck_assert(!slow.moved);
    ck_assert_int_eq(ticking.ticks, 1);
    ck_assert_int_eq(pacer.at_work, 0);
    ck_assert_int_ge(pacer.words, 10);
    ck_assert_int_eq(slow.begun_ns, 50 * CLOCK_NS_PER_MS);
    (void)close(pacer.listener);
    (void)unlink(pacer.address.sun_path);
    (void)rmdir(folder);
    ck_assert_int_eq(uv_loop_close(&bench.loop), 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("worker");
    TCase *all = tcase_create("jobs");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, many_jobs_are_done_one_by_one_in_their_order_and_told_in_the_loop);
    tcase_add_test(all, a_job_may_be_given_again_or_freed_in_its_done_and_the_worker_in_the_last);
    tcase_add_test(all, a_worker_without_jobs_is_freed_and_none_too);
    tcase_add_test(all, the_loop_goes_on_while_a_job_blocks);
    tcase_add_test(all, simulated_time_stands_while_a_job_is_under_way_and_goes_on_after_it);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
