/* SPDX-License-Identifier: MIT */
#include "clients/bench/capacity_say.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>

#include "clients/bench/quantity.h"
#include "protocol/ratio.h"

enum { NM_PER_64TH = LENGTH_NM_PER_IN / 64, COUNT_SIZE = 64 };

/* "50", "31 1/4", "39 11/16" */
static void write_ratio(struct screw_ratio ratio, char text[COUNT_SIZE])
{
    int64_t whole = ratio.above / ratio.below;
    int64_t rest = ratio.above % ratio.below;
    if (rest == 0) {
        (void)snprintf(text, COUNT_SIZE, "%" PRId64, whole);
    } else if (whole == 0) {
        (void)snprintf(text, COUNT_SIZE, "%" PRId64 "/%" PRId64, rest, ratio.below);
    } else {
        (void)snprintf(text, COUNT_SIZE, "%" PRId64 " %" PRId64 "/%" PRId64, whole, rest,
                       ratio.below);
    }
}

static void write_length_m(double metres, enum length_style style, char *text, size_t size)
{
    bool mm = style == LENGTH_STYLE_MM;
    (void)snprintf(text, size, mm ? "%.3gmm" : "%.3gin", metres * (mm ? 1e3 : 1 / 0.0254));
}

void capacity_say_screw(struct say *say, const struct screw_thread *thread, int full_steps,
                        int microsteps, enum length_style style)
{
    char lead[SAY_LENGTH_SIZE];
    char mean[SAY_LENGTH_SIZE];
    char full[COUNT_SIZE];
    char fine[COUNT_SIZE];
    int64_t lead_nm =
        ratio_nearest((ratio_wide)thread->pitch_num_nm * thread->starts, thread->pitch_den);
    struct screw_ratio worth = screw_step_worth(thread, full_steps);
    struct screw_ratio in_fine =
        screw_steps_in(thread, (int64_t)full_steps * microsteps, NM_PER_64TH);
    enum length_style decimal = style == LENGTH_STYLE_MM ? LENGTH_STYLE_MM : LENGTH_STYLE_IN;
    say_both(lead_nm, decimal, lead, sizeof lead);
    say_both(thread->mean_nm, decimal, mean, sizeof mean);
    say_wrap(say, "Screw", SAY_INDENT, "%s, %d start%s: rises %s for one turn; mean diameter %s.%s",
             thread->name, thread->starts, thread->starts > 1 ? "s" : "", lead, mean,
             thread->standard || thread->major_nm == 0
                 ? ""
                 : " That pitch is in no table of its standard for that diameter; it is taken as "
                   "given.");
    write_ratio(screw_steps_in(thread, full_steps, NM_PER_64TH), full);
    write_ratio(in_fine, fine);
    say_wrap(say, "Steps", SAY_INDENT,
             "A full step is %.2f um (.%05.0fin), 4 of them, which is what a slip loses, %.1f um. "
             "1/64in is %s full steps, %s with %d microsteps: %s.",
             (double)worth.above / (double)worth.below / 1e3,
             (double)worth.above / (double)worth.below / 254,
             (double)worth.above / (double)worth.below * 4 / 1e3, full, fine, microsteps,
             in_fine.below == 1 ? "a whole number, so sixty-fourths are exact"
                                : "no whole number; heights are rounded to the nearest step, and "
                                  "errors do not add up");
}

static void add_torque(struct say *say, const char *label, double n_m, const char *more)
{
    say_wrap(say, label, SAY_INDENT, "%.4g N m (%.3g ozf in)%s", n_m, n_m / QUANTITY_N_M_PER_OZF_IN,
             more);
}

const char *capacity_hold_name(enum power_screw_hold hold)
{
    switch (hold) {
    case POWER_SCREW_HOLDS:
        return "holds";
    case POWER_SCREW_JUST:
        return "just";
    case POWER_SCREW_DOUBTFUL:
        return "doubtful";
    default:
        return "runs down";
    }
}

