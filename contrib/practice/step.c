/* SPDX-License-Identifier: MIT */
#include "contrib/practice/practice.h"

#include <errno.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

static void drop(struct practice *p)
{
    close(p->lockstep.fd);
    p->lockstep.fd = -1;
    p->lockstep.idle_known = false;
}

static void answer(struct practice *p)
{
    struct lockstep *l = &p->lockstep;
    struct lockstep_answer message = {machine_ns(p->machine.now), l->opened, p->port.bytes_written};
    l->answers++;
    l->idle_known = false;
    if (send(l->fd, &message, sizeof message, MSG_NOSIGNAL) != sizeof message) {
        drop(p);
    }
}

void lockstep_accept(struct practice *p)
{
    int fd = accept4(p->lockstep.listen_fd, NULL, NULL, SOCK_CLOEXEC);
    if (fd < 0) {
        return;
    }
    if (p->lockstep.fd >= 0) {
        drop(p); /* the daemon before was killed */
    }
    port_hear(p); /* what it had written is on its way */
    p->lockstep.fd = fd;
    p->lockstep.idle_size = 0;
    p->lockstep.idle_known = false;
    p->lockstep.answers = 0;
    p->lockstep.opened = 0;
    answer(p); /* the daemon waits for this before it does anything */
}

/* The daemon waits for the answer before it writes: from here on both count alike. */
static void begin_count(struct practice *p)
{
    port_opened(p);
    p->lockstep.opened = p->lockstep.idle.opened;
    answer(p);
}

void lockstep_hear(struct practice *p)
{
    struct lockstep *l = &p->lockstep;
    for (;;) {
        char *at = (char *)&l->idle + l->idle_size;
        ssize_t size = recv(l->fd, at, sizeof l->idle - l->idle_size, MSG_DONTWAIT);
        if (size == 0 || (size < 0 && errno != EAGAIN && errno != EINTR)) {
            drop(p);
            return;
        }
        if (size < 0) {
            return;
        }
        l->idle_size += (size_t)size;
        l->idle_known = false;
        if (l->idle_size == sizeof l->idle) {
            l->idle_size = 0;
            if (l->idle.opened != l->opened) {
                begin_count(p);
            } else {
                l->idle_known = l->idle.answers_seen == l->answers;
            }
        }
    }
}

void lockstep_release(struct practice *p)
{
    if (p->lockstep.fd >= 0) {
        answer(p);
    }
}

static bool rested(const struct practice *p)
{
    const struct lockstep *l = &p->lockstep;
    uint64_t since = p->machine.last_edge;
    if (l->rest_ms == 0 || board_look(p->machine.board).moving) {
        return false;
    }
    since = since > l->rest_since ? since : l->rest_since;
    return p->machine.now >= since + (uint64_t)l->rest_ms * BOARD_TICKS_PER_MS;
}

/* As far as the next byte for the host, the daemon's deadline, or the end of the run. */
static void advance(struct practice *p, uint64_t deadline)
{
    struct machine *m = &p->machine;
    uint64_t until = deadline < p->lockstep.run_until ? deadline : p->lockstep.run_until;
    bool stop_at_byte = p->port.connected;
    if (p->lockstep.rest_ms == 0) {
        machine_advance(m, until, stop_at_byte);
        return;
    }
    while (m->now < until && !rested(p) && !(stop_at_byte && wire_due(&m->to_host) <= m->now)) {
        uint64_t slice = m->now + BOARD_TICKS_PER_MS;
        machine_advance(m, slice < until ? slice : until, stop_at_byte);
    }
}

static void hold_when_over(struct practice *p)
{
    struct lockstep *l = &p->lockstep;
    if (p->machine.now >= l->run_until || rested(p)) {
        l->held = true;
        l->rest_ms = 0;
        l->run_until = WIRE_NEVER;
    }
}

bool lockstep_advance(struct practice *p)
{
    struct lockstep *l = &p->lockstep;
    if (l->held) {
        return false;
    }
    if (l->fd < 0) {
        /* Without a daemon time goes on only as far as it is told to. */
        if (l->run_until == WIRE_NEVER && l->rest_ms == 0) {
            return false;
        }
        advance(p, WIRE_NEVER);
        port_tell(p);
        hold_when_over(p);
        return true;
    }
    if (!l->idle_known || (p->port.connected && p->port.bytes_read < l->idle.bytes_written)) {
        return false;
    }
    uint64_t deadline =
        l->idle.deadline_ns == INT64_MAX ? WIRE_NEVER : machine_ticks(l->idle.deadline_ns);
    if (deadline == WIRE_NEVER && l->run_until == WIRE_NEVER && l->rest_ms == 0) {
        /* Nothing is due anywhere: an hour at a time, so that the sum stays in range. */
        deadline = p->machine.now + UINT64_C(3600000) * BOARD_TICKS_PER_MS;
    }
    advance(p, deadline);
    port_tell(p);
    hold_when_over(p);
    answer(p);
    return true;
}
