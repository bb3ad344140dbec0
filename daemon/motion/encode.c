/* SPDX-License-Identifier: MIT */
#include "daemon/motion/encode.h"

#include <math.h>

#include "daemon/motion/fit.h"

/* Between the ideal time computed in double and the true one, with room: ticks. */
static const double GUARD_TICKS = 1.0 / 1024;

/* A stride that ends within the smooth bound lets the next begin within it. So many shorter ones
 * are looked at to find one that does. */
enum { SHORTER_MAX = 8 };

/* Predicted lengths tried before the search goes on by halves. */
enum { PREDICTIONS_MAX = 5 };

/* One search for the longest stride from where the encoder stands. */
struct search {
    struct encoder *encoder;
    double start_ticks;   /* the edge before the stride */
    double bound_ticks;   /* for the smooth curve */
    double longest_ticks; /* interval that the scale holds, with room for the tolerance */
    uint8_t bits;
    uint32_t cap;
    uint32_t good; /* the longest known to fit: `stride` */
    uint32_t bad;  /* the shortest known not to, cap + 1 if none */
    struct stride stride;
};

void encoder_init(struct encoder *encoder, const struct profile *profile,
                  const struct encode_limits *limits, bool down)
{
    *encoder = (struct encoder){
        .profile = profile,
        .limits = *limits,
        .steps = (uint32_t)profile->asked.steps,
        .down = down,
    };
    if (encoder->limits.first_min_ticks < encoder->limits.inside_min_ticks)
        encoder->limits.first_min_ticks = encoder->limits.inside_min_ticks;
}

uint64_t encoder_ticks(const struct encoder *encoder)
{
    return encoder->edge_ticks;
}

double encode_rate_max_hz(const struct encode_limits *limits)
{
    double least = fmax(limits->first_min_ticks, limits->inside_min_ticks);
    return limits->tick_hz / (least + 2.0 * limits->tolerance_ticks);
}

static double ideal_ticks(const struct encoder *encoder, double step)
{
    return encoder->limits.tick_hz * profile_time_s(encoder->profile, step - 0.5);
}

/* --- the proof ------------------------------------------------------------------------------- */

static bool within(const struct encoder *encoder, double edge_ticks, double ideal)
{
    return fabs(edge_ticks - ideal) <= encoder->limits.tolerance_ticks - GUARD_TICKS;
}

/* A stride as the proof runs it: protocol/stride.h in 64 bits. */
struct run {
    int64_t acc;
    int64_t interval;
    int64_t change;
    int64_t curve;
    uint32_t done;
    uint8_t bits;
};

static void run_start(struct run *run, const struct stride *stride)
{
    uint8_t bits = stride_bits(stride->flags);
    *run = (struct run){
        .acc = (int64_t)1 << (bits - 1),
        .interval = stride->interval,
        .change = stride->change,
        .curve = stride->curve,
        .bits = bits,
    };
}

static bool prove_step(struct run *run, const struct encoder *encoder)
{
    int64_t mask = ((int64_t)1 << run->bits) - 1;
    int64_t fraction = run->acc & mask;
    if (run->interval < 0 || run->interval > (int64_t)UINT32_MAX - fraction)
        return false;
    uint32_t least =
        run->done == 0 ? encoder->limits.first_min_ticks : encoder->limits.inside_min_ticks;
    int64_t gap = (fraction + run->interval) >> run->bits;
    if (gap < least || gap < 1)
        return false;
    run->acc += run->interval;
    run->interval += run->change;
    run->change += run->curve;
    run->done++;
    double edge = (double)(encoder->edge_ticks + (uint64_t)(run->acc >> run->bits));
    return within(encoder, edge, ideal_ticks(encoder, encoder->step + run->done));
}

/*
 * Runs of one interval against the straight line of the cruise need no run: without its floor the
 * edge errs by a linear function of the step, largest at the two ends, and the floor takes less
 * than one tick. True, and the steps are done, when that proves them.
 */
static bool prove_even_steps(struct run *run, const struct encoder *encoder, uint32_t steps)
{
    int64_t mask = ((int64_t)1 << run->bits) - 1;
    int64_t gap = run->interval >> run->bits;
    if (steps == 0 || run->change != 0 || run->curve != 0 ||
        gap < encoder->limits.inside_min_ticks || gap < 1 || run->interval > UINT32_MAX - mask)
        return false;
    double unit = 1.0 / (double)(mask + 1);
    double start = (double)encoder->edge_ticks;
    int64_t last = run->acc + run->interval * steps;
    double first_edge = start + (double)(run->acc + run->interval) * unit;
    double last_edge = start + (double)last * unit;
    double first_ideal = ideal_ticks(encoder, encoder->step + run->done + 1);
    double last_ideal = ideal_ticks(encoder, encoder->step + run->done + steps);
    if (!within(encoder, first_edge, first_ideal) || !within(encoder, last_edge, last_ideal) ||
        !within(encoder, first_edge - 1.0, first_ideal) ||
        !within(encoder, last_edge - 1.0, last_ideal))
        return false;
    run->acc = last;
    run->done += steps;
    return true;
}

