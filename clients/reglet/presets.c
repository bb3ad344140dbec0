/* SPDX-License-Identifier: MIT */
#include "clients/common/presets.h"

#include "clients/reglet/run.h"

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

static enum client_exit show_answer(const struct run *run, const struct client_answer *answer)
{
    if (run->json || answer->error) {
        return run_tell(run, answer);
    }
    const cJSON *list = presets_list(answer->result);
    if (!list) {
        return run_trouble(run, CLIENT_GARBLED);
    }
    if (cJSON_GetArraySize(list) == 0) {
        show_none(run);
    } else {
        show_list(run, list);
    }
    return CLIENT_DONE;
}

static enum client_exit carry_out(struct run *run)
{
    struct client_answer answer = {0};
    enum client_exit code = run_ask(run, "presets", NULL, &answer);
    if (code == CLIENT_DONE) {
        code = show_answer(run, &answer);
    }
    client_answer_free(&answer);
    return code;
}

const struct command command_presets = {
    "presets",
    NULL,
    "list the heights that were kept",
    "By name, with both units. 'keep' adds one, 'recall' moves the bit to it, 'forget' drops it.",
    carry_out,
    NULL};
