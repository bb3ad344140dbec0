/* SPDX-License-Identifier: MIT */
/* Screw, load and motor, in words; what they come to. Nothing is asked of the lift. */
#include <argp.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "clients/bench/capacity_plot.h"
#include "clients/bench/capacity_say.h"
#include "clients/bench/quantity.h"
#include "clients/common/said.h"
#include "clients/reglet/file.h"
#include "clients/reglet/run.h"

/* The words that begin a value; it goes on to the next of them. */
enum field {
    SCREW,
    LOAD,
    MOTOR,
    LEAD,
    MEAN,
    FORM,
    STARTS,
    FRICTION,
    COLLAR,
    COLLAR_FRICTION,
    INERTIA,
    SHARE,
    KNEE,
    STEPS,
    MICROSTEPS,
    MARGIN,
    DRAW,
    FIELDS,
};

enum {
    FULL_STEPS = 200, /* 1.8 degrees: common practice, no source */
    MICROSTEPS_USUAL = 16,
    RATE_MOST_HZ = 60000, /* of the step generator that comes with this */
    COUNT_MOST = 1000,
};

static const double friction_usual = 0.15; /* lubricated steel on bronze, from memory */

static const char *const names[FIELDS] = {
    [SCREW] = "screw",
    [LOAD] = "load",
    [MOTOR] = "motor",
    [LEAD] = "lead",
    [MEAN] = "mean",
    [FORM] = "form",
    [STARTS] = "starts",
    [FRICTION] = "friction",
    [COLLAR] = "collar",
    [COLLAR_FRICTION] = "collar-friction",
    [INERTIA] = "inertia",
    [SHARE] = "share",
    [KNEE] = "knee",
    [STEPS] = "steps",
    [MICROSTEPS] = "microsteps",
    [MARGIN] = "margin",
    [DRAW] = "draw",
};

struct wish {
    const struct run *run;
    struct said said;
    struct screw_thread thread;
    struct capacity capacity;
    bool motor;
};

/* --- Their values --- */

/* Untouched where not said. */
static bool quantity(struct wish *wish, enum field field, enum quantity_kind kind, bool zero,
                     double *value)
{
    if (!said_is(&wish->said, field) || quantity_read(wish->said.value[field], kind, zero, value)) {
        return true;
    }
    return said_wrong(&wish->said, "'%s %.40s' can be a number %s0%s%s", names[field],
                      wish->said.value[field], zero ? "from " : "above ",
                      kind == QUANTITY_NUMBER ? "" : " with its unit: ",
                      kind == QUANTITY_NUMBER ? "" : quantity_units(kind));
}

static bool count_of(struct wish *wish, enum field field, int most, int *value)
{
    double number = *value;
    if (!quantity(wish, field, QUANTITY_NUMBER, false, &number)) {
        return false;
    }
    if (number != floor(number) || number > most) {
        return said_wrong(&wish->said, "'%s %.40s' can be a whole number from 1 to %d",
                          names[field], wish->said.value[field], most);
    }
    *value = (int)number;
    return true;
}

static bool length_of(struct wish *wish, enum field field, int64_t *nm)
{
    if (!said_length(&wish->said, field, words_bare(wish->run->style), "a length", nm)) {
        return false;
    }
    return !said_is(&wish->said, field) || *nm > 0 ||
           said_wrong(&wish->said, "'%s %.40s' can be a length above 0", names[field],
                      wish->said.value[field]);
}

static bool form_of(struct wish *wish, enum screw_form *form)
{
    static const char *const forms[] = {"square", "acme", "trapezoidal", "vee"};
    *form = SCREW_TRAPEZOIDAL;
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        if (strcmp(forms[i], wish->said.value[FORM]) == 0) {
            *form = (enum screw_form)(SCREW_SQUARE + (int)i);
            return true;
        }
    }
    return !said_is(&wish->said, FORM) ||
           said_wrong(&wish->said, "'form %.40s' can be square, acme, trapezoidal or vee",
                      wish->said.value[FORM]);
}