/* How many of the next `steps` steps are in the cruise. */
static uint32_t cruise_steps(const struct profile *profile, uint32_t done, uint32_t steps)
{
    if (done + 0.5 < profile->rise_end_steps || done + 0.5 > profile->fall_start_steps)
        return 0;
    double left = floor(profile->fall_start_steps - (done + 0.5)) + 1.0;
    return left < steps ? (uint32_t)left : steps;
}

bool encoder_proves(const struct encoder *encoder, const struct stride *stride, uint64_t *end_ticks)
{
    struct run run;
    bool even_tried = false;
    if (stride->steps == 0 || stride->steps > encoder->steps - encoder->step)
        return false;
    run_start(&run, stride);
    while (run.done < stride->steps) {
        uint32_t even = 0;
        if (run.done > 0 && !even_tried)
            even =
                cruise_steps(encoder->profile, encoder->step + run.done, stride->steps - run.done);
        even_tried = even_tried || even > 0;
        if (!prove_even_steps(&run, encoder, even) && !prove_step(&run, encoder))
            return false;
    }
    *end_ticks = encoder->edge_ticks + (uint64_t)(run.acc >> run.bits);
    return true;
}

/* --- the search ------------------------------------------------------------------------------ */

static bool fit_steps(struct search *search, uint32_t steps, struct stride *stride,
                      double *level_ticks)
{
    struct encoder *encoder = search->encoder;
    double unit = (double)(1u << search->bits);
    double last = encoder->step + steps;
    struct fit_points points;
    struct fit fit;
    encoder->trials++;
    *level_ticks = 0.0;
    if (ideal_ticks(encoder, last) - ideal_ticks(encoder, last - 1.0) > search->longest_ticks)
        return false;
    fit_choose_points(&points, steps);
    for (unsigned i = 0; i < points.count; i++)
        points.ticks[i] =
            ideal_ticks(encoder, encoder->step + points.step[i]) - search->start_ticks;
    bool met = fit_stride(&points, unit, search->bound_ticks, &fit);
    *level_ticks = fit.level_ticks;
    if (!met || fit.interval < 0.0 || fit.interval > UINT32_MAX || fabs(fit.change) > INT32_MAX ||
        fabs(fit.curve) > INT32_MAX)
        return false;
    stride->interval = (uint32_t)fit.interval;
    stride->change = (int32_t)fit.change;
    stride->curve = (int32_t)fit.curve;
    stride->steps = (uint16_t)steps;
    return true;
}

/*
 * About how long a stride on a ramp can be, from the error of a minimax cubic over n steps,
 * n^4 t''''/3072, where t'''' = 15 gain^3 / rate^7 is the fourth derivative of the ideal time by
 * position. (It stands for n^4 / 4! / 2^7: a Chebyshev polynomial on an interval of n.)
 */
static uint32_t ramp_length(const struct search *search, double gain_hz_s, double rate_hz)
{
    double cube = rate_hz * rate_hz * rate_hz;
    double fourth = 15.0 * gain_hz_s * gain_hz_s * gain_hz_s / (cube * cube * rate_hz);
    double ticks = fourth * search->encoder->limits.tick_hz;
    double steps = sqrt(sqrt(3072.0 * search->bound_ticks / ticks));
    return steps < STRIDE_STEPS_MAX ? (uint32_t)steps : STRIDE_STEPS_MAX;
}

static uint32_t first_length(const struct search *search)
{
    const struct profile *profile = search->encoder->profile;
    double here = search->encoder->step;
    double steps;
    if (here >= profile->rise_end_steps && here < profile->fall_start_steps) {
        steps = floor(profile->fall_start_steps - here);
    } else {
        double gain =
            here < profile->rise_end_steps ? profile->asked.rise_hz_s : profile->asked.fall_hz_s;
        steps = ramp_length(search, gain, profile_rate_hz(profile, here));
        steps = ramp_length(search, gain, profile_rate_hz(profile, here + steps / 2.0));
    }
    return (uint32_t)fmin(fmax(steps, 3.0), search->cap);
}

/* Where to try next, between good and bad: where the level, which grows as the fourth power of
 * the length, should meet the bound; else halfway. */
static uint32_t next_length(const struct search *search, uint32_t steps, double level_ticks,
                            bool predict)
{
    if (predict && level_ticks > 0.0) {
        double predicted = steps * sqrt(sqrt(search->bound_ticks / level_ticks));
        if (predicted > search->good + 1.0 && predicted < search->bad)
            return (uint32_t)predicted;
    }
    if (search->bad > search->cap)
        return search->good > search->cap / 2 ? search->cap : search->good * 2;
    return search->good + (search->bad - search->good) / 2;
}

static void search_longest(struct search *search)
{
    uint32_t steps = first_length(search);
    for (uint32_t tries = 1; search->bad - search->good > 1; tries++) {
        double level_ticks;
        if (fit_steps(search, steps, &search->stride, &level_ticks))
            search->good = steps;
        else
            search->bad = steps;
        steps = next_length(search, steps, level_ticks, tries < PREDICTIONS_MAX);
    }
}

