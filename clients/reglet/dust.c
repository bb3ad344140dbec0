/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/run.h"

static void show_dust(struct say *say, const struct show_lift *lift, enum length_style style)
{
    (void)style;
    say_add(say, "The dust extraction %s.\n", lift->dust_on ? "runs" : "is off");
}

static enum client_exit carry_out(struct run *run)
{
    if (run->count == 0) {
        return run_status(run, "status", NULL, show_dust);
    }
    const char *to = run->word[0];
    bool known = strcmp(to, "on") == 0 || strcmp(to, "off") == 0 || strcmp(to, "auto") == 0;
    if (run->count > 1 || !known) {
        return run_usage(run, "dust can be on, off, or auto (with the router)");
    }
    cJSON *params = words_params_text("to", to);
    return params ? run_status(run, "dust", params, show_dust) : run_trouble(run, CLIENT_NO_MEMORY);
}

const struct command command_dust = {
    "dust",
    "[on|off|auto]",
    "switch the dust extraction",
    "'auto', as after each start of regletd: it runs with the router, and for a while after it, "
    "where the router's running is sensed. Without a word it says whether it runs. It has to be "
    "wired to one of the outputs.",
    carry_out,
    NULL};