static bool given_screw(struct wish *wish)
{
    int64_t lead_nm = 0;
    int64_t mean_nm = 0;
    enum screw_form form;
    char why[SCREW_WHY];
    if (!said_is(&wish->said, LEAD) || !said_is(&wish->said, MEAN)) {
        return said_wrong(&wish->said,
                          "it needs the screw: 'screw 1/2-10 Acme', or 'lead 2mm mean 7mm'");
    }
    return length_of(wish, LEAD, &lead_nm) && length_of(wish, MEAN, &mean_nm) &&
           form_of(wish, &form) &&
           (screw_thread_given(form, mean_nm, lead_nm, 1, &wish->thread, why) ||
            said_wrong(&wish->said, "%s", why));
}

static bool take_screw(struct wish *wish)
{
    char why[SCREW_WHY];
    if (!said_is(&wish->said, SCREW)) {
        return given_screw(wish) &&
               (!said_is(&wish->said, STARTS) ||
                said_wrong(&wish->said, "'starts' goes with 'screw'; a lead has it in"));
    }
    if (said_is(&wish->said, LEAD) || said_is(&wish->said, MEAN) || said_is(&wish->said, FORM)) {
        return said_wrong(&wish->said,
                          "a screw is said by its name, or by lead, mean and form: not by both");
    }
    if (!screw_thread_named(wish->said.value[SCREW], &wish->thread, why)) {
        return said_wrong(&wish->said, "%s", why);
    }
    if (said_is(&wish->said, STARTS) && wish->thread.starts > 1) {
        return said_wrong(&wish->said, "'%.40s' says its starts itself", wish->said.value[SCREW]);
    }
    return count_of(wish, STARTS, SCREW_STARTS_MAX, &wish->thread.starts);
}

static bool take_load(struct wish *wish)
{
    struct power_screw *screw = &wish->capacity.screw;
    int64_t collar_nm = 0;
    *screw = (struct power_screw){.mean_m = (double)wish->thread.mean_nm * 1e-9,
                                  .lead_m = screw_lead_m(&wish->thread),
                                  .half_angle_deg = screw_half_angle_deg(wish->thread.form),
                                  .friction = friction_usual};
    if (!said_is(&wish->said, LOAD)) {
        return said_wrong(&wish->said,
                          "it needs the load, which is all that the screw raises: 'load 10kg'");
    }
    if (!quantity(wish, LOAD, QUANTITY_LOAD, false, &screw->load_n) ||
        !quantity(wish, FRICTION, QUANTITY_NUMBER, true, &screw->friction) ||
        !length_of(wish, COLLAR, &collar_nm)) {
        return false;
    }
    screw->collar_m = (double)collar_nm * 1e-9;
    screw->collar_friction = screw->friction;
    if (!quantity(wish, COLLAR_FRICTION, QUANTITY_NUMBER, true, &screw->collar_friction)) {
        return false;
    }
    return (screw->friction <= 1 && screw->collar_friction <= 1) ||
           said_wrong(&wish->said,
                      "a friction can be 0 to 1; .05 to .2 is usual for steel on bronze");
}

static bool take_motor(struct wish *wish)
{
    struct capacity *in = &wish->capacity;
    int full_steps = FULL_STEPS;
    int microsteps = MICROSTEPS_USUAL;
    wish->motor = said_is(&wish->said, MOTOR);
    in->share = CAPACITY_SHARE;
    in->knee_rpm = CAPACITY_KNEE_RPM;
    in->margin = CAPACITY_MARGIN;
    in->rate_most_hz = RATE_MOST_HZ;
    if (!quantity(wish, MOTOR, QUANTITY_TORQUE, false, &in->holding_n_m) ||
        !quantity(wish, INERTIA, QUANTITY_INERTIA, true, &in->inertia_kg_m2) ||
        !quantity(wish, SHARE, QUANTITY_NUMBER, false, &in->share) ||
        !quantity(wish, KNEE, QUANTITY_NUMBER, false, &in->knee_rpm) ||
        !quantity(wish, MARGIN, QUANTITY_NUMBER, false, &in->margin) ||
        !count_of(wish, STEPS, COUNT_MOST, &full_steps) ||
        !count_of(wish, MICROSTEPS, COUNT_MOST, &microsteps)) {
        return false;
    }
    in->full_steps = full_steps;
    in->microsteps = microsteps;
    if (in->share > 1 || in->margin < 1) {
        return said_wrong(&wish->said, "'share' can be above 0 to 1, and 'margin' 1 or more");
    }
    return wish->motor || !said_is(&wish->said, DRAW) ||
           said_wrong(&wish->said, "a drawing needs the motor's holding torque: 'motor 425ozf-in'");
}

