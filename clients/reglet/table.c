/* SPDX-License-Identifier: MIT */
/* All subcommands, in the order in which the help names them. */
#include <stddef.h>

#include "clients/reglet/run.h"

extern const struct command command_to;
extern const struct command command_up;
extern const struct command command_down;
extern const struct command command_by;
extern const struct command command_recall;
extern const struct command command_hold;
extern const struct command command_under;
extern const struct command command_presets;
extern const struct command command_keep;
extern const struct command command_forget;
extern const struct command command_touch;
extern const struct command command_confirm;
extern const struct command command_find_top;
extern const struct command command_here;
extern const struct command command_change;
extern const struct command command_fit;
extern const struct command command_riding;
extern const struct command command_correct;
extern const struct command command_undo;
extern const struct command command_calibrate;
extern const struct command command_next;
extern const struct command command_back;
extern const struct command command_again;
extern const struct command command_where;
extern const struct command command_cut;
extern const struct command command_load;
extern const struct command command_abandon;
extern const struct command command_joint;
extern const struct command command_passes;
extern const struct command command_draw;
extern const struct command command_story;
extern const struct command command_gauge;
extern const struct command command_watch;
extern const struct command command_wait;
extern const struct command command_capacity;
extern const struct command command_dust;
extern const struct command command_log;
extern const struct command command_unit;
extern const struct command command_import;
extern const struct command command_export;
extern const struct command command_ground;
extern const struct command command_pairs;
extern const struct command command_match;
extern const struct command command_stock;
extern const struct command command_rings;
extern const struct command command_bits;
extern const struct command command_stop;
extern const struct command command_all_clear;

/* Headings of the help list: no words, so that they are never found. */
#define HEADING(text)                                                                              \
    &(const struct command)                                                                        \
    {                                                                                              \
        .does = (text)                                                                             \
    }

/* One a line, so that a word is added by itself. */
/* clang-format off */
const struct command *const command_table[] = {
    HEADING("Stop"),
    &command_stop,
    &command_all_clear,
    HEADING("Go to a height"),
    &command_to,
    &command_up,
    &command_down,
    &command_by,
    &command_hold,
    &command_under,
    HEADING("Say where the bit is"),
    &command_touch,
    &command_confirm,
    &command_riding,
    &command_find_top,
    &command_here,
    HEADING("Change the bit"),
    &command_change,
    &command_fit,
    HEADING("Keep heights, and recall them"),
    &command_keep,
    &command_recall,
    &command_presets,
    &command_forget,
    HEADING("Correct by a test cut"),
    &command_correct,
    &command_undo,
    HEADING("Joints, and other lists of heights"),
    &command_joint,
    &command_passes,
    &command_draw,
    &command_story,
    &command_load,
    &command_next,
    &command_back,
    &command_again,
    &command_cut,
    &command_where,
    &command_abandon,
    HEADING("The shop's unit and lists"),
    &command_unit,
    &command_bits,
    &command_rings,
    &command_stock,
    &command_pairs,
    &command_match,
    &command_ground,
    &command_export,
    &command_import,
    HEADING("Look on"),
    &command_watch,
    &command_wait,
    &command_log,
    HEADING("The machine"),
    &command_dust,
    &command_calibrate,
    &command_gauge,
    &command_capacity,
    NULL,
};
/* clang-format on */
