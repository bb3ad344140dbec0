/* SPDX-License-Identifier: MIT */
/* What was found of the screw, in words and as JSON. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/gauge.h"
#include "protocol/error_table_json.h"

/* A small length in the shop's style: .0071in or 0.180mm. */
static const char *small(double nm, enum length_style style, char text[SAY_LENGTH_SIZE])
{
    if (style == LENGTH_STYLE_MM) {
        (void)snprintf(text, SAY_LENGTH_SIZE, "%.4fmm", nm / 1e6);
    } else {
        (void)snprintf(text, SAY_LENGTH_SIZE, "%.5fin", nm / 25.4e6);
    }
    return text;
}

static void say_figures(struct say *say, const struct gauge_result *result, enum length_style style)
{
    char a[SAY_LENGTH_SIZE];
    char b[SAY_LENGTH_SIZE];
    char c[SAY_LENGTH_SIZE];
    const struct gauge_iso *iso = &result->iso;
    say_wrap(say, "Gauged", SAY_INDENT,
             "%d targets, %d runs up and down; deviations by ISO 230-2 are reached less wanted%s",
             result->readings.targets, result->readings.runs,
             result->turned ? "; the readings fell while the lift rose, and were turned" : "");
    say_wrap(say, "B", SAY_INDENT, "reversal value %s; mean over the targets %s",
             small(iso->reversal_nm, style, a), small(iso->reversal_mean_nm, style, b));
    say_wrap(say, "R", SAY_INDENT, "repeatability %s; coming up %s, coming down %s",
             small(iso->repeat_both_nm, style, a), small(iso->repeat_nm[GAUGE_UP], style, b),
             small(iso->repeat_nm[GAUGE_DOWN], style, c));
    say_wrap(say, "E", SAY_INDENT, "systematic deviation %s; up %s, down %s",
             small(iso->systematic_both_nm, style, a),
             small(iso->systematic_nm[GAUGE_UP], style, b),
             small(iso->systematic_nm[GAUGE_DOWN], style, c));
    say_wrap(say, "M", SAY_INDENT, "mean bidirectional deviation %s",
             small(iso->mean_deviation_nm, style, a));
    say_wrap(say, "A", SAY_INDENT, "accuracy %s; up %s, down %s",
             small(iso->accuracy_both_nm, style, a), small(iso->accuracy_nm[GAUGE_UP], style, b),
             small(iso->accuracy_nm[GAUGE_DOWN], style, c));
}

static void say_fit(struct say *say, const struct gauge_result *result, enum length_style style)
{
    char a[SAY_LENGTH_SIZE];
    char b[SAY_LENGTH_SIZE];
    const struct gauge_fit *fit = &result->fit;
    say_wrap(say, "Scale", SAY_INDENT, "%.6f, +- %.6f (standard error): %+.4f %%", fit->scale,
             fit->scale_sd, 100 * (fit->scale - 1));
    say_wrap(say, "Lash", SAY_INDENT, "%s, +- %s; it differs from place to place by %s",
             small(fit->reversal_nm, style, a), small(fit->reversal_sd_nm, style, b),
             small(fit->reversal_spread_nm, style, (char[SAY_LENGTH_SIZE]){0}));
    if (fit->has_sine) {
        say_wrap(say, "Turn", SAY_INDENT, "an error that repeats each turn, %s either way, +- %s",
                 small(fit->amplitude_nm, style, a), small(fit->amplitude_sd_nm, style, b));
    } else {
        say_wrap(say, "Turn", SAY_INDENT, "%s",
                 "the targets are all at one place of the turn, and show nothing of it");
    }
    say_wrap(say, "Rest", SAY_INDENT, "%s (standard deviation), which none of these explains",
             small(fit->residual_sd_nm, style, a));
    for (size_t i = 0; i < result->causes; i++) {
        say_wrap(say, i == 0 ? "Cause" : "", SAY_INDENT, "%s", cause_words(result->cause[i]));
    }
    if (result->causes == 0) {
        say_wrap(say, "Cause", SAY_INDENT, "%s", "nothing is larger than what is worth a word");
    }
}

static const char *finish_word(enum gauge_side side)
{
    return side == GAUGE_UP ? "upward" : "downward";
}

static void say_proposal(struct say *say, const struct gauge_lift *lift,
                         const struct gauge_result *result, enum length_style style)
{
    char a[SAY_LENGTH_SIZE];
    char b[SAY_LENGTH_SIZE];
    say_exact(result->lead_nm, style, a, sizeof a);
    say_wrap(say, "Propose", SAY_INDENT, "lead %s for one turn%s", a,
             result->lead_known ? "" : ", as it is: no other is shown to be better");
    say_exact(result->lash_nm, style, a, sizeof a);
    say_exact(lift->lash_nm, style, b, sizeof b);
    say_wrap(say, "", SAY_INDENT, "lash %s; it goes by %s now", a, b);
    if (result->table.count > 0) {
        say_wrap(say, "", SAY_INDENT, "an error table of %d points%s%s", result->table.count,
                 result->table_off_nm > 1 ? ", off by " : "",
                 result->table_off_nm > 1 ? small(result->table_off_nm, style, a) : "");
    } else {
        say_wrap(say, "", SAY_INDENT, "%s",
                 lift->table.count > 0 ? "no error table in place of the present one"
                                       : "no error table: nothing repeats that is worth one");
    }
    const char *finish = finish_word(result->finish);
    if (strcmp(finish, lift->finish) == 0) {
        say_wrap(say, "", SAY_INDENT, "moves that finish %s, as they do", finish);
    } else {
        say_wrap(say, "", SAY_INDENT,
                 "moves that finish %s, since it repeats better so; they are set to '%s'. That is "
                 "\"finish\" in the group \"lash\" of the configuration; 'either' goes the "
                 "shorter way, with the lash added",
                 finish, lift->finish);
    }
}

