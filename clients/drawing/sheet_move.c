/* SPDX-License-Identifier: MIT */
/* Height and speed of a move over time, by the daemon's own motion mathematics. */
#include <math.h>
#include <stdio.h>

#include "clients/common/say.h"
#include "clients/drawing/sheet_parts.h"
#include "daemon/motion/plan.h"
#include "daemon/motion/profile.h"

enum {
    UNIT_NM = 50, /* a step of the plan */
    POINTS = 96,  /* of a leg's curve */
    GRAPH_X_MM = 32,
    GRAPH_WIDE_MM = 145,
    HEIGHT_TOP_MM = 44,
    GRAPH_HIGH_MM = 78,
    SPEED_TOP_MM = 138,
};

static const struct profile no_profile;

static bool plan_leg(const struct sheet_move *move, const struct sheet_leg *leg,
                     struct profile *profile)
{
    const struct profile_request request = {.steps = fabs((double)(leg->to_nm - leg->from_nm)),
                                            .rate_hz = (double)move->rate_nm_s,
                                            .rise_hz_s = (double)move->gain_nm_s2,
                                            .fall_hz_s = (double)move->gain_nm_s2};
    *profile = no_profile;
    return profile_plan(profile, &request);
}

static bool is_small(int64_t nm)
{
    return nm > -LENGTH_NM_MAX / 10 && nm < LENGTH_NM_MAX / 10;
}

bool sheet_legs(const struct sheet_move *move, struct sheet_leg leg[SHEET_LEGS_MAX], int *legs)
{
    struct plan plan;
    struct profile profile;
    const struct plan_limits limits = {.low = INT32_MIN / 2,
                                       .high = INT32_MAX / 2,
                                       .take_up = (int32_t)(move->take_up_nm / UNIT_NM)};
    const struct play play = {.known = true};
    *legs = 0;
    if (move->rate_nm_s <= 0 || move->gain_nm_s2 <= 0 || move->take_up_nm < 0 ||
        !is_small(move->from_nm) || !is_small(move->to_nm) || !is_small(move->take_up_nm) ||
        plan_move(&plan, &limits, &play, (int32_t)(move->from_nm / UNIT_NM),
                  (int32_t)(move->to_nm / UNIT_NM)) != PLAN_MADE) {
        return false;
    }
    int64_t at_nm = move->from_nm;
    double at_s = 0;
    for (int i = 0; i < plan.legs; i++) {
        leg[i] = (struct sheet_leg){.from_nm = at_nm, .begin_s = at_s};
        leg[i].to_nm = i == plan.legs - 1 ? move->to_nm : (int64_t)plan.end[i] * UNIT_NM;
        if (!plan_leg(move, &leg[i], &profile)) {
            return false;
        }
        at_nm = leg[i].to_nm;
        at_s += profile.total_s;
        leg[i].end_s = at_s;
        leg[i].peak_nm_s = profile.peak_hz;
        (*legs)++;
    }
    return *legs > 0;
}

/* --- The graphs --- */

struct graph {
    FILE *out;
    enum length_style style;
    double x;
    double y;     /* on paper, of the axes' origin */
    double x_per; /* mm on paper a second */
    double y_per; /* mm on paper for a mm, or a mm a second */
    double low;   /* mm, at the lower end of the axis */
    double high;
};

static struct svg_point at(const struct graph *graph, double s, double value_mm)
{
    return (struct svg_point){graph->x + s * graph->x_per, graph->y - value_mm * graph->y_per};
}

static double step_of(double span, int most)
{
    double step = pow(10, floor(log10(span / most)));
    static const double factors[] = {1, 2, 5, 10};
    for (int i = 0; i < 4; i++) {
        if (span / (step * factors[i]) <= most) {
            return step * factors[i];
        }
    }
    return step * 10;
}

static void put_time(const struct graph *graph, double total_s)
{
    double step = step_of(total_s, 8);
    double bottom = graph->y - graph->low * graph->y_per;
    double top = graph->y - graph->high * graph->y_per;
    for (int i = 0; i * step <= total_s * 1.0001; i++) {
        char text[32];
        double x = at(graph, i * step, 0).x;
        svg_line(graph->out, "grid", (struct svg_point){x, bottom}, (struct svg_point){x, top});
        (void)snprintf(text, sizeof text, "%g%s", i * step, i == 0 ? "" : "s");
        svg_text(graph->out, "small", (struct svg_point){x, bottom + 4}, SVG_MIDDLE, text);
    }
}

static void begin_graph(const struct graph *graph, const char *title, const char *name)
{
    double bottom = graph->y - graph->low * graph->y_per;
    double top = graph->y - graph->high * graph->y_per;
    (void)fprintf(graph->out,
                  "<g class=\"graph\" data-name=\"%s\" data-x=\"%.4f\" data-y=\"%.4f\" "
                  "data-x-per=\"%.9g\" data-y-per=\"%.9g\">\n",
                  name, graph->x, graph->y, graph->x_per, graph->y_per);
    svg_text(graph->out, "number", (struct svg_point){graph->x, top - 2.5}, SVG_START, title);
    struct svg_point axes[] = {
        {graph->x, top}, {graph->x, bottom}, {graph->x + GRAPH_WIDE_MM, bottom}};
    svg_polyline(graph->out, "axis", axes, 3);
}

/* A level with its value at the left. */
static void put_level(const struct graph *graph, double value_mm, const char *behind)
{
    char length[SAY_LENGTH_SIZE];
    char text[SAY_LENGTH_SIZE + 8];
    struct svg_point from = at(graph, 0, value_mm);
    say_length(llround(value_mm * 1e6), graph->style, length, sizeof length);
    (void)snprintf(text, sizeof text, "%s%s", value_mm == 0 ? "0" : length,
                   value_mm == 0 ? "" : behind);
    svg_line(graph->out, "grid", from, (struct svg_point){graph->x + GRAPH_WIDE_MM, from.y});
    svg_text(graph->out, "small", (struct svg_point){graph->x - 1.5, from.y + 1}, SVG_END, text);
}

