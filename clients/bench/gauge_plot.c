/* SPDX-License-Identifier: MIT */
#include "clients/bench/gauge_plot.h"

#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>

#include "clients/bench/pen.h"

/* Units of the drawing: tenths of a millimetre on a page of 260 by 180 mm. */
enum {
    WIDTH = 2600,
    HEIGHT = 1800,
    LEFT = 260,
    RIGHT = 2480,
    TOP = 230,
    BOTTOM = 1290,
    TICKS = 6,
};

struct scale {
    double unit_nm; /* of positions: mm or in */
    double x_low;   /* in it */
    double x_high;
    double x_step;
    double small_nm; /* of deviations: um or thousandths */
    double y_low;
    double y_high;
    double y_step;
};

static double x_of(const struct scale *scale, double position_nm)
{
    double x = position_nm / scale->unit_nm;
    return LEFT + (RIGHT - LEFT) * (x - scale->x_low) / (scale->x_high - scale->x_low);
}

static double y_of(const struct scale *scale, double deviation_nm)
{
    double y = deviation_nm / scale->small_nm;
    return BOTTOM - (BOTTOM - TOP) * (y - scale->y_low) / (scale->y_high - scale->y_low);
}

/* All that is drawn, from the lowest to the highest. */
static void set_y(struct scale *scale, const struct gauge_result *result)
{
    double low = HUGE_VAL;
    double high = -HUGE_VAL;
    const struct gauge_readings *readings = &result->readings;
    for (int side = 0; side < 2; side++) {
        for (int i = 0; i < readings->targets; i++) {
            const struct gauge_target *target = &result->iso.target[i];
            double band = 2 * target->sd_nm[side];
            low = fmin(low, target->mean_nm[side] - band);
            high = fmax(high, target->mean_nm[side] + band);
            for (int run = 0; run < readings->runs; run++) {
                double deviation =
                    (double)(readings->reached_nm[side][i][run] - readings->target_nm[i]);
                low = fmin(low, deviation);
                high = fmax(high, deviation);
            }
        }
    }
    double most = fmax(high - low, scale->small_nm) / scale->small_nm;
    scale->y_step = pen_step(most, TICKS);
    scale->y_low = floor(low / scale->small_nm / scale->y_step) * scale->y_step;
    scale->y_high = ceil(high / scale->small_nm / scale->y_step) * scale->y_step;
    if (scale->y_high <= scale->y_low) {
        scale->y_high = scale->y_low + scale->y_step;
    }
}

static struct scale scale_of(const struct gauge_result *result, enum length_style style)
{
    const struct gauge_readings *readings = &result->readings;
    bool mm = style == LENGTH_STYLE_MM;
    struct scale scale = {.unit_nm = mm ? 1e6 : 25.4e6, .small_nm = mm ? 1e3 : 25400};
    double low = (double)readings->target_nm[0] / scale.unit_nm;
    double high = (double)readings->target_nm[readings->targets - 1] / scale.unit_nm;
    scale.x_step = pen_step(high - low, TICKS);
    scale.x_low = floor(low / scale.x_step) * scale.x_step;
    scale.x_high = ceil(high / scale.x_step) * scale.x_step;
    set_y(&scale, result);
    return scale;
}

/* --- Axes --- */

static double plain(double value, double step)
{
    return fabs(value) < step / 1000 ? 0 : value; /* no minus zero */
}

