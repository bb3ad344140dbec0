/* SPDX-License-Identifier: MIT */
#include "daemon/config/table.h"

#include "daemon/config/config.h"
#include "protocol/length.h"
#include "protocol/paths.h"

/*
 * A lead below 1/80 in is no screw that lifts a router, and the finest screw with the finest steps
 * (256 000 a turn) still makes a step of 1.24 nm, over the 1 nm that daemon/motion/screw.h wants.
 *
 * Speeds: 60 000 steps/s is what the step generator is built for, and at 1 step/s its slowest
 * interval (2^24 - 1 ticks, 1.048 s at 16 MHz) is not reached. The first half step of a move from
 * rest takes 1/sqrt(a) seconds, and a is 0.8 of the brake: below 1.14 steps/s^2 that interval would
 * be too long, hence 2.
 */
enum { STEPS_S_MAX = 60000, STEPS_S2_MIN = 2, STEPS_S2_MAX = 4000000 };

#define IN INT64_C(25400000) /* nm */

static const int64_t microsteps[] = {1, 2, 4, 8, 16, 32, 64, 128, 256, 0};
static const char *const wirings[] = {"absent", "active-high", "active-low", NULL};
static const char *const senses[] = {"absent", "rising", "falling", NULL};
static const char *const finishes[] = {"upward", "downward", "either", NULL};
static const char *const runnings[] = {"never", "between-cuts", "plunge", NULL};
static const char *const switched[] = {"absent", "output-1", "output-2", NULL};
static const char *const holds[] = {"off", "on", NULL};
static const int64_t bauds[] = {115200, 250000, 0};

