/* SPDX-License-Identifier: MIT */
#include "protocol/error_table.h"

#include "protocol/length.h"
#include "protocol/ratio.h"

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

bool error_table_space(struct error_table *table, int64_t from_nm, int64_t to_nm, int count)
{
    int pieces = count - 1;
    if (count < 0 || count == 1 || count > ERROR_TABLE_MAX || !within(from_nm) || !within(to_nm) ||
        to_nm - from_nm < pieces) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        table->said_nm[i] = from_nm + ratio_nearest((ratio_wide)i * (to_nm - from_nm), pieces);
    }
    table->count = count;
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
