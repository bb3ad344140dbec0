/* SPDX-License-Identifier: MIT */
#include "clients/bench/gauge_result.h"

#include <math.h>
#include <stdlib.h>

#include "clients/bench/table_fit.h"

enum { LASH_STEP_NM = 1000 };

/* --- The readings --- */

static void each(struct gauge_readings *readings, int64_t factor, int64_t shift_nm)
{
    for (int side = 0; side < 2; side++) {
        for (int i = 0; i < readings->targets; i++) {
            for (int run = 0; run < readings->runs; run++) {
                int64_t *at = &readings->reached_nm[side][i][run];
                *at = factor * *at + shift_nm;
            }
        }
    }
}

/* An indicator's zero is anywhere, and its plunger may go in while the lift rises. */
static void settle(struct gauge_result *out)
{
    struct gauge_readings *readings = &out->readings;
    int64_t(*up)[GAUGE_RUNS_MAX] = readings->reached_nm[GAUGE_UP];
    out->turned = up[readings->targets - 1][0] < up[0][0];
    int64_t factor = out->turned ? -1 : 1;
    each(readings, factor, readings->target_nm[0] - factor * up[0][0]);
}

static int by_size(const void *a, const void *b)
{
    int64_t first = *(const int64_t *)a;
    int64_t second = *(const int64_t *)b;
    return (first > second) - (first < second);
}

/* The smallest difference above 0 between any two. */
static double resolution(const struct gauge_readings *readings)
{
    int64_t all[2 * GAUGE_TARGETS_MAX * GAUGE_RUNS_MAX];
    size_t count = 0;
    int64_t least = 0;
    for (int side = 0; side < 2; side++) {
        for (int i = 0; i < readings->targets; i++) {
            for (int run = 0; run < readings->runs; run++) {
                all[count++] = readings->reached_nm[side][i][run];
            }
        }
    }
    qsort(all, count, sizeof *all, by_size);
    for (size_t i = 1; i < count; i++) {
        int64_t difference = all[i] - all[i - 1];
        if (difference > 0 && (least == 0 || difference < least)) {
            least = difference;
        }
    }
    return (double)least;
}

/* --- What to set --- */

/* The same readings beside what the lead alone says: the table is taken out of the targets. */
static bool fit_screw(const struct gauge_lift *lift, struct gauge_result *out)
{
    static struct gauge_readings said; /* large; of one thread */
    said = out->readings;
    for (int i = 0; i < said.targets; i++) {
        said.target_nm[i] = error_table_said_nm(&lift->table, said.target_nm[i]);
    }
    return gauge_fit(&said, (double)lift->lead_nm, &out->screw);
}

static double span(const struct gauge_readings *readings)
{
    return (double)(readings->target_nm[readings->targets - 1] - readings->target_nm[0]);
}

static void propose_lead(const struct gauge_lift *lift, struct gauge_result *out)
{
    double off = fabs(out->screw.scale - 1);
    out->lead_known =
        off > 3 * out->screw.scale_sd && off * span(&out->readings) > GAUGE_TOLERANCE_NM;
    out->lead_nm = out->lead_known ? (int64_t)llround((double)lift->lead_nm * out->screw.scale)
                                   : lift->lead_nm;
}

/* The sine alone: the lead takes the scale. At the top, which is position 0, nothing shifts. */
static bool propose_table(const struct gauge_lift *lift, struct gauge_result *out)
{
    const struct gauge_fit *screw = &out->screw;
    double scale = out->lead_known ? screw->scale : 1;
    out->table.count = 0;
    out->table_off_nm = 0;
    if (!screw->has_sine || screw->amplitude_nm < 3 * screw->amplitude_sd_nm ||
        screw->amplitude_nm < GAUGE_TOLERANCE_NM / 2.0) {
        return true;
    }
    int64_t lowest_nm = (int64_t)floor((double)lift->lowest_nm * scale);
    return table_fit(screw, (double)out->lead_nm, lowest_nm, 0, 0, false, &out->table,
                     &out->table_off_nm);
}

bool gauge_work_out(const struct gauge_lift *lift, const struct gauge_readings *raw,
                    struct gauge_result *out)
{
    if (!gauge_valid(raw) || lift->lowest_nm >= 0) {
        return false;
    }
    out->readings = *raw;
    out->resolution_nm = resolution(raw);
    settle(out);
    if (out->resolution_nm <= 0 || !gauge_iso(&out->readings, &out->iso) ||
        !gauge_fit(&out->readings, (double)lift->lead_nm, &out->fit) || !fit_screw(lift, out)) {
        return false;
    }
    out->finish = gauge_finish(&out->readings, &out->iso, out->resolution_nm);
    out->causes = cause_of_fit(&out->fit, span(&out->readings), GAUGE_TOLERANCE_NM, out->cause);
    propose_lead(lift, out);
    out->lash_nm = llround(out->screw.lash_nm / LASH_STEP_NM) * LASH_STEP_NM;
    return propose_table(lift, out);
}
