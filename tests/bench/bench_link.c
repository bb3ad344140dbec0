/* SPDX-License-Identifier: MIT */
/* The cable: how much of it the worst stretch of a long move takes, and how soon a move begins. */
#include <stdio.h>
#include <stdlib.h>

#include "daemon/motion/encode.h"
#include "protocol/link.h"
#include "tests/bench/moves.h"
#include "tests/rig/harness.h"

enum { STRIDES_MOST = 1000, WINDOW_MS = 50, BYTE_NS = 86806 };

/* Each stride of a move: when it must be there, and its line's length. */
static int load(double *start_s, int *bytes)
{
    struct profile profile;
    struct encoder encoder;
    struct stride stride;
    const struct encode_limits limits = MOVE_LIMITS;
    if (!profile_plan(&profile, &MOVES[MOVE_TRAVEL].asked)) {
        return 0;
    }
    encoder_init(&encoder, &profile, &limits, false);
    for (int i = 0; i < STRIDES_MOST; i++) {
        struct link_line line;
        char text[LINK_LINE_MAX];
        start_s[i] = (double)encoder_ticks(&encoder) / limits.tick_hz;
        if (encoder_next(&encoder, &stride) != ENCODE_STRIDE) {
            return i;
        }
        link_stride_line(&stride, (uint8_t)i, &line);
        bytes[i] = link_write(&line, text);
    }
    return 0;
}

static int print_load(void)
{
    static double start_s[STRIDES_MOST];
    static int bytes[STRIDES_MOST];
    int strides = load(start_s, bytes);
    int worst = 0;
    for (int first = 0; first < strides; first++) {
        int sum = 0;
        for (int i = first; i < strides && start_s[i] - start_s[first] < WINDOW_MS / 1e3; i++) {
            sum += bytes[i];
        }
        worst = sum > worst ? sum : worst;
    }
    if (strides == 0) {
        fprintf(stderr, "the move could not be encoded\n");
        return 1;
    }
    printf("link.load.peak\t%.1f\t%%\n", 100.0 * worst * BYTE_NS / (WINDOW_MS * 1e6));
    return 0;
}

START_TEST(print_start)
{
    struct rig rig;
    double worst_ms = 0;
    rig_start(&rig, true, 16);
    rig_touch_off(&rig);
    for (int i = 0; i < 20; i++) {
        cJSON *before = rig_ask(&rig, "truth");
        cJSON *answer = rig_call(&rig, "by", "{\"distance\":\"1/64in\"}");
        cJSON *after = rig_ask(&rig, "truth");
        double ms = (rig_number(after, "first_edge_ns") - rig_number(before, "now_ns")) / 1e6;
        worst_ms = rig_done(answer) && ms > worst_ms ? ms : worst_ms;
        cJSON_Delete(before);
        cJSON_Delete(answer);
        cJSON_Delete(after);
        rig_run(&rig, 37);
    }
    printf("link.start.ms\t%.1f\tms\n", worst_ms);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    if (print_load() != 0) {
        return EXIT_FAILURE;
    }
    return rig_alone(print_start);
}