static bool work_out(struct wish *wish, struct capacity_answer *answer)
{
    bool worked = wish->motor ? capacity_work_out(&wish->capacity, answer)
                              : power_screw_torque(&wish->capacity.screw, &answer->torque);
    return worked ||
           said_wrong(&wish->said, "with that friction the nut jams on this screw, and no torque "
                                   "raises it; a friction of .05 to .2 is usual");
}

/* --- What is told --- */

static void tell(const struct wish *wish, const struct capacity_answer *answer)
{
    struct say say = {0};
    const struct capacity *in = &wish->capacity;
    capacity_say_screw(&say, &wish->thread, (int)in->full_steps, (int)in->microsteps,
                       wish->run->style);
    capacity_say_torque(&say, in, &answer->torque);
    if (wish->motor) {
        capacity_say_motor(&say, in, answer, wish->run->style);
    }
    capacity_say_advice(&say);
    run_print(&say);
}

static void add_screw(cJSON *object, const struct wish *wish)
{
    const struct capacity *in = &wish->capacity;
    int64_t steps = (int64_t)in->full_steps * (int64_t)in->microsteps;
    struct screw_ratio ratio = screw_steps_in(&wish->thread, steps, LENGTH_NM_PER_IN / 64);
    cJSON_AddTrueToObject(object, "advice");
    cJSON_AddStringToObject(object, "screw", wish->thread.name);
    cJSON_AddBoolToObject(object, "standard", wish->thread.standard);
    cJSON_AddNumberToObject(object, "starts", wish->thread.starts);
    cJSON_AddNumberToObject(object, "lead_mm", in->screw.lead_m * 1e3);
    cJSON_AddNumberToObject(object, "mean_mm", in->screw.mean_m * 1e3);
    cJSON_AddNumberToObject(object, "step_nm", in->screw.lead_m * 1e9 / (double)steps);
    cJSON_AddNumberToObject(object, "steps_in_64th", (double)ratio.above / (double)ratio.below);
    cJSON_AddBoolToObject(object, "whole_64th", ratio.below == 1);
    cJSON_AddNumberToObject(object, "friction", in->screw.friction);
    cJSON_AddNumberToObject(object, "load_n", in->screw.load_n);
}

static void add_torque(cJSON *object, const struct power_screw_torque *torque)
{
    cJSON_AddNumberToObject(object, "raise_n_m", torque->raise_n_m);
    cJSON_AddNumberToObject(object, "lower_n_m", torque->lower_n_m);
    cJSON_AddNumberToObject(object, "efficiency", torque->efficiency);
    cJSON_AddNumberToObject(object, "hold_friction", torque->hold_friction);
    cJSON_AddNumberToObject(object, "hold_margin", torque->hold_margin);
    cJSON_AddStringToObject(object, "hold", capacity_hold_name(torque->hold));
}

static void add_motor(cJSON *object, const struct capacity *in,
                      const struct capacity_answer *answer)
{
    cJSON_AddNumberToObject(object, "share", in->share);
    cJSON_AddNumberToObject(object, "knee_rpm", in->knee_rpm);
    cJSON_AddNumberToObject(object, "running_n_m", answer->running_n_m);
    cJSON_AddNumberToObject(object, "margin", answer->margin);
    cJSON_AddBoolToObject(object, "lifts", answer->lifts);
    cJSON_AddBoolToObject(object, "enough", answer->enough);
    cJSON_AddNumberToObject(object, "stall_rpm", answer->stall_rpm);
    cJSON_AddNumberToObject(object, "speed_rpm", answer->speed_rpm);
    cJSON_AddNumberToObject(object, "speed_mm_s", answer->speed_m_s * 1e3);
    cJSON_AddNumberToObject(object, "acceleration_mm_s2", answer->acceleration_m_s2 * 1e3);
    cJSON_AddNumberToObject(object, "rate_hz", answer->rate_hz);
    cJSON_AddBoolToObject(object, "rate_limited", answer->rate_limited);
}

