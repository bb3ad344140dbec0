/* SPDX-License-Identifier: MIT */
/*
 * reglet gauge on a practice lift whose screw is off in all ways: a lead .3 % too long, a lash of
 * .18 mm, .02 mm either way once a turn, readings with .003 mm of noise. What is hidden must be
 * found, and after --apply the heights must be true.
 */
#include <check.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rig/expect.h"
#include "tests/rig/gauge_rig.h"
#include "tests/rig/harness.h"
#include "tests/rig/reglet_run.h"
#include "tests/suite.h"

enum { TARGETS = 21, RUNS = 5, HEIGHTS = 200, WORST_NM = 12000 };

static void approach(struct rig *rig, int64_t position_nm, bool above)
{
    char params[120];
    snprintf(params, sizeof params, "{\"position_nm\":%" PRId64 ",\"from\":\"%s\",\"clear\":true}",
             position_nm, above ? "above" : "below");
    expect_done(rig_call(rig, "approach", params));
}

/* An indicator to the micrometre, with noise; its zero is where the lift stood at the start. */
static void write_readings(struct rig *rig, const char *path, uint64_t *seed)
{
    int64_t target_nm[TARGETS];
    FILE *file = fopen(path, "we");
    ck_assert_ptr_nonnull(file);
    fputs("# by an indicator\ntarget,side,run,reading\n", file);
    for (int i = 0; i < TARGETS; i++) {
        target_nm[i] = -74000000 + i * 3400000 + (int64_t)rig_draw(seed, 2000) * 1000;
    }
    for (int run = 1; run <= RUNS; run++) {
        for (int i = 0; i < 2 * TARGETS; i++) {
            bool up = i < TARGETS;
            int64_t at_nm = target_nm[up ? i : 2 * TARGETS - 1 - i];
            approach(rig, at_nm, !up);
            double read_nm = gauge_truth(rig) + NOISE_NM * gauge_noise(seed);
            fprintf(file, "%.3fmm,%s,%d,%.3fmm\n", (double)at_nm / 1e6, up ? "up" : "down", run,
                    read_nm / 1e6);
        }
    }
    ck_assert_int_eq(fclose(file), 0);
}

/* What the JSON report says of the hidden lift. */
static void check_report(const char *text)
{
    cJSON *report = cJSON_Parse(text);
    ck_assert_msg(report != NULL, "no report: %.300s", text);
    const cJSON *fit = cJSON_GetObjectItem(report, "fit");
    printf("scale %.6f, lash %.1f um, amplitude %.1f um, rest %.2f um\n", rig_number(fit, "scale"),
           rig_number(fit, "lash_nm") / 1000, rig_number(fit, "turn_amplitude_nm") / 1000,
           rig_number(fit, "residual_sd_nm") / 1000);
    ck_assert_double_eq_tol(rig_number(fit, "scale"), 1 + HIDDEN_LEAD_ERROR, 1e-4);
    ck_assert_double_eq_tol(rig_number(fit, "lash_nm"), HIDDEN_LASH_NM, 10000);
    ck_assert_double_eq_tol(rig_number(fit, "turn_amplitude_nm"), HIDDEN_WOBBLE_NM, 2000);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(report, "causes")), 3);
    cJSON *propose = cJSON_GetObjectItem(report, "propose");
    ck_assert_ptr_nonnull(cJSON_GetObjectItem(propose, "lead"));
    ck_assert_int_gt(
        cJSON_GetArraySize(cJSON_GetObjectItem(cJSON_GetObjectItem(propose, "table"), "errors_nm")),
        500);
    cJSON_Delete(report);
}

static void file_of(const struct rig *rig, const char *name, char path[200])
{
    snprintf(path, 200, "%s/%s", rig->folder, name);
}

