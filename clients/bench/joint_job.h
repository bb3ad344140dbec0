/* SPDX-License-Identifier: MIT */
/*
 * A joint as it is asked for in words, "tongue thick .742 groove 1/4 bit slot-5/32", and the plan
 * that comes of it. Pure: names are looked up through the caller.
 */
#ifndef REGLET_BENCH_JOINT_JOB_H
#define REGLET_BENCH_JOINT_JOB_H

#include <stddef.h>

#include "clients/bench/joint.h"
#include "clients/bench/joint_finger.h"
#include "clients/bench/joint_flat.h"
#include "clients/bench/joint_groove.h"
#include "clients/bench/joint_profile.h"

enum { JOINT_NAME_SIZE = 64, JOINT_JOB_WHY = 400, JOINT_FIELDS_MAX = 24 };

/* Where names come from. Each returns false with a sentence in `why` (JOINT_JOB_WHY bytes). */
struct joint_shelf {
    void *owner;
    bool (*stock)(void *owner, const char *name, int64_t *nm, char *why);
    /* `name` NULL: the fitted one, whose name is written (JOINT_NAME_SIZE bytes; it may be ""). */
    bool (*bit)(void *owner, const char *name, enum joint_kind wanted, struct joint_cutter *cutter,
                char *fitted, char *why);
};

enum joint_field_type {
    JOINT_FIELD_LENGTH = 1, /* a length, or the name of stock */
    JOINT_FIELD_MOST,       /* of a pass; not said: by the bit, passes_most_nm */
    JOINT_FIELD_COUNT,
    JOINT_FIELD_BIT, /* the name of a bit, or its width */
    JOINT_FIELD_KERF,
    JOINT_FIELD_SLOPE, /* degrees */
};

/* One word with a value behind it. Several of one word set several members. */
struct joint_field {
    const char *word;
    enum joint_field_type type;
    size_t offset; /* of the member in union joint_input */
    bool needed;
    int64_t usual; /* when it is not said: nm, or a number */
    const char *means;
};

enum joint_is {
    JOINT_IS_UPRIGHT = 1,
    JOINT_IS_STEPPED,
    JOINT_IS_GROOVE,
    JOINT_IS_DRAWER,
    JOINT_IS_TONGUE,
    JOINT_IS_TENON,
    JOINT_IS_MORTISE,
    JOINT_IS_LAP,
    JOINT_IS_RABBET,
    JOINT_IS_DADO,
    JOINT_IS_HALF_BLIND,
    JOINT_IS_SLIDING,
    JOINT_IS_CENTRED, /* lock mitre, or reverse glue joint */
    JOINT_IS_PANEL,
};

struct joint_kind_words {
    enum joint_is joint;
    const char *word;
    const char *title; /* "Finger joint, stepped with a slot cutter" */
    const struct joint_field *field;
    enum joint_kind wanted; /* of the bit, when only its width is given */
    enum joint_kind second;
    size_t cutter;        /* offsets */
    size_t second_cutter; /* 0: there is none */
};

union joint_input {
    struct joint_upright upright;
    struct joint_stepped stepped;
    struct joint_groove groove;
    struct joint_drawer drawer;
    struct joint_tongue tongue;
    struct joint_tenon tenon;
    struct joint_mortise mortise;
    struct joint_lap lap;
    struct joint_rabbet rabbet;
    struct joint_dado dado;
    struct joint_dovetail dovetail;
    struct joint_sliding sliding;
    struct joint_centred centred;
    struct joint_panel panel;
};

/* What was understood. */
struct joint_job {
    const struct joint_kind_words *kind;
    union joint_input in;
    bool said[JOINT_FIELDS_MAX]; /* by the place in kind->field */
    bool travel_said;            /* lowest and highest: what the caller knows is not asked */
    int64_t lowest_nm;
    int64_t highest_nm;
    bool bit_said;                /* by a name, a width or a kerf */
    bool bit_fitted;              /* it is the fitted one, since nothing was said */
    char bit[JOINT_NAME_SIZE];    /* names, where they have them */
    char second[JOINT_NAME_SIZE]; /* JOINT_SECOND_BIT's */
    bool second_said;
};

/* All kinds; ends at a word NULL. */
extern const struct joint_kind_words joint_kinds[];

/* Do these words need a shelf: is a name among them, or the fitted bit? */
bool joint_job_asks(int count, char *const *word);

/* Reads the words: KIND, then pairs of a word and its value, which may have several words. A bare
 * decimal is read by `bare`. After false `why` (JOINT_JOB_WHY bytes) says what was found and what
 * would do. */
REGLET_MUST_CHECK bool joint_job_read(int count, char *const *word, enum length_bare bare,
                                      const struct joint_shelf *shelf, struct joint_job *job,
                                      char *why);

/* The plan; as the generator of its kind says. */
REGLET_MUST_CHECK bool joint_job_plan(const struct joint_job *job, const struct joint_shop *shop,
                                      struct joint_plan *plan);

/* One of the two cutters, for drawings. */
const struct joint_cutter *joint_job_cutter(const struct joint_job *job, enum joint_bit bit);

#endif
