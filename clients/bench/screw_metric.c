/* SPDX-License-Identifier: MIT */
/* Metric and trapezoidal threads by name. */
#include <stdio.h>

#include "clients/bench/screw_parts.h"
#include "clients/bench/screw_tables.h"

bool screw_read_metric(struct screw_scan *scan, struct screw_thread *thread)
{
    thread->form = SCREW_VEE;
    if (!screw_read_decimal(scan, &thread->major_nm)) {
        return screw_no_thread(scan);
    }
    if (screw_take(scan, "x")) {
        if (!screw_read_decimal(scan, &thread->pitch_num_nm)) {
            return screw_no_thread(scan);
        }
    } else {
        thread->pitch_num_nm = screw_metric_coarse(thread->major_nm);
        if (thread->pitch_num_nm == 0) {
            return screw_wrong(
                scan->why,
                "'%.40s' has no coarse pitch of its own; write the pitch as well, as in "
                "M11x1",
                scan->name);
        }
    }
    if (!screw_at_end(scan) || !screw_check_pitch(scan, thread)) {
        return screw_at_end(scan) ? false : screw_no_thread(scan);
    }
    screw_set_vee_mean(thread);
    thread->standard = screw_metric_has(thread->major_nm, thread->pitch_num_nm);
    (void)snprintf(thread->name, sizeof thread->name, "M%gx%g",
                   (double)thread->major_nm / SCREW_MICRO,
                   (double)thread->pitch_num_nm / SCREW_MICRO);
    return true;
}

static bool set_starts(const struct screw_scan *scan, struct screw_thread *thread, int64_t lead_nm)
{
    if (thread->pitch_num_nm <= 0 || lead_nm % thread->pitch_num_nm != 0 ||
        lead_nm / thread->pitch_num_nm > SCREW_STARTS_MAX) {
        return screw_wrong(scan->why,
                           "'%.40s' cannot be a thread: the lead is 1 to %d times the pitch, as in "
                           "Tr8x8(P2)",
                           scan->name, SCREW_STARTS_MAX);
    }
    thread->starts = (int)(lead_nm / thread->pitch_num_nm);
    return true;
}

bool screw_read_trapezoidal(struct screw_scan *scan, struct screw_thread *thread)
{
    int64_t lead_nm = 0;
    thread->form = SCREW_TRAPEZOIDAL;
    if (!screw_read_decimal(scan, &thread->major_nm) || !screw_take(scan, "x") ||
        !screw_read_decimal(scan, &lead_nm)) {
        return screw_no_thread(scan);
    }
    thread->pitch_num_nm = lead_nm;
    if (screw_take(scan, "(") &&
        (!screw_take(scan, "p") || !screw_read_decimal(scan, &thread->pitch_num_nm) ||
         !screw_take(scan, ")"))) {
        return screw_no_thread(scan);
    }
    if (!screw_at_end(scan)) {
        return screw_no_thread(scan);
    }
    if (!set_starts(scan, thread, lead_nm) || !screw_check_pitch(scan, thread)) {
        return false;
    }
    screw_set_half_pitch_mean(thread);
    thread->standard = screw_trapezoidal_has(thread->major_nm, thread->pitch_num_nm);
    (void)snprintf(thread->name, sizeof thread->name,
                   thread->starts > 1 ? "Tr%gx%g(P%g)" : "Tr%gx%g",
                   (double)thread->major_nm / SCREW_MICRO, (double)lead_nm / SCREW_MICRO,
                   (double)thread->pitch_num_nm / SCREW_MICRO);
    return true;
}
