/* SPDX-License-Identifier: MIT */
#include <argp.h>

#include "clients/common/words.h"
#include "clients/reglet/clear.h"
#include "clients/reglet/shop.h"

#define RING_MARGIN_NM 3175000 /* 1/8 in, as the daemon has it */

/* False: memory is short. Without a word there are none. */
static bool params_of(const char *bit, cJSON **params)
{
    *params = bit ? words_params_text("bit", bit) : NULL;
    return *params || !bit;
}

static double nm_of(const cJSON *item, const char *name)
{
    const cJSON *nm = cJSON_GetObjectItemCaseSensitive(item, name);
    return cJSON_IsNumber(nm) ? nm->valuedouble : 0;
}

/* Until it is touched off the lift cannot keep a wide bit out of its ring; whoever holds the key
 * can. */
static void say_too_wide(struct say *say, const cJSON *bit, const cJSON *ring)
{
    double opening_nm = nm_of(ring, "opening_nm");
    if (opening_nm > 0 && nm_of(bit, "diameter_nm") > opening_nm - RING_MARGIN_NM) {
        say_wrap(say, "Caution:", SAY_INDENT, "%s",
                 "THIS BIT IS TOO WIDE FOR ITS RING: its opening less 1/8in is narrower than the "
                 "bit. Nothing but your eye keeps it out of the ring until it is touched off: stop "
                 "well above, and touch off on a block, never flush. Or fit a wider ring.");
    }
}

/* What its ring, its speed and its edges ask for. */
static enum client_exit show_cautions(struct run *run, const char *name)
{
    cJSON *bits;
    cJSON *rings;
    struct say say = {0};
    enum client_exit code = shop_all(run, &shop_items[SHOP_BITS], &bits);
    if (code != CLIENT_DONE) {
        return code;
    }
    code = shop_all(run, &shop_items[SHOP_RINGS], &rings);
    if (code == CLIENT_DONE) {
        const cJSON *bit = shop_named(bits, name);
        const cJSON *ring = cJSON_GetObjectItemCaseSensitive(bit, "ring");
        if (cJSON_IsString(ring)) {
            say_too_wide(&say, bit, shop_named(rings, ring->valuestring));
        }
        shop_items_speed(&say, bit);
        run_print(&say);
        cJSON_Delete(rings);
    }
    cJSON_Delete(bits);
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
    return code == CLIENT_DONE && bit && !run->json ? show_cautions(run, bit) : code;
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