START_TEST(what_is_hidden_is_found_and_taken_out)
{
    struct rig rig;
    static struct reglet run;
    char csv[200];
    char svg[200];
    char line[500];
    uint64_t seed = rig_seed("gauge");
    rig_start(&rig, true, 1);
    gauge_hide(&rig);
    rig_touch_off(&rig);
    double before = gauge_worst(&rig, &seed, 20);
    ck_assert_double_gt(before, WORST_NM);
    file_of(&rig, "readings.csv", csv);
    file_of(&rig, "gauge.svg", svg);
    write_readings(&rig, csv, &seed);
    /* The report alone sets nothing. */
    snprintf(line, sizeof line, "gauge read %s draw %s -u mm", csv, svg);
    reglet_expect(&rig, line, 0, "in proportion to the travel is the scale");
    expect_status(&rig, rig.client, "table_zero", "sure");
    snprintf(line, sizeof line, "gauge read %s --json --apply", csv);
    reglet_expect(&rig, line, 2, "--apply --yes"); /* nobody to ask */
    snprintf(line, sizeof line, "gauge read %s --json --apply --yes", csv);
    reglet_start(&run, &rig, line, false);
    reglet_await(&run, NULL);
    ck_assert_msg(run.code == 0, "%d: %s%s", run.code, run.out, run.err);
    check_report(run.out);
    expect_status(&rig, rig.client, "table_zero", "lost");
    rig_touch_off(&rig);
    double worst = gauge_worst(&rig, &seed, HEIGHTS);
    printf("worst true error: before %.1f um, after %.2f um\n", before / 1000, worst / 1000);
    ck_assert_double_lt(worst, WORST_NM);
    /* Back to what was: as wrong as before. */
    reglet_expect(&rig, "calibrate back", 0, "configured");
    rig_touch_off(&rig);
    ck_assert_double_gt(gauge_worst(&rig, &seed, 20), WORST_NM);
    rig_end(&rig);
}
END_TEST

/* Gauged again with a table in use, the screw is found to be the same, and what remains is small.
 */
START_TEST(gauged_again_it_finds_nothing_more)
{
    struct rig rig;
    static struct reglet run;
    char csv[200];
    char line[500];
    uint64_t seed = rig_seed("gauged again");
    rig_start(&rig, true, 1);
    gauge_hide(&rig);
    rig_touch_off(&rig);
    file_of(&rig, "readings.csv", csv);
    snprintf(line, sizeof line, "gauge read %s --json --apply --yes", csv);
    for (int round = 0; round < 2; round++) {
        write_readings(&rig, csv, &seed);
        reglet_start(&run, &rig, line, false);
        reglet_await(&run, NULL);
        ck_assert_msg(run.code == 0, "%d: %s%s", run.code, run.out, run.err);
        rig_touch_off(&rig);
    }
    cJSON *report = cJSON_Parse(run.out);
    const cJSON *fit = cJSON_GetObjectItem(report, "fit");
    ck_assert_double_eq_tol(rig_number(fit, "scale"), 1, 1e-4);
    ck_assert_double_lt(rig_number(fit, "turn_amplitude_nm"), 4000);
    cJSON_Delete(report);
    ck_assert_double_lt(gauge_worst(&rig, &seed, 60), WORST_NM);
    rig_end(&rig);
}
END_TEST

/* --- By hand --- */

START_TEST(readings_are_typed_at_a_terminal)
{
    struct rig rig;
    static struct reglet run;
    char csv[200];
    char line[300];
    uint64_t seed = rig_seed("typed");
    rig_start(&rig, true, 1);
    gauge_hide(&rig);
    rig_touch_off(&rig);
    file_of(&rig, "typed.csv", csv);
    snprintf(line, sizeof line, "gauge targets 6 runs 2 low -50mm high -30mm write %s -u mm", csv);
    reglet_start(&run, &rig, line, true);
    reglet_await(&run, "pull the plug");
    reglet_await(&run, "is it so? [y/N] ");
    reglet_type(&run, "y\n");
    for (int i = 0; i < 24; i++) {
        char question[80];
        char reading[80];
        int target = i / 6 % 2 == 0 ? i % 6 : 5 - i % 6;
        snprintf(question, sizeof question, "run %d of 2, %s, target %d of 6", i / 12 + 1,
                 i / 6 % 2 == 0 ? "come up" : "come down", target + 1);
        reglet_await(&run, question);
        reglet_await(&run, "indicator reads? ");
        run.err[0] = '\0';
        if (i == 3) {
            reglet_type(&run, "nonsense\n");
            reglet_await(&run, "'stop' ends the gauging");
            run.err[0] = '\0';
            reglet_type(&run, "99mm\n");
            reglet_await(&run, "over 2mm off");
            run.err[0] = '\0';
        }
        double read_nm = 5e6 - gauge_truth(&rig) + NOISE_NM * gauge_noise(&seed);
        snprintf(reading, sizeof reading, "%.3fmm\n", read_nm / 1e6); /* its plunger goes in */
        reglet_type(&run, reading);
    }
    reglet_await(&run, NULL);
    ck_assert_msg(run.code == 0, "%d: %s", run.code, run.err);
    ck_assert_msg(strstr(run.err, "were turned"), "%s", run.err);
    ck_assert_ptr_nonnull(strstr(run.err, "Scale"));
    reglet_close(&run);
    FILE *file = fopen(csv, "re");
    ck_assert_ptr_nonnull(file);
    int lines = 0;
    while (fgets(line, sizeof line, file)) {
        lines++;
    }
    fclose(file);
    ck_assert_int_eq(lines, 25);
    rig_end(&rig);
}
END_TEST

