/* SPDX-License-Identifier: MIT */
#include "daemon/motion/fit.h"

#include <math.h>

enum { DEGREE_MAX = 2, REFERENCE_MAX = DEGREE_MAX + 2, EXCHANGES_MAX = 12 };

/* The exchange has done enough when the largest error is this near to the level. */
static const double NEAR_LEVEL = 1.05;

/* What is left to fit: value = ticks / step, less what has been rounded already. */
struct rest {
    unsigned count;
    const double *step;
    double value[FIT_POINTS_MAX];
};

/* The polynomial that errs by `level` at the points of a reference, with alternating signs that
 * begin with its own, in Newton's form. */
struct levelled {
    double node[DEGREE_MAX];
    double factor[DEGREE_MAX + 1];
    double level;
};

/* (1 - cos(pi j / 24)) / 2 for j = 1 to 24: where Chebyshev polynomials have their extremes. */
static const double SPREAD[FIT_POINTS_MAX] = {
    0.004277569313095, 0.017037086855466, 0.038060233744357, 0.066987298107781, 0.103323004951290,
    0.146446609406726, 0.195619285549669, 0.250000000000000, 0.308658283817455, 0.370590477448740,
    0.434736903889974, 0.500000000000000, 0.565263096110026, 0.629409522551260, 0.691341716182545,
    0.750000000000000, 0.804380714450331, 0.853553390593274, 0.896676995048710, 0.933012701892219,
    0.961939766255643, 0.982962913144534, 0.995722430686905, 1.000000000000000,
};

/* The first reference for each degree, of FIT_POINTS_MAX points: the extremes on [0, 1] of the
 * Chebyshev polynomial of one degree more than q(x) x, but for the one at 0. */
static const unsigned FIRST_REFERENCE[DEGREE_MAX + 1][REFERENCE_MAX] = {
    {12, 24},
    {8, 16, 24},
    {6, 12, 18, 24},
};

void fit_choose_points(struct fit_points *points, unsigned steps)
{
    points->count = 0;
    if (steps <= FIT_POINTS_MAX) {
        while (points->count < steps) {
            points->step[points->count] = points->count + 1.0;
            points->count++;
        }
        return;
    }
    unsigned last = 0;
    for (unsigned i = 0; i < FIT_POINTS_MAX; i++) {
        unsigned step = (unsigned)(SPREAD[i] * steps + 0.5);
        if (step > last)
            points->step[points->count++] = step;
        last = step;
    }
}

/* Solves q(x_j) = value_j + (-1)^j level / x_j on degree + 2 points: the divided difference of
 * order degree + 1 vanishes for q, which gives the level. */
static struct levelled level_reference(const struct rest *rest, const unsigned *reference,
                                       unsigned degree)
{
    double node[REFERENCE_MAX];
    double value[REFERENCE_MAX];
    double swing[REFERENCE_MAX];
    for (unsigned j = 0; j <= degree + 1; j++) {
        node[j] = rest->step[reference[j]];
        value[j] = rest->value[reference[j]];
        swing[j] = (j & 1 ? -1.0 : 1.0) / node[j];
    }
    for (unsigned order = 1; order <= degree + 1; order++) {
        for (unsigned j = degree + 1; j >= order; j--) {
            double slope = 1.0 / (node[j] - node[j - order]);
            value[j] = (value[j] - value[j - 1]) * slope;
            swing[j] = (swing[j] - swing[j - 1]) * slope;
        }
    }
    struct levelled poly = {.level = -value[degree + 1] / swing[degree + 1]};
    for (unsigned j = 0; j <= degree; j++)
        poly.factor[j] = value[j] + poly.level * swing[j];
    for (unsigned j = 0; j < degree; j++)
        poly.node[j] = node[j];
    return poly;
}

/* The index of the point with the largest error, and that error with its sign. */
static unsigned worst_point(const struct rest *rest, const struct levelled *poly, double *error)
{
    unsigned worst = 0;
    double largest = -1.0;
    for (unsigned i = 0; i < rest->count; i++) {
        double x = rest->step[i];
        double q = poly->factor[0] +
                   (x - poly->node[0]) * (poly->factor[1] + (x - poly->node[1]) * poly->factor[2]);
        double here = (q - rest->value[i]) * x;
        if (fabs(here) > largest) {
            largest = fabs(here);
            *error = here;
            worst = i;
        }
    }
    return worst;
}

/* Puts `entering` into the reference in place of a neighbour of the same sign of error, so that
 * the signs still alternate. */
