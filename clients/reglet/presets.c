/* SPDX-License-Identifier: MIT */
#include "clients/common/presets.h"

#include "clients/reglet/lookup.h"

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

static enum client_exit carry_out(struct run *run)
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

const struct command command_presets = {
    "presets",
    NULL,
    "list the heights that were kept",
    "By name, with both units. 'keep' adds one, 'recall' moves the bit to it, 'forget' drops it.",
    carry_out,
    NULL};
