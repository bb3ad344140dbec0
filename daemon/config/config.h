/* SPDX-License-Identifier: MIT */
/*
 * What the owner knows about the machine: config/reglet.json, JSON with // comments, read once at
 * start and never written. Strict: an unknown key, a wrong type or an impossible value is refused
 * with file, line, what was found and what would do. A key is here only when the daemon acts on it.
 *
 * Every length is a string with its unit (protocol/length.h), every other number a JSON number.
 * Groups and keys may stand in any order. A key is required unless a default is named here.
 */
#ifndef REGLET_DAEMON_CONFIG_CONFIG_H
#define REGLET_DAEMON_CONFIG_CONFIG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "daemon/motion/screw.h"
#include "protocol/attributes.h"

enum { CONFIG_PATH_SIZE = 200, CONFIG_SENTENCE = 512, CONFIG_SIZE_MAX = 65536 };

/* How an input is wired: the level of its pin when there is something to tell (protocol/link.h):
 * the top switch is pressed, the stop circuit open, the motor supply lost. */
enum config_input { CONFIG_INPUT_ABSENT = 1, CONFIG_INPUT_ACTIVE_HIGH, CONFIG_INPUT_ACTIVE_LOW };

/* A two-wire digital scale that measures the carriage: none; one that reads more, or less, where
 * the carriage is higher. */
enum config_readout { CONFIG_READOUT_ABSENT = 1, CONFIG_READOUT_RISING, CONFIG_READOUT_FALLING };

enum { CONFIG_READOUT_UNIT_NM = 10000 }; /* of a scale that tells hundredths of a millimetre */

/* From which side a height is reached: from below, from above, from either. */
enum config_finish { CONFIG_FINISH_UPWARD = 1, CONFIG_FINISH_DOWNWARD, CONFIG_FINISH_EITHER };

/* What may move while the router runs: nothing; a rise between two cuts; a plunging bit. */
enum config_running {
    CONFIG_RUNNING_NEVER = 1,
    CONFIG_RUNNING_BETWEEN_CUTS,
    CONFIG_RUNNING_PLUNGE,
};

/* Which of the step generator's two outputs switches a thing; when a lock holds the carriage. */
enum config_output { CONFIG_OUTPUT_ABSENT = 1, CONFIG_OUTPUT_1, CONFIG_OUTPUT_2 };
enum config_holds { CONFIG_HOLDS_OFF = 1, CONFIG_HOLDS_ON };

struct config {
    /* "screw": the rise of the lift for one turn of the motor, as "lead" (1/80in to 1in) or as
     * "threads_per_inch" (a whole number, 1 to 80, kept as an exact ratio), never both;
     * "full_steps" (a turn; 20 to 1000, usually 200), "microsteps" (1 to 256, a power of two) */
    struct screw screw;
    int64_t full_steps; /* of the motor, a turn */

    /* "travel": "length" of the whole travel (1in to 20in), from the top switch (or the top stop,
     * found by hand) to the lowest place; "top_margin": how far below that top the highest allowed
     * position lies (0 to 1in, and at most half of the travel). So travel_nm - top_margin_nm is
     * left to move in. */
    int64_t travel_nm;
    int64_t top_margin_nm;
    /* "change": where the collet can be reached with a wrench, below the top; within the travel
     * that is left to move in. Left out it is the highest position. */
    int64_t change_nm;

    /* "speeds": lengths a second ("10mm/s", "1/4in/s"); "brake" is the most deceleration that the
     * motor bears ("125mm/s2", and in no other spelling), of which moves use 0.8. The limits are
     * the step generator's, so in lengths they follow from the screw: 1 to 60 000 steps/s, and
     * 2 to 4 000 000 steps/s2. None is over 10 m/s or m/s2. */
    double move_hz; /* "move" */
    double
        search_hz; /* "search": find-top, and all motion while the lift is lost; at most "move" */
    double brake_hz_s;
    /* "hold_slow" and "hold_fast": hold-to-run. Left out they are 1/32in/s and 1/4in/s, but no
     * faster than "move"; given, neither is faster than "move", nor the slow one than the fast. */
    double hold_slow_hz;
    double hold_fast_hz;

    /* "lash", a group that may be left out: "measured" (0 to 1/8in), or left out until it is
     * measured: then the take-up is 1/32in and the lash is taken for as much; else the take-up is
     * the lash and .010in. */
    bool lash_known;
    int64_t lash_nm;
    int64_t take_up_nm;
    enum config_finish finish; /* "finish": "upward", the default, "downward" or "either" */

