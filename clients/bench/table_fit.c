/* SPDX-License-Identifier: MIT */
#include "clients/bench/table_fit.h"

#include <math.h>
#include <string.h>

#include "protocol/length.h"

enum { PER_TURN = 16, PER_TURN_LEAST = 4 };

static bool within(int64_t nm)
{
    return nm >= -LENGTH_NM_MAX && nm <= LENGTH_NM_MAX;
}

static double error_at(const struct gauge_fit *fit, double lead_nm, double slope, double said)
{
    double angle = 6.28318530717958647692 * fmod(said, lead_nm) / lead_nm;
    return slope * said + fit->sine_nm * sin(angle) + fit->cosine_nm * cos(angle);
}

/* Pieces between the ends; 1 where there is no sine, or there are too many turns to show it. */
static int pieces_for(const struct gauge_fit *fit, double turns)
{
    if (!fit->has_sine || turns * PER_TURN_LEAST > ERROR_TABLE_MAX - 1) {
        return 1;
    }
    double most = fmin(ceil(turns * PER_TURN), ERROR_TABLE_MAX - 1);
    return most < 1 ? 1 : (int)most;
}

/* The highest function below `value` (side -1), or the lowest above it (side 1), that rises and
 * falls by no more than most[i] from point i - 1 to i. */
static void bound_slope(double *value, const double *most, int count, int side)
{
    for (int i = 1; i < count; i++) {
        double reach = side * (value[i - 1] - side * most[i]);
        value[i] = side * fmax(side * value[i], reach);
    }
    for (int i = count - 1; i > 0; i--) {
        double reach = side * (value[i] - side * most[i]);
        value[i - 1] = side * fmax(side * value[i - 1], reach);
    }
}

/* Midway between the two, which is off by the least that the bound allows. Returns by how much. */
static double flatten(double *value, const double *most, int count)
{
    double above[ERROR_TABLE_MAX];
    double off = 0;
    memcpy(above, value, (size_t)count * sizeof *above);
    double below[ERROR_TABLE_MAX];
    memcpy(below, value, (size_t)count * sizeof *below);
    bound_slope(below, most, count, -1);
    bound_slope(above, most, count, 1);
    for (int i = 0; i < count; i++) {
        double middle = (below[i] + above[i]) / 2;
        off = fmax(off, fabs(middle - value[i]));
        value[i] = middle;
    }
    return off;
}

bool table_fit(const struct gauge_fit *fit, double lead_nm, int64_t lowest_nm, int64_t highest_nm,
               int64_t anchor_nm, bool with_scale, struct error_table *table, double *off_nm)
{
    double slope = with_scale ? fit->scale - 1 : 0;
    table->count = 0;
    *off_nm = 0;
    if (!(lead_nm > 0) || !within(lowest_nm) || !within(highest_nm) || !within(anchor_nm) ||
        lowest_nm >= highest_nm || !(fabs(slope) < 1.0 / ERROR_TABLE_SLOPE - 1e-4)) {
        return false;
    }
    double value[ERROR_TABLE_MAX];
    double most[ERROR_TABLE_MAX];
    int pieces = pieces_for(fit, (double)(highest_nm - lowest_nm) / lead_nm);
    if (!error_table_space(table, lowest_nm, highest_nm, pieces + 1)) {
        return false;
    }
    for (int i = 0; i <= pieces; i++) {
        double said = (double)table->said_nm[i];
        value[i] = pieces == 1 ? slope * said : error_at(fit, lead_nm, slope, said);
        /* A nanometre less, since both ends are rounded. */
        int64_t run_nm = i == 0 ? 0 : table->said_nm[i] - table->said_nm[i - 1];
        most[i] = fmax(0, (double)(run_nm / ERROR_TABLE_SLOPE - 1));
    }
    *off_nm = flatten(value, most, pieces + 1);
    for (int i = 0; i <= pieces; i++) {
        table->error_nm[i] = (int64_t)llround(value[i]);
    }
    int64_t anchor_error_nm = error_table_true_nm(table, anchor_nm) - anchor_nm;
    for (int i = 0; i <= pieces; i++) {
        table->error_nm[i] -= anchor_error_nm;
    }
    return error_table_valid(table);
}
