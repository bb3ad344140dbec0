/* SPDX-License-Identifier: MIT */
/* Stories through the words of the real reglet: kept from files, gone through, printed. */
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

static void expect_truth(struct rig *rig, double nm)
{
    cJSON *truth = rig_ask(rig, "truth");
    ck_assert_msg(fabs(rig_number(truth, "height_nm") - nm) <= 626, "%g, not %g",
                  rig_number(truth, "height_nm"), nm);
    cJSON_Delete(truth);
}

/* A file in the rig's folder, and a command line that names it. */
static void write_file(const struct rig *rig, const char *name, const char *text)
{
    char path[128];
    snprintf(path, sizeof path, "%s/%s", rig->folder, name);
    FILE *file = fopen(path, "we");
    ck_assert_ptr_nonnull(file);
    ck_assert_int_ge(fputs(text, file), 0);
    ck_assert_int_eq(fclose(file), 0);
}

/* The caller frees it. */
static char *read_file(const struct rig *rig, const char *name)
{
    enum { SIZE = 1 << 18 };
    char path[128];
    char *text = calloc(1, SIZE);
    snprintf(path, sizeof path, "%s/%s", rig->folder, name);
    FILE *file = fopen(path, "re");
    ck_assert(file && text);
    ck_assert_uint_gt(fread(text, 1, SIZE - 1, file), 0);
    ck_assert_int_eq(fclose(file), 0);
    return text;
}

static void expect_file(struct rig *rig, const char *before, const char *name, const char *behind,
                        int code, const char *said)
{
    char line[512];
    snprintf(line, sizeof line, "%s %s/%s %s", before, rig->folder, name, behind);
    reglet_expect(rig, line, code, said);
}

START_TEST(kept_gone_through_and_let_go)
{
    static const struct line lines[] = {
        {"story", 0, "  sides   3 marks"},
        {"story show sides", 0, "1 of 3   PART A   1/4in (6.35mm)   2 pieces\n      First pass."},
        {"story show", 2, "name of a story"},
        {"story show tops", 1, "no story of that name"},
        {"story print sides", 0, "CUTTING TICKET   sides   3 marks"},
        {"story eat sides", 2, "none of: list"},
        {"where", 0, "No story is loaded"},
        {"next", 1, "No story is loaded"},
        {"load tops", 1, "no story of that name"},
        {"load", 2, "name of a story"},
        {"load sides", 0, "BEFORE THE FIRST OF 3 MARKS   [sides]\nNext:    'reglet -p next' for"},
        {"cut", 1, "before its first mark"},
        {"back", 1, "before its first mark"},
        {"next", 0, "next: mark 1 of 3   PART A   1/4in (6.35mm); no work on or over the bit\n"},
        {"where", 0, "MARK 1 of 3   PART A   1/4in (6.35mm)   CUT 0 OF 2   [sides]\n"},
        {"where", 0, "    First pass.\n"},
        {"cut", 0, "CUT 1 OF 2   [sides]"},
        {"where", 0, "Next:    cut 1 more, 'reglet -p cut' after each; then 'reglet -p next'"},
        {"", 0, "Story:   sides, at mark 1 of 3; 'reglet -p where' says what to cut"},
        {"next", 0, "MARK 2 of 3   no height: nothing moves   [sides]\n    Fence: to 2in"},
        {"next", 0, "Next:    this is the last mark"},
        {"next", 1, "last mark"},
        {"back", 0, "MARK 2 of 3"},
        {"back", 0,
         "back: mark 1 of 3; no work on or over the bit\n  1/4in   (6.35mm)   above the table   "
         "PRACTICE\n  MARK 1 of 3"},
        {"story forget sides --yes", 1, "loaded"},
        {"again", 0, "again: mark 1 of 3   PART A   1/4in (6.35mm); no work"},
        {"abandon", 0, "No story is loaded any more."},
        {"story forget sides", 2, "--yes"},
        {"story forget sides --yes", 0, "Forgotten: sides"},
        {"story", 0, "no stories yet"},
    };
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    write_file(&rig, "sides.txt",
               "1/4in | | First pass. | part A | pieces 2\n| | | fence to 2in\n3/8in\n");
    write_file(&rig, "wrong.txt", "1/4in\n\n3/8\n");
    expect_file(&rig, "story keep", "wrong.txt", "", 2, "wrong.txt, line 3: ");
    expect_file(&rig, "story keep", "none.txt", "", 2, "cannot be read");
    expect_file(&rig, "story keep", "sides.txt", "", 0, "Kept the story sides, 3 marks.");
    expect_file(&rig, "story keep", "sides.txt", "", 1, "already");
    expect_file(&rig, "story keep", "sides.txt", "--replace", 0, "Kept the story sides");
    expect_file(&rig, "story save sides", "out.csv", "", 0, "");
    expect_file(&rig, "story save sides", "out.csv", "", 2, "--replace");
    expect_file(&rig, "story keep", "out.csv", "other", 0, "Kept the story other, 3 marks.");
    reglet_expect(&rig, "story show other", 0, "1 of 3   PART A   1/4in (6.35mm)   2 pieces");
    reglet_expect(&rig, "story forget other --yes", 0, "Forgotten: other");
    expect_lines(&rig, lines, COUNT(lines));
    expect_truth(&rig, 6.35e6);
    rig_end(&rig);
}
END_TEST

