/* SPDX-License-Identifier: MIT */
/*
 * The conversation with the step generator, as protocol/LINK.md says: greeting, settings, epochs,
 * the feeding of legs, polls that repair any loss, the brake.
 *
 * It opens the port by itself and again when it was lost. It decides nothing about the lift: when
 * a generator is found, its owner says at which count to go on (link_sync).
 */
#ifndef REGLET_DAEMON_LINK_LINK_H
#define REGLET_DAEMON_LINK_LINK_H

#include <stdbool.h>
#include <stdint.h>
#include <uv.h>

#include "daemon/clock/clock.h"
#include "daemon/link/serial.h"
#include "protocol/attributes.h"
#include "protocol/link.h"
#include "protocol/stride.h"

/* What the board says of itself. */
struct link_board {
    uint32_t major;
    uint32_t minor;
    uint32_t id;
    uint32_t boot;
    uint32_t tick_hz;
    uint32_t queue; /* strides that it holds */
    uint32_t inside_min_ticks;
    uint32_t first_min_ticks;
    uint32_t inputs_present;
};

/* What it last reported. */
struct link_report {
    enum link_state state;
    int32_t count;
    int32_t reversal_count; /* where it last changed direction */
    uint32_t inputs;
    uint32_t late; /* steps that it could not make in time, since its boot */
    int64_t heard_ns;
};

struct link_events {
    /* At rest: answer with link_sync, now or later. */
    void (*found)(void *owner);
    /* Synced: legs may begin. */
    void (*ready)(void *owner);
    void (*report)(void *owner);
    /* The leg is at its end, or was stopped (why: enum link_why). After a stop, or when the board
     * braked at rest, nothing moves until link_sync. */
    void (*ended)(void *owner, int32_t count);
    void (*stopped)(void *owner, uint8_t why, int32_t rest_count, int32_t latched_count);
    /* What was accepted is not what was sent, or the board refuses: the link brakes by itself. */
    void (*fault)(void *owner, const char *sentence);
    /* No generator any more; a leg under way is given up. */
    void (*gone)(void *owner, const char *why);
    /* A frame of the scale, read while the motor was at rest. */
    void (*scale)(void *owner, uint32_t raw);
};

/* The next stride of a leg and the ticks from its start to the stride's last edge; false when the
 * leg is complete or (*failed) cannot go on. */
typedef bool link_source(void *owner, struct stride *stride, uint64_t *leg_ticks, bool *failed);

struct link_config {
    const char *path; /* of the port; borrowed */
    int baud;
};

struct link;

/* NULL when memory is short. The port is opened from the loop. */
REGLET_MUST_CHECK struct link *link_create(uv_loop_t *loop, struct clock *clock,
                                           const struct serial_operations *port,
                                           const struct link_config *config,
                                           const struct link_events *events, void *owner);
void link_close(struct link *link);
void link_free(struct link *link);

/* Agrees on the settings and goes on at `count`, in `epoch` (1 to ffff, another than the one
 * before). After found or stopped, or at rest when a setting is to change. */
void link_sync(struct link *link, uint16_t epoch, int32_t count,
               const uint32_t setting[LINK_SETTINGS]);

/* Feeds one leg, rest to rest. Only when link_ready. `source` is asked on demand until it ends.
 * `awaited`: the input (enum link_input) that ends it, plus one; or 0. */
void link_leg(struct link *link, link_source *source, void *source_owner, int32_t end_count,
              uint8_t awaited);

/* Brakes whatever moves. `stopped` follows. */
void link_brake(struct link *link);

/* The switched outputs, a bit each, set: on. Said again until they are known to be so for sure: a
 * line may be lost, a board that has started afresh has all of them off. */
void link_outputs(struct link *link, uint8_t outputs);

bool link_ready(const struct link *link);
/* A leg is fed, or it is not known to be at rest yet. */
bool link_is_moving(const struct link *link);
/* NULL while no generator is known. */
const struct link_board *link_board(const struct link *link);
const struct link_report *link_report(const struct link *link);
/* The epoch that the generator is in, 0 after its start. */
uint16_t link_epoch(const struct link *link);
/* Lines received that could not be read. */
uint64_t link_spoilt(const struct link *link);

#endif
