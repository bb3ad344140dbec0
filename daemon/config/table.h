/* SPDX-License-Identifier: MIT */
/* The groups and keys of the configuration: what each may be. Everything that is read, refused or
 * suggested follows from this one table. */
#ifndef REGLET_DAEMON_CONFIG_TABLE_H
#define REGLET_DAEMON_CONFIG_TABLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum table_group {
    TABLE_SCREW,
    TABLE_TRAVEL,
    TABLE_SPEEDS,
    TABLE_LASH,
    TABLE_INPUTS,
    TABLE_ROUTER_GROUP,
    TABLE_PLATE,
    TABLE_OUTPUTS,
    TABLE_READOUT,
    TABLE_LINK,
    TABLE_FOLDERS,
    TABLE_GROUPS,
};

enum table_key {
    TABLE_LEAD,
    TABLE_THREADS,
    TABLE_FULL_STEPS,
    TABLE_MICROSTEPS,
    TABLE_LENGTH,
    TABLE_TOP_MARGIN,
    TABLE_CHANGE,
    TABLE_MOVE,
    TABLE_SEARCH,
    TABLE_HOLD_SLOW,
    TABLE_HOLD_FAST,
    TABLE_BRAKE,
    TABLE_MEASURED,
    TABLE_FINISH,
    TABLE_TOP_SWITCH,
    TABLE_BOTTOM_SWITCH,
    TABLE_TOUCH_PLATE,
    TABLE_ROUTER,
    TABLE_CARRIAGE_LOCK,
    TABLE_STOP_CIRCUIT,
    TABLE_MOTOR_SUPPLY,
    TABLE_DEBOUNCE,
    TABLE_WHILE_RUNNING,
    TABLE_RUN_DOWN,
    TABLE_PLATE_HEIGHT,
    TABLE_PLATE_SPREAD,
    TABLE_DUST,
    TABLE_DUST_RUN_ON,
    TABLE_LOCK,
    TABLE_LOCK_HOLDS,
    TABLE_LOCK_WAIT,
    TABLE_TWO_WIRE,
    TABLE_RESOLUTION,
    TABLE_TOLERANCE,
    TABLE_PORT,
    TABLE_BAUD,
    TABLE_SILENCE,
    TABLE_STATE,
    TABLE_SOCKET,
    TABLE_KEYS,
};

enum table_kind {
    TABLE_IS_LENGTH = 1,   /* "3in": nm */
    TABLE_IS_SPEED,        /* "10mm/s": nm/s; its range is in steps/s */
    TABLE_IS_ACCELERATION, /* "125mm/s2": nm/s^2; its range is in steps/s^2 */
    TABLE_IS_WHOLE,        /* 200 */
    TABLE_IS_CHOICE,       /* one of a few whole numbers */
    TABLE_IS_WORD,         /* one of a few words: its place among them, from 1 */
    TABLE_IS_PATH,         /* absolute; `most` counts bytes */
};

/* What a value is when its key is left out. */
enum table_omission {
    TABLE_REQUIRED = 1, /* refused */
    TABLE_OPTIONAL,     /* nothing; what follows from that is decided elsewhere */
    TABLE_DEFAULTS,     /* `omitted`, or `omitted_path` */
};

struct table_entry {
    enum table_group group;
    const char *name;
    enum table_kind kind;
    enum table_omission omission;
    int64_t least; /* both inclusive */
    int64_t most;
    int64_t omitted;
    const char *omitted_path;
    const int64_t *choices;   /* ascending, 0 behind the last */
    const char *const *words; /* NULL behind the last */
    const char *example;      /* as it is written in the file; NULL where the range says it all */
};

/* A group's name, and an example of it as it is written in the file. */
struct table_heading {
    const char *name;
    const char *example;
};

extern const struct table_entry table_entries[TABLE_KEYS];
extern const struct table_heading table_headings[TABLE_GROUPS];

/* Whether the group must be there: it has a key that must. */
bool table_group_required(enum table_group group);

#endif
