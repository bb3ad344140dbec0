/* SPDX-License-Identifier: MIT */
#include "clients/reglet/motion.h"

/* What it will do, where there is something to take back; else the daemon says that there is not.
 */
static enum client_exit show_understood(struct run *run)
{
    struct say say = {0};
    struct show_lift lift;
    struct client_answer answer = {0};
    char text[SAY_LENGTH_SIZE];
    enum client_exit code = run_call(run, "status", NULL, &answer);
    if (code == CLIENT_DONE && answer.error) {
        code = run_tell(run, &answer);
    } else if (code == CLIENT_DONE && !show_read(answer.result, &lift)) {
        code = run_trouble(run, CLIENT_GARBLED);
    } else if (code == CLIENT_DONE && lift.corrected_known) {
        bool raised = lift.corrected_nm > 0;
        say_exact(raised ? lift.corrected_nm : -lift.corrected_nm, say_small_style(run->style),
                  text, sizeof text);
        say_add(&say, "undo: %s %s; no work on or over the bit\n", raised ? "lower" : "raise",
                text);
        run_print(&say);
    }
    client_answer_free(&answer);
    return code;
}

static enum client_exit carry_out(struct run *run)
{
    enum client_exit code = run_connect(run);
    if (code == CLIENT_DONE && !run->json) {
        code = show_understood(run);
    }
    return code == CLIENT_DONE ? motion_go(run, "undo", NULL, show_rest) : code;
}

const struct command command_undo = {
    "undo",
    NULL,
    "take the last correction back",
    "For a 'correct' of the bit that is still fitted: the zero is where it was before, and the bit "
    "goes to the same height again.",
    carry_out,
    NULL};
