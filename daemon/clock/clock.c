/* SPDX-License-Identifier: MIT */
#include "daemon/clock/clock.h"

#include <errno.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <time.h>
#include <unistd.h>

#include "protocol/lockstep.h"

struct clock {
    uv_loop_t *loop;
    struct clock_timer *first; /* soonest first */
    uv_timer_t timer;          /* system time */
    int step_fd;               /* lockstep; -1 for system time */
    uv_poll_t step;
    int64_t now_ns; /* simulated */
    struct lockstep_answer answer;
    size_t answer_size;
    uint64_t answers;
    bool port_open;
    bool port_left; /* not read for a while, on purpose */
    uint64_t opened;
    uint64_t heard_opened;
    uint64_t wrote;
    uint64_t read;
    uint64_t to_read;
    struct lockstep_idle told;
    unsigned jobs;
    bool closing;
};

static bool stepped(const struct clock *clock)
{
    return clock->step_fd >= 0;
}

int64_t clock_now_ns(const struct clock *clock)
{
    return stepped(clock) ? clock->now_ns : (int64_t)uv_hrtime();
}

void clock_wall_time(const struct clock *clock, char *text, size_t size)
{
    time_t now = stepped(clock) ? (time_t)(clock->now_ns / 1000000000) : time(NULL);
    struct tm parts;
    if (!gmtime_r(&now, &parts) || strftime(text, size, "%Y-%m-%dT%H:%M:%SZ", &parts) == 0) {
        text[0] = '\0';
    }
}

/* Runs what is due; true when anything was. */
static bool run_due(struct clock *clock)
{
    bool any = false;
    int64_t now_ns = clock_now_ns(clock);
    while (clock->first && clock->first->at_ns <= now_ns) {
        struct clock_timer *timer = clock->first;
        clock->first = timer->next;
        timer->set = false;
        timer->due(timer->owner);
        any = true;
    }
    return any;
}

static void on_uv_timer(uv_timer_t *handle);

/* libuv counts whole milliseconds of the same clock: in the first of them that is not early. */
static void arm(struct clock *clock)
{
    if (stepped(clock) || clock->closing) {
        return;
    }
    if (!clock->first) {
        uv_timer_stop(&clock->timer);
        return;
    }
    int64_t at_ms = (clock->first->at_ns + CLOCK_NS_PER_MS - 1) / CLOCK_NS_PER_MS;
    uv_update_time(clock->loop);
    int64_t wait_ms = at_ms - (int64_t)uv_now(clock->loop);
    uv_timer_start(&clock->timer, on_uv_timer, wait_ms > 0 ? (uint64_t)wait_ms : 0, 0);
}

static void on_uv_timer(uv_timer_t *handle)
{
    struct clock *clock = handle->data;
    run_due(clock);
    arm(clock);
}

void clock_clear(struct clock *clock, struct clock_timer *timer)
{
    if (!timer->set) {
        return;
    }
    struct clock_timer **at = &clock->first;
    while (*at != timer) {
        at = &(*at)->next;
    }
    *at = timer->next;
    timer->set = false;
    arm(clock);
}

void clock_set(struct clock *clock, struct clock_timer *timer, int64_t at_ns)
{
    clock_clear(clock, timer);
    struct clock_timer **at = &clock->first;
    while (*at && (*at)->at_ns <= at_ns) {
        at = &(*at)->next;
    }
    timer->at_ns = at_ns;
    timer->set = true;
    timer->next = *at;
    *at = timer;
    if (clock->first == timer) {
        arm(clock);
    }
}

static void take_answer(struct clock *clock)
{
    clock->answer_size = 0;
    clock->answers++;
    if (clock->answer.now_ns > clock->now_ns) {
        clock->now_ns = clock->answer.now_ns;
    }
    clock->heard_opened = clock->answer.opened;
    if (clock->heard_opened == clock->opened) {
        clock->to_read = clock->answer.bytes_written;
    }
}

/* What there is of an answer; false when the practice lift is gone. */
static bool hear_answer(struct clock *clock)
{
    char *at = (char *)&clock->answer + clock->answer_size;
    size_t room = sizeof clock->answer - clock->answer_size;
    ssize_t size = recv(clock->step_fd, at, room, MSG_DONTWAIT);
    if (size > 0 && (clock->answer_size += (size_t)size) == sizeof clock->answer) {
        take_answer(clock);
    }
    return size > 0 || (size < 0 && (errno == EAGAIN || errno == EINTR));
}

static void on_step(uv_poll_t *handle, int status, int events)
{
    (void)events;
    if (status < 0 || !hear_answer(handle->data)) {
        uv_poll_stop(handle); /* the practice lift is gone; time stands from here on */
    }
}

static struct clock *create(uv_loop_t *loop)
{
    struct clock *clock = calloc(1, sizeof *clock);
    if (clock) {
        clock->loop = loop;
        clock->step_fd = -1;
        clock->told.answers_seen = UINT64_MAX;
    }
    return clock;
}

struct clock *clock_open(uv_loop_t *loop)
{
    struct clock *clock = create(loop);
    if (clock) {
        uv_timer_init(loop, &clock->timer);
        clock->timer.data = clock;
        uv_unref((uv_handle_t *)&clock->timer);
    }
    return clock;
}

