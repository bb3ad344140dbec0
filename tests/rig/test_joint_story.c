/* SPDX-License-Identifier: MIT */
/*
 * From the words of a joint to its last cut, on the practice lift: by several clients in turn, over
 * a restart of the daemon, with a change of the bit.
 */
#include <check.h>
#include <signal.h>
#include <string.h>

#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/rig/reglet_run.h"
#include "tests/suite.h"

/* Half a step of the practice lift and half a nanometre. */
static void expect_truth(struct rig *rig, double nm)
{
    cJSON *truth = rig_ask(rig, "truth");
    double step_nm = rig_number(truth, "step_nm");
    ck_assert_msg(fabs(rig_number(truth, "height_nm") - nm) <= step_nm / 2 + 1, "%g, not %g",
                  rig_number(truth, "height_nm"), nm);
    cJSON_Delete(truth);
}

static void expect_place(struct rig *rig, int mark, int cut)
{
    cJSON *answer = rig_call(rig, "status", NULL);
    const cJSON *story = cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "result"), "story");
    ck_assert_ptr_nonnull(story);
    ck_assert_double_eq(rig_number(story, "mark"), mark);
    ck_assert_double_eq(rig_number(story, "cut"), cut);
    cJSON_Delete(answer);
}

/* Kerf .1, clearance .003: the lower edge comes to .197 i + .097 for part A and to .197 i - .0015
 * for part B (derived and recomputed); the height is that of the top, a kerf above. Seven slots of
 * A are cut first, then seven of B. */
static double height_of(int mark)
{
    double bottom = mark <= 7 ? (mark - 1) * .197 + .097 : (mark - 8) * .197 - .0015;
    return (bottom + .1) * 25.4e6;
}

/* The first client is the command itself, the other two are connections of their own. */
static void step_by(struct rig *rig, int client, FILE *const other[2], int mark)
{
    char said[64];
    if (client > 0) {
        FILE *whose = other[client - 1];
        expect_done(rig_settle(rig, whose, rig_send(rig, whose, "next", NULL)));
        return;
    }
    snprintf(said, sizeof said, "MARK %d of 14   PART %s", mark, mark <= 7 ? "A" : "B");
    reglet_expect(rig, "next", 0, said);
}

static void cut_eight(struct rig *rig, FILE *const other[2])
{
    for (int piece = 1; piece <= 8; piece++) {
        FILE *whose = other[piece % 2];
        expect_done(rig_settle(rig, whose, rig_send(rig, whose, "cut", NULL)));
    }
}

static void restart(struct rig *rig)
{
    rig_end_daemon(rig, SIGKILL);
    rig_start_daemon(rig);
    rig_run(rig, 1000);
}

START_TEST(a_finger_joint_of_14_marks_for_8_boards)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    char line[256];
    snprintf(line, sizeof line,
             "joint stepped width 1.376 thick 1/2 kerf .1 clearance .003 pieces 8 --keep box "
             "--load --draw %s/box.svg",
             rig.folder);
    reglet_expect(&rig, line, 0, "BEFORE THE FIRST OF 14 MARKS   [box]");
    for (int mark = 1; mark <= 14; mark++) {
        FILE *other[2] = {rig_connect(&rig), rig_connect(&rig)};
        step_by(&rig, mark % 3, other, mark);
        expect_truth(&rig, height_of(mark));
        expect_place(&rig, mark, 0);
        cut_eight(&rig, other);
        fclose(other[0]);
        fclose(other[1]);
        if (mark == 7) {
            restart(&rig);
            expect_truth(&rig, height_of(mark));
        }
        expect_place(&rig, mark, 8);
    }
    reglet_expect(&rig, "where", 0, "CUT 8 OF 8");
    reglet_expect(&rig, "next", 1, "last mark");
    reglet_expect(&rig, "abandon", 0, "No story is loaded any more.");
    rig_end(&rig);
}
END_TEST

/* Down until the collet is away from the top, then up to where the bit is told to stand. */
static void fit(struct rig *rig, const char *bit)
{
    char line[64];
    reglet_expect(rig, "change --yes", 0, "");
    snprintf(line, sizeof line, "fit %s --yes", bit);
    reglet_expect(rig, line, 0, "");
    expect_done(rig_call(rig, "hold", "{\"direction\":\"down\",\"speed\":\"fast\"}"));
    rig_run(rig, 600);
    expect_done(rig_call(rig, "by", "{\"distance\":\"-12mm\"}"));
    expect_done(rig_call(rig, "by", "{\"distance\":\"-4mm\"}"));
    expect_done(rig_call(rig, "by", "{\"distance\":\"2mm\"}"));
    rig_tell(rig, "bit 0");
    reglet_expect(rig, "touch flush", 0, "flush");
}