START_TEST(it_can_be_ended_and_what_is_wrong_is_refused)
{
    static const struct {
        const char *line;
        const char *said;
    } wrong[] = {
        {"gauge targets 4", "5 to 60"},          {"gauge runs 1", "2 to 10"},
        {"gauge nonsense", "can be targets"},    {"gauge by eye", "readout or typed"},
        {"gauge read", "followed by its value"}, {"gauge", "look, then say --yes"},
        {"gauge --yes", "at a terminal"},
    };
    struct rig rig;
    static struct reglet run;
    rig_start(&rig, true, 1);
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        reglet_start(&run, &rig, wrong[i].line, false);
        reglet_await(&run, NULL);
        ck_assert_msg(run.code == 2 && strstr(run.err, wrong[i].said), "%s: %d %s", wrong[i].line,
                      run.code, run.err);
    }
    reglet_expect(&rig, "gauge by readout --yes", 1, "no readout");
    reglet_start(&run, &rig, "gauge --yes", true);
    reglet_await(&run, NULL);
    ck_assert_int_eq(run.code, 1);
    ck_assert_msg(strstr(run.err, "not sure") != NULL, "%s", run.err); /* where the lift is */
    reglet_close(&run);
    expect_reason(rig_call(&rig, "approach", "{\"position\":\"-20mm\",\"from\":\"below\"}"),
                  "say-clear");
    rig_touch_off(&rig);
    expect_reason(
        rig_call(&rig, "approach", "{\"position\":\"-1.1mm\",\"from\":\"above\",\"clear\":true}"),
        "above-travel");
    expect_reason(
        rig_call(&rig, "approach", "{\"position\":\"-78mm\",\"from\":\"above\",\"clear\":true}"),
        "below-travel");
    cJSON *answer =
        rig_call(&rig, "approach", "{\"position\":\"-9mm\",\"from\":\"side\",\"clear\":true}");
    ck_assert(!rig_done(answer));
    cJSON_Delete(answer);
    /* From above the lash is open, and said so: what is said is where it is. */
    approach(&rig, -40000000, true);
    expect_status(&rig, rig.client, "play", "open");
    expect_agreement(&rig);
    approach(&rig, -40000000, false);
    expect_status(&rig, rig.client, "play", "taken-up");
    expect_agreement(&rig);
    reglet_start(&run, &rig, "gauge targets 5 --yes", true);
    reglet_await(&run, "reads? ");
    reglet_type(&run, "stop\n");
    reglet_await(&run, NULL);
    ck_assert_int_eq(run.code, 4);
    reglet_close(&run);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("gauge");
    TCase *cases = tcase_create("gauge");
    tcase_set_timeout(cases, 300);
    tcase_add_test(cases, what_is_hidden_is_found_and_taken_out);
    tcase_add_test(cases, gauged_again_it_finds_nothing_more);
    tcase_add_test(cases, readings_are_typed_at_a_terminal);
    tcase_add_test(cases, it_can_be_ended_and_what_is_wrong_is_refused);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
