/* SPDX-License-Identifier: MIT */
#include "daemon/config/check.h"

#include <stdio.h>
#include <string.h>

#include "protocol/length.h"

enum {
    /* From the trade (no source): enough for a screw that nobody has measured, and a margin over
     * what was measured. */
    TAKE_UP_UNMEASURED_NM = LENGTH_NM_PER_IN / 32,
    TAKE_UP_MARGIN_NM = LENGTH_NM_PER_IN / 100,
    HOLD_SLOW_NM = LENGTH_NM_PER_IN / 32, /* a second */
    HOLD_FAST_NM = LENGTH_NM_PER_IN / 4,
    BRAKE_STEPS_MAX = UINT16_MAX,
    STEPS_S2_MOST = 4000000, /* the table's own */
};

static bool refuse_missing(const struct sentence_source *source, const struct check_values *values,
                           enum table_key key)
{
    const struct table_entry *entry = &table_entries[key];
    char wanted[SENTENCE_WANTED_SIZE];
    return sentence_refuse(
        source, values->group_at[entry->group], "found no \"%s\" in \"%s\"; %s would do",
        entry->name, table_headings[entry->group].name, sentence_wanted(entry, false, wanted));
}

static bool check_groups(const struct sentence_source *source, const struct check_values *values)
{
    for (size_t i = 0; i < TABLE_GROUPS; i++) {
        if (values->group_at[i] == SENTENCE_WHOLE_FILE && table_group_required(i)) {
            const struct table_heading *heading = &table_headings[i];
            return sentence_refuse(source, SENTENCE_WHOLE_FILE,
                                   "found no \"%s\"; \"%s\": %s would do", heading->name,
                                   heading->name, heading->example);
        }
    }
    return true;
}

static bool fill_omitted(const struct sentence_source *source, struct check_values *values)
{
    for (size_t i = 0; i < TABLE_KEYS; i++) {
        struct value *value = &values->value[i];
        if (!value->given && table_entries[i].omission == TABLE_REQUIRED) {
            return refuse_missing(source, values, i);
        }
        if (!value->given) {
            value->number = table_entries[i].omitted;
            value->path = table_entries[i].omitted_path;
        }
    }
    return true;
}

static bool check_screw(const struct sentence_source *source, const struct check_values *values,
                        struct screw *screw)
{
    const struct value *lead = &values->value[TABLE_LEAD];
    const struct value *threads = &values->value[TABLE_THREADS];
    if (lead->given && threads->given) {
        bool lead_last = lead->span.at > threads->span.at;
        return sentence_refuse(source, lead_last ? lead->span.at : threads->span.at,
                               "found both \"lead\" and \"threads_per_inch\" in \"screw\"; one of "
                               "them would do");
    }
    if (!lead->given && !threads->given) {
        return sentence_refuse(source, values->group_at[TABLE_SCREW],
                               "found neither \"lead\" nor \"threads_per_inch\" in \"screw\"; one "
                               "of them, as in \"lead\": \"2mm\" or \"threads_per_inch\": 16, "
                               "would do");
    }
    *screw = (struct screw){
        .steps_per_turn =
            values->value[TABLE_FULL_STEPS].number * values->value[TABLE_MICROSTEPS].number,
        .lead_num_nm = lead->given ? lead->number : LENGTH_NM_PER_IN,
        .lead_den = lead->given ? 1 : threads->number,
    };
    return true;
}

/* "a speed from X to Y": limits in nm/s, or nm/s^2. */
static bool refuse_rate(const struct sentence_source *source, const struct check_values *values,
                        enum table_key key, int64_t least_nm, int64_t most_nm, const char *why)
{
    const struct value *value = &values->value[key];
    bool speed = table_entries[key].kind == TABLE_IS_SPEED;
    char least[SENTENCE_LENGTH_SIZE];
    char most[SENTENCE_LENGTH_SIZE];
    char wanted[SENTENCE_WANTED_SIZE];
    (void)snprintf(wanted, sizeof wanted, "%s from %s%s to %s%s",
                   speed ? "a speed" : "an acceleration",
                   sentence_length(least_nm, value->in_mm, true, least), speed ? "/s" : "/s2",
                   sentence_length(most_nm, value->in_mm, false, most), speed ? "/s" : "/s2");
    return value_refuse(source, &table_entries[key], value, why, wanted);
}

