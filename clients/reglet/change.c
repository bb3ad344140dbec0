/* SPDX-License-Identifier: MIT */
#include "clients/reglet/clear.h"
#include "clients/reglet/motion.h"

static void show_understood(const struct run *run)
{
    struct say say = {0};
    if (!run->json) {
        say_add(&say, "change: the bit comes up to where a wrench reaches the collet\n");
        run_print(&say);
    }
}

static enum client_exit carry_out(struct run *run)
{
    enum client_exit code = clear_possible(run);
    if (code == CLIENT_DONE) {
        code = run_connect(run);
    }
    if (code == CLIENT_DONE) {
        code = clear_ask(run, "change", NULL);
    }
    if (code != CLIENT_DONE) {
        return code;
    }
    show_understood(run);
    cJSON *params = clear_params(NULL);
    return params ? motion_go(run, "change", params, show_rest)
                  : run_trouble(run, CLIENT_NO_MEMORY);
}

const struct command command_change = {
    "change",
    NULL,
    "bring the collet up to where the bit is changed",
    "It says what must be clear, and asks. Then the bit comes up to where a wrench reaches the "
    "collet; its touch-off ends, and nothing moves any more until 'fit'. Unplug the router before "
    "your hands go near the bit: switched off is not enough.",
    carry_out,
    clear_options};
