/* SPDX-License-Identifier: MIT */
/* The cable: how much of it the worst stretch of a long move takes, how soon a move begins, and, in
 * real time, how soon watchers are told that it was pulled out (of a pseudo-terminal: a hang-up)
 * and that the lift is back behind it. */
#include <stdio.h>
#include <stdlib.h>

#include "daemon/motion/encode.h"
#include "protocol/link.h"
#include "tests/bench/moves.h"
#include "tests/bench/peers.h"
#include "tests/rig/harness.h"

enum { PLUGS = 40, STRIDES_MOST = 1000, WINDOW_MS = 50, BYTE_NS = 86806 };

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

struct awaited {
    const char *activity; /* as a member of a line */
    bool told;
};

static void note(void *owner, const char *line)
{
    struct awaited *awaited = owner;
    awaited->told = awaited->told || strstr(line, awaited->activity) != NULL;
}

/* From the command to the practice lift until a watcher reads of it. */
static double until_told_ms(struct rig *rig, struct peer *watcher, const char *command,
                            const char *activity)
{
    struct awaited awaited = {.activity = activity};
    double begin_ms = measure_now_ms();
    rig_tell(rig, "%s", command);
    while (!awaited.told) {
        peer_take(watcher, note, &awaited);
    }
    return measure_now_ms() - begin_ms;
}

/* Nineteen in twenty of many, at all phases of the polling; and the worst, which on a busy machine
 * is the machine's. */
START_TEST(print_plug)
{
    static struct peer watcher;
    struct rig rig;
    char path[PATH_SIZE];
    double out_ms[PLUGS];
    double in_ms[PLUGS];
    measure_go_first();
    rig_start(&rig, false, 1);
    snprintf(path, sizeof path, "%s/reglet.sock", rig.folder);
    peer_open(&watcher, path);
    peer_say(&watcher, "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"watch\"}\n");
    for (int i = 0; i < PLUGS; i++) {
        measure_pause_ms(200 + 37 * i % 250);
        out_ms[i] = until_told_ms(&rig, &watcher, "unplug", "\"activity\":\"unplugged\"");
        measure_pause_ms(100 + 53 * i % 900);
        in_ms[i] = until_told_ms(&rig, &watcher, "plug", "\"activity\":\"still\"");
    }
    printf("link.unplug.ms\t%.1f\tms\n", measure_quantile(out_ms, PLUGS, 0.95));
    printf("link.unplug.most.ms\t%.1f\tms\n", measure_quantile(out_ms, PLUGS, 1));
    printf("link.replug.ms\t%.1f\tms\n", measure_quantile(in_ms, PLUGS, 0.95));
    printf("link.replug.most.ms\t%.1f\tms\n", measure_quantile(in_ms, PLUGS, 1));
    close(watcher.fd);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    if (print_load() != 0) {
        return EXIT_FAILURE;
    }
    return rig_alone(print_start) + rig_alone(print_plug);
}
