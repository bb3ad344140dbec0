/* SPDX-License-Identifier: MIT */
#include "clients/bench/gauge_csv.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_MAX_SIZE = 160, CELLS = 4 };

struct reader {
    enum length_bare bare;
    struct gauge_readings *out;
    bool there[2][GAUGE_TARGETS_MAX][GAUGE_RUNS_MAX];
    int number; /* of the line */
    char *why;
};

static bool wrong(const struct reader *reader, const char *what)
{
    (void)snprintf(reader->why, GAUGE_CSV_WHY, "line %d: %s", reader->number, what);
    return false;
}

static char *trim(char *text)
{
    text += strspn(text, " \t\"");
    size_t size = strlen(text);
    while (size > 0 && strchr(" \t\r\"", text[size - 1])) {
        text[--size] = '\0';
    }
    return text;
}

static bool cut(char *line, char *cell[CELLS])
{
    int count = 0;
    char *rest = line;
    for (char *at; count < CELLS && (at = strsep(&rest, ",;")) != NULL; count++) {
        cell[count] = trim(at);
    }
    return count == CELLS && !rest;
}

/* Its place in ascending order; -1 where there is no more room. */
static int place_of(struct reader *reader, int64_t target_nm)
{
    struct gauge_readings *out = reader->out;
    int at = 0;
    while (at < out->targets && out->target_nm[at] < target_nm) {
        at++;
    }
    if (at < out->targets && out->target_nm[at] == target_nm) {
        return at;
    }
    if (out->targets == GAUGE_TARGETS_MAX) {
        return -1;
    }
    size_t behind = (size_t)(out->targets - at);
    memmove(&out->target_nm[at + 1], &out->target_nm[at], behind * sizeof out->target_nm[0]);
    for (int side = 0; side < 2; side++) {
        memmove(out->reached_nm[side][at + 1], out->reached_nm[side][at],
                behind * sizeof out->reached_nm[side][at]);
        memmove(reader->there[side][at + 1], reader->there[side][at],
                behind * sizeof reader->there[side][at]);
        memset(reader->there[side][at], 0, sizeof reader->there[side][at]);
    }
    out->target_nm[at] = target_nm;
    out->targets++;
    return at;
}

static bool take(struct reader *reader, char *const cell[CELLS])
{
    int64_t target_nm;
    int64_t reading_nm;
    char *end;
    long run = strtol(cell[2], &end, 10);
    bool up = strcmp(cell[1], "up") == 0;
    if (!length_parse(cell[0], reader->bare, &target_nm, NULL)) {
        return wrong(reader, "its target is no position, such as -12.5mm");
    }
    if (!up && strcmp(cell[1], "down") != 0) {
        return wrong(reader, "the side can be up or down");
    }
    if (*cell[2] == '\0' || *end != '\0' || run < 1 || run > GAUGE_RUNS_MAX) {
        return wrong(reader, "the run can be 1 to 10");
    }
    if (!length_parse(cell[3], reader->bare, &reading_nm, NULL)) {
        return wrong(reader, "its reading is no length, such as 12.503mm");
    }
    int at = place_of(reader, target_nm);
    int side = up ? GAUGE_UP : GAUGE_DOWN;
    if (at < 0) {
        return wrong(reader, "there are more than 60 targets");
    }
    if (reader->there[side][at][run - 1]) {
        return wrong(reader, "that target has that run of that side already");
    }
    reader->there[side][at][run - 1] = true;
    reader->out->reached_nm[side][at][run - 1] = reading_nm;
    reader->out->runs = run > reader->out->runs ? (int)run : reader->out->runs;
    return true;
}

static bool take_line(struct reader *reader, char *line)
{
    char *cell[CELLS];
    char *text = trim(line);
    reader->number++;
    if (*text == '\0' || *text == '#' || strncmp(text, "target", 6) == 0) {
        return true;
    }
    if (!cut(text, cell)) {
        return wrong(reader, "it needs target, side, run and reading, with commas between");
    }
    return take(reader, cell);
}

static bool complete(struct reader *reader)
{
    const struct gauge_readings *out = reader->out;
    for (int side = 0; side < 2; side++) {
        for (int i = 0; i < out->targets; i++) {
            for (int run = 0; run < out->runs; run++) {
                if (!reader->there[side][i][run]) {
                    (void)snprintf(reader->why, GAUGE_CSV_WHY,
                                   "target %d from the lowest has no reading %s in run %d", i + 1,
                                   side == GAUGE_UP ? "up" : "down", run + 1);
                    return false;
                }
            }
        }
    }
    if (gauge_valid(out)) {
        return true;
    }
    (void)snprintf(reader->why, GAUGE_CSV_WHY,
                   "found %d targets and %d runs; 5 to 60 targets and 2 to 10 runs would do",
                   out->targets, out->runs);
    return false;
}

bool gauge_csv_read(const char *text, enum length_bare bare, struct gauge_readings *out,
                    char why[GAUGE_CSV_WHY])
{
    static struct reader reader; /* of one thread */
    reader = (struct reader){.bare = bare, .out = out, .why = why};
    out->targets = out->runs = 0;
    while (*text != '\0') {
        char line[LINE_MAX_SIZE];
        size_t size = strcspn(text, "\n");
        if (size >= sizeof line) {
            reader.number++;
            return wrong(&reader, "it is too long");
        }
        (void)snprintf(line, sizeof line, "%.*s", (int)size, text);
        if (!take_line(&reader, line)) {
            return false;
        }
        text += size + (text[size] == '\n');
    }
    return complete(&reader);
}

size_t gauge_csv_write(const struct gauge_readings *readings, char *out, size_t size)
{
    size_t used = (size_t)snprintf(out, size, "target,side,run,reading\n");
    for (int run = 0; run < readings->runs; run++) {
        for (int side = 0; side < 2; side++) {
            for (int i = 0; i < readings->targets; i++) {
                char target[LENGTH_TEXT_SIZE];
                char reading[LENGTH_TEXT_SIZE];
                length_print_exact(readings->target_nm[i], target, sizeof target);
                length_print_exact(readings->reached_nm[side][i][run], reading, sizeof reading);
                if (used >= size) {
                    return 0;
                }
                used += (size_t)snprintf(out + used, size - used, "%s,%s,%d,%s\n", target,
                                         side == GAUGE_UP ? "up" : "down", run + 1, reading);
            }
        }
    }
    return used < size ? used : 0;
}
