/* SPDX-License-Identifier: MIT */
/*
 * The practice lift's program, shared by its few files: a machine (machine.h), a pseudo-terminal
 * that stands for the cable's end, and a control socket that is told faults and asked for truth.
 */
#ifndef REGLET_CONTRIB_PRACTICE_PRACTICE_H
#define REGLET_CONTRIB_PRACTICE_PRACTICE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "contrib/practice/machine.h"
#include "protocol/attributes.h"
#include "protocol/lockstep.h"

enum {
    PRACTICE_PATH_SIZE = 256,
    PRACTICE_SPEAKERS = 8, /* control connections at one time */
    PRACTICE_COMMAND_SIZE = 256,
    PRACTICE_LINGER_MS = 60000, /* it ends this long after the last connection */
};

/* The pseudo-terminal. */
struct port {
    int master_fd;
    char link_path[PRACTICE_PATH_SIZE]; /* a symbolic link to the terminal's name */
    bool connected;                     /* somebody has it open */
    uint64_t bytes_read;                /* since the daemon in lockstep opened it */
    uint64_t bytes_written;
};

/* Time shared with the daemon. */
struct lockstep {
    int listen_fd; /* -1: real time */
    int fd;        /* -1: no daemon */
    struct lockstep_idle idle;
    size_t idle_size; /* bytes of it that are there */
    bool idle_known;
    uint64_t answers;
    uint64_t opened; /* the daemon's latest opening of the port that is known here */
    bool held;
    uint64_t run_until;  /* ticks; WIRE_NEVER: no end */
    uint32_t rest_ms;    /* not 0: until the motor has been at rest this long */
    uint64_t rest_since; /* at the earliest */
};

struct speaker {
    int fd; /* -1: free */
    char text[PRACTICE_COMMAND_SIZE];
    size_t size;
    bool awaits_run; /* is answered when time is held again */
};

struct practice {
    struct machine machine;
    struct port port;
    struct lockstep lockstep;
    int control_fd;
    struct speaker speaker[PRACTICE_SPEAKERS];
    char folder[PRACTICE_PATH_SIZE];
    char board_path[PRACTICE_PATH_SIZE + 16];
    int64_t started_ns;   /* real time at tick 0 */
    int64_t turned_ns;    /* real time of the last look at it */
    int64_t last_user_ns; /* real time of the last connection */
    bool over;
};

/* port.c */
REGLET_MUST_CHECK bool port_open(struct port *port, const char *link_path);
void port_close(struct port *port);
/* Somebody has opened it: what was said before went nowhere, and bytes are counted from here. */
void port_opened(struct practice *practice);
/* Hands what the host has written to the machine, now. */
void port_hear(struct practice *practice);
/* Writes what the machine has for the host. */
void port_tell(struct practice *practice);

/* memory.c: what a real board and a real lift remember while nobody runs them. */
REGLET_MUST_CHECK bool memory_load(struct practice *practice, uint32_t latency_ms);
REGLET_MUST_CHECK bool memory_save(const struct practice *practice);

/* control.c */
/* Carries out one command and writes its answer (one line of JSON, without newline). */
void control_command(struct practice *practice, struct speaker *speaker, char *text, char *answer,
                     size_t answer_size);
/* The answer to `run`, and to `truth`. */
void control_truth(const struct practice *practice, char *answer, size_t answer_size);

/* step.c: shared time. */
void lockstep_accept(struct practice *practice);
void lockstep_hear(struct practice *practice);
/* Goes on as far as the daemon and the scenario allow. True when time has moved or was held. */
bool lockstep_advance(struct practice *practice);
/* Time was held and is let go: the daemon must say afresh that it has nothing left to do. */
void lockstep_release(struct practice *practice);

#endif
