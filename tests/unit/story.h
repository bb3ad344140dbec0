/* SPDX-License-Identifier: MIT */
/*
 * One history of a disk under power cuts, kills and failing calls: what was written, and what may
 * be read of it. What is written is known by its number; 0 stands for nothing.
 */
#ifndef REGLET_TESTS_UNIT_STORY_H
#define REGLET_TESTS_UNIT_STORY_H

#include <check.h>
#include <inttypes.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "tests/unit/fault_disk.h"

enum { POSSIBLE_MAX = 16, PLACE_SIZE = 400 };

struct story {
    struct fault_disk disk;
    uint64_t seed;
    uint32_t next;                   /* number of the next one to be written */
    uint32_t possible[POSSIBLE_MAX]; /* what may be read after a power cut now */
    int possible_count;
    char place[PLACE_SIZE]; /* operations at which something went wrong, to replay a failure */
};

static inline void broken(const struct story *story, const char *what)
{
    ck_abort_msg("%s: REGLET_SEED=%" PRIu64 ", %s", what, story->seed, story->place);
}

static inline void make_story(struct story *story, uint64_t seed)
{
    memset(story, 0, sizeof *story);
    fault_disk_make(&story->disk, seed);
    story->seed = seed;
    story->next = 1;
    story->possible_count = 1; /* nothing */
}

static inline void add_place(struct story *story, const char *what, unsigned long operation)
{
    size_t used = strlen(story->place);
    (void)snprintf(story->place + used, sizeof story->place - used, "%s at %lu; ", what, operation);
}

static inline void only_possible(struct story *story, uint32_t number)
{
    story->possible[0] = number;
    story->possible_count = 1;
}

static inline void also_possible(struct story *story, uint32_t number)
{
    if (story->possible_count == POSSIBLE_MAX) {
        broken(story, "too many refused writes for this test");
    }
    story->possible[story->possible_count++] = number;
}

static inline bool is_possible(const struct story *story, uint32_t number)
{
    for (int i = 0; i < story->possible_count; i++) {
        if (story->possible[i] == number) {
            return true;
        }
    }
    return false;
}

#endif