static void exchange(unsigned *reference, unsigned size, double level, unsigned entering,
                     double error)
{
    unsigned place = 0; /* of the first in the reference that is not before it */
    while (place < size && reference[place] < entering)
        place++;
    bool same = (error > 0.0) == ((level > 0.0) == !(place & 1)); /* as the sign due at `place` */
    if (same && place < size) {
        reference[place] = entering;
    } else if (!same && place > 0) {
        reference[place - 1] = entering;
    } else if (place == 0) {
        for (unsigned j = size - 1; j > 0; j--)
            reference[j] = reference[j - 1];
        reference[0] = entering;
    } else {
        for (unsigned j = 0; j + 1 < size; j++)
            reference[j] = reference[j + 1];
        reference[size - 1] = entering;
    }
}

/* The leading factor of the polynomial through the first degree + 1 points. */
static double through_points(const struct rest *rest, unsigned degree)
{
    double value[DEGREE_MAX + 1];
    for (unsigned j = 0; j <= degree; j++)
        value[j] = rest->value[j];
    for (unsigned order = 1; order <= degree; order++)
        for (unsigned j = degree; j >= order; j--)
            value[j] = (value[j] - value[j - 1]) / (rest->step[j] - rest->step[j - order]);
    return value[degree];
}

/*
 * The leading factor of a polynomial of `degree` within bound_ticks of all points, near the best
 * one. False when the level of some reference shows that there is none.
 */
static bool minimax(const struct rest *rest, unsigned degree, double bound_ticks, double *lead,
                    double *level_ticks)
{
    *level_ticks = 0.0;
    *lead = 0.0;
    if (rest->count <= degree)
        return true;
    if (rest->count == degree + 1) {
        *lead = through_points(rest, degree);
        return true;
    }
    unsigned reference[REFERENCE_MAX];
    for (unsigned j = 0; j < degree + 2; j++)
        reference[j] = rest->count * FIRST_REFERENCE[degree][j] / FIT_POINTS_MAX - 1;
    double error = HUGE_VAL;
    for (unsigned i = 0; i < EXCHANGES_MAX; i++) {
        struct levelled poly = level_reference(rest, reference, degree);
        *lead = poly.factor[degree];
        *level_ticks = fabs(poly.level);
        if (*level_ticks > bound_ticks)
            return false;
        unsigned worst = worst_point(rest, &poly, &error);
        if (fabs(error) <= *level_ticks * NEAR_LEVEL)
            break;
        exchange(reference, degree + 2, poly.level, worst, error);
    }
    return fabs(error) <= bound_ticks;
}

/* The whole number of units nearest to the middle of what the windows of all points leave. */
static bool fit_interval(const struct rest *rest, double unit, double bound_ticks, struct fit *fit)
{
    double low = -HUGE_VAL;
    double high = HUGE_VAL;
    double half = fit->change / unit * 0.5;
    for (unsigned i = 0; i < rest->count; i++) {
        double x = rest->step[i];
        double value = rest->value[i] - half * (x - 1.0);
        double window = bound_ticks / x;
        low = value - window > low ? value - window : low;
        high = value + window < high ? value + window : high;
    }
    fit->interval = floor((low + high) * 0.5 * unit + 0.5);
    return fit->interval >= low * unit && fit->interval <= high * unit;
}

static bool fit_change(const struct rest *whole, double unit, double bound_ticks, struct fit *fit)
{
    struct rest rest = {.count = whole->count, .step = whole->step};
    double sixth = fit->curve / unit / 6.0;
    for (unsigned i = 0; i < rest.count; i++) {
        double x = rest.step[i];
        rest.value[i] = whole->value[i] - sixth * ((x - 1.0) * (x - 2.0));
    }
    double lead;
    if (!minimax(&rest, 1, bound_ticks, &lead, &fit->level_ticks))
        return false;
    double change = lead * 2.0 * unit;
    fit->change = floor(change + 0.5);
    if (fit_interval(&rest, unit, bound_ticks, fit))
        return true;
    fit->change += fit->change > change ? -1.0 : 1.0;
    return fit_interval(&rest, unit, bound_ticks, fit);
}

bool fit_stride(const struct fit_points *points, double unit, double bound_ticks, struct fit *fit)
{
    struct rest rest = {.count = points->count, .step = points->step};
    for (unsigned i = 0; i < rest.count; i++)
        rest.value[i] = points->ticks[i] / points->step[i];
    double lead;
    double level;
    bool met = minimax(&rest, 2, bound_ticks, &lead, &level);
    if (met) {
        double curve = lead * 6.0 * unit;
        fit->curve = floor(curve + 0.5);
        met = fit_change(&rest, unit, bound_ticks, fit);
        if (!met) {
            fit->curve += fit->curve > curve ? -1.0 : 1.0;
            met = fit_change(&rest, unit, bound_ticks, fit);
        }
    }
    fit->level_ticks = level;
    return met;
}
