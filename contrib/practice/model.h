/* SPDX-License-Identifier: MIT */
/*
 * The machine behind the cable, as far as it can be told by lengths: motor, screw, lash, carriage,
 * bit. It knows the true height of the bit; nobody else does. Pure.
 *
 * The motor turns the screw; a nut on the screw carries the carriage with `lash_nm` of lost
 * motion. Rising, the nut pushes the carriage from below; sinking, it first moves by the lash and
 * then takes the carriage down. With friction alone the carriage stays where the screw leaves it;
 * with gravity it always rests on the nut, which hides the lash.
 */
#ifndef REGLET_CONTRIB_PRACTICE_MODEL_H
#define REGLET_CONTRIB_PRACTICE_MODEL_H

#include <stdbool.h>
#include <stdint.h>

struct model {
    /* The build of the machine. */
    int64_t steps_per_turn;
    double lead_nm;    /* nominal travel of one turn */
    double lead_error; /* true lead = nominal * (1 + lead_error) */
    double wobble_nm;  /* amplitude of the error that repeats once a turn */
    double lash_nm;
    bool gravity;
    double bottom_nm; /* mechanical ends of the carriage */
    double top_nm;
    double top_switch_nm;    /* carriage position above which the top switch closes */
    double bottom_switch_nm; /* and below which the bottom switch does */

    /* Its state. */
    int64_t rotor_steps; /* where the rotor truly is */
    double carriage_nm;
    double bit_nm;     /* height of the bit's tip over the table at carriage 0 */
    double highest_nm; /* of the tip, since the last model_mark */
    double lowest_nm;
    uint64_t steps_lost; /* against an end of travel */
};

/* A machine with a 2 mm lead, 200 full steps of 8, and 0.20 mm of lash, its carriage in the middle
 * of 80 mm of travel, and the bit somewhere below the table. */
void model_init(struct model *model);

/* One step of the motor. Against an end of travel the rotor does not follow: the step is lost. */
void model_step(struct model *model, bool down);

/* The rotor slips by whole steps, without a pulse (a hand on the screw, an overload). */
void model_slip(struct model *model, int64_t steps);

/* The true height of the bit's tip over the table. */
double model_height_nm(const struct model *model);

/* Loosens and tightens the collet so that the tip stands at a height. */
void model_set_bit(struct model *model, double height_nm);

/* Starts a new record of the highest and lowest height. */
void model_mark(struct model *model);

bool model_top_switch(const struct model *model);
bool model_bottom_switch(const struct model *model);

#endif
