/* SPDX-License-Identifier: MIT */
#include "clients/bench/error_table.h"

#include <math.h>
#include <string.h>

#include "clients/bench/ratio.h"
#include "protocol/length.h"

enum { PER_TURN = 16, PER_TURN_LEAST = 4 };

static bool within(int64_t nm)
{
    return nm >= -LENGTH_NM_MAX && nm <= LENGTH_NM_MAX;
}

bool error_table_valid(const struct error_table *table)
{
    if (table->count < 0 || table->count > ERROR_TABLE_MAX) {
        return false;
    }
    for (int i = 0; i < table->count; i++) {
        if (!within(table->said_nm[i]) || !within(table->error_nm[i])) {
            return false;
        }
        if (i > 0) {
            int64_t run = table->said_nm[i] - table->said_nm[i - 1];
            int64_t rise = table->error_nm[i] - table->error_nm[i - 1];
            if (run <= 0 || (rise < 0 ? -rise : rise) > run / ERROR_TABLE_SLOPE) {
                return false;
            }
        }
    }
    return true;
}

/* How many of the ascending values are at or below `nm`; `errors` (or NULL) is added to them. */
static int count_below(const int64_t *value, const int64_t *errors, int count, int64_t nm)
{
    int low = 0;
    int high = count;
    while (low < high) {
        int middle = low + (high - low) / 2;
        if (value[middle] + (errors ? errors[middle] : 0) <= nm) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

int64_t error_table_true_nm(const struct error_table *table, int64_t said_nm)
{
    if (table->count == 0) {
        return said_nm;
    }
    int behind = count_below(table->said_nm, NULL, table->count, said_nm);
    if (behind == 0 || behind == table->count) {
        return said_nm + table->error_nm[behind == 0 ? 0 : table->count - 1];
    }
    int64_t from = table->said_nm[behind - 1];
    int64_t run = table->said_nm[behind] - from;
    int64_t rise = table->error_nm[behind] - table->error_nm[behind - 1];
    ratio_wide above = ((ratio_wide)said_nm + table->error_nm[behind - 1]) * run +
                       (ratio_wide)(said_nm - from) * rise;
    return ratio_nearest(above, run);
}

int64_t error_table_said_nm(const struct error_table *table, int64_t true_nm)
{
    if (table->count == 0) {
        return true_nm;
    }
    int behind = count_below(table->said_nm, table->error_nm, table->count, true_nm);
    if (behind == 0 || behind == table->count) {
        return true_nm - table->error_nm[behind == 0 ? 0 : table->count - 1];
    }
    int64_t from = table->said_nm[behind - 1];
    int64_t run = table->said_nm[behind] - from;
    int64_t true_from = from + table->error_nm[behind - 1];
    int64_t true_run = run + table->error_nm[behind] - table->error_nm[behind - 1];
    ratio_wide above = (ratio_wide)from * true_run + (ratio_wide)(true_nm - true_from) * run;
    return ratio_nearest(above, true_run);
}

/* --- From a fit --- */

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

bool error_table_from_fit(const struct gauge_fit *fit, double lead_nm, int64_t lowest_nm,
                          int64_t highest_nm, int64_t anchor_nm, bool with_scale,
                          struct error_table *table, double *off_nm)
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
    for (int i = 0; i <= pieces; i++) {
        table->said_nm[i] =
            lowest_nm + ratio_nearest((ratio_wide)i * (highest_nm - lowest_nm), pieces);
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
    table->count = pieces + 1;
    int64_t anchor_error_nm = error_table_true_nm(table, anchor_nm) - anchor_nm;
    for (int i = 0; i <= pieces; i++) {
        table->error_nm[i] -= anchor_error_nm;
    }
    return error_table_valid(table);
}