/*
 * The table's range in steps becomes one in lengths, so that a person can be told it; the smallest
 * one rounded up and the greatest down to a whole nanometre, so that both are within. At most
 * 10^10 nm * 256 000 * 80 and 4 * 10^6 steps * 2.54 * 10^7 nm: all fits 64 bits, and what is within
 * the range fits a double exactly before the division.
 */
static bool check_rate(const struct sentence_source *source, const struct check_values *values,
                       enum table_key key, const struct screw *screw, double *rate)
{
    const struct table_entry *entry = &table_entries[key];
    int64_t scale = screw->steps_per_turn * screw->lead_den;
    int64_t least_nm = (entry->least * screw->lead_num_nm + scale - 1) / scale;
    int64_t most_nm = entry->most * screw->lead_num_nm / scale;
    most_nm = most_nm < LENGTH_NM_MAX ? most_nm : LENGTH_NM_MAX;
    int64_t nm = values->value[key].number;
    *rate = (double)(nm * scale) / (double)screw->lead_num_nm;
    if (nm >= least_nm && nm <= most_nm) {
        return true;
    }
    char why[80];
    (void)snprintf(why, sizeof why, ", %.*f steps/s%s with this screw", *rate < 1 ? 3 : 0, *rate,
                   entry->kind == TABLE_IS_SPEED ? "" : "2");
    return refuse_rate(source, values, key, least_nm, most_nm, nm <= 0 ? "" : why);
}

/* No faster than `most_key`, which is checked already. */
static bool check_order(const struct sentence_source *source, const struct check_values *values,
                        const struct screw *screw, enum table_key key, enum table_key most_key)
{
    int64_t most_nm = values->value[most_key].number;
    char why[48];
    if (values->value[key].number <= most_nm) {
        return true;
    }
    (void)snprintf(why, sizeof why, ", faster than \"%s\"", table_entries[most_key].name);
    return refuse_rate(source, values, key, screw_step_nm(screw), most_nm, why);
}

/* A speed of hold-to-run, or what it is when it is left out. */
static bool check_hold(const struct sentence_source *source, const struct check_values *values,
                       enum table_key key, int64_t omitted_nm, struct config *config, double *rate)
{
    const struct screw *screw = &config->screw;
    if (!values->value[key].given) {
        *rate = (double)(omitted_nm * screw->steps_per_turn * screw->lead_den) /
                (double)screw->lead_num_nm;
        *rate = *rate < config->move_hz ? *rate : config->move_hz;
        return true;
    }
    return check_rate(source, values, key, screw, rate) &&
           check_order(source, values, screw, key, TABLE_MOVE);
}

/* The step generator counts the steps of a brake in 16 bits. */
static bool check_brake_way(const struct sentence_source *source, const struct check_values *values,
                            const struct config *config)
{
    const struct screw *screw = &config->screw;
    double least_hz_s = config->move_hz * config->move_hz / (2.0 * BRAKE_STEPS_MAX);
    if (config->brake_hz_s >= least_hz_s) {
        return true;
    }
    int64_t scale = screw->steps_per_turn * screw->lead_den;
    int64_t least_nm = (int64_t)(least_hz_s * (double)screw->lead_num_nm / (double)scale) + 1;
    int64_t most_nm = (int64_t)STEPS_S2_MOST * screw->lead_num_nm / scale;
    return refuse_rate(source, values, TABLE_BRAKE, least_nm,
                       most_nm < LENGTH_NM_MAX ? most_nm : LENGTH_NM_MAX,
                       ", from which \"move\" takes too long to stop");
}

/* The search runs into the top switch, so it is never the faster one. */
static bool check_rates(const struct sentence_source *source, const struct check_values *values,
                        struct config *config)
{
    const struct value *value = values->value;
    return check_rate(source, values, TABLE_MOVE, &config->screw, &config->move_hz) &&
           check_rate(source, values, TABLE_SEARCH, &config->screw, &config->search_hz) &&
           check_rate(source, values, TABLE_BRAKE, &config->screw, &config->brake_hz_s) &&
           check_brake_way(source, values, config) &&
           check_order(source, values, &config->screw, TABLE_SEARCH, TABLE_MOVE) &&
           check_hold(source, values, TABLE_HOLD_SLOW, HOLD_SLOW_NM, config,
                      &config->hold_slow_hz) &&
           check_hold(source, values, TABLE_HOLD_FAST, HOLD_FAST_NM, config,
                      &config->hold_fast_hz) &&
           (!value[TABLE_HOLD_SLOW].given || !value[TABLE_HOLD_FAST].given ||
            check_order(source, values, &config->screw, TABLE_HOLD_SLOW, TABLE_HOLD_FAST));
}