static int connect_to(const char *path)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    if (strlen(path) >= sizeof address.sun_path) {
        errno = ENAMETOOLONG;
        return -1;
    }
    strcpy(address.sun_path, path);
    int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (fd >= 0 && connect(fd, (struct sockaddr *)&address, sizeof address) != 0) {
        int error = errno;
        close(fd);
        errno = error;
        fd = -1;
    }
    return fd;
}

/* The practice lift counts bytes from its first word on; nothing may be written before. */
static bool await_first(struct clock *clock)
{
    if (recv(clock->step_fd, &clock->answer, sizeof clock->answer, MSG_WAITALL) !=
        sizeof clock->answer) {
        return false;
    }
    take_answer(clock);
    return true;
}

struct clock *clock_open_lockstep(uv_loop_t *loop, const char *path)
{
    struct clock *clock = create(loop);
    if (!clock) {
        return NULL;
    }
    clock->step_fd = connect_to(path);
    if (clock->step_fd < 0 || !await_first(clock) ||
        uv_poll_init(loop, &clock->step, clock->step_fd) != 0) {
        free(clock);
        return NULL;
    }
    clock->step.data = clock;
    uv_poll_start(&clock->step, UV_READABLE, on_step);
    uv_unref((uv_handle_t *)&clock->step);
    return clock;
}

void clock_close(struct clock *clock)
{
    clock->closing = true;
    uv_close(stepped(clock) ? (uv_handle_t *)&clock->step : (uv_handle_t *)&clock->timer, NULL);
}

void clock_free(struct clock *clock)
{
    if (clock && stepped(clock)) {
        close(clock->step_fd);
    }
    free(clock);
}

/* Sends `opened` and waits for the answer that repeats it. */
static bool agree_on_opening(struct clock *clock)
{
    struct lockstep_idle idle = {.answers_seen = clock->answers, .opened = clock->opened};
    if (send(clock->step_fd, &idle, sizeof idle, MSG_NOSIGNAL) != sizeof idle) {
        return false;
    }
    while (clock->heard_opened != clock->opened) {
        struct pollfd fd = {.fd = clock->step_fd, .events = POLLIN};
        if ((poll(&fd, 1, -1) < 0 && errno != EINTR) || !hear_answer(clock)) {
            return false;
        }
    }
    return true;
}

void clock_port_opened(struct clock *clock)
{
    if (!stepped(clock)) {
        return;
    }
    clock->opened++;
    clock->wrote = clock->read = clock->to_read = 0;
    clock->port_open = true;
    clock->port_left = false;
    if (!agree_on_opening(clock)) {
        uv_poll_stop(&clock->step); /* the practice lift is gone; time stands from here on */
    }
}

void clock_port_closed(struct clock *clock)
{
    clock->port_open = false;
}

void clock_port_left(struct clock *clock, bool left)
{
    clock->port_left = left;
}

void clock_wrote(struct clock *clock, size_t bytes)
{
    clock->wrote += bytes;
}

void clock_read(struct clock *clock, size_t bytes)
{
    clock->read += bytes;
}

void clock_job_begin(struct clock *clock)
{
    clock->jobs++;
}

void clock_job_end(struct clock *clock)
{
    clock->jobs--;
}

/* Anything that the loop would find at once? Its watchers are known to the kernel after a turn. */
static bool loop_ready(const struct clock *clock)
{
    struct pollfd fd = {.fd = uv_backend_fd(clock->loop), .events = POLLIN};
    return poll(&fd, 1, 0) > 0;
}

static bool all_read(const struct clock *clock)
{
    return !clock->port_open || clock->port_left || clock->read >= clock->to_read;
}

static void tell_idle(struct clock *clock)
{
    struct lockstep_idle idle = {
        .answers_seen = clock->answers,
        .deadline_ns = clock->first ? clock->first->at_ns : INT64_MAX,
        .opened = clock->opened,
        .bytes_written = clock->wrote,
    };
    if (memcmp(&idle, &clock->told, sizeof idle) == 0) {
        return;
    }
    clock->told = idle;
    if (send(clock->step_fd, &idle, sizeof idle, MSG_NOSIGNAL) != sizeof idle) {
        uv_poll_stop(&clock->step); /* the practice lift is gone */
    }
}

static void run_stepped(struct clock *clock)
{
    while (!clock->closing) {
        do {
            uv_run(clock->loop, UV_RUN_NOWAIT);
        } while (loop_ready(clock) || (all_read(clock) && !clock->closing && run_due(clock)));
        if (clock->closing || !uv_loop_alive(clock->loop)) {
            break;
        }
        if (clock->jobs == 0 && all_read(clock)) {
            tell_idle(clock);
        }
        uv_run(clock->loop, UV_RUN_ONCE);
    }
    uv_run(clock->loop, UV_RUN_DEFAULT);
}

void clock_run(struct clock *clock)
{
    if (stepped(clock)) {
        run_stepped(clock);
    } else {
        uv_run(clock->loop, UV_RUN_DEFAULT);
    }
}