static void put_axes(struct pen *pen, const struct scale *scale, bool mm)
{
    for (double x = scale->x_low; x < scale->x_high + scale->x_step / 2; x += scale->x_step) {
        double at = x_of(scale, x * scale->unit_nm);
        pen_put(pen, "<path class=\"grid\" d=\"M%.1f %d V%d\"/>\n", at, TOP, BOTTOM);
        pen_put(pen, "<text class=\"middle\" x=\"%.1f\" y=\"%d\">%.5g</text>\n", at, BOTTOM + 48,
                plain(x, scale->x_step));
    }
    for (double y = scale->y_low; y < scale->y_high + scale->y_step / 2; y += scale->y_step) {
        double at = y_of(scale, y * scale->small_nm);
        pen_put(pen, "<path class=\"grid\" d=\"M%d %.1f H%d\"/>\n", LEFT, at, RIGHT);
        pen_put(pen, "<text class=\"end\" x=\"%d\" y=\"%.1f\">%.5g</text>\n", LEFT - 15, at + 12,
                plain(y, scale->y_step));
    }
    pen_put(pen, "<path class=\"frame\" d=\"M%d %d V%d H%d V%d Z\"/>\n", LEFT, TOP, BOTTOM, RIGHT,
            TOP);
    pen_put(pen,
            "<text class=\"middle\" x=\"%d\" y=\"%d\">position of the lift below its top, %s "
            "(higher is to the right)</text>\n",
            (LEFT + RIGHT) / 2, BOTTOM + 110, mm ? "mm" : "in");
    pen_put(pen, "<text x=\"%d\" y=\"%d\">reached less wanted, %s</text>\n", LEFT - 160, TOP - 30,
            mm ? "um" : "thousandths of an inch");
}

/* --- Curves --- */

static void put_band(struct pen *pen, const struct gauge_result *result, const struct scale *scale,
                     int side)
{
    int count = result->readings.targets;
    pen_put(pen, "<polygon class=\"band\" points=\"");
    for (int i = 0; i < 2 * count; i++) {
        int at = i < count ? i : 2 * count - 1 - i;
        const struct gauge_target *target = &result->iso.target[at];
        double edge = (i < count ? 2 : -2) * target->sd_nm[side];
        pen_put(pen, "%.1f,%.1f ", x_of(scale, (double)result->readings.target_nm[at]),
                y_of(scale, target->mean_nm[side] + edge));
    }
    pen_put(pen, "\"/>\n");
}

static void put_means(struct pen *pen, const struct gauge_result *result, const struct scale *scale,
                      int side)
{
    pen_put(pen, "<polyline class=\"%s\" points=\"", side == GAUGE_UP ? "up" : "down");
    for (int i = 0; i < result->readings.targets; i++) {
        pen_put(pen, "%.1f,%.1f ", x_of(scale, (double)result->readings.target_nm[i]),
                y_of(scale, result->iso.target[i].mean_nm[side]));
    }
    pen_put(pen, "\"/>\n");
}

static void put_readings(struct pen *pen, const struct gauge_result *result,
                         const struct scale *scale, int side)
{
    const struct gauge_readings *readings = &result->readings;
    for (int i = 0; i < readings->targets; i++) {
        double x = x_of(scale, (double)readings->target_nm[i]);
        for (int run = 0; run < readings->runs; run++) {
            double y =
                y_of(scale, (double)(readings->reached_nm[side][i][run] - readings->target_nm[i]));
            if (side == GAUGE_UP) {
                pen_put(pen, "<circle class=\"dot\" cx=\"%.1f\" cy=\"%.1f\" r=\"7\"/>\n", x, y);
            } else {
                pen_put(pen, "<path class=\"dot\" d=\"M%.1f %.1f l14 14 m0 -14 l-14 14\"/>\n",
                        x - 7, y - 7);
            }
        }
    }
}

/* --- What the lines are --- */

REGLET_PRINTF(3, 4)
static void put_line(struct pen *pen, int row, const char *format, ...)
{
    char text[200];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    pen_put(pen, "<text x=\"%d\" y=\"%d\">", LEFT + 1150, BOTTOM + 200 + row * 58);
    pen_text(pen, text);
    pen_put(pen, "</text>\n");
}

