/* SPDX-License-Identifier: MIT */
/*
 * What was measured of the screw, against what the configuration says of it: the rise for one turn,
 * the lash, and what is left of its errors, as a table. Kept in one versioned document,
 * calibration.json, with the values before, to which one can go back. The one owner of that
 * document.
 *
 * A calibration belongs to the screw settings under which it was measured. Under others it is not
 * used, and said so; it stays in the file.
 */
#ifndef REGLET_DAEMON_MACHINE_CALIBRATION_H
#define REGLET_DAEMON_MACHINE_CALIBRATION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "daemon/config/config.h"
#include "daemon/store/keeper.h"
#include "protocol/attributes.h"
#include "protocol/error_table.h"
#include "protocol/reason.h"

enum {
    CALIBRATION_VERSION = 2,            /* 2: with a table, which a reader must not leave out */
    CALIBRATION_LASH_MOST_NM = 3175000, /* 1/8 in, as the configuration's */
    CALIBRATION_LEAD_PARTS = 20,        /* a measured lead is within 1/20 of the configured one */
};

struct calibration_values {
    bool lead_known;
    int64_t lead_nm; /* rise for one turn of the motor */
    bool lash_known;
    int64_t lash_nm;
    struct error_table table; /* valid, its points evenly spaced; without points: none */
};

struct calibration;

/* Told once, from the loop, when the change is on disk; or why it is not, and all is as before. */
typedef void calibration_done(void *owner, enum reason reason, const char *sentence);

/* `config` is copied. NULL, and a sentence in `why`, when the daemon must not start on what it
 * found. */
REGLET_MUST_CHECK struct calibration *
calibration_open(struct keeper *keeper, const struct config *config, char *why, size_t why_size);
void calibration_free(struct calibration *calibration);

/* In use: nothing known where nothing was measured, or under other screw settings. Borrowed until
 * the next change. */
const struct calibration_values *calibration_now(const struct calibration *calibration);
/* NULL when there is nothing to go back to. */
const struct calibration_values *calibration_before(const struct calibration *calibration);

/* The configuration with what was measured in the place of what was written. */
void calibration_config(const struct calibration *calibration, struct config *config);

/* Keeps other values; the present ones become those before. One change at a time. When false,
 * `done` will not be called, and *reason and `sentence` say why. */
REGLET_MUST_CHECK bool calibration_set(struct calibration *calibration,
                                       const struct calibration_values *values,
                                       calibration_done *done, void *owner, enum reason *reason,
                                       char *sentence, size_t size);

/* `owner` has gone; what he waits for is not told to him any more. */
void calibration_abandon(struct calibration *calibration, void *owner);

#endif
