/* SPDX-License-Identifier: MIT */
/*
 * Quantities as they are written, and what `capacity` draws and says. Factors: NIST SP 811.
 */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/bench/capacity_plot.h"
#include "clients/bench/capacity_say.h"
#include "clients/bench/quantity.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum { TRIALS = 2000 };

static char drawing[CAPACITY_PLOT_SIZE];

/* --- Quantities --- */

START_TEST(quantities_are_read)
{
    static const struct {
        const char *text;
        enum quantity_kind kind;
        double value;
    } quantities[] = {
        {"1 ozf-in", QUANTITY_TORQUE, .00706155181422604},
        {"55ozf.in", QUANTITY_TORQUE, .3884}, /* a small motor's 55 ozf in (recomputed) */
        {"400 ozf in", QUANTITY_TORQUE, 2.825},
        {"450 oz-in", QUANTITY_TORQUE, 3.178},
        {"1lbf-in", QUANTITY_TORQUE, .112984829027617},
        {"1 kgf*cm", QUANTITY_TORQUE, .0980665},
        {"3Nm", QUANTITY_TORQUE, 3},
        {"3 N.m", QUANTITY_TORQUE, 3},
        {"250Ncm", QUANTITY_TORQUE, 2.5},
        {"10kg", QUANTITY_LOAD, 98.0665},
        {"10 kgf", QUANTITY_LOAD, 98.0665},
        {"1lb", QUANTITY_LOAD, 4.4482216152605},
        {"98.5N", QUANTITY_LOAD, 98.5},
        {"480 g-cm2", QUANTITY_INERTIA, 4.8e-5},
        {".48kg.cm2", QUANTITY_INERTIA, 4.8e-5},
        {"1 oz-in2", QUANTITY_INERTIA, 1.829e-5}, /* recomputed */
        {"0.15", QUANTITY_NUMBER, .15},
        {".15", QUANTITY_NUMBER, .15},
        {" 2 ", QUANTITY_NUMBER, 2},
    };
    for (size_t i = 0; i < sizeof quantities / sizeof *quantities; i++) {
        double value = -1;
        ck_assert_msg(quantity_read(quantities[i].text, quantities[i].kind, false, &value), "'%s'",
                      quantities[i].text);
        ck_assert_msg(fabs(value / quantities[i].value - 1) < 2e-4, "'%s' is %.12g",
                      quantities[i].text, value);
    }
}
END_TEST

START_TEST(what_is_no_quantity_is_refused)
{
    static const struct {
        const char *text;
        enum quantity_kind kind;
    } wrong[] = {
        {"", QUANTITY_NUMBER},
        {"Nm", QUANTITY_TORQUE},
        {"3", QUANTITY_TORQUE},
        {"3 kg", QUANTITY_TORQUE},
        {"3 Nm", QUANTITY_LOAD},
        {"-3Nm", QUANTITY_TORQUE},
        {"0Nm", QUANTITY_TORQUE},
        {"1,5Nm", QUANTITY_TORQUE},
        {"1.5.2Nm", QUANTITY_TORQUE},
        {".", QUANTITY_NUMBER},
        {"inf", QUANTITY_NUMBER},
        {"nan", QUANTITY_NUMBER},
        {"1e3", QUANTITY_NUMBER},
        {"0x10", QUANTITY_NUMBER},
        {"5 %", QUANTITY_NUMBER},
        {"9999999999999999", QUANTITY_NUMBER},
        {"3 Nm or so, I think", QUANTITY_TORQUE},
    };
    double value = 77;
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
        ck_assert_msg(!quantity_read(wrong[i].text, wrong[i].kind, false, &value), "'%s' is read",
                      wrong[i].text);
    ck_assert_double_eq(value, 77);
    ck_assert(quantity_read("0", QUANTITY_NUMBER, true, &value));
    ck_assert_double_eq(value, 0);
    for (int kind = QUANTITY_NUMBER; kind <= QUANTITY_INERTIA; kind++)
        ck_assert_uint_gt(strlen(quantity_units((enum quantity_kind)kind)), 5);
}
END_TEST

