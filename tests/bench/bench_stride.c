/* SPDX-License-Identifier: MIT */
/*
 * How many strides the travel move takes, how many bytes their lines are, and how far any emitted
 * edge of moves (i) to (v) is from its ideal time. Edges are made by the generator's form of the
 * recurrence.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "daemon/motion/encode.h"
#include "protocol/link.h"
#include "tests/bench/moves.h"

/* Runs a move. False when the encoder refuses it. */
static bool run_move(const struct move *move, unsigned *strides, unsigned *bytes,
                     long double *error_ticks)
{
    struct profile profile;
    struct encoder encoder;
    struct stride stride;
    enum encode_result result;
    struct move_ideal ideal = move_ideal(&move->asked);
    uint64_t edge = 0;
    double step = 0.0;
    *strides = *bytes = 0;
    if (!profile_plan(&profile, &move->asked))
        return false;
    encoder_init(&encoder, &profile, &MOVE_LIMITS, false);
    while ((result = encoder_next(&encoder, &stride)) == ENCODE_STRIDE) {
        struct stride_run run;
        stride_run_start(&run, &stride);
        struct link_line line;
        char text[LINK_LINE_MAX];
        link_stride_line(&stride, (uint8_t)*strides, &line);
        *bytes += link_write(&line, text);
        ++*strides;
        for (unsigned i = 0; i < stride.steps; i++) {
            edge += stride_run_next(&run);
            long double due = move_edge_ticks(&ideal, MOVE_LIMITS.tick_hz, ++step);
            *error_ticks = fmaxl(*error_ticks, fabsl((long double)edge - due));
        }
    }
    return result == ENCODE_DONE && step == move->asked.steps;
}

int main(void)
{
    long double error_ticks = 0;
    unsigned travel = 0;
    unsigned travel_bytes = 0;
    for (unsigned i = 0; i < MOVE_COUNT; i++) {
        unsigned strides;
        unsigned bytes;
        if (!MOVES[i].published)
            continue;
        if (!run_move(&MOVES[i], &strides, &bytes, &error_ticks)) {
            (void)fprintf(stderr, "bench_stride: move %s could not be encoded\n", MOVES[i].name);
            return EXIT_FAILURE;
        }
        if (i == MOVE_TRAVEL) {
            travel = strides;
            travel_bytes = bytes;
        }
    }
    int written = printf("stride.count.travel\t%u\tstrides\nstride.bytes.travel\t%u\tbytes\n"
                         "stride.error.max\t%.1Lf\tns\n",
                         travel, travel_bytes, error_ticks * 1e9L / MOVE_LIMITS.tick_hz);
    return written > 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