/* Longer than one line of the socket (16 KiB) holds, there and back. */
START_TEST(two_hundred_marks_with_long_words)
{
    static char text[80000];
    static const char words[] =
        "Part A, slot 1 of 3. Turn the board: marked edge up, the same end to the fence; and what "
        "else is to be said to somebody who has cut a hundred of them already and has become tired";
    struct rig rig;
    size_t used = 0;
    int marks = 0;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (int i = 0; i < 200; i++) {
        used += (size_t)snprintf(text + used, sizeof text - used, "%d.%dmm | | %s %d\n", i / 10,
                                 i % 10, words, i + 1);
    }
    write_file(&rig, "long.txt", text);
    expect_file(&rig, "story keep", "long.txt", "", 0, "200 marks");
    expect_file(&rig, "story keep", "long.txt", "--replace", 0, "200 marks");
    reglet_expect(&rig, "story", 0, "long   200 marks");
    expect_file(&rig, "story save long", "again.txt", "", 0, "");
    char *again = read_file(&rig, "again.txt");
    ck_assert_ptr_nonnull(strstr(again, "tired 1\n"));
    ck_assert_ptr_nonnull(strstr(again, "tired 200\n"));
    for (const char *at = again; (at = strstr(at, "tired ")); at++) {
        marks++;
        ck_assert_int_eq(atoi(at + 6), marks);
    }
    ck_assert_int_eq(marks, 200);
    free(again);
    rig_end(&rig);
}
END_TEST

/* The heights that the status says can be asked for are reached, and those beyond are refused. */
START_TEST(the_reach_is_what_can_be_asked_for)
{
    static const struct {
        const char *name;
        int way;
        const char *reason;
    } ends[] = {{"lowest_nm", -1, "take-up"}, {"highest_nm", 1, "above-travel"}};
    struct rig rig;
    rig_start(&rig, true, 1);
    cJSON *answer = rig_call(&rig, "status", NULL);
    ck_assert_ptr_null(cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "result"), "lowest_nm"));
    cJSON_Delete(answer);
    rig_touch_off(&rig);
    for (int i = 0; i < 2; i++) {
        answer = rig_call(&rig, "status", NULL);
        double nm = rig_number(cJSON_GetObjectItem(answer, "result"), ends[i].name);
        cJSON_Delete(answer);
        expect_reason(rig_length(&rig, "to", "height", (int64_t)nm + ends[i].way * 3000),
                      ends[i].reason);
        expect_done(rig_length(&rig, "to", "height", (int64_t)nm));
        expect_truth(&rig, nm);
    }
    rig_end(&rig);
}
END_TEST