/* The position at which bits are changed is one to which the lift may go. */
static bool check_change(const struct sentence_source *source, const struct check_values *values)
{
    const struct value *change = &values->value[TABLE_CHANGE];
    int64_t least_nm = values->value[TABLE_TOP_MARGIN].number;
    int64_t most_nm = values->value[TABLE_LENGTH].number;
    if (!change->given || (change->number >= least_nm && change->number <= most_nm)) {
        return true;
    }
    char least[SENTENCE_LENGTH_SIZE];
    char most[SENTENCE_LENGTH_SIZE];
    char wanted[SENTENCE_WANTED_SIZE];
    (void)snprintf(wanted, sizeof wanted, "a length from %s to %s",
                   sentence_length(least_nm, change->in_mm, true, least),
                   sentence_length(most_nm, change->in_mm, false, most));
    return value_refuse(source, &table_entries[TABLE_CHANGE], change, ", outside of the travel",
                        wanted);
}

/* A stepper that slips loses four full steps or more; half of that must be told from nothing. */
static bool check_readout(const struct sentence_source *source, const struct check_values *values,
                          struct config *config)
{
    const struct value *unit = &values->value[TABLE_RESOLUTION];
    const struct value *tolerance = &values->value[TABLE_TOLERANCE];
    int64_t full_den = config->screw.lead_den * values->value[TABLE_FULL_STEPS].number;
    int64_t full_nm = (config->screw.lead_num_nm + full_den / 2) / full_den;
    int64_t least_nm = unit->given ? unit->number : CONFIG_READOUT_UNIT_NM;
    int64_t most_nm = (2 * config->screw.lead_num_nm - 1) / full_den;
    config->readout = (enum config_readout)values->value[TABLE_TWO_WIRE].number;
    config->readout_unit_nm = unit->given ? unit->number : 0;
    config->readout_tolerance_nm = tolerance->given     ? tolerance->number
                                   : full_nm > least_nm ? full_nm
                                                        : least_nm;
    int64_t nm = config->readout_tolerance_nm;
    if (config->readout == CONFIG_READOUT_ABSENT || (nm >= least_nm && nm <= most_nm)) {
        return true;
    }
    char least[SENTENCE_LENGTH_SIZE];
    char most[SENTENCE_LENGTH_SIZE];
    if (most_nm < least_nm) {
        return sentence_refuse(source, values->group_at[TABLE_READOUT],
                               "found a readout that counts %s, too coarse to tell a slip of this "
                               "screw's motor; a resolution of at most %s, or no readout, would do",
                               sentence_length(least_nm, unit->in_mm, true, least),
                               sentence_length(most_nm, unit->in_mm, false, most));
    }
    char wanted[SENTENCE_WANTED_SIZE];
    (void)snprintf(wanted, sizeof wanted, "a length from %s to %s",
                   sentence_length(least_nm, tolerance->in_mm, true, least),
                   sentence_length(most_nm, tolerance->in_mm, false, most));
    return value_refuse(source, &table_entries[TABLE_TOLERANCE], tolerance,
                        nm < least_nm ? ", finer than the readout counts"
                                      : ", from which a slip could not be told",
                        wanted);
}

static bool check_travel(const struct sentence_source *source, const struct check_values *values)
{
    const struct value *margin = &values->value[TABLE_TOP_MARGIN];
    int64_t most_nm = values->value[TABLE_LENGTH].number / 2;
    if (margin->number <= most_nm) {
        return check_change(source, values);
    }
    char most[SENTENCE_LENGTH_SIZE];
    char wanted[SENTENCE_WANTED_SIZE];
    (void)snprintf(wanted, sizeof wanted, "a length of at most %s",
                   sentence_length(most_nm, margin->in_mm, false, most));
    return value_refuse(source, &table_entries[TABLE_TOP_MARGIN], margin,
                        ", more than half of the travel", wanted);
}

