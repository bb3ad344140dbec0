/* SPDX-License-Identifier: MIT */
/* The words of reglet for the shop's lists, and its lists brought to another lift by a file. */
#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/rig/reglet_run.h"
#include "tests/suite.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

struct line {
    const char *line;
    int code;
    const char *said;
};

static void expect_lines(struct rig *rig, const struct line *lines, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        reglet_expect(rig, lines[i].line, lines[i].code, lines[i].said);
    }
}

static const struct line filled[] = {
    {"bits", 0, "There is no bit on the list yet."},
    {"rings wide 2-1/2", 0, "opening: 2-1/2in (63.5mm)"},
    {"bits half kind straight diameter 1/2 shank 1/2 plunging yes", 0, "diameter: 1/2in (12.7mm)"},
    {"bits half", 0, "at most 24000 turns a minute, by its diameter"},
    {"bits half", 0, "No marking is kept of it"},
    /* 3.5 in at 10 000: pi * 0.0889 * 10000 / 60 = 46.55 m/s, worked out here. */
    {"bits raiser kind raiser-back-cutter diameter 3-1/2 cutting-length 3/4 ring wide", 0,
     "46.5 m/s (153 ft/s)"},
    {"bits raiser", 0, "none of growing height"},
    {"bits raiser speed-most 9000", 0,
     "at most 9000 turns a minute, by what is marked"}, /* added */
    {"bits raiser speed-most 8000", 1, "--replace"},
    {"bits raiser speed-most 9000", 0, "at most 9000"}, /* it is so already */
    {"bits raiser speed-most 8000 --replace", 0, "at most 8000 turns a minute"},
    {"bits raiser speed-most 9000 --replace", 0, "at most 9000 turns a minute"},
    {"bits", 0, "raiser: raiser-back-cutter, 3-1/2in (88.9mm), at most 9000/min"},
    {"stock ply-back .205", 0, "size: 13/64 + .002in (5.207mm)"},
    {"stock", 0, "ply-back: 13/64 + .002in (5.207mm)"},
    {"bits cope kind stile-rail diameter 1-5/8", 0, "cope, a bit"},
    {"bits stick kind stile-rail diameter 1-5/8", 0, "stick, a bit"},
    {"pairs door first stick second cope difference .002", 0, "door, a pair"},
    {"pairs", 0, "cope stands"},
    {"keep groove 1/4", 0, "Kept groove"},
    {"presets groove fence 2in~from~bit wood oak bit half --replace", 0, "fence: 2in from bit"},
    {"presets groove", 0, "height: 1/4in (6.35mm)"},
    {"presets groove", 0, "wood: oak"},
    {"keep other 3/8", 0, ""},
    {"presets --bit half", 0, "groove"},
};

static const struct line refused[] = {
    {"bits half colour red", 2, "nothing that a bit has"},
    {"bits half diameter", 2, "its value is missing"},
    {"bits half diameter 1/2 diameter 3/8", 2, "twice"},
    {"bits half plunging perhaps", 2, "yes or no"},
    {"bits half speed-most fast", 2, "whole number"},
    {"bits half diameter wide", 2, "expected"},
    {"bits none", 1, "There is no bit named 'none'"},
    {"bits half --forget --rename x", 2, "one name"},
    {"bits half --forget", 2, "--yes"},
    {"bits half --forget --yes", 1, "groove"},
    {"presets none wood oak --replace", 1, "There is no preset named 'none'"},
    {"presets groove --rename plate", 2, "touched off"},
    {"presets x --bit half", 2, "one too many"},
    {"ground none", 1, "no bit"},
    {"ground", 2, "name of a bit"},
    {"import none.json", 2, "could not be read"},
    {"export /dev/null/x", 1, "could not be written"},
};

/* The list of presets without the other's: only of that bit. */
static void expect_only(struct rig *rig, const char *line, const char *not_said)
{
    static struct reglet run;
    reglet_start(&run, rig, line, false);
    reglet_await(&run, NULL);
    ck_assert_int_eq(run.code, 0);
    ck_assert_msg(strstr(run.out, not_said) == NULL, "%s", run.out);
}

START_TEST(lists_are_filled_shown_and_refused_in_words)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_lines(&rig, filled, COUNT(filled));
    expect_only(&rig, "presets --bit half", "other");
    expect_lines(&rig, refused, COUNT(refused));
    reglet_expect(&rig, "fit half --yes", 0, "at most 24000 turns a minute");
    expect_only(&rig, "fit half --yes", "TOO WIDE");
    reglet_expect(&rig, "rings narrow 9/16", 0, "opening: 9/16in");
    reglet_expect(&rig, "bits half ring narrow cutting-length 1 --replace", 0, "ring: narrow");
    reglet_expect(&rig, "fit half --yes", 0, "Caution: THIS BIT IS TOO WIDE FOR ITS RING");
    reglet_expect(&rig, "bits half --rename straight-half", 0, "straight-half, a bit");
    reglet_expect(&rig, "", 0, "straight-half");
    reglet_expect(&rig, "ground straight-half", 0, "Its size is void");
    reglet_expect(&rig, "bits", 0, "GROUND");
    reglet_expect(&rig, "recall groove", 1, "");
    reglet_expect(&rig, "pairs door --forget --yes", 0, "Forgotten: door");
    rig_end(&rig);
}
END_TEST

