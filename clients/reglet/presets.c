/* SPDX-License-Identifier: MIT */
#include "clients/common/presets.h"

#include "clients/reglet/lookup.h"
#include "clients/reglet/shop.h"

static void show_none(const struct run *run)
{
    struct say say = {0};
    bool mm = run->style == LENGTH_STYLE_MM;
    say_wrap(&say, "", 0,
             "There are no presets yet. When the bit stands at a height that you will want again, "
             "keep it by a name: '%s keep drawer-groove'. Or say the height: '%s keep "
             "drawer-groove %s'.",
             run_name(run), run_name(run), mm ? "6mm" : "1/4in");
    run_print(&say);
}

/* Line by line: all of them may be longer than one text. */
static void show_list(const struct run *run, const cJSON *list)
{
    const struct presets_widths widths = presets_measure(list, run->style);
    const cJSON *item;
    cJSON_ArrayForEach(item, list)
    {
        struct say say = {0};
        struct preset preset = preset_of(item);
        presets_line(&say, &preset, &widths, run->style);
        run_print(&say);
    }
}

/* A page at a time; with --json as many lines. */
static enum client_exit show_page(struct run *run, struct client_answer *page, bool *more)
{
    const cJSON *list;
    struct client_answer before = *page;
    const cJSON *old = before.result ? presets_list(before.result) : NULL;
    const cJSON *last = old ? cJSON_GetArrayItem(old, cJSON_GetArraySize(old) - 1) : NULL;
    *page = (struct client_answer){0};
    enum client_exit code = lookup_page(run, last ? preset_of(last).name : NULL, page, &list, more);
    client_answer_free(&before);
    if (code == CLIENT_DONE && run->json) {
        code = run_tell(run, page);
    } else if (code == CLIENT_DONE && !last && cJSON_GetArraySize(list) == 0) {
        show_none(run);
    } else if (code == CLIENT_DONE) {
        show_list(run, list);
    }
    return code;
}

static enum client_exit list(struct run *run)
{
    bool more = true;
    struct client_answer page = {0};
    enum client_exit code = run_connect(run);
    while (code == CLIENT_DONE && more) {
        code = show_page(run, &page, &more);
    }
    client_answer_free(&page);
    return code;
}

static enum client_exit carry_out(struct run *run)
{
    if (run->bit && run->count > 0) {
        return run_usage(run, "--bit lists; a name besides it is one too many");
    }
    return run->count == 0 ? list(run) : shop_carry_out(run, &shop_items[SHOP_PRESETS]);
}

static const struct argp_option options[] = {
    {"bit", RUN_BIT, "BIT", 0, "Only those of that bit", 0},
    {"replace", RUN_REPLACE, 0, 0, "Change what is on the list already, without asking", 0},
    {"forget", RUN_FORGET, 0, 0, "Take it off the list", 0},
    {"rename", RUN_RENAME, "NEW", 0, "Give it another name", 0},
    {"yes", RUN_YES, 0, 0, "Do not ask whether you mean it", 0},
    {0}};

const struct command command_presets = {
    "presets",
    "[NAME [WHAT VALUE]...]",
    "list the heights that were kept, and their cards",
    "By name, with both units. 'keep' adds one, 'recall' moves the bit to it, 'forget' drops it. "
    "NAME: its card. With more the card is written: presets drawer-groove fence '2in from the "
    "bit' wood oak. WHAT is ring, fence, speed, wood, sample (where it hangs), or height, bit, "
    "riding. Nothing moves by it.",
    carry_out,
    options};