/* What the profile is at a time, in mm or mm a second. */
static double value_at(const struct profile *profile, const struct sheet_leg *leg, double s,
                       bool speed)
{
    double way = leg->to_nm < leg->from_nm ? -1 : 1;
    double nm = profile_position_steps(profile, s);
    return (speed ? way * profile_rate_hz(profile, nm) : (double)leg->from_nm + way * nm) / 1e6;
}

/* A speed is straight between the ends of its phases. */
static int curve(const struct graph *graph, const struct sheet_move *move,
                 const struct sheet_leg *leg, bool speed, struct svg_point *point)
{
    struct profile profile;
    int count = 0;
    if (!plan_leg(move, leg, &profile)) {
        return 0;
    }
    const double phase_s[] = {0, profile.rise_end_s, profile.fall_start_s, profile.total_s};
    for (int i = 0; i < (speed ? 4 : POINTS + 1); i++) {
        double s = speed ? phase_s[i] : profile.total_s * i / POINTS;
        point[count++] = at(graph, leg->begin_s + s, value_at(&profile, leg, s, speed));
    }
    return count;
}

static void put_curves(const struct graph *graph, const struct sheet_move *move,
                       const struct sheet_leg *leg, int legs, bool speed)
{
    struct svg_point point[SHEET_LEGS_MAX * (POINTS + 1)];
    int count = 0;
    for (int i = 0; i < legs; i++) {
        count += curve(graph, move, &leg[i], speed, point + count);
    }
    svg_polyline(graph->out, speed ? "speed" : "height", point, count);
}

static void put_height(FILE *out, const struct sheet_text *text, const struct sheet_move *move,
                       const struct sheet_leg *leg, int legs)
{
    double total_s = leg[legs - 1].end_s;
    struct graph graph = {.out = out, .style = text->style, .x = GRAPH_X_MM};
    graph.low = graph.high = (double)leg[0].from_nm / 1e6;
    for (int i = 0; i < legs; i++) {
        double end = (double)leg[i].to_nm / 1e6;
        graph.low = end < graph.low ? end : graph.low;
        graph.high = end > graph.high ? end : graph.high;
    }
    graph.x_per = GRAPH_WIDE_MM / total_s;
    graph.y_per = GRAPH_HIGH_MM / (graph.high - graph.low);
    graph.y = HEIGHT_TOP_MM + GRAPH_HIGH_MM + graph.low * graph.y_per;
    begin_graph(&graph, "Height over the table", "height");
    put_time(&graph, total_s);
    put_level(&graph, (double)leg[0].from_nm / 1e6, "");
    if (legs == 2 && fabs((double)(leg[0].to_nm - leg[1].to_nm)) / 1e6 * graph.y_per > 4) {
        put_level(&graph, (double)leg[0].to_nm / 1e6, "");
    }
    put_level(&graph, (double)leg[legs - 1].to_nm / 1e6, "");
    put_curves(&graph, move, leg, legs, false);
    (void)fputs("</g>\n", out);
}

static void put_speed(FILE *out, const struct sheet_text *text, const struct sheet_move *move,
                      const struct sheet_leg *leg, int legs)
{
    double total_s = leg[legs - 1].end_s;
    struct graph graph = {.out = out, .style = say_small_style(text->style), .x = GRAPH_X_MM};
    for (int i = 0; i < legs; i++) {
        double way = leg[i].to_nm < leg[i].from_nm ? -1 : 1;
        double peak = way * leg[i].peak_nm_s / 1e6;
        graph.low = peak < graph.low ? peak : graph.low;
        graph.high = peak > graph.high ? peak : graph.high;
    }
    graph.x_per = GRAPH_WIDE_MM / total_s;
    graph.y_per = GRAPH_HIGH_MM / (graph.high - graph.low);
    graph.y = SPEED_TOP_MM + GRAPH_HIGH_MM + graph.low * graph.y_per;
    begin_graph(&graph, "Speed, upward above the line of 0", "speed");
    put_time(&graph, total_s);
    put_level(&graph, 0, "");
    for (int i = 0; i < legs; i++) {
        double way = leg[i].to_nm < leg[i].from_nm ? -1 : 1;
        put_level(&graph, way * leg[i].peak_nm_s / 1e6, "/s");
    }
    put_curves(&graph, move, leg, legs, true);
    (void)fputs("</g>\n", out);
}

char *sheet_move(const struct sheet_text *text, const struct sheet_move *move)
{
    struct sheet_leg leg[SHEET_LEGS_MAX];
    char under[320];
    char from[SAY_LENGTH_SIZE];
    char to[SAY_LENGTH_SIZE];
    char *svg = NULL;
    size_t size;
    int legs;
    if (!sheet_legs(move, leg, &legs)) {
        return NULL;
    }
    FILE *out = open_memstream(&svg, &size);
    if (!out) {
        return NULL;
    }
    say_length(move->from_nm, text->style, from, sizeof from);
    say_length(move->to_nm, text->style, to, sizeof to);
    (void)snprintf(under, sizeof under, "From %s to %s in %.3f s, %d leg%s, finishing upward.",
                   from, to, leg[legs - 1].end_s, legs, legs == 1 ? "" : "s");
    sheet_begin(out, text, under, 1);
    put_height(out, text, move, leg, legs);
    put_speed(out, text, move, leg, legs);
    sheet_end(out, text);
    return sheet_close(out, &svg);
}