/* As long as a story may be: it comes in several pages. */
static void long_story(struct rig *rig)
{
    char params[16000];
    for (int behind = 0; behind < 2; behind++) {
        int used = snprintf(params, sizeof params, "{\"name\":\"long\",\"behind\":%s,\"marks\":[",
                            behind ? "true" : "false");
        for (int i = 0; i < 100; i++) {
            used +=
                snprintf(params + used, sizeof params - (size_t)used,
                         "%s{\"height\":\"%d.5mm\",\"bit\":\"half\",\"pieces\":%d,\"part\":\"A\","
                         "\"words\":\"one of very many of them\",\"dust\":\"auto\"}",
                         i > 0 ? "," : "", i % 9, i + 1);
        }
        snprintf(params + used, sizeof params - (size_t)used, "],\"made_by\":\"by hand\"}");
        expect_done(rig_call(rig, "keep-story", params));
    }
}

/* Nothing of a file is taken that has a mistake anywhere. */
START_TEST(a_file_with_a_mistake_in_a_story_changes_nothing)
{
    static const struct {
        const char *stories;
        const char *said;
    } rows[] = {
        {"7", "no file of 'reglet export'"},
        {"[{\"marks\":[{\"words\":\"w\"}]}]", "whose name"},
        {"[{\"name\":\"s\",\"marks\":[]}]", "of 0 marks"},
        {"[{\"name\":\"s\",\"marks\":[{\"height\":\"1/4\"}]}]",
         "\"height\" is \"1/4\": 1/4 of what? write 1/4in. Nothing"},
        {"[{\"name\":\"s\",\"marks\":[{\"words\":\"w\",\"loud\":1}]}]", "loud"},
    };
    struct rig rig;
    char path[128];
    char line[160];
    rig_start(&rig, true, 1);
    snprintf(path, sizeof path, "%s/file.json", rig.folder);
    snprintf(line, sizeof line, "import --yes %s", path);
    for (size_t i = 0; i < COUNT(rows); i++) {
        FILE *file = fopen(path, "we");
        ck_assert_ptr_nonnull(file);
        fprintf(file,
                "{\"reglet_shop\":1,\"rings\":[{\"name\":\"r\",\"opening\":\"1in\"}],\"bits\":[],"
                "\"stock\":[],\"pairs\":[],\"presets\":[],\"stories\":%s}",
                rows[i].stories);
        fclose(file);
        reglet_expect(&rig, line, 2, rows[i].said);
        reglet_expect(&rig, "rings", 0, "There is no ring");
    }
    rig_end(&rig);
}
END_TEST

START_TEST(lists_go_to_another_lift_by_a_file)
{
    struct rig rig;
    struct rig other;
    char line[200];
    char file[100];
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_lines(&rig, filled, COUNT(filled));
    long_story(&rig);
    snprintf(file, sizeof file, "%s/lists.json", rig.folder);
    snprintf(line, sizeof line, "export %s", file);
    reglet_expect(&rig, line, 0, "The shop's lists are in");
    reglet_expect(&rig, line, 1, "name another file");
    reglet_expect(&rig, "export", 0, "\"cutting_length\":\t\"19.05mm\"");
    snprintf(line, sizeof line, "import %s", file);
    reglet_expect(&rig, line, 0, "0 new, 0 changed, 10 the same");
    rig_start(&other, true, 1);
    rig_touch_off(&other);
    reglet_expect(&other, "stock ply-back .25", 0, "");
    reglet_expect(&other, line, 1, "9 new, 1 changed, 0 the same");
    reglet_expect(&other, "stock ply-back", 0, "1/4in"); /* nothing was taken */
    reglet_expect(&other, line, 1, "size: 6.35mm, and in the file 5.207mm");
    snprintf(line, sizeof line, "import %s --yes", file);
    reglet_expect(&other, line, 0, "9 new, 1 changed");
    reglet_expect(&other, line, 0, "0 new, 0 changed, 10 the same");
    expect_done(rig_call(&other, "keep-story",
                         "{\"name\":\"long\",\"marks\":[{\"words\":\"w\"}],\"replace\":true}"));
    reglet_expect(&other, line, 0, "changed: story long: 1 marks, and in the file 200");
    reglet_expect(&other, line, 0, "0 new, 0 changed, 10 the same");
    expect_done(rig_call(&other, "keep-story",
                         "{\"name\":\"long\",\"marks\":[{\"words\":\"w\"}],\"replace\":true}"));
    expect_done(rig_call(&other, "load", "{\"name\":\"long\"}"));
    reglet_expect(&other, line, 1, "the story long was not taken");
    expect_done(rig_call(&other, "abandon", NULL));
    reglet_expect(&other, "presets groove", 0, "bit: half");
    reglet_expect(&other, "presets other", 0, "height: 3/8in");
    reglet_expect(&other, "bits raiser", 0, "ring: wide");
    rig_end(&other);
    rig_end(&rig);
}
END_TEST

