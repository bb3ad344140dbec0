/* SPDX-License-Identifier: MIT */
#include "clients/bench/capacity_plot.h"

#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>

#include "clients/bench/pen.h"
#include "clients/bench/quantity.h"

/* Units of the drawing: tenths of a millimetre on a page of 260 by 180 mm. */
enum {
    WIDTH = 2600,
    HEIGHT = 1800,
    LEFT = 230,
    RIGHT = 2380,
    TOP = 230,
    BOTTOM = 1290,
    CURVE_POINTS = 120,
    TICKS = 6,
};

struct scale {
    double rpm_most;
    double n_m_most;
    double rpm_step;
    double n_m_step;
};

static double x_of(const struct scale *scale, double rpm)
{
    return LEFT + (RIGHT - LEFT) * rpm / scale->rpm_most;
}

static double y_of(const struct scale *scale, double n_m)
{
    return BOTTOM - (BOTTOM - TOP) * n_m / scale->n_m_most;
}

static struct scale scale_of(const struct capacity *in, const struct capacity_answer *answer)
{
    double asked = capacity_asked_n_m(in, &answer->torque, answer->acceleration_m_s2);
    double rpm = fmax(1.5 * in->knee_rpm, 1.15 * fmax(answer->stall_rpm, answer->speed_rpm));
    double n_m = 1.1 * fmax(answer->running_n_m, asked);
    struct scale scale = {.rpm_step = pen_step(rpm, TICKS), .n_m_step = pen_step(n_m, TICKS)};
    scale.rpm_most = ceil(rpm / scale.rpm_step) * scale.rpm_step;
    scale.n_m_most = ceil(n_m / scale.n_m_step) * scale.n_m_step;
    return scale;
}

/* --- Axes --- */

/* Travel at a speed, in the unit of the shop. */
static double travel(const struct capacity *in, double rpm, enum length_style style)
{
    double m_s = rpm / 60 * in->screw.lead_m;
    return style == LENGTH_STYLE_MM ? m_s * 1000 : m_s / 0.0254;
}

static void put_rpm_axis(struct pen *pen, const struct capacity *in, const struct scale *scale,
                         enum length_style style)
{
    for (double rpm = 0; rpm < scale->rpm_most * 1.0001; rpm += scale->rpm_step) {
        double x = x_of(scale, rpm);
        pen_put(pen, "<path class=\"grid\" d=\"M%.1f %d V%d\"/>\n", x, TOP, BOTTOM);
        pen_put(pen, "<text class=\"middle\" x=\"%.1f\" y=\"%d\">%g</text>\n", x, BOTTOM + 45, rpm);
        pen_put(pen, "<text class=\"middle\" x=\"%.1f\" y=\"%d\">%.3g</text>\n", x, BOTTOM + 95,
                travel(in, rpm, style));
    }
    pen_put(pen,
            "<text class=\"middle\" x=\"%d\" y=\"%d\">speed: rev/min, and %s/s of travel</text>\n",
            (LEFT + RIGHT) / 2, BOTTOM + 150, style == LENGTH_STYLE_MM ? "mm" : "in");
}

static void put_torque_axis(struct pen *pen, const struct scale *scale)
{
    for (double n_m = 0; n_m < scale->n_m_most * 1.0001; n_m += scale->n_m_step) {
        double y = y_of(scale, n_m);
        pen_put(pen, "<path class=\"grid\" d=\"M%d %.1f H%d\"/>\n", LEFT, y, RIGHT);
        pen_put(pen, "<text class=\"end\" x=\"%d\" y=\"%.1f\">%.3g</text>\n", LEFT - 15, y + 12,
                n_m);
        pen_put(pen, "<text x=\"%d\" y=\"%.1f\">%.3g</text>\n", RIGHT + 15, y + 12,
                n_m / QUANTITY_N_M_PER_OZF_IN);
    }
    pen_put(pen, "<text x=\"%d\" y=\"%d\">torque, N m</text>\n", LEFT - 130, TOP - 30);
    pen_put(pen, "<text class=\"end\" x=\"%d\" y=\"%d\">ozf in</text>\n", RIGHT + 130, TOP - 30);
}

/* --- Curves --- */

static void put_motor(struct pen *pen, const struct capacity *in, const struct scale *scale,
                      const char *kind, double margin)
{
    pen_put(pen, "<polyline class=\"%s\" points=\"", kind);
    for (int i = 0; i <= CURVE_POINTS; i++) {
        double rpm = scale->rpm_most * i / CURVE_POINTS;
        pen_put(pen, "%.1f,%.1f ", x_of(scale, rpm),
                y_of(scale, capacity_running_n_m(in, rpm) / margin));
    }
    pen_put(pen, "\"/>\n");
}

static void put_level(struct pen *pen, const struct scale *scale, const char *kind, double n_m)
{
    pen_put(pen, "<path class=\"%s\" d=\"M%d %.1f H%d\"/>\n", kind, LEFT, y_of(scale, n_m), RIGHT);
}

