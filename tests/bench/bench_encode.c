/* SPDX-License-Identifier: MIT */
/*
 * What the encoder costs for one step of the travel move: instructions as callgrind counts them,
 * from two runs of this program under it, one that encodes and one that does all else; and time,
 * for the eye.
 */
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "daemon/motion/encode.h"
#include "tests/bench/moves.h"

enum { ROUNDS = 201 };

/* Encodes the whole move, ideal times and proofs included. False when it is refused. */
static bool encode_travel(unsigned times)
{
    const struct move *move = &MOVES[MOVE_TRAVEL];
    struct profile profile;
    if (!profile_plan(&profile, &move->asked))
        return false;
    for (unsigned i = 0; i < times; i++) {
        struct encoder encoder;
        struct stride stride;
        enum encode_result result;
        encoder_init(&encoder, &profile, &MOVE_LIMITS, false);
        while ((result = encoder_next(&encoder, &stride)) == ENCODE_STRIDE)
            ;
        if (result != ENCODE_DONE)
            return false;
    }
    return true;
}

/* The child's part: becomes valgrind on this program. Returns only when that fails. */
static void become_callgrind(const char *self, const char *out_path, const char *times)
{
    char out_option[PATH_MAX + 32];
    (void)snprintf(out_option, sizeof out_option, "--callgrind-out-file=%s", out_path);
    int quiet = open("/dev/null", O_WRONLY);
    if (quiet >= 0)
        dup2(quiet, STDERR_FILENO);
    execlp("valgrind", "valgrind", "--tool=callgrind", out_option, self, times, (char *)NULL);
}

/* The total that a callgrind file states, or -1. */
static long long read_total(const char *path)
{
    char line[4096];
    long long total = -1;
    FILE *file = fopen(path, "r");
    if (file == NULL)
        return -1;
    while (fgets(line, sizeof line, file) != NULL) {
        if (sscanf(line, "totals: %lld", &total) == 1)
            break;
    }
    (void)fclose(file);
    return total;
}

/* Instructions of this program when it encodes the move so many times, or -1. */
static long long count_instructions(const char *self, const char *folder, const char *times)
{
    char out_path[PATH_MAX];
    int status = 0;
    (void)snprintf(out_path, sizeof out_path, "%s/callgrind.%s", folder, times);
    pid_t child = fork();
    if (child < 0)
        return -1;
    if (child == 0) {
        become_callgrind(self, out_path, times);
        _exit(127);
    }
    while (waitpid(child, &status, 0) < 0) {
        if (errno != EINTR)
            return -1;
    }
    long long total = -1;
    if (WIFEXITED(status) && WEXITSTATUS(status) == EXIT_SUCCESS)
        total = read_total(out_path);
    unlink(out_path);
    return total;
}

static bool print_instructions(const char *self)
{
    char folder[] = "/tmp/reglet-bench-......";
    memset(strchr(folder, '.'), 'X', 6); /* which mkdtemp draws */
    if (mkdtemp(folder) == NULL)
        return false;
    long long once = count_instructions(self, folder, "1");
    long long never = count_instructions(self, folder, "0");
    rmdir(folder);
    if (once < 0 || never < 0 || once <= never)
        return false;
    double steps = MOVES[MOVE_TRAVEL].asked.steps;
    return printf("encode.instructions.step\t%.2f\tinstructions\n",
                  (double)(once - never) / steps) > 0;
}

static int by_size(const void *left, const void *right)
{
    double l = *(const double *)left;
    double r = *(const double *)right;
    return (l > r) - (l < r);
}

static bool print_time(void)
{
    double ns[ROUNDS];
    for (unsigned i = 0; i < ROUNDS; i++) {
        struct timespec from;
        struct timespec to;
        if (clock_gettime(CLOCK_MONOTONIC, &from) != 0 || !encode_travel(1) ||
            clock_gettime(CLOCK_MONOTONIC, &to) != 0)
            return false;
        ns[i] = (double)(to.tv_sec - from.tv_sec) * 1e9 + (double)(to.tv_nsec - from.tv_nsec);
    }
    qsort(ns, ROUNDS, sizeof ns[0], by_size);
    return printf("encode.ns.step\t%.2f\tns\n", ns[ROUNDS / 2] / MOVES[MOVE_TRAVEL].asked.steps) >
           0;
}

int main(int argc, char **argv)
{
    char self[PATH_MAX];
    if (argc == 2)
        return encode_travel((unsigned)strtoul(argv[1], NULL, 10)) ? EXIT_SUCCESS : EXIT_FAILURE;
    ssize_t length = readlink("/proc/self/exe", self, sizeof self - 1);
    if (length < 0) {
        (void)fprintf(stderr, "bench_encode: cannot find its own program: %s\n", strerror(errno));
        return EXIT_FAILURE;
    }
    self[length] = '\0';
    if (!print_instructions(self)) {
        (void)fprintf(stderr,
                      "bench_encode: no count of instructions; it needs valgrind (callgrind) "
                      "on the path\n");
        return EXIT_FAILURE;
    }
    if (!print_time()) {
        (void)fprintf(stderr, "bench_encode: the travel move could not be encoded\n");
        return EXIT_FAILURE;
    }
    return EXIT_SUCCESS;
}