/* clang-format off */
const struct table_entry table_entries[TABLE_KEYS] = {
    /* One of the next two, never both. */
    [TABLE_LEAD] = {TABLE_SCREW, "lead", TABLE_IS_LENGTH, TABLE_OPTIONAL,
        .least = IN / 80, .most = IN, .example = "\"2mm\""},
    [TABLE_THREADS] = {TABLE_SCREW, "threads_per_inch", TABLE_IS_WHOLE, TABLE_OPTIONAL,
        .least = 1, .most = 80},
    [TABLE_FULL_STEPS] = {TABLE_SCREW, "full_steps", TABLE_IS_WHOLE, TABLE_REQUIRED,
        .least = 20, .most = 1000},
    [TABLE_MICROSTEPS] = {TABLE_SCREW, "microsteps", TABLE_IS_CHOICE, TABLE_REQUIRED,
        .choices = microsteps},

    [TABLE_LENGTH] = {TABLE_TRAVEL, "length", TABLE_IS_LENGTH, TABLE_REQUIRED,
        .least = IN, .most = 20 * IN, .example = "\"3in\""},
    [TABLE_TOP_MARGIN] = {TABLE_TRAVEL, "top_margin", TABLE_IS_LENGTH, TABLE_REQUIRED,
        .least = 0, .most = IN, .example = "\"1/16in\""},

    [TABLE_CHANGE] = {TABLE_TRAVEL, "change", TABLE_IS_LENGTH, TABLE_OPTIONAL,
        .least = 0, .most = 20 * IN, .example = "\"1/16in\""},

    [TABLE_MOVE] = {TABLE_SPEEDS, "move", TABLE_IS_SPEED, TABLE_REQUIRED,
        .least = 1, .most = STEPS_S_MAX, .example = "\"1/4in/s\""},
    [TABLE_SEARCH] = {TABLE_SPEEDS, "search", TABLE_IS_SPEED, TABLE_REQUIRED,
        .least = 1, .most = STEPS_S_MAX, .example = "\"1/32in/s\""},
    [TABLE_HOLD_SLOW] = {TABLE_SPEEDS, "hold_slow", TABLE_IS_SPEED, TABLE_OPTIONAL,
        .least = 1, .most = STEPS_S_MAX, .example = "\"1/32in/s\""},
    [TABLE_HOLD_FAST] = {TABLE_SPEEDS, "hold_fast", TABLE_IS_SPEED, TABLE_OPTIONAL,
        .least = 1, .most = STEPS_S_MAX, .example = "\"1/4in/s\""},
    [TABLE_BRAKE] = {TABLE_SPEEDS, "brake", TABLE_IS_ACCELERATION, TABLE_REQUIRED,
        .least = STEPS_S2_MIN, .most = STEPS_S2_MAX, .example = "\"2in/s2\""},

    [TABLE_MEASURED] = {TABLE_LASH, "measured", TABLE_IS_LENGTH, TABLE_OPTIONAL,
        .least = 0, .most = IN / 8, .example = "\".004in\""},
    [TABLE_FINISH] = {TABLE_LASH, "finish", TABLE_IS_WORD, TABLE_DEFAULTS,
        .words = finishes, .omitted = CONFIG_FINISH_UPWARD},

    [TABLE_TOP_SWITCH] = {TABLE_INPUTS, "top_switch", TABLE_IS_WORD, TABLE_DEFAULTS,
        .words = wirings, .omitted = CONFIG_INPUT_ABSENT},
    [TABLE_BOTTOM_SWITCH] = {TABLE_INPUTS, "bottom_switch", TABLE_IS_WORD, TABLE_DEFAULTS,
        .words = wirings, .omitted = CONFIG_INPUT_ABSENT},
    [TABLE_TOUCH_PLATE] = {TABLE_INPUTS, "touch_plate", TABLE_IS_WORD, TABLE_DEFAULTS,
        .words = wirings, .omitted = CONFIG_INPUT_ABSENT},
    [TABLE_ROUTER] = {TABLE_INPUTS, "router", TABLE_IS_WORD, TABLE_DEFAULTS,
        .words = wirings, .omitted = CONFIG_INPUT_ABSENT},
    [TABLE_CARRIAGE_LOCK] = {TABLE_INPUTS, "carriage_lock", TABLE_IS_WORD, TABLE_DEFAULTS,
        .words = wirings, .omitted = CONFIG_INPUT_ABSENT},
    [TABLE_STOP_CIRCUIT] = {TABLE_INPUTS, "stop_circuit", TABLE_IS_WORD, TABLE_DEFAULTS,
        .words = wirings, .omitted = CONFIG_INPUT_ABSENT},
    [TABLE_MOTOR_SUPPLY] = {TABLE_INPUTS, "motor_supply", TABLE_IS_WORD, TABLE_DEFAULTS,
        .words = wirings, .omitted = CONFIG_INPUT_ABSENT},
    [TABLE_DEBOUNCE] = {TABLE_INPUTS, "debounce_ms", TABLE_IS_WHOLE, TABLE_DEFAULTS,
        .least = 0, .most = 50, .omitted = 5},

    [TABLE_WHILE_RUNNING] = {TABLE_ROUTER_GROUP, "while_running", TABLE_IS_WORD, TABLE_DEFAULTS,
        .words = runnings, .omitted = CONFIG_RUNNING_NEVER},
    [TABLE_RUN_DOWN] = {TABLE_ROUTER_GROUP, "run_down_s", TABLE_IS_WHOLE, TABLE_DEFAULTS,
        .least = 1, .most = 120, .omitted = 10},

    [TABLE_PLATE_HEIGHT] = {TABLE_PLATE, "height", TABLE_IS_LENGTH, TABLE_DEFAULTS,
        .least = 0, .most = 2 * IN, .example = "\"0in\""},
    [TABLE_PLATE_SPREAD] = {TABLE_PLATE, "spread", TABLE_IS_LENGTH, TABLE_DEFAULTS,
        .least = 0, .most = IN / 32, .omitted = IN / 500, .example = "\".002in\""},

    [TABLE_DUST] = {TABLE_OUTPUTS, "dust", TABLE_IS_WORD, TABLE_DEFAULTS,
        .words = switched, .omitted = CONFIG_OUTPUT_ABSENT},
    [TABLE_DUST_RUN_ON] = {TABLE_OUTPUTS, "dust_run_on_s", TABLE_IS_WHOLE, TABLE_DEFAULTS,
        .least = 0, .most = 120, .omitted = 10},
    [TABLE_LOCK] = {TABLE_OUTPUTS, "carriage_lock", TABLE_IS_WORD, TABLE_DEFAULTS,
        .words = switched, .omitted = CONFIG_OUTPUT_ABSENT},
    [TABLE_LOCK_HOLDS] = {TABLE_OUTPUTS, "lock_holds_when", TABLE_IS_WORD, TABLE_DEFAULTS,
        .words = holds, .omitted = CONFIG_HOLDS_OFF},
    [TABLE_LOCK_WAIT] = {TABLE_OUTPUTS, "lock_wait_ms", TABLE_IS_WHOLE, TABLE_DEFAULTS,
        .least = 100, .most = 5000, .omitted = 500},

    [TABLE_TWO_WIRE] = {TABLE_READOUT, "two_wire", TABLE_IS_WORD, TABLE_DEFAULTS,
        .words = senses, .omitted = CONFIG_READOUT_ABSENT},
    /* Optional: left out, each frame says whether it is .01 mm or .0005 in. */
    [TABLE_RESOLUTION] = {TABLE_READOUT, "resolution", TABLE_IS_LENGTH, TABLE_OPTIONAL,
        .least = 100, .most = IN / 100, .example = "\"0.01mm\""},
    [TABLE_TOLERANCE] = {TABLE_READOUT, "tolerance", TABLE_IS_LENGTH, TABLE_OPTIONAL,
        .least = 100, .most = IN / 32, .example = "\"0.01mm\""},

    [TABLE_PORT] = {TABLE_LINK, "port", TABLE_IS_PATH, TABLE_REQUIRED,
        .most = CONFIG_PATH_SIZE - 1, .example = "\"/dev/serial/by-id/NAME\""},
    [TABLE_BAUD] = {TABLE_LINK, "baud", TABLE_IS_CHOICE, TABLE_DEFAULTS,
        .choices = bauds, .omitted = 115200},
    [TABLE_SILENCE] = {TABLE_LINK, "silence_ms", TABLE_IS_WHOLE, TABLE_DEFAULTS,
        .least = 50, .most = 1000, .omitted = 100},

    [TABLE_STATE] = {TABLE_FOLDERS, "state", TABLE_IS_PATH, TABLE_DEFAULTS,
        .most = CONFIG_PATH_SIZE - 1, .omitted_path = "/var/lib/reglet",
        .example = "\"/var/lib/reglet\""},
    [TABLE_SOCKET] = {TABLE_FOLDERS, "socket", TABLE_IS_PATH, TABLE_DEFAULTS,
        .most = PATHS_SIZE - 1, .omitted_path = "/run/reglet/reglet.sock",
        .example = "\"/run/reglet/reglet.sock\""},
};