static enum client_exit tell_json(const struct wish *wish, const struct capacity_answer *answer)
{
    cJSON *object = cJSON_CreateObject();
    add_screw(object, wish);
    add_torque(object, &answer->torque);
    if (wish->motor) {
        add_motor(object, &wish->capacity, answer);
    }
    char *text = cJSON_PrintUnformatted(object);
    cJSON_Delete(object);
    if (!text) {
        run_say("There is no memory left for the answer. Nothing was asked of the lift.");
        return CLIENT_UNREACHABLE;
    }
    (void)puts(text); /* main looks at ferror */
    cJSON_free(text);
    return CLIENT_DONE;
}

/* --- The drawing --- */

static enum client_exit draw(const struct wish *wish, const struct capacity_answer *answer)
{
    char title[WORDS_SIZE + SCREW_NAME];
    static char text[CAPACITY_PLOT_SIZE];
    (void)snprintf(title, sizeof title, "%s, load %.40s, motor %.40s", wish->thread.name,
                   wish->said.value[LOAD], wish->said.value[MOTOR]);
    if (capacity_plot(&wish->capacity, answer, title, wish->run->style, text, sizeof text) == 0) {
        return run_trouble(wish->run, CLIENT_NO_MEMORY);
    }
    return file_write(wish->said.value[DRAW], text, wish->run->replace) ? CLIENT_DONE
                                                                        : CLIENT_USAGE;
}

static enum client_exit carry_out(struct run *run)
{
    static struct wish wish;
    struct capacity_answer answer = {0};
    wish = (struct wish){.run = run, .said = {.name = names, .count = FIELDS}};
    if (!said_take(&wish.said, run->count, run->word,
                   "screw, load or motor, or one of the others that --help lists") ||
        !take_screw(&wish) || !take_load(&wish) || !take_motor(&wish) ||
        !work_out(&wish, &answer)) {
        return run_usage(run, wish.said.why);
    }
    if (run->json) {
        enum client_exit code = tell_json(&wish, &answer);
        if (code != CLIENT_DONE) {
            return code;
        }
    } else {
        tell(&wish, &answer);
    }
    return said_is(&wish.said, DRAW) ? draw(&wish, &answer) : CLIENT_DONE;
}

static const struct argp_option options[] = {
    {"replace", RUN_REPLACE, 0, 0, "Take the place of a file of that name", 0}, {0}};

const struct command command_capacity = {
    "capacity",
    "screw NAME load WEIGHT [motor TORQUE] [WORD VALUE ...]",
    "what a motor can do with your screw; advice",
    "For example: capacity screw 1/2-10 Acme load 10kg motor 425ozf-in. It asks nothing of the "
    "lift.\n\n"
    "  screw     M10x1.5, Tr8x2, Tr8x8(P2), 1/2-10 Acme, 3/8-16 UNC\n"
    "  lead, mean, form   instead: the rise of one turn, the mean diameter, and\n"
    "            square, acme, trapezoidal or vee\n"
    "  starts    of a screw by name, 1 where not said\n"
    "  load      all that the screw raises: 10kg, 22lb, 98N\n"
    "  friction  of the thread, .15 where not said\n"
    "  collar, collar-friction   mean diameter of a plain thrust collar, and its\n"
    "            friction, the thread's where not said\n"
    "  motor     holding torque: 3Nm, 425ozf-in, 30kgf-cm\n"
    "  share, knee   running torque as a part of holding torque, and up to which\n"
    "            rev/min; .35 and 600 where not said\n"
    "  inertia   of all that turns: 480g-cm2\n"
    "  steps, microsteps   full steps a turn, 200, and microsteps, 16\n"
    "  margin    2 where not said\n"
    "  draw      FILE: torque against speed, as SVG",
    carry_out,
    options};