/* --- The drawing --- */

static struct capacity motor_of(double holding_n_m)
{
    return (struct capacity){.screw = {.mean_m = .01143,
                                       .lead_m = .00254,
                                       .half_angle_deg = 14.5,
                                       .friction = .15,
                                       .collar_friction = .15,
                                       .collar_m = .016,
                                       .load_n = 98.0665},
                             .holding_n_m = holding_n_m,
                             .share = CAPACITY_SHARE,
                             .knee_rpm = CAPACITY_KNEE_RPM,
                             .margin = CAPACITY_MARGIN,
                             .full_steps = 200,
                             .microsteps = 16};
}

static size_t count_of(const char *what)
{
    size_t count = 0;
    for (const char *at = drawing; (at = strstr(at, what)); at += strlen(what))
        count++;
    return count;
}

/* The plotting area, as the drawing's own frame has it; the axes run over it. */
static double n_m_at(double y, double n_m_most)
{
    return (1290 - y) / (1290 - 230) * n_m_most;
}

/* Read back from the drawing: the highest tick is the axis' end; the motor's line begins at its
 * running torque, and the level of raising stands where it is. */
START_TEST(the_drawing_agrees_with_the_numbers)
{
    struct capacity in = motor_of(3);
    struct capacity_answer answer;
    ck_assert(capacity_work_out(&in, &answer));
    size_t size = capacity_plot(&in, &answer, "a <title> & \"more\"", LENGTH_STYLE_IN, drawing,
                                sizeof drawing);
    ck_assert_uint_eq(size, strlen(drawing));
    ck_assert_uint_gt(size, 1000);
    ck_assert(strstr(drawing, "a &lt;title> &amp; &quot;more&quot;") != NULL);
    double n_m_most = 0;
    for (const char *at = drawing; (at = strstr(at, "class=\"end\" x=\"215\""));) {
        at = strchr(at, '>') + 1;
        n_m_most = fmax(n_m_most, strtod(at, NULL));
    }
    ck_assert_double_gt(n_m_most, answer.running_n_m);
    double x;
    double y;
    const char *motor = strstr(drawing, "<polyline class=\"motor\" points=\"");
    ck_assert_ptr_nonnull(motor);
    ck_assert_int_eq(sscanf(motor, "<polyline class=\"motor\" points=\"%lf,%lf", &x, &y), 2);
    ck_assert_double_eq_tol(n_m_at(y, n_m_most), answer.running_n_m, .001);
    const char *raise = strstr(drawing, "<path class=\"raise\" d=\"M230 ");
    ck_assert_ptr_nonnull(raise);
    ck_assert_int_eq(sscanf(raise, "<path class=\"raise\" d=\"M230 %lf", &y), 1);
    ck_assert_double_eq_tol(n_m_at(y, n_m_most), answer.torque.raise_n_m, .001);
    ck_assert_uint_eq(count_of("<circle"), 2); /* in the plot, and what it is */
}
END_TEST

