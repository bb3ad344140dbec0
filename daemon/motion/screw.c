/* SPDX-License-Identifier: MIT */
#include "daemon/motion/screw.h"

#include "protocol/length.h"

/* The largest product is 2^63 * 10^6 * 10^6 * 2, below 2^104. */
__extension__ typedef __int128 wide_int;

/* `below` is positive. */
static wide_int divide_nearest(wide_int above, wide_int below)
{
    wide_int size = above < 0 ? -above : above;
    wide_int nearest = (2 * size + below) / (2 * below);
    return above < 0 ? -nearest : nearest;
}

static bool within(int64_t value, int64_t highest)
{
    return value >= 1 && value <= highest;
}

bool screw_valid(const struct screw *screw)
{
    return within(screw->steps_per_turn, 1000000) && within(screw->lead_num_nm, 1000000000) &&
           within(screw->lead_den, 1000000);
}

bool screw_steps(const struct screw *screw, int64_t position_nm, int32_t *steps)
{
    wide_int above = (wide_int)position_nm * screw->steps_per_turn * screw->lead_den;
    wide_int nearest = divide_nearest(above, screw->lead_num_nm);
    if (nearest < INT32_MIN || nearest > INT32_MAX)
        return false;
    *steps = (int32_t)nearest;
    return true;
}

int64_t screw_position_nm(const struct screw *screw, int64_t steps)
{
    wide_int below = (wide_int)screw->steps_per_turn * screw->lead_den;
    wide_int nearest = divide_nearest((wide_int)steps * screw->lead_num_nm, below);
    if (nearest < INT64_MIN)
        return INT64_MIN;
    if (nearest > INT64_MAX)
        return INT64_MAX;
    return (int64_t)nearest;
}

static bool has_error(const struct error_table *table, int64_t position_nm)
{
    return table && position_nm >= -2 * LENGTH_NM_MAX && position_nm <= 2 * LENGTH_NM_MAX;
}

bool screw_true_steps(const struct screw *screw, const struct error_table *table,
                      int64_t position_nm, int32_t *steps)
{
    bool corrected = has_error(table, position_nm);
    return screw_steps(screw, corrected ? error_table_said_nm(table, position_nm) : position_nm,
                       steps);
}

int64_t screw_true_position_nm(const struct screw *screw, const struct error_table *table,
                               int64_t steps)
{
    int64_t said_nm = screw_position_nm(screw, steps);
    return has_error(table, said_nm) ? error_table_true_nm(table, said_nm) : said_nm;
}

int64_t screw_step_nm(const struct screw *screw)
{
    int64_t below = screw->steps_per_turn * screw->lead_den;
    return (screw->lead_num_nm + below - 1) / below;
}