/* --- JSON --- */

static void add(cJSON *object, const char *name, double value)
{
    cJSON_AddNumberToObject(object, name, round(value * 1000) / 1000);
}

static void add_sides(cJSON *object, const char *name, const double value[2])
{
    cJSON *sides = cJSON_AddObjectToObject(object, name);
    add(sides, "up_nm", value[GAUGE_UP]);
    add(sides, "down_nm", value[GAUGE_DOWN]);
}

static void add_iso(cJSON *object, const struct gauge_iso *iso)
{
    cJSON *figures = cJSON_AddObjectToObject(object, "iso_230_2");
    add(figures, "reversal_nm", iso->reversal_nm);
    add(figures, "reversal_mean_nm", iso->reversal_mean_nm);
    add(figures, "repeatability_nm", iso->repeat_both_nm);
    add_sides(figures, "repeatability", iso->repeat_nm);
    add(figures, "systematic_nm", iso->systematic_both_nm);
    add_sides(figures, "systematic", iso->systematic_nm);
    add(figures, "mean_deviation_nm", iso->mean_deviation_nm);
    add(figures, "accuracy_nm", iso->accuracy_both_nm);
    add_sides(figures, "accuracy", iso->accuracy_nm);
}

static void add_fit(cJSON *object, const struct gauge_fit *fit)
{
    cJSON *found = cJSON_AddObjectToObject(object, "fit");
    cJSON_AddNumberToObject(found, "scale", fit->scale);
    cJSON_AddNumberToObject(found, "scale_sd", fit->scale_sd);
    add(found, "offset_nm", fit->offset_nm);
    add(found, "lash_nm", fit->reversal_nm);
    add(found, "lash_sd_nm", fit->reversal_sd_nm);
    add(found, "lash_spread_nm", fit->reversal_spread_nm);
    if (fit->has_sine) {
        add(found, "turn_amplitude_nm", fit->amplitude_nm);
        add(found, "turn_amplitude_sd_nm", fit->amplitude_sd_nm);
        add(found, "turn_sine_nm", fit->sine_nm);
        add(found, "turn_cosine_nm", fit->cosine_nm);
    }
    add(found, "residual_sd_nm", fit->residual_sd_nm);
}

static void add_targets(cJSON *object, const struct gauge_result *result)
{
    cJSON *list = cJSON_AddArrayToObject(object, "targets");
    for (int i = 0; i < result->readings.targets; i++) {
        const struct gauge_target *target = &result->iso.target[i];
        cJSON *item = cJSON_CreateObject();
        cJSON_AddNumberToObject(item, "position_nm", (double)result->readings.target_nm[i]);
        add_sides(item, "mean", target->mean_nm);
        add_sides(item, "sd", target->sd_nm);
        add(item, "reversal_nm", target->reversal_nm);
        cJSON_AddItemToArray(list, item);
    }
}

cJSON *gauge_proposal(const struct gauge_result *result)
{
    cJSON *params = words_params("lash", result->lash_nm);
    if (!params || (result->lead_known && !words_add_length(params, "lead", result->lead_nm)) ||
        !error_table_add(params, &result->table)) {
        cJSON_Delete(params);
        return NULL;
    }
    return params;
}

static enum client_exit tell_json(const struct run *run, const struct gauge_result *result)
{
    static const char *const names[] = {
        [CAUSE_LASH] = "lash", [CAUSE_SCALE] = "scale", [CAUSE_SCREW] = "screw"};
    cJSON *object = cJSON_CreateObject();
    cJSON_AddNumberToObject(object, "runs", result->readings.runs);
    add_iso(object, &result->iso);
    add_fit(object, &result->fit);
    cJSON *causes = cJSON_AddArrayToObject(object, "causes");
    for (size_t i = 0; i < result->causes; i++) {
        cJSON_AddItemToArray(causes, cJSON_CreateString(names[result->cause[i]]));
    }
    cJSON_AddStringToObject(object, "finish", finish_word(result->finish));
    cJSON_AddItemToObject(object, "propose", gauge_proposal(result));
    add(object, "table_off_nm", result->table_off_nm);
    add_targets(object, result);
    char *text = cJSON_PrintUnformatted(object);
    cJSON_Delete(object);
    if (!text) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    (void)puts(text); /* main looks at ferror */
    cJSON_free(text);
    return CLIENT_DONE;
}

enum client_exit gauge_tell(const struct run *run, const struct gauge_lift *lift,
                            const struct gauge_result *result)
{
    struct say say = {0};
    if (run->json) {
        return tell_json(run, result);
    }
    say_figures(&say, result, run->style);
    say_fit(&say, result, run->style);
    say_proposal(&say, lift, result, run->style);
    run_print(&say);
    return CLIENT_DONE;
}
