/* SPDX-License-Identifier: MIT */
/* Each word of the real reglet, once as it is granted and once as it is refused. */
#include "tests/rig/config_rig.h"
#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/rig/reglet_run.h"
#include "tests/suite.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* A command line, its exit code, and some of what it says. */
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

static double true_height(struct rig *rig)
{
    cJSON *truth = rig_ask(rig, "truth");
    double nm = rig_number(truth, "height_nm");
    cJSON_Delete(truth);
    return nm;
}

static void expect_height(struct rig *rig, double nm)
{
    ck_assert_msg(fabs(true_height(rig) - nm) <= 625, "%g, not %g", true_height(rig), nm);
}

/* --- Finding itself, and heights --- */

START_TEST(from_nothing_known_to_a_touch_off)
{
    static const struct line to_flush[] = {
        {"", 0, "HEIGHT NOT KNOWN"},
        {"to 1/4", 1, "height"},
        {"find-top", 2, "--yes"},
        {"find-top --json", 2, "--yes"},
        {"confirm --yes", 1, ""},
        {"find-top --yes", 0, "The top is known"},
        {"here --top", 1, "switch"},
        {"here", 2, "--top"},
        {"by -1/2", 0, "by -1/2in (-12.7mm)"},
        {"by -1/2", 0, ""},
        {"by 1in", 1, "1/2in"},
        {"by", 2, "expected a distance"},
        {"by -1/4", 0, ""},
        {"by 1/4", 0, "touch flush"},
    };
    static const struct line flush[] = {
        {"touch flush", 0, "flush with the table"},
        {"touch", 2, "flush, block, plate"},
        {"touch drawer-groove", 1, "preset"},
        {"touch plate", 1, "contact"},
        {"touch plate --most 1/4", 1, "contact"},
        {"touch 1/4 --most 1/4", 2, "--most"},
        {"touch 10 -u in", 2, "10.000in (254mm) is further from the table than a bit can stand"},
        {"touch block 5in", 2, "than a bit can stand"},
        {"", 0, "Trust:   sure"},
        {"wait sure", 0, "flush"},
    };
    struct rig rig;
    rig_start(&rig, true, 1);
    expect_lines(&rig, to_flush, COUNT(to_flush));
    rig_tell(&rig, "bit 0");
    expect_lines(&rig, flush, COUNT(flush));
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(heights_nudges_and_presets)
{
    static const struct line lines[] = {
        {"to 3/8", 0, "to 3/8in (9.525mm); no work on or over the bit\n  3/8in   (9.525mm)"},
        {"to 99", 1, "travel"},
        {"to far", 2, "expected a digit"},
        {"up 1/64", 0, "  25/64in   (9.921mm)"},
        {"up 0", 2, "above zero"},
        {"up 20", 1, ""},
        {"down", 0, "down .002in"},
        {"down -1/64", 2, "above zero"},
        {"by -.1mm", 0, ""},
        {"keep drawer-groove 1/4", 0, "Kept drawer-groove: 1/4in (6.35mm)"},
        {"keep drawer-groove 1/8", 1, "--replace"},
        {"keep drawer-groove 1/8 --replace", 0, "1/8in"},
        {"keep", 2, "name"},
        {"recall drawer-groove", 0, "  1/8in   (3.175mm)   above the table"},
        {"recall tenon", 1, "no preset named 'tenon'"},
        {"recall", 2, "name"},
        {"presets", 0, "drawer-groove   1/8in"},
        {"presets all", 1, "no preset named"},
        {"forget drawer-groove", 2, "--yes"},
        {"forget drawer-groove --yes", 0, "Forgotten: drawer-groove"},
        {"forget drawer-groove --yes", 1, "no preset named"},
        {"presets", 0, "no presets yet"},
        {"confirm --yes", 0, "1/8in"},
        {"confirm 1/8", 0, "1/8in"},
        {"confirm 1/4", 1, ""},
        {"confirm", 2, "--yes"},
        {"--unit mm to 3.2", 0, "3.2mm"},
        {"-u furlong", 2, "furlong"},
        {"stop", 0, "3.2mm"},
        {"stop now", 2, "takes no words"},
        {"calibrate", 0, "Lash"},
        {"calibrate back", 1, ""},
        {"calibrate lash .2mm", 0, "measured"},
        {"calibrate lash", 2, "measured"},
        {"capacity screw 1/2-10 Acme load 10kg", 0, ""},
        {"capacity load", 2, "reglet capacity"},
        {"watch all", 2, "takes no words"},
        {"jump", 2, "no word of reglet's"},
        {"3/8", 2, "is a height"},
    };
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_lines(&rig, lines, COUNT(lines));
    expect_height(&rig, 3.2e6);
    rig_end(&rig);
}
END_TEST

/* More than one page of the list holds (16 KiB): the last of them is found as well. */
START_TEST(presets_over_many_pages)
{
    enum { KEPT = 300 };
    static struct reglet run;
    struct rig rig;
    char params[128];
    int lines = 0;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (int i = 0; i < KEPT; i++) {
        snprintf(params, sizeof params,
                 "{\"name\":\"a-name-that-takes-some-room-%03d\",\"height\":\"%dmm\"}", i, i % 20);
        expect_done(rig_call(&rig, "keep", params));
    }
    reglet_expect(&rig, "recall a-name-that-takes-some-room-299", 0, "19mm");
    expect_height(&rig, 19e6);
    reglet_start(&run, &rig, "presets", false);
    reglet_await(&run, NULL);
    for (const char *at = run.out; (at = strstr(at, "a-name-")) != NULL; at++) {
        lines++;
    }
    ck_assert_int_eq(run.code, 0);
    ck_assert_int_eq(lines, KEPT);
    reglet_expect(&rig, "recall a-name-that-takes-some-room-300", 1, "no preset named");
    rig_end(&rig);
}
END_TEST

/* --- A working day --- */

START_TEST(a_day_of_bits_sleds_and_test_cuts)
{
    static const struct line before[] = {
        {"riding", 0, "Nothing rides"},
        {"riding 3/8", 0, "RIDING ON 3/8in (9.525mm)"},
        {"riding", 0, "RIDING ON 3/8in (9.525mm)"},
        {"riding -3/8", 2, "not below zero"},
        {"riding 11in", 2, ""},
        {"to 1/8", 0, "above what rides"},
        {"riding 0", 0, "  1/2in   (12.7mm)   above the table"},
        {"undo", 1, "no correction"},
        {"correct tongue --measured .250 --wanted .246", 2, "--yes"},
        {"correct tongue --measured .250 --wanted .246 --yes", 0,
         "Raise .002in: the tongue gets thinner."},
        {"undo", 0, "undo: lower .002in (0.0508mm)"},
        {"correct lap --measured .760 --wanted .750 --one --yes", 0, "Raise .010in"},
        {"correct lower --measured .250 --wanted .246 --yes", 0, "Lower .004in"},
        {"correct left --measured .250 --yes", 2, "--wanted"},
        {"correct depth --one --measured 1 --wanted 2 --yes", 2, "--one"},
        {"correct dovetail --measured .005 --wanted 0 --yes", 2, "--slope"},
        {"correct dovetail --measured .005 --wanted 0 --slope 14 --yes", 0, "Raise .010in"},
        {"correct finger --yes", 2, "finger joint"},
        {"correct .002 --measured 1 --yes", 2, "depth, left"},
        {"correct -.002 --yes", 0, "Lower .002in"},
        {"correct 0 --yes", 2, "no correction"},
        {"correct 4mm --yes", 1, ""},
        {"under", 1, "Nothing is known of the bit"},
        {"change", 2, "--yes"},
        {"change --yes", 0, "IT IS BEING CHANGED"},
        {"change --yes", 1, "being changed"},
        {"fit nothing --yes", 1, ""},
        {"fit", 2, "--yes"},
        {"fit straight --yes", 0, "Bit:     straight"},
        {"up", 1, "hold"},
        {"hold up", 2, "terminal"},
        {"hold sideways", 2, "up or down"},
        {"hold up quickly", 2, "slow or fast"},
    };
    static const struct line after[] = {
        {"touch block 1/4", 0, "  1/4in   (6.35mm)   above the table"},
        {"touch block", 2, "thickness of the block"},
        {"under", 0, "below the table"},
    };
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"straight\",\"kind\":\"straight\",\"diameter\":\"1/2in\","
                         "\"cutting_length\":\"1in\"}"));
    expect_lines(&rig, before, COUNT(before));
    expect_done(rig_call(&rig, "hold", "{\"direction\":\"down\"}"));
    rig_run(&rig, 1000);
    reglet_expect(&rig, "down 1/4", 0, "");
    reglet_expect(&rig, "up 1/8", 0, "");
    rig_tell(&rig, "bit 6350000");
    expect_lines(&rig, after, COUNT(after));
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