static const char *hold_words(const struct power_screw_torque *torque)
{
    switch (torque->hold) {
    case POWER_SCREW_HOLDS:
        return "The load stays where it is with the motor off.";
    case POWER_SCREW_JUST:
        return "The load stays where it is with the motor off, but only just: keep the motor "
               "energised while the router runs.";
    case POWER_SCREW_DOUBTFUL:
        return "The load may creep down when the router shakes it: keep the motor energised, or "
               "fit a brake or a counterweight.";
    default:
        return torque->lower_n_m > 0
                   ? "The thread alone runs down, and only the collar's friction holds it: do not "
                     "count on it. Cutting the motor's power may drop the router; fit a brake or a "
                     "counterweight."
                   : "The load runs down by itself. Cutting the motor's power drops the router: "
                     "fit a brake or a counterweight.";
    }
}

void capacity_say_torque(struct say *say, const struct capacity *in,
                         const struct power_screw_torque *torque)
{
    char more[96];
    (void)snprintf(more, sizeof more, "; %.1f %% of the work goes into lifting",
                   100 * torque->efficiency);
    add_torque(say, "Raise", torque->raise_n_m, more);
    add_torque(say, "Lower", torque->lower_n_m,
               torque->lower_n_m > 0 ? "" : ": it drives the screw");
    say_wrap(say, "Holding", SAY_INDENT,
             "%s The thread holds from a friction of %.4f on; with %.3g that is a margin of %.2f, "
             "and 1.5 is wanted, since shaking lowers friction.",
             hold_words(torque), torque->hold_friction, in->screw.friction, torque->hold_margin);
}

static void say_speed(struct say *say, const struct capacity *in,
                      const struct capacity_answer *answer, enum length_style style)
{
    char speed[COUNT_SIZE];
    char acceleration[COUNT_SIZE];
    write_length_m(answer->speed_m_s, style, speed, sizeof speed);
    write_length_m(answer->acceleration_m_s2, style, acceleration, sizeof acceleration);
    say_wrap(say, "Advised", SAY_INDENT,
             "a speed of at most %s/s (%.0f rev/min, %.0f steps/s), and with it an acceleration of "
             "at most %s/s2: together they keep a margin of %g.%s%s",
             speed, answer->speed_rpm, answer->rate_hz, acceleration, in->margin,
             in->inertia_kg_m2 > 0 ? ""
                                   : " No inertia was given, and what turns takes its part of that "
                                     "acceleration: its maker's list says the rotor's.",
             answer->rate_limited ? " That speed is as fast as the step generator goes." : "");
}

void capacity_say_motor(struct say *say, const struct capacity *in,
                        const struct capacity_answer *answer, enum length_style style)
{
    say_wrap(
        say, "Motor", SAY_INDENT,
        "Running torque is taken as %.0f %% of the holding torque up to %.0f rev/min, and less "
        "in proportion beyond: %.4g N m. That is %.2f times what raising asks.",
        100 * in->share, in->knee_rpm, answer->running_n_m, answer->margin);
    if (!answer->lifts) {
        say_wrap(say, "", SAY_INDENT,
                 "It stalls: it does not raise this load at any speed. Take a stronger motor, a "
                 "finer screw or a counterweight.");
        return;
    }
    say_wrap(say, "Stalls", SAY_INDENT, "from %.0f rev/min on, at the latest", answer->stall_rpm);
    if (answer->enough) {
        say_speed(say, in, answer, style);
    } else {
        say_wrap(say, "Advised", SAY_INDENT,
                 "no speed: there is less than the margin of %g at any. Take a stronger motor, a "
                 "finer screw or a counterweight.",
                 in->margin);
    }
}

void capacity_say_advice(struct say *say)
{
    say_wrap(say, "", 0,
             "This is advice, worked out from what you gave: frictions and the motor's running "
             "torque are taken, not measured. Begin with less, and look for lost steps.");
}
