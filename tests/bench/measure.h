/* SPDX-License-Identifier: MIT */
/* What the benches in real time share: time, the middle and the end of many figures, processes. */
#ifndef REGLET_TESTS_BENCH_MEASURE_H
#define REGLET_TESTS_BENCH_MEASURE_H

#include <check.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

enum { MEASURE_ROUNDS = 7 };

static inline double measure_now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

/* Whoever else uses the machine waits for us and what we start: where that is not permitted, a busy
 * machine goes into the figures. */
static inline void measure_go_first(void)
{
    if (setpriority(PRIO_PROCESS, 0, -20) != 0) {
        fprintf(stderr, "without the right to raise a priority, what else runs is measured too\n");
    }
}

static inline void measure_pause_ms(int ms)
{
    struct timespec time = {.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000L};
    nanosleep(&time, NULL);
}

static inline int measure_compare(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Of a number of figures (which are sorted by it): the one that `share` of them do not exceed. */
static inline double measure_quantile(double *figure, size_t count, double share)
{
    ck_assert_uint_gt(count, 0);
    qsort(figure, count, sizeof *figure, measure_compare);
    size_t at = (size_t)(share * (double)count);
    return figure[at < count ? at : count - 1];
}

static inline double measure_median(double *figure, size_t count)
{
    return measure_quantile(figure, count, 0.5);
}

/* The number behind `name` in a file of /proc, which has one such line. */
static inline double measure_proc(const char *path, const char *name)
{
    char line[256];
    double value = -1;
    FILE *file = fopen(path, "re");
    ck_assert_msg(file != NULL, "cannot read %s", path);
    while (fgets(line, sizeof line, file)) {
        if (strncmp(line, name, strlen(name)) == 0) {
            value = strtod(line + strlen(name), NULL);
        }
    }
    fclose(file);
    ck_assert_msg(value >= 0, "%s has no %s", path, name);
    return value;
}

#endif