/* Of the last edge, in closed form; modulo 2^64, and what it comes to is far below that. */
static double end_error_ticks(const struct search *search, const struct stride *stride)
{
    uint64_t n = stride->steps;
    uint64_t pairs = n * (n - 1) / 2;
    uint64_t threes = pairs * (n - 2) / 3;
    uint64_t acc = ((uint64_t)1 << (search->bits - 1)) + n * stride->interval +
                   pairs * (uint64_t)(int64_t)stride->change +
                   threes * (uint64_t)(int64_t)stride->curve;
    double edge = search->start_ticks + (double)(acc >> search->bits);
    return edge - ideal_ticks(search->encoder, search->encoder->step + (double)n);
}

static void search_good_end(struct search *search)
{
    const struct encoder *encoder = search->encoder;
    if (search->good < 2 || encoder->step + search->good == encoder->steps)
        return;
    struct stride shorter = search->stride;
    uint32_t shortest = search->good > SHORTER_MAX + 2 ? search->good - SHORTER_MAX : 2;
    for (uint32_t steps = search->good; steps >= shortest; steps--) {
        double level_ticks;
        if (steps < search->good && !fit_steps(search, steps, &shorter, &level_ticks))
            continue;
        if (fabs(end_error_ticks(search, &shorter)) <= search->bound_ticks) {
            search->stride = shorter;
            return;
        }
    }
}

static struct search search_begin(struct encoder *encoder, double gap_ticks)
{
    double room = 2.0 * encoder->limits.tolerance_ticks + 2.0;
    struct search search = {
        .encoder = encoder,
        .start_ticks = (double)encoder->edge_ticks,
        .bound_ticks = encoder->limits.tolerance_ticks - 0.5 - 2.0 * GUARD_TICKS,
        .longest_ticks = (double)(1u << (32 - STRIDE_FAST_BITS)) - room,
        .bits = STRIDE_FAST_BITS,
        .cap = encoder->steps - encoder->step,
    };
    if (gap_ticks > search.longest_ticks) {
        search.longest_ticks = (double)(1u << (32 - STRIDE_SLOW_BITS));
        search.bits = STRIDE_SLOW_BITS;
        search.stride.flags = STRIDE_SLOW;
    }
    if (search.cap > STRIDE_STEPS_MAX)
        search.cap = STRIDE_STEPS_MAX;
    search.bad = search.cap + 1;
    return search;
}

/* --- the next stride ------------------------------------------------------------------------- */

/* One step at the tick nearest to its time that the limits allow. */
static enum encode_result single_step(struct search *search, double gap_ticks, uint64_t *end_ticks)
{
    struct stride *stride = &search->stride;
    double least = fmax(search->encoder->limits.first_min_ticks, 1.0);
    double most = UINT32_MAX >> search->bits;
    double ticks = fmin(fmax(floor(gap_ticks + 0.5), least), most);
    stride->interval = (uint32_t)ticks << search->bits;
    stride->change = 0;
    stride->curve = 0;
    stride->steps = 1;
    search->encoder->trials++;
    if (encoder_proves(search->encoder, stride, end_ticks))
        return ENCODE_STRIDE;
    return ticks < gap_ticks ? ENCODE_TOO_SLOW : ENCODE_TOO_FAST;
}

/* The stride found, or as much less of it as can be proved. */
static enum encode_result prove_or_shorten(struct search *search, double gap_ticks,
                                           uint64_t *end_ticks)
{
    struct stride *stride = &search->stride;
    uint32_t cut = 1 + stride->steps / 64u;
    bool met = stride->steps > 1;
    for (uint32_t steps = stride->steps; steps > 1; cut *= 2) {
        search->encoder->trials++;
        if (met && encoder_proves(search->encoder, stride, end_ticks))
            return ENCODE_STRIDE;
        double level_ticks;
        steps = steps > cut ? steps - cut : 1;
        met = steps > 1 && fit_steps(search, steps, stride, &level_ticks);
    }
    return single_step(search, gap_ticks, end_ticks);
}

enum encode_result encoder_next(struct encoder *encoder, struct stride *stride)
{
    if (encoder->step >= encoder->steps)
        return ENCODE_DONE;
    double gap_ticks = ideal_ticks(encoder, encoder->step + 1.0) - (double)encoder->edge_ticks;
    struct search search = search_begin(encoder, gap_ticks);
    uint64_t end_ticks;
    encoder->trials = 0;
    search_longest(&search);
    search_good_end(&search);
    enum encode_result result = prove_or_shorten(&search, gap_ticks, &end_ticks);
    if (result != ENCODE_STRIDE)
        return result;
    encoder->step += search.stride.steps;
    encoder->edge_ticks = end_ticks;
    if (encoder->down)
        search.stride.flags |= STRIDE_DOWN;
    if (encoder->step == encoder->steps && encoder->profile->asked.end_hz == 0.0)
        search.stride.flags |= STRIDE_REST;
    *stride = search.stride;
    return ENCODE_STRIDE;
}