const struct table_heading table_headings[TABLE_GROUPS] = {
    [TABLE_SCREW] = {"screw", "{\"threads_per_inch\": 16, \"full_steps\": 200, \"microsteps\": 8}"},
    [TABLE_TRAVEL] = {"travel", "{\"length\": \"3in\", \"top_margin\": \"1/16in\"}"},
    [TABLE_SPEEDS] = {"speeds",
        "{\"move\": \"1/4in/s\", \"search\": \"1/32in/s\", \"brake\": \"2in/s2\"}"},
    [TABLE_LASH] = {"lash", "{\"measured\": \".004in\"}"},
    [TABLE_INPUTS] = {"inputs", "{\"stop_circuit\": \"active-high\"}"},
    [TABLE_ROUTER_GROUP] = {"router", "{\"while_running\": \"never\", \"run_down_s\": 10}"},
    [TABLE_PLATE] = {"touch_plate", "{\"height\": \"0in\", \"spread\": \".002in\"}"},
    [TABLE_OUTPUTS] = {"outputs", "{\"dust\": \"output-1\", \"dust_run_on_s\": 10}"},
    [TABLE_READOUT] = {"readout", "{\"two_wire\": \"rising\"}"},
    [TABLE_LINK] = {"link", "{\"port\": \"/dev/serial/by-id/NAME\"}"},
    [TABLE_FOLDERS] = {"folders", "{\"state\": \"/var/lib/reglet\"}"},
};
/* clang-format on */

bool table_group_required(enum table_group group)
{
    for (size_t i = 0; i < TABLE_KEYS; i++) {
        if (table_entries[i].group == group && table_entries[i].omission == TABLE_REQUIRED) {
            return true;
        }
    }
    return false;
}