/* Waste 1/32 shallower than the socket in passes of 1/8 at most; socket and tail at one height. */
START_TEST(waste_first_then_the_dovetail)
{
    static const double waste[] = {7. / 64, 7. / 32};
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"quarter\",\"kind\":\"straight\",\"diameter\":\"1/4in\","
                         "\"shank\":\"1/4in\"}"));
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"tail\",\"kind\":\"dovetail\",\"diameter\":\"1/2in\"}"));
    reglet_expect(&rig,
                  "joint sliding depth 1/4 thick 3/4 bit tail slope 14 waste quarter pieces 2 "
                  "--keep slide --load",
                  0, "BEFORE THE FIRST OF 4 MARKS   [slide]");
    reglet_expect(&rig, "story print slide", 0, "CHANGE THE BIT: fit tail, touch off");
    reglet_expect(&rig, "where", 0, "ANOTHER BIT, quarter");
    reglet_expect(&rig, "next", 1, "fit it, touch off");
    fit(&rig, "quarter");
    for (int mark = 1; mark <= 2; mark++) {
        reglet_expect(&rig, "next", 0, "with the straight bit");
        expect_truth(&rig, waste[mark - 1] * 25.4e6);
        expect_place(&rig, mark, 0);
    }
    reglet_expect(&rig, "where", 0, "mark 3 is cut by ANOTHER");
    reglet_expect(&rig, "next", 1, "'tail', which is not in the collet");
    expect_place(&rig, 2, 0);
    fit(&rig, "tail");
    restart(&rig);
    for (int mark = 3; mark <= 4; mark++) {
        reglet_expect(&rig, "next", 0, mark == 3 ? "PART A" : "PART B");
        expect_truth(&rig, .25 * 25.4e6);
        expect_place(&rig, mark, 0);
    }
    reglet_expect(&rig, "cut", 0, "CUT 1 OF 2");
    rig_end(&rig);
}
END_TEST

/* A file of config, as a command line names it. */
static void expect_example(struct rig *rig, const char *before, const char *name,
                           const char *behind, const char *said)
{
    char line[4096 + 80];
    const char *slash = strrchr(__FILE__, '/');
    snprintf(line, sizeof line, "%s %.*s/../../config/%s%s", before, (int)(slash - __FILE__),
             __FILE__, name, behind);
    reglet_expect(rig, line, 0, said);
}

/* Made for the bit that was fitted then, which is not the one that is fitted now. */
static void expect_drawn_as_passes(struct rig *rig, const char *name)
{
    static char svg[1 << 18];
    char path[160];
    char draw[256];
    snprintf(path, sizeof path, "%s/%s.svg", rig->folder, name);
    snprintf(draw, sizeof draw, "draw %s story %s", path, name);
    reglet_expect(rig, draw, 0, "look at it before you cut");
    FILE *file = fopen(path, "re");
    ck_assert_ptr_nonnull(file);
    svg[fread(svg, 1, sizeof svg - 1, file)] = '\0';
    ck_assert_int_eq(fclose(file), 0);
    ck_assert_ptr_nonnull(strstr(svg, ">Passes</text>"));
    ck_assert_ptr_null(strstr(svg, "Story stick"));
}

/* The examples in config are what a person copies: both are taken, and gone through to the end.
 * The groove is .209 wide and begins 1/4 over the table; by a kerf of 5/32 its cuts begin at .250
 * and .30275 (derived and recomputed), so their tops are at 13/32 and .459. */
START_TEST(the_examples_are_sound)
{
    static const struct {
        double inches; /* 0: a mark without a height */
        const char *said;
    } marks[] = {{0, "MARK 1 of 5   no height"},
                 {.125, "MARK 2 of 5   PART sides   1/8in"},
                 {.25, "Last pass of the rabbet."},
                 {.250 + 5. / 32, "lower cut"},
                 {.30275 + 5. / 32, "upper cut"}};
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_example(&rig, "import", "example-shop.json", " --yes", "5 new, 0 changed");
    expect_example(&rig, "import", "example-shop.json", " --yes", "0 new, 0 changed, 5 the same");
    expect_example(&rig, "story keep", "example-story.json", "", "story drawer-sides, 5 marks");
    reglet_expect(&rig, "story print drawer-sides", 0, "CHANGE THE BIT: fit slot-5/32");
    reglet_expect(&rig, "load drawer-sides", 0, "BEFORE THE FIRST OF 5 MARKS");
    fit(&rig, "straight-half");
    reglet_expect(&rig, "passes 3/8 --keep deep", 0, "Kept the story deep, 2 marks.");
    for (int mark = 1; mark <= 5; mark++) {
        if (mark == 4) {
            reglet_expect(&rig, "next", 1, "'slot-5/32', which is not in the collet");
            fit(&rig, "slot-5/32");
        }
        reglet_expect(&rig, "next", 0, marks[mark - 1].said);
        if (marks[mark - 1].inches > 0)
            expect_truth(&rig, marks[mark - 1].inches * 25.4e6);
    }
    reglet_expect(&rig, "next", 1, "last mark");
    reglet_expect(&rig, "presets drawer-rabbet", 0, "bit: straight-half");
    expect_drawn_as_passes(&rig, "deep");
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("joint_story");
    TCase *cases = tcase_create("joint_story");
    tcase_set_timeout(cases, 240);
    tcase_add_test(cases, a_finger_joint_of_14_marks_for_8_boards);
    tcase_add_test(cases, waste_first_then_the_dovetail);
    tcase_add_test(cases, the_examples_are_sound);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
