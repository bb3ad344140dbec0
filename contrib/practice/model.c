/* SPDX-License-Identifier: MIT */
#include "contrib/practice/model.h"

#include <math.h>

void model_init(struct model *m)
{
    *m = (struct model){
        .steps_per_turn = 1600,
        .lead_nm = 2e6,
        .lash_nm = 200e3,
        .bottom_nm = -40e6,
        .top_nm = 40e6,
        .top_switch_nm = 39e6,
        .bottom_switch_nm = -39e6,
        .bit_nm = -3.2e6,
    };
    model_mark(m);
}

/* Where the nut stands at a rotor position. */
static double nut_nm(const struct model *m, int64_t rotor_steps)
{
    const double two_pi = 6.283185307179586;
    double turns = (double)rotor_steps / (double)m->steps_per_turn;
    return turns * m->lead_nm * (1 + m->lead_error) + m->wobble_nm * sin(two_pi * turns);
}

static void record(struct model *m)
{
    double height_nm = model_height_nm(m);
    m->highest_nm = fmax(m->highest_nm, height_nm);
    m->lowest_nm = fmin(m->lowest_nm, height_nm);
}

/* The carriage sits between the nut's two flanks: `nut` below it and `nut + lash` above. */
static double carriage_after(const struct model *m, double nut)
{
    if (m->gravity) {
        return nut;
    }
    return fmin(fmax(m->carriage_nm, nut), nut + m->lash_nm);
}

static bool turn_rotor(struct model *m, int64_t steps)
{
    double carriage = carriage_after(m, nut_nm(m, m->rotor_steps + steps));
    if (carriage > m->top_nm || carriage < m->bottom_nm) {
        return false;
    }
    m->rotor_steps += steps;
    m->carriage_nm = carriage;
    record(m);
    return true;
}

void model_step(struct model *m, bool down)
{
    if (!turn_rotor(m, down ? -1 : 1)) {
        m->steps_lost++;
    }
}

void model_slip(struct model *m, int64_t steps)
{
    int64_t sign = steps < 0 ? -1 : 1;
    for (int64_t i = 0; i < steps * sign; i++) {
        if (!turn_rotor(m, sign)) {
            return; /* it cannot slip through an end of travel */
        }
    }
}

double model_height_nm(const struct model *m)
{
    return m->carriage_nm + m->bit_nm;
}

void model_set_bit(struct model *m, double height_nm)
{
    m->bit_nm = height_nm - m->carriage_nm;
    record(m);
}

void model_mark(struct model *m)
{
    m->highest_nm = m->lowest_nm = model_height_nm(m);
}

bool model_top_switch(const struct model *m)
{
    return m->carriage_nm >= m->top_switch_nm;
}

bool model_bottom_switch(const struct model *m)
{
    return m->carriage_nm <= m->bottom_switch_nm;
}