START_TEST(joints_and_passes_become_stories)
{
    static const struct line lines[] = {
        {"joint", 0, "  stepped      Finger joint, stepped with a slot cutter"},
        {"joint tongue", 0, "  room           how much deeper"},
        {"joint lap thick 3/4", 2, "'length' is missing"},
        {"joint lap thick 3/4 length 2 bit none", 2, "no bit named 'none'"},
        {"joint lap thick oak length 2 bit 1/2", 2, "no stock named 'oak'"},
        {"joint lap thick 3/4 length 2", 2, "none that is named is fitted"},
        {"joint drawer bottom ply-back clearance .004 into 1/4 thick 1/2 bit slot", 0,
         "Groove for a drawer's bottom: 2 marks\n"},
        {"joint tongue thick .742 groove 1/4 tongue 1/4 kerf 1/16", 1, "leave a rib"},
        {"joint lap thick 20 length 2 bit 1/2 most 0 --keep lap", 1, "the lift"},
        {"joint lap thick 1/2 length 2 bit 1/2 most 0 --load", 2, "--load belongs to --keep"},
        {"joint sliding depth 1/4 thick 3/4 bit 1/2 slope 14 waste 1/4 --keep tail", 2, "both by"},
        {"joint lap thick 1/2 length 2 bit 1/2 most 0 --keep lap", 0, "'reglet -p load lap'"},
        {"joint lap thick 1/2 length 2 bit 1/2 most 0 --keep lap", 1, "already"},
        {"story show lap", 0, "1 of 1   1/4in (6.35mm)"},
        {"story print lap", 0, "Made by: reglet joint lap thick 1/2 length 2 bit 1/2 most 0"},
        {"passes", 2, "how deep"},
        {"passes 3/8", 2, "which bit"},
        {"passes 3/8 --most 1/8 --bit tail", 1, "Waste"},
        {"passes 3/8 --bit slot", 1, "deeper by the fence"},
        {"passes 3/8 --most 1/8 --last 1/4", 1, "The last pass"},
        {"passes 3/8 --from 1/2 --most 1/8", 1, "nothing left"},
        {"passes 3/8 --most 1/8 --pieces none", 2, "whole number"},
        {"passes 3/8 --most 1/8 --last 1/32", 0, "4 of 4   3/8in (9.525mm)"},
        {"passes 3/8 --most 1/8 --last 1/32 --pieces 4 --keep deep --load", 0,
         "BEFORE THE FIRST OF 4 MARKS   [deep]"},
        {"next", 0, "CUT 0 OF 4"},
        {"--json joint lap thick 1/2 length 2 bit 1/2 most 0", 0, "\"height\": \"1/4in\""},
    };
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "keep-stock", "{\"name\":\"ply-back\",\"size\":\".205in\"}"));
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"slot\",\"kind\":\"slot-cutter\",\"diameter\":\"1-7/8in\","
                         "\"cutting_length\":\"5/32in\"}"));
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"tail\",\"kind\":\"dovetail\",\"diameter\":\"1/2in\"}"));
    expect_lines(&rig, lines, COUNT(lines));
    expect_file(&rig, "draw", "lap.svg", "joint lap thick 1/2 length 2 bit 1/2", 0, "look at it");
    expect_file(&rig, "draw", "lap.svg", "joint lap thick 1/2 length 2 bit 1/2", 2, "--replace");
    expect_file(&rig, "draw", "move.svg", "move from 1/8 to 3/8", 0, "");
    expect_file(&rig, "draw", "move.svg", "move from 1/8 to 1/8 --replace", 2, "nothing moves");
    expect_file(&rig, "draw", "move.svg", "move from 1/8", 2, "expected both heights");
    expect_file(&rig, "draw", "move.svg", "move from 1/8 up 3/8", 2, "'up' is none of");
    expect_file(&rig, "draw", "move.svg", "", 2, "expected a file, and then");
    expect_file(&rig, "passes 3/8 --most 1/8 --draw", "passes.svg", "", 0, "3 of 3");
    char *svg = read_file(&rig, "passes.svg");
    ck_assert_ptr_nonnull(strstr(svg, "reglet passes 3/8 --most 1/8"));
    ck_assert_ptr_nonnull(strstr(svg, "</svg>"));
    free(svg);
    expect_truth(&rig, 11. / 96 * 25.4e6); /* (3/8 - 1/32)/3 */
    rig_end(&rig);
}
END_TEST

static void expect_drawn(struct rig *rig, const char *name, const char *says, const char * not )
{
    char behind[96];
    char file[64];
    snprintf(behind, sizeof behind, "story %s --replace -u mm", name);
    snprintf(file, sizeof file, "%s.svg", name);
    expect_file(rig, "draw", file, behind, 0, "");
    char *svg = read_file(rig, file);
    ck_assert_msg(strstr(svg, says) != NULL, "%s: no '%s'", name, says);
    ck_assert_msg(!not || !strstr(svg, not ), "%s: '%s'", name, not );
    ck_assert_ptr_nonnull(strstr(svg, "</svg>"));
    free(svg);
}

/* The kept one is drawn as what made it: with another bit fitted than then, with bare numbers of
 * another unit, and with travel that was another. */