static void put_points(struct pen *pen, const struct scale *scale,
                       const struct capacity_answer *answer, double asked_n_m)
{
    if (answer->lifts) {
        double x = x_of(scale, answer->stall_rpm);
        double y = y_of(scale, answer->torque.raise_n_m);
        pen_put(pen, "<path class=\"mark\" d=\"M%.1f %.1f l36 36 m0 -36 l-36 36\"/>\n", x - 18,
                y - 18);
    }
    if (answer->enough) {
        pen_put(pen, "<circle class=\"mark\" cx=\"%.1f\" cy=\"%.1f\" r=\"20\"/>\n",
                x_of(scale, answer->speed_rpm), y_of(scale, asked_n_m));
    }
}

/* --- What the lines are --- */

REGLET_PRINTF(4, 5)
static void put_key(struct pen *pen, int row, const char *kind, const char *format, ...)
{
    char text[160];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    int x = LEFT + (row % 2) * 1080;
    int y = BOTTOM + 230 + row / 2 * 62;
    if (kind) {
        pen_put(pen, "<path class=\"%s\" d=\"M%d %d h120\"/>\n", kind, x, y - 12);
    } else if (row % 2 == 0) {
        pen_put(pen, "<circle class=\"mark\" cx=\"%d\" cy=\"%d\" r=\"20\"/>\n", x + 60, y - 12);
    } else {
        pen_put(pen, "<path class=\"mark\" d=\"M%d %d l36 36 m0 -36 l-36 36\"/>\n", x + 42, y - 30);
    }
    pen_put(pen, "<text x=\"%d\" y=\"%d\">", x + 150, y);
    pen_text(pen, text);
    pen_put(pen, "</text>\n");
}

static void put_keys(struct pen *pen, const struct capacity *in,
                     const struct capacity_answer *answer, double asked_n_m)
{
    put_key(pen, 0, "motor", "the motor, running: %.3g N m (%.0f %% of holding)",
            answer->running_n_m, 100 * in->share);
    put_key(pen, 1, "margin", "that over a margin of %g", in->margin);
    put_key(pen, 2, "raise", "asked for to raise: %.3g N m", answer->torque.raise_n_m);
    if (answer->enough) {
        put_key(pen, 3, "asked", "and to accelerate, as advised: %.3g N m", asked_n_m);
        put_key(pen, 4, NULL, "advised: at most %.0f rev/min", answer->speed_rpm);
    }
    if (answer->lifts) {
        put_key(pen, 5, NULL, "stalls: from %.0f rev/min", answer->stall_rpm);
    }
}

static void put_advice(struct pen *pen, const struct capacity_answer *answer)
{
    pen_put(pen,
            "<text x=\"%d\" y=\"%d\">%sAdvice: frictions and the motor's running torque are taken, "
            "not measured.</text>\n</svg>\n",
            LEFT, HEIGHT - 60,
            !answer->lifts    ? "The motor does not raise this load. "
            : !answer->enough ? "No speed has that margin. "
                              : "");
}

static void put_head(struct pen *pen, const char *title)
{
    pen_put(pen,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"260mm\" height=\"180mm\" "
            "viewBox=\"0 0 %d %d\">\n"
            "<style>text{font-family:sans-serif;font-size:36px}.middle{text-anchor:middle}"
            ".end{text-anchor:end}.title{font-size:50px}path,polyline,circle{fill:none;stroke:#000}"
            ".grid{stroke:#bbb;stroke-width:2}.frame{stroke-width:4}"
            ".motor{stroke-width:10}.margin{stroke-width:7;stroke-dasharray:36 18}"
            ".raise{stroke-width:5}.asked{stroke-width:6;stroke-dasharray:6 14}"
            ".mark{stroke-width:7}</style>\n"
            "<rect width=\"%d\" height=\"%d\" fill=\"#fff\"/>\n"
            "<text class=\"title\" x=\"%d\" y=\"100\">",
            WIDTH, HEIGHT, WIDTH, HEIGHT, LEFT - 130);
    pen_text(pen, title);
    pen_put(pen, "</text>\n");
}

size_t capacity_plot(const struct capacity *in, const struct capacity_answer *answer,
                     const char *title, enum length_style style, char *out, size_t size)
{
    struct pen pen = {out, size, 0};
    struct scale scale = scale_of(in, answer);
    double asked_n_m = capacity_asked_n_m(in, &answer->torque, answer->acceleration_m_s2);
    if (size == 0) {
        return 0;
    }
    put_head(&pen, title);
    put_rpm_axis(&pen, in, &scale, style);
    put_torque_axis(&pen, &scale);
    pen_put(&pen, "<path class=\"frame\" d=\"M%d %d V%d H%d V%d\"/>\n", LEFT, TOP, BOTTOM, RIGHT,
            TOP);
    put_motor(&pen, in, &scale, "motor", 1);
    put_motor(&pen, in, &scale, "margin", in->margin);
    put_level(&pen, &scale, "raise", answer->torque.raise_n_m);
    if (answer->enough) {
        put_level(&pen, &scale, "asked", asked_n_m);
    }
    put_points(&pen, &scale, answer, asked_n_m);
    put_keys(&pen, in, answer, asked_n_m);
    put_advice(&pen, answer);
    return pen_end(&pen);
}
