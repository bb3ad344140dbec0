/* SPDX-License-Identifier: MIT */
#include "protocol/unit.h"

#include "clients/common/words.h"
#include "clients/reglet/run.h"

static const char *meaning_of(enum length_style style)
{
    switch (style) {
    case LENGTH_STYLE_MM:
        return "millimetres; a bare number is millimetres";
    case LENGTH_STYLE_IN:
        return "decimal inches; a bare number is inches";
    case LENGTH_STYLE_32:
        return "inches, to the nearest 1/32 and thousandths; a bare number is inches";
    case LENGTH_STYLE_128:
        return "inches, to the nearest 1/128 and thousandths; a bare number is inches";
    default:
        return "inches, to the nearest 1/64 and thousandths; a bare number is inches";
    }
}

static enum client_exit show(struct run *run, const struct client_answer *answer)
{
    struct say say = {0};
    enum length_style style;
    const cJSON *unit = cJSON_GetObjectItemCaseSensitive(answer->result, "unit");
    if (run->json || answer->error) {
        return run_tell(run, answer);
    }
    if (!cJSON_IsString(unit) || !unit_style(unit->valuestring, &style)) {
        return run_trouble(run, CLIENT_GARBLED);
    }
    say_wrap(&say, "", 0, "The shop's unit is '%s': %s.", unit->valuestring, meaning_of(style));
    if (run->unit_said) {
        say_wrap(&say, "", 0, "Here --unit or $REGLET_UNIT goes before it, and says '%s': %s.",
                 unit_word(run->style), meaning_of(run->style));
    }
    run_print(&say);
    return CLIENT_DONE;
}

static enum client_exit carry_out(struct run *run)
{
    enum length_style style;
    struct client_answer answer = {0};
    cJSON *params = NULL;
    if (run->count > 1 || (run->count == 1 && !unit_style(run->word[0], &style))) {
        return run_usage(run, "the unit can be in, mm, 32, 64 or 128");
    }
    if (run->count == 1 && !(params = words_params_text("unit", run->word[0]))) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    enum client_exit code =
        run_ask(run, run->count == 1 ? "keep-display" : "display", params, &answer);
    if (code == CLIENT_DONE) {
        code = show(run, &answer);
    }
    client_answer_free(&answer);
    return code;
}

const struct command command_unit = {
    "unit",
    "[UNIT]",
    "how the shop has its heights typed and shown",
    "in, mm, 32, 64 or 128; the numbers are fractions of an inch. Without a word it says which it "
    "is. It can be changed at any time: what is stored keeps its lengths, and nothing moves by it. "
    "It counts wherever neither --unit nor $REGLET_UNIT says otherwise.",
    carry_out,
    NULL};