START_TEST(a_kept_story_is_drawn_by_its_name)
{
    static const struct line made[] = {
        {"joint stepped width 4 thick 1/2 kerf 1/8 lowest -1 highest 2.5 --keep box", 0, "33"},
        {"-u mm joint lap thick 19 length 50 bit 12 --keep lap", 0, "'reglet -p load lap'"},
        {"-u mm joint drawer bottom ply-back into 6 thick 12 bit slot --keep sides", 0, "load"},
        {"joint sliding depth 1/4 thick 3/4 bit tail slope 14 waste quarter --keep slide", 0, ""},
        {"passes 1~7/16 --most 1/4 --from 1/8~+~.003 --bit quarter --keep deep", 0, "load deep"},
        {"passes 12.7 -u mm --most 3 --last 1 --keep fitted", 0, "load fitted"},
    };
    struct rig rig;
    rig_start(&rig, true, 1);
    expect_done(rig_call(&rig, "keep-stock", "{\"name\":\"ply-back\",\"size\":\".205in\"}"));
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"slot\",\"kind\":\"slot-cutter\",\"diameter\":\"1-7/8in\","
                         "\"cutting_length\":\"5/32in\"}"));
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"tail\",\"kind\":\"dovetail\",\"diameter\":\"1/2in\"}"));
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"quarter\",\"kind\":\"straight\",\"diameter\":\"1/4in\"}"));
    expect_lines(&rig, made, COUNT(made));
    expect_drawn(&rig, "box", "[box]   made by: reglet", "Story stick");
    expect_drawn(&rig, "box", "Board turned", NULL);
    expect_drawn(&rig, "lap", "[lap]   made by: reglet", "Story stick");
    expect_drawn(&rig, "sides", "[sides]   made by: reglet", "Story stick");
    expect_drawn(&rig, "slide", "[slide]   made by: reglet", "Story stick");
    expect_drawn(&rig, "deep", "[deep]   made by: reglet", "Story stick");
    expect_drawn(&rig, "fitted", "[fitted]   made by: reglet", "Story stick");
    rig_end(&rig);
}
END_TEST

/* What was not made by a joint, and what comes to something else by now, is drawn mark by mark. */
START_TEST(a_story_of_its_own_is_drawn_as_a_stick)
{
    static const struct line lines[] = {
        {"joint drawer bottom ply-back into 1/4 thick 1/2 bit 3/16 --keep back", 0, "load back"},
        {"draw", 2, "'story NAME'"},
    };
    struct rig rig;
    rig_start(&rig, true, 1);
    expect_done(rig_call(&rig, "keep-stock", "{\"name\":\"ply-back\",\"size\":\".205in\"}"));
    expect_lines(&rig, lines, COUNT(lines));
    expect_drawn(&rig, "back", "[back]   made by: reglet", "Story stick");
    expect_done(rig_call(&rig, "keep-stock",
                         "{\"name\":\"ply-back\",\"size\":\".250in\",\"replace\":true}"));
    expect_file(&rig, "draw", "back.svg", "story back", 2, "--replace");
    expect_file(&rig, "draw", "again.svg", "story back", 0, "comes to other marks today");
    char *svg = read_file(&rig, "again.svg");
    ck_assert_ptr_nonnull(strstr(svg, "Story stick"));
    ck_assert_ptr_nonnull(strstr(svg, "comes to other marks today"));
    free(svg);
    write_file(&rig, "hand.txt", "1/4in | | First | part A\n| | | fence to 2in\n1/8in\n");
    write_file(&rig, "notes.txt", "| | | fence to 2in\n");
    write_file(&rig, "odd.txt", "made by: reglet joint it\n1/4in\n");
    expect_file(&rig, "story keep", "hand.txt", "", 0, "Kept");
    expect_file(&rig, "story keep", "notes.txt", "", 0, "Kept");
    expect_file(&rig, "story keep", "odd.txt", "", 0, "Kept");
    expect_drawn(&rig, "hand", "part A: First", NULL);
    expect_drawn(&rig, "odd", "comes to other marks today", NULL);
    expect_file(&rig, "draw", "notes.svg", "story notes", 1, "nothing to draw");
    expect_file(&rig, "draw", "none.svg", "story none", 1, "no story of that name");
    expect_file(&rig, "draw", "none.svg", "story", 2, "name of a story");
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("reglet_story");
    TCase *cases = tcase_create("reglet_story");
    tcase_set_timeout(cases, 240);
    tcase_add_test(cases, kept_gone_through_and_let_go);
    tcase_add_test(cases, two_hundred_marks_with_long_words);
    tcase_add_test(cases, the_reach_is_what_can_be_asked_for);
    tcase_add_test(cases, joints_and_passes_become_stories);
    tcase_add_test(cases, a_kept_story_is_drawn_by_its_name);
    tcase_add_test(cases, a_story_of_its_own_is_drawn_as_a_stick);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
