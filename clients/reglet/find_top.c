/* SPDX-License-Identifier: MIT */
#include "clients/reglet/ask.h"
#include "clients/reglet/clear.h"
#include "clients/reglet/motion.h"

static void show_caution(bool asking)
{
    struct say say = {0};
    say_add(&say, "find-top\n");
    say_wrap(&say, "", 0, "%s",
             "Caution: the bit comes ALL THE WAY UP. First unplug the router, and let it run "
             "down. Clear the table: guard, work, hold-downs. Hands away from the bit.");
    if (asking) {
        run_complain(&say);
    } else {
        run_print(&say);
    }
}

static enum client_exit carry_out(struct run *run)
{
    bool asking = !run->yes;
    enum client_exit code = clear_possible(run);
    if (code == CLIENT_DONE) {
        code = run_connect(run);
    }
    if (code != CLIENT_DONE) {
        return code;
    }
    if (!run->json) {
        show_caution(asking);
    }
    if (asking) {
        code = ask_yes(run, "Router unplugged, table clear, hands away?",
                       "Nothing has moved. Say 'find-top' again when all is clear.");
    }
    return code == CLIENT_DONE ? motion_go(run, "find-top", NULL, show_top) : code;
}

const struct command command_find_top = {
    "find-top",
    NULL,
    "go all the way up, so that the travel is known",
    "The bit comes up all the way, twice, and stays near the top. Unplug the router and let it run "
    "down; clear the table of guard, work and hold-downs; keep your hands away. A lift without a "
    "top switch: see 'here --top'. The touch-off of the bit that is fitted is kept, and is sure "
    "again where the lift knew its travel at the time.",
    carry_out,
    clear_options};