/* One output switches one thing. */
static bool check_outputs(const struct sentence_source *source, const struct check_values *values)
{
    const struct value *dust = &values->value[TABLE_DUST];
    const struct value *lock = &values->value[TABLE_LOCK];
    if (lock->number == CONFIG_OUTPUT_ABSENT || lock->number != dust->number) {
        return true;
    }
    return value_refuse(source, &table_entries[TABLE_LOCK], lock, ", which switches \"dust\" too",
                        "the other output, or \"absent\"");
}

void config_set_lash(struct config *config, int64_t lash_nm)
{
    config->lash_known = true;
    config->lash_nm = lash_nm;
    config->take_up_nm = lash_nm + TAKE_UP_MARGIN_NM;
}

void config_set_lead(struct config *config, int64_t lead_nm)
{
    const struct screw old = config->screw;
    double more = (double)old.lead_num_nm / (double)old.lead_den / (double)lead_nm;
    config->screw.lead_num_nm = lead_nm;
    config->screw.lead_den = 1;
    config->move_hz *= more;
    config->search_hz *= more;
    config->hold_slow_hz *= more;
    config->hold_fast_hz *= more;
    config->brake_hz_s *= more;
}

static void fill_lash(const struct value *measured, struct config *config)
{
    config->lash_known = false;
    config->lash_nm = config->take_up_nm = TAKE_UP_UNMEASURED_NM;
    if (measured->given) {
        config_set_lash(config, measured->number);
    }
}

/* All values are within the table's ranges, which these types hold. */
static void fill(const struct check_values *values, struct config *config)
{
    const struct value *value = values->value;
    config->full_steps = values->value[TABLE_FULL_STEPS].number;
    config->travel_nm = value[TABLE_LENGTH].number;
    config->top_margin_nm = value[TABLE_TOP_MARGIN].number;
    config->change_nm =
        value[TABLE_CHANGE].given ? value[TABLE_CHANGE].number : config->top_margin_nm;
    fill_lash(&value[TABLE_MEASURED], config);
    config->finish = (enum config_finish)value[TABLE_FINISH].number;
    config->top_switch = (enum config_input)value[TABLE_TOP_SWITCH].number;
    config->bottom_switch = (enum config_input)value[TABLE_BOTTOM_SWITCH].number;
    config->touch_plate = (enum config_input)value[TABLE_TOUCH_PLATE].number;
    config->router = (enum config_input)value[TABLE_ROUTER].number;
    config->carriage_lock = (enum config_input)value[TABLE_CARRIAGE_LOCK].number;
    config->while_running = (enum config_running)value[TABLE_WHILE_RUNNING].number;
    config->run_down_s = (uint32_t)value[TABLE_RUN_DOWN].number;
    config->plate_height_nm = value[TABLE_PLATE_HEIGHT].number;
    config->plate_spread_nm = value[TABLE_PLATE_SPREAD].number;
    config->stop_circuit = (enum config_input)value[TABLE_STOP_CIRCUIT].number;
    config->motor_supply = (enum config_input)value[TABLE_MOTOR_SUPPLY].number;
    config->dust = (enum config_output)value[TABLE_DUST].number;
    config->dust_run_on_s = (uint32_t)value[TABLE_DUST_RUN_ON].number;
    config->lock = (enum config_output)value[TABLE_LOCK].number;
    config->lock_holds = (enum config_holds)value[TABLE_LOCK_HOLDS].number;
    config->lock_wait_ms = (uint32_t)value[TABLE_LOCK_WAIT].number;
    config->debounce_ms = (uint32_t)value[TABLE_DEBOUNCE].number;
    config->baud = (int)value[TABLE_BAUD].number;
    config->silence_ms = (uint32_t)value[TABLE_SILENCE].number;
    (void)snprintf(config->port, sizeof config->port, "%s", value[TABLE_PORT].path);
    (void)snprintf(config->state, sizeof config->state, "%s", value[TABLE_STATE].path);
    (void)snprintf(config->socket, sizeof config->socket, "%s", value[TABLE_SOCKET].path);
}

bool check_all(const struct sentence_source *source, struct check_values *values,
               struct config *config)
{
    memset(config, 0, sizeof *config);
    if (!check_groups(source, values) || !fill_omitted(source, values) ||
        !check_screw(source, values, &config->screw) || !check_rates(source, values, config) ||
        !check_travel(source, values) || !check_outputs(source, values) ||
        !check_readout(source, values, config)) {
        return false;
    }
    fill(values, config);
    return true;
}