/* Every motor and load fits the buffer, and all coordinates are within the page. */
START_TEST(every_drawing_fits_its_page)
{
    for (int trial = 0; trial < TRIALS; trial++) {
        struct capacity in = motor_of((double)between(1, 100000) / 1000);
        struct capacity_answer answer;
        in.screw.load_n = (double)between(1, 1000000) / 100;
        in.knee_rpm = (double)between(1, 5000);
        in.inertia_kg_m2 = (double)between(0, 1000) * 1e-7;
        bool worked = capacity_work_out(&in, &answer);
        size_t size =
            capacity_plot(&in, &answer, "title", between(0, 1) ? LENGTH_STYLE_MM : LENGTH_STYLE_64,
                          drawing, sizeof drawing);
        if (!worked || size == 0 || strstr(drawing, "nan") || strstr(drawing, "inf") ||
            count_of("<text") != count_of("</text>") || count_of("</svg>") != 1)
            ck_abort_msg("holding %g, load %g: %zu bytes", in.holding_n_m, in.screw.load_n, size);
        const char *points = strstr(drawing, "<polyline class=\"motor\" points=\"");
        points = strpbrk(points, "0123456789");
        for (char *end; strtod(points, &end) > 0 && end != points; points = end + 1) {
            double y = strtod(end + 1, &end);
            if (y < 229 || y > 1291)
                ck_abort_msg("a point at %g", y);
        }
    }
    ck_assert_uint_eq(capacity_plot(&(struct capacity){.knee_rpm = 1},
                                    &(struct capacity_answer){.running_n_m = 1}, "",
                                    LENGTH_STYLE_IN, drawing, 100),
                      0);
    ck_assert_str_eq(drawing, "");
}
END_TEST

/* --- The words --- */

START_TEST(advice_is_called_advice)
{
    struct screw_thread thread;
    char why[SCREW_WHY];
    struct capacity in = motor_of(3);
    struct capacity_answer answer;
    struct say say = {0};
    ck_assert(screw_thread_named("1/2-10 Acme", &thread, why));
    ck_assert(capacity_work_out(&in, &answer));
    capacity_say_screw(&say, &thread, 200, 16, LENGTH_STYLE_64);
    capacity_say_torque(&say, &in, &answer.torque);
    capacity_say_motor(&say, &in, &answer, LENGTH_STYLE_64);
    capacity_say_advice(&say);
    ck_assert(strstr(say.text, "31 1/4 full steps, 500 with 16 microsteps") != NULL);
    ck_assert(strstr(say.text, "0.2456 N m") != NULL);
    ck_assert(strstr(say.text, "0.1644 N m") != NULL);
    ck_assert(strstr(say.text, "This is advice") != NULL);
    for (const char *line = say.text; *line != '\0'; line = strchr(line, '\n') + 1)
        ck_assert_uint_le(strcspn(line, "\n"), SAY_COLUMNS);
}
END_TEST

START_TEST(a_weak_motor_and_a_fast_screw_are_called_so)
{
    struct capacity in = motor_of(.3884);
    struct capacity_answer answer;
    struct say say = {0};
    ck_assert(capacity_work_out(&in, &answer));
    capacity_say_motor(&say, &in, &answer, LENGTH_STYLE_MM);
    ck_assert(strstr(say.text, "It stalls") != NULL);
    ck_assert(strstr(say.text, "Advised") == NULL);
    in = motor_of(1);
    ck_assert(capacity_work_out(&in, &answer));
    ck_assert(answer.lifts && !answer.enough);
    say = (struct say){0};
    capacity_say_motor(&say, &in, &answer, LENGTH_STYLE_MM);
    ck_assert(strstr(say.text, "no speed") != NULL);
    in.screw.lead_m = .02;
    ck_assert(capacity_work_out(&in, &answer));
    say = (struct say){0};
    capacity_say_torque(&say, &in, &answer.torque);
    ck_assert(strstr(say.text, "runs down") != NULL);
    ck_assert_str_eq(capacity_hold_name(answer.torque.hold), "runs down");
}
END_TEST

static Suite *capacity_suite(void)
{
    Suite *suite = suite_create("capacity");
    TCase *tests = tcase_create("capacity");
    tcase_add_test(tests, quantities_are_read);
    tcase_add_test(tests, what_is_no_quantity_is_refused);
    tcase_add_test(tests, the_drawing_agrees_with_the_numbers);
    tcase_add_test(tests, every_drawing_fits_its_page);
    tcase_add_test(tests, advice_is_called_advice);
    tcase_add_test(tests, a_weak_motor_and_a_fast_screw_are_called_so);
    suite_add_tcase(suite, tests);
    return suite;
}

int main(void)
{
    read_seed();
    return run_suite(capacity_suite());
}
