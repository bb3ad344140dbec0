/* SPDX-License-Identifier: MIT */
/* Any kind of joint with random sizes, as the words that ask for it, read into a job. */
#ifndef REGLET_TESTS_JOINT_RANDOM_H
#define REGLET_TESTS_JOINT_RANDOM_H

#include <stdio.h>

#include "clients/bench/joint_job.h"
#include "tests/seed.h"
#include "tests/unit/test_bench_joint.h"

enum { WORDS_MAX = 40, LINE = 400, KINDS = 15 };

static struct joint_job job;

static char line[LINE];
static size_t used;

/* "bit 6.3500mm": a multiple of 100 nm, which the text says exactly. */
static inline int64_t say(const char *word, int64_t least_um, int64_t most_um)
{
    int64_t tenths = between(10 * least_um, 10 * most_um);
    used += (size_t)snprintf(line + used, sizeof line - used, " %s %" PRId64 ".%04" PRId64 "mm",
                             word, tenths / 10000, tenths % 10000);
    ck_assert_uint_lt(used, sizeof line);
    return tenths / 10;
}

static inline void begin(const char *kind)
{
    used = (size_t)snprintf(line, sizeof line, "%s", kind);
}

static inline void say_passes(void)
{
    if (below(2) == 0) {
        (void)say("most", 2000, 8000);
        (void)say("last", 0, 1500);
    }
}

static inline void say_groove_kinds(enum joint_is joint)
{
    int64_t width;
    switch (joint) {
    case JOINT_IS_GROOVE:
        width = say("width", 3000, 20000);
        (void)say("kerf", width / 4, width);
        (void)say("edge", 2000, 20000);
        (void)say("into", 2000, 12000);
        break;
    case JOINT_IS_DRAWER:
        width = say("bottom", 3000, 8000);
        (void)say("into", 2000, 5000);
        (void)say("thick", 11000, 20000);
        (void)say("edge", 5000, 15000);
        (void)say(below(2) ? "kerf" : "bit", width / 3, width);
        say_passes();
        break;
    case JOINT_IS_TONGUE:
        width = say("groove", 4000, 9000);
        (void)say("thick", 3 * width, 4 * width);
        (void)say("tongue", 4000, 10000);
        (void)say("clearance", 0, 200);
        (void)say("kerf", width / 2 + 1, 4 * width / 5);
        if (below(2))
            (void)say("second", 8000, 25000);
        say_passes();
        break;
    case JOINT_IS_TENON:
        width = say("mortise", 4000, 12000);
        (void)say("thick", 2 * width, 4 * width);
        (void)say("clearance", 0, 200);
        (void)say("length", 10000, 40000);
        (void)say(below(2) ? "bit" : "kerf", 4000, 20000);
        say_passes();
        break;
    default: /* a mortise */
        width = say("bit", 5000, 13000);
        (void)say("width", width, 2 * width);
        (void)say("thick", 4 * width, 6 * width);
        (void)say("deep", 50000, 90000);
        (void)say("length", 3 * width, 6 * width);
        (void)say("tenon", 10000, 40000);
        (void)say("most", 2000, width / 2);
        break;
    }
}

static inline void say_flat_kinds(enum joint_is joint)
{
    int64_t thick = say("thick", 10000, 40000);
    switch (joint) {
    case JOINT_IS_LAP:
        (void)say("length", 20000, 60000);
        break;
    case JOINT_IS_RABBET:
        (void)say("part", 2000, thick - 1000);
        (void)say("into", 5000, 15000);
        break;
    default: /* a dado */
        (void)say("part", 6000, 20000);
        (void)say("edge", 0, 100000);
        (void)say("depth", 2000, thick - 1000);
        break;
    }
    (void)say("bit", 4000, 12000);
    say_passes();
}

static inline void say_fingers(enum joint_is joint)
{
    (void)say("width", 30000, 150000);
    (void)say("thick-a", 6000, 20000);
    (void)say("thick-b", 6000, 20000);
    (void)say("proud", 0, 800);
    (void)say("clearance", 0, 200);
    if (joint == JOINT_IS_UPRIGHT) {
        (void)say("bit", 5000, 13000);
        (void)say("base", 0, 12000);
        say_passes();
    } else {
        (void)say("kerf", 2500, 8000);
    }
}

static inline void say_dovetails(enum joint_is joint)
{
    int64_t width = say("bit", 8000, 20000);
    used += (size_t)snprintf(line + used, sizeof line - used, " slope %d", (int)between(5, 18));
    if (joint == JOINT_IS_HALF_BLIND) {
        (void)say("spacing", width + 100, 2 * width - 200);
        (void)say("clearance", 0, 150);
        (void)say("front", 15000, 60000);
    } else {
        (void)say("depth", 4000, 12000);
        (void)say("thick-a", 13000, 30000);
        (void)say("thick-b", width, 30000);
        (void)say("waste", width / 4, width / 2);
        say_passes();
    }
}

static inline void say_profiles(enum joint_is joint)
{
    if (joint == JOINT_IS_CENTRED) {
        (void)say("thick", 12000, 30000);
        (void)say("bit", 40000, 70000);
        (void)say("above-centre", 0, 15000);
    } else {
        int64_t panel = say("panel", 12000, 25000);
        (void)say("groove", 4000, panel / 2);
        (void)say("clearance", 0, 200);
        (void)say("bit", 60000, 85000);
        (void)say("most", 1500, 5000);
        (void)say("last", 0, 700);
    }
}

static inline const struct joint_kind_words *say_kind(int kind)
{
    const struct joint_kind_words *words = &joint_kinds[kind];
    begin(words->word);
    switch (words->joint) {
    case JOINT_IS_UPRIGHT:
    case JOINT_IS_STEPPED:
        say_fingers(words->joint);
        break;
    case JOINT_IS_LAP:
    case JOINT_IS_RABBET:
    case JOINT_IS_DADO:
        say_flat_kinds(words->joint);
        break;
    case JOINT_IS_HALF_BLIND:
    case JOINT_IS_SLIDING:
        say_dovetails(words->joint);
        break;
    case JOINT_IS_CENTRED:
    case JOINT_IS_PANEL:
        say_profiles(words->joint);
        break;
    default:
        say_groove_kinds(words->joint);
        break;
    }
    return words;
}

static inline bool none(void *owner, const char *name, int64_t *nm, char *why)
{
    (void)owner;
    *nm = 0;
    snprintf(why, JOINT_JOB_WHY, "no stock '%s'", name);
    return false;
}

static inline bool no_bit(void *owner, const char *name, enum joint_kind wanted,
                          struct joint_cutter *cutter, char *fitted, char *why)
{
    (void)owner;
    (void)wanted;
    (void)cutter;
    (void)fitted;
    snprintf(why, JOINT_JOB_WHY, "no bit '%s'", name ? name : "");
    return false;
}

static inline void read_job(void)
{
    static const struct joint_shelf shelf = {NULL, none, no_bit};
    static char text[LINE];
    char why[JOINT_JOB_WHY];
    char *word[WORDS_MAX];
    char *rest;
    int count = 0;
    snprintf(text, sizeof text, "%s", line);
    for (char *at = strtok_r(text, " ", &rest); at; at = strtok_r(NULL, " ", &rest)) {
        ck_assert_int_lt(count, WORDS_MAX);
        word[count++] = at;
    }
    ck_assert_msg(joint_job_read(count, word, LENGTH_BARE_REFUSED, &shelf, &job, why), "%s: %s",
                  line, why);
}

#endif