    /* "inputs": each "absent", "active-high" or "active-low"; all absent by default */
    enum config_input top_switch;
    enum config_input bottom_switch;
    enum config_input touch_plate;
    enum config_input router;        /* it runs */
    enum config_input carriage_lock; /* it is locked */
    enum config_input stop_circuit;
    enum config_input motor_supply;
    uint32_t debounce_ms; /* "debounce_ms", 0 to 50, default 5; the stop circuit has none */

    /* "router", a group that may be left out: "while_running" ("never", the default,
     * "between-cuts" or "plunge"), "run_down_s" (1 to 120, default 10): how long it turns on after
     * it was switched off. */
    enum config_running while_running;
    uint32_t run_down_s;

    /* "touch_plate", a group that may be left out: "height" of the plate's lower face over the
     * table (0 to 2in, default 0in: it lies on the table), "spread" that several touches may show
     * (0 to 1/32in, default .002in). */
    int64_t plate_height_nm;
    int64_t plate_spread_nm;

    /* "outputs", a group that may be left out: "dust" (extraction) and "carriage_lock", each
     * "absent", "output-1" or "output-2", never both the same; "dust_run_on_s" (0 to 120, default
     * 10): how long it runs on behind the router; "lock_holds_when" ("off", the default, or "on"):
     * the state of its output in which it holds; "lock_wait_ms" (100 to 5000, default 500): so long
     * until it is loose. */
    enum config_output dust;
    uint32_t dust_run_on_s;
    enum config_output lock;
    enum config_holds lock_holds;
    uint32_t lock_wait_ms;

    /* "readout", a group that may be left out: "two_wire" ("absent", the default, "rising" or
     * "falling"), "resolution" (of what the scale counts: 100nm to .010in; left out, as each frame
     * says, .01mm or .0005in: readout_unit_nm is then 0), "tolerance" (100nm to 1/32in; at least
     * the resolution, and less than two full steps, which is half of what a motor slips by; left
     * out it is one full step, and at least the resolution). A scale that is too coarse for the
     * screw is refused. */
    enum config_readout readout;
    int64_t readout_unit_nm;
    int64_t readout_tolerance_nm;

    /* "link": "port" (an absolute path, best one of /dev/serial/by-id), "baud" (115200, the
     * default, or 250000), "silence_ms" (50 to 1000, default 100): how long the step generator
     * moves on without hearing from the daemon */
    char port[CONFIG_PATH_SIZE];
    int baud;
    uint32_t silence_ms;

    /* "folders": "state" (absolute; default /var/lib/reglet), "socket" (absolute path of the
     * socket; default /run/reglet/reglet.sock; at most 99 bytes, as protocol/paths.h has it; the
     * environment's REGLET_SOCKET goes over it).
     * No path ends with / or has a control character in it. */
    char state[CONFIG_PATH_SIZE];
    char socket[CONFIG_PATH_SIZE];
};

/*
 * Where it is wrong: one sentence, "FILE:LINE: found ...; ... would do", or "FILE: found ..." where
 * there is no line to tell. One mistake at a time, and not always the first of the file: the
 * grammar goes first, then each value by itself, then what is missing, then what does not go
 * together. Faults of grammar are in the words of protocol/json.h. Plain ASCII without control
 * characters, but for FILE, which is as it was given (its end, where it is long).
 */
struct config_fault {
    unsigned line; /* from 1; 0: the file as a whole */
    char text[CONFIG_SENTENCE];
};

/* Reads and checks `path`, a plain file. False fills *fault; *config is then unspecified. After
 * true, *fault is untouched. */
REGLET_MUST_CHECK bool config_load(const char *path, struct config *config,
                                   struct config_fault *fault);

/* The same for a text that was read already (it is changed: comments are blanked; it needs no NUL
 * at its end). `name` is what the sentence calls it. */
REGLET_MUST_CHECK bool config_read(char *text, size_t size, const char *name, struct config *config,
                                   struct config_fault *fault);

/* A number that changes when a count comes to mean another position: when lead, steps a turn or
 * microsteps change, but not when they are only written otherwise (1/10in or 10 threads an inch).
 * FNV-1a of 32 bits over steps per nanometre in lowest terms: numerator, then denominator, eight
 * bytes each, lowest first. Asks for a valid screw. */
uint32_t config_screw_digest(const struct screw *screw);

/* What was measured, in the place of what the file says; speeds keep their lengths a second. The
 * lead is a length for one turn, the lash 0 or more. */
void config_set_lead(struct config *config, int64_t lead_nm);
void config_set_lash(struct config *config, int64_t lash_nm);

#endif
