/* SPDX-License-Identifier: MIT */
#include <argp.h>

#include "clients/common/words.h"
#include "clients/reglet/clear.h"
#include "clients/reglet/shop.h"

/* False: memory is short. Without a word there are none. */
static bool params_of(const char *bit, cJSON **params)
{
    *params = bit ? words_params_text("bit", bit) : NULL;
    return *params || !bit;
}

/* How fast it may turn, and the cautions. */
static enum client_exit show_speed(struct run *run, const char *bit)
{
    cJSON *array;
    struct say say = {0};
    enum client_exit code = shop_all(run, &shop_items[SHOP_BITS], &array);
    if (code == CLIENT_DONE) {
        shop_items_speed(&say, shop_named(array, bit));
        run_print(&say);
        cJSON_Delete(array);
    }
    return code;
}

static enum client_exit fit(struct run *run, const char *bit)
{
    cJSON *params;
    if (!params_of(bit, &params)) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    enum client_exit code = clear_ask(run, "fit", params);
    if (code != CLIENT_DONE) {
        return code;
    }
    if (!params_of(bit, &params) || !(params = clear_params(params))) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    code = run_call_status(run, "fit", params, show_status);
    return code == CLIENT_DONE && bit && !run->json ? show_speed(run, bit) : code;
}

static enum client_exit carry_out(struct run *run)
{
    char why[WORDS_WHY];
    const char *bit = run->count > 0 ? words_only_name(run->count, run->word, why) : NULL;
    if (run->count > 0 && !bit) {
        return run_usage(run, why);
    }
    enum client_exit code = clear_possible(run);
    if (code == CLIENT_DONE) {
        code = run_connect(run);
    }
    return code == CLIENT_DONE ? fit(run, bit) : code;
}

static const struct argp_option options[] = {
    {"yes", RUN_YES, 0, 0, "I have looked, and all is as it should be: do not ask", 0}, {0}};

const struct command command_fit = {
    "fit",
    "[BIT]",
    "say which bit is in the collet now",
    "BIT is a name from the list of bits; without it the bit has no name. It says what to look at, "
    "and asks. The touch-off of the bit before ends. After 'change' the lift moves only while a "
    "key is held: 'hold down', looking at the bit, then touch off.",
    carry_out,
    options};