/* In whatever unit it is shown, what is stored does not change. */
START_TEST(units_change_what_is_shown_and_nothing_stored)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    reglet_expect(&rig, "keep groove .25 -u in", 0, ".250in");
    reglet_expect(&rig, "keep rabbet 9.5 -u mm", 0, "9.5mm");
    cJSON *before = rig_call(&rig, "presets", NULL);
    static const struct line shown[] = {
        {"presets -u in", 0, ".374in"},
        {"presets -u mm", 0, "9.5mm"},
        {"presets -u 32", 0, "3/8 - .001in"},
        {"presets -u 64", 0, "6.35mm"},
        {"presets -u 128", 0, "1/4in"},
        {"to 1/4 -u mm", 2, "1/4 of what"},
        {"to 1/4in -u mm", 0, "6.35mm"},
        {"-u in", 0, ".250in"},
        {"-u 32", 0, "1/4in"},
    };
    expect_lines(&rig, shown, COUNT(shown));
    cJSON *after = rig_call(&rig, "presets", NULL);
    ck_assert(cJSON_Compare(cJSON_GetObjectItem(before, "result"),
                            cJSON_GetObjectItem(after, "result"), true));
    cJSON_Delete(before);
    cJSON_Delete(after);
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

/* The shop's own choice, for all who have not made one. */
START_TEST(the_shop_s_unit_is_changed_at_any_time_and_nothing_stored_with_it)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    static const struct line lines[] = {
        {"keep groove .25", 0, "1/4in"},
        {"stock ply .205", 0, "13/64"},
        {"unit", 0, "The shop's unit is '64': inches, to the nearest 1/64"},
        {"unit feet", 2, "in, mm, 32, 64 or 128"},
        {"unit in mm", 2, "in, mm, 32, 64 or 128"},
        {"unit mm", 0, "The shop's unit is 'mm': millimetres"},
    };
    static const struct line shown[] = {
        {"presets groove", 0, "height: 6.35mm"},
        {"to 1/4", 2, "1/4 of what"},
        {"to 6.35", 0, "6.35mm"},
        {"", 0, "6.35mm"},
        {"-u in", 0, ".250in"},
        {"unit -u in", 0, "Here --unit or $REGLET_UNIT goes before it, and says 'in'"},
    };
    expect_lines(&rig, lines, COUNT(lines) - 1);
    cJSON *before = rig_call(&rig, "presets", NULL);
    expect_lines(&rig, lines + COUNT(lines) - 1, 1);
    expect_lines(&rig, shown, COUNT(shown));
    rig_end_daemon(&rig, SIGKILL);
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    expect_lines(&rig, shown, COUNT(shown));
    cJSON *after = rig_call(&rig, "presets", NULL);
    ck_assert(cJSON_Compare(cJSON_GetObjectItem(before, "result"),
                            cJSON_GetObjectItem(after, "result"), true));
    cJSON_Delete(before);
    cJSON_Delete(after);
    reglet_expect(&rig, "unit 32", 0, "'32': inches");
    reglet_expect(&rig, "to 1/4", 0, "1/4in");
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

/* Who watches is told of it, as of any change. */
START_TEST(another_unit_is_told_to_those_who_watch)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    FILE *watcher = rig_connect(&rig);
    cJSON_Delete(rig_answer(watcher, rig_send(&rig, watcher, "watch", NULL)));
    expect_done(rig_call(&rig, "keep-display", "{\"unit\":\"mm\"}"));
    cJSON *heard = rig_heard(&rig, watcher);
    const cJSON *message;
    bool told = false;
    cJSON_ArrayForEach(message, heard)
    {
        const cJSON *params = cJSON_GetObjectItem(message, "params");
        const cJSON *unit = cJSON_GetObjectItem(params, "unit");
        told = told || (cJSON_IsString(unit) && strcmp(unit->valuestring, "mm") == 0);
    }
    ck_assert(told);
    cJSON_Delete(heard);
    expect_reason(rig_call(&rig, "keep-display", "{\"unit\":\"feet\"}"), "");
    expect_status(&rig, rig.client, "unit", "mm");
    fclose(watcher);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("reglet shop");
    TCase *cases = tcase_create("reglet shop");
    tcase_set_timeout(cases, 240);
    tcase_add_test(cases, lists_are_filled_shown_and_refused_in_words);
    tcase_add_test(cases, a_file_with_a_mistake_in_a_story_changes_nothing);
    tcase_add_test(cases, lists_go_to_another_lift_by_a_file);
    tcase_add_test(cases, units_change_what_is_shown_and_nothing_stored);
    tcase_add_test(cases, the_shop_s_unit_is_changed_at_any_time_and_nothing_stored_with_it);
    tcase_add_test(cases, another_unit_is_told_to_those_who_watch);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