static void put_keys(struct pen *pen, const struct gauge_result *result, enum length_style style)
{
    static const char *const words[] = {"mean coming up, and its readings",
                                        "mean coming down, and its readings",
                                        "band of two standard deviations"};
    static const char *const kinds[] = {"up", "down", "band"};
    double small = style == LENGTH_STYLE_MM ? 1e3 : 25400;
    const char *unit = style == LENGTH_STYLE_MM ? "um" : "thousandths";
    const struct gauge_iso *iso = &result->iso;
    for (int i = 0; i < 3; i++) {
        int y = BOTTOM + 188 + i * 58;
        pen_put(pen,
                i < 2 ? "<path class=\"%s\" d=\"M%d %d h130\"/>\n"
                      : "<path class=\"%s\" d=\"M%d %d h130 v24 h-130 z\"/>\n",
                kinds[i], LEFT, i < 2 ? y : y - 12);
        if (i == 0) {
            pen_put(pen, "<circle class=\"dot\" cx=\"%d\" cy=\"%d\" r=\"7\"/>\n", LEFT + 65, y);
        } else if (i == 1) {
            pen_put(pen, "<path class=\"dot\" d=\"M%d %d l14 14 m0 -14 l-14 14\"/>\n", LEFT + 58,
                    y - 7);
        }
        pen_put(pen, "<text x=\"%d\" y=\"%d\">%s</text>\n", LEFT + 165, y + 12, words[i]);
    }
    put_line(pen, 0, "reversal B %.4g, mean %.4g %s", iso->reversal_nm / small,
             fabs(iso->reversal_mean_nm) / small, unit);
    put_line(pen, 1, "repeatability R %.4g, up %.4g, down %.4g", iso->repeat_both_nm / small,
             iso->repeat_nm[GAUGE_UP] / small, iso->repeat_nm[GAUGE_DOWN] / small);
    put_line(pen, 2, "systematic E %.4g, mean M %.4g", iso->systematic_both_nm / small,
             iso->mean_deviation_nm / small);
    put_line(pen, 3, "accuracy A %.4g, up %.4g, down %.4g", iso->accuracy_both_nm / small,
             iso->accuracy_nm[GAUGE_UP] / small, iso->accuracy_nm[GAUGE_DOWN] / small);
}

static void put_head(struct pen *pen, const char *title)
{
    pen_put(pen,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"260mm\" height=\"180mm\" "
            "viewBox=\"0 0 %d %d\">\n"
            "<style>text{font-family:sans-serif;font-size:36px}.middle{text-anchor:middle}"
            ".end{text-anchor:end}.title{font-size:50px}path,polyline,circle{fill:none;stroke:#000}"
            ".grid{stroke:#ccc;stroke-width:2}.frame{stroke-width:4}"
            ".up{stroke-width:8}.down{stroke-width:8;stroke-dasharray:30 18}"
            ".band{fill:#000;fill-opacity:.13;stroke:none}.dot{stroke-width:3}</style>\n"
            "<rect width=\"%d\" height=\"%d\" fill=\"#fff\"/>\n"
            "<text class=\"title\" x=\"%d\" y=\"100\">",
            WIDTH, HEIGHT, WIDTH, HEIGHT, LEFT - 160);
    pen_text(pen, title);
    pen_put(pen, "</text>\n");
}

size_t gauge_plot(const struct gauge_result *result, const char *title, enum length_style style,
                  char *out, size_t size)
{
    struct pen pen = {out, size, 0};
    struct scale scale = scale_of(result, style);
    if (size == 0) {
        return 0;
    }
    put_head(&pen, title);
    put_axes(&pen, &scale, style == LENGTH_STYLE_MM);
    for (int side = 0; side < 2; side++) {
        put_band(&pen, result, &scale, side);
    }
    for (int side = 0; side < 2; side++) {
        put_means(&pen, result, &scale, side);
        put_readings(&pen, result, &scale, side);
    }
    put_keys(&pen, result, style);
    pen_put(&pen,
            "<text x=\"%d\" y=\"%d\">By ISO 230-2: %d targets, %d runs each way.</text>\n</svg>\n",
            LEFT, BOTTOM + 200 + 3 * 58, result->readings.targets, result->readings.runs);
    return pen_end(&pen);
}