/* Tip 7.3 mm under the table, where 7 mm are said, and the plate over it. */
START_TEST(the_plate_says_how_far_the_zero_moved)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    reglet_expect(&rig, "to -7mm", 0, "");
    rig_tell(&rig, "bit -7300000");
    rig_tell(&rig, "plate touch");
    rig_run(&rig, 300);
    reglet_expect(&rig, "", 0, "THE TOUCH PLATE IS CLOSED");
    rig_tell(&rig, "plate untouch");
    rig_run(&rig, 300);
    rig_tell(&rig, "plate lay 0");
    reglet_expect(&rig, "touch plate", 0, "THAT IS OVER .003in: the bit has slipped");
    rig_tell(&rig, "plate lift");
    rig_run(&rig, 300);
    reglet_expect(&rig, "to 4mm", 0, "");
    ck_assert_double_le(fabs(true_height(&rig) - 4e6), 2500); /* two steps */
    rig_end(&rig);
}
END_TEST

START_TEST(what_keeps_the_lift_still_is_said)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    reglet_expect(&rig, "all-clear", 0, "");
    rig_tell(&rig, "lock on");
    rig_run(&rig, 300);
    reglet_expect(&rig, "", 0, "THE CARRIAGE IS LOCKED");
    reglet_expect(&rig, "to 1/4", 1, "");
    rig_tell(&rig, "lock off");
    rig_tell(&rig, "router on");
    rig_run(&rig, 300);
    reglet_expect(&rig, "", 0, "Router:  IT TURNS");
    reglet_expect(&rig, "to 1/4", 1, "");
    reglet_expect(&rig, "find-top --yes", 1, "");
    rig_tell(&rig, "router off");
    rig_run(&rig, 11000);
    reglet_expect(&rig, "to 1/4", 0, "");
    rig_tell(&rig, "stop-circuit open");
    rig_run(&rig, 300);
    reglet_expect(&rig, "", 0, "BARRED");
    reglet_expect(&rig, "wait barred", 0, "BARRED");
    reglet_expect(&rig, "all-clear", 1, "");
    reglet_expect(&rig, "calibrate lead 9mm", 1, "");
    rig_tell(&rig, "stop-circuit closed");
    rig_run(&rig, 300);
    reglet_expect(&rig, "all-clear", 0, "");
    reglet_expect(&rig, "wait still --timeout 1", 0, "");
    reglet_expect(&rig, "wait moving --timeout 0.1", 1, "not 'moving' within 0.1 s");
    reglet_expect(&rig, "wait dancing", 2, "expected one of");
    reglet_expect(&rig, "wait still --timeout soon", 2, "number of seconds");
    rig_end(&rig);
}
END_TEST

/* A lift without a top switch. */
START_TEST(here_top_where_there_is_no_switch)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    configure(&rig, "\"inputs\": {\"stop_circuit\": \"active-high\","
                    " \"motor_supply\": \"active-high\"},\n");
    reglet_expect(&rig, "find-top --yes", 1, "switch");
    reglet_expect(&rig, "here --top", 0, "The top is known");
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("reglet");
    TCase *cases = tcase_create("reglet");
    tcase_set_timeout(cases, 240);
    tcase_add_test(cases, from_nothing_known_to_a_touch_off);
    tcase_add_test(cases, heights_nudges_and_presets);
    tcase_add_test(cases, presets_over_many_pages);
    tcase_add_test(cases, a_day_of_bits_sleds_and_test_cuts);
    tcase_add_test(cases, the_plate_says_how_far_the_zero_moved);
    tcase_add_test(cases, what_keeps_the_lift_still_is_said);
    tcase_add_test(cases, here_top_where_there_is_no_switch);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
