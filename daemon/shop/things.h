/* SPDX-License-Identifier: MIT */
/*
 * What has a name in the shop, each kind described by one table of fields: from it things are read
 * out of the document and out of requests, and printed into both. Pure.
 */
#ifndef REGLET_DAEMON_SHOP_THINGS_H
#define REGLET_DAEMON_SHOP_THINGS_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "protocol/attributes.h"

enum {
    SHOP_NAME_SIZE = 64, /* bytes of a name, with its NUL */
    SHOP_TEXT_SIZE = 80, /* of a line on a preset's card */
    SHOP_WHY_SIZE = 320, /* the list of all kinds of bit goes into it */
};

/* The longest cutter. */
#define SHOP_CUTTING_MOST_NM INT64_C(152400000)

enum shop_kind { SHOP_PRESET, SHOP_BIT, SHOP_RING, SHOP_STOCK, SHOP_PAIR, SHOP_KINDS };

/* Every thing begins so. */
struct thing {
    uint32_t id; /* never used again, also when the thing has gone */
    char name[SHOP_NAME_SIZE];
};

/* Trade words. */
enum bit_shape {
    BIT_STRAIGHT = 1,
    BIT_SPIRAL,
    BIT_SLOT_CUTTER,
    BIT_RABBET,
    BIT_ROUND_OVER,
    BIT_COVE,
    BIT_CHAMFER,
    BIT_V_GROOVE,
    BIT_BOWL,
    BIT_DOVETAIL,
    BIT_T_SLOT,
    BIT_KEYHOLE,
    BIT_LOCK_MITRE,
    BIT_STILE_RAIL,
    BIT_RAISER,
    BIT_RAISER_BACK_CUTTER,
    BIT_VERTICAL_RAISER,
    BIT_PIN, /* a plain one: no cutter, to measure by */
    BIT_OTHER,
};
enum bit_point { POINT_TOP_EDGE = 1, POINT_LOWER_EDGE, POINT_SHOULDER, POINT_CENTRE };
enum bit_meets { MEETS_EDGE = 1, MEETS_TOOTH, MEETS_BEARING, MEETS_SCREW, MEETS_NUT };

struct bit {
    struct thing thing;
    uint32_t shape; /* enum bit_shape */
    int64_t diameter_nm;
    uint32_t point;      /* enum bit_point: what its height is the height of */
    uint32_t meets;      /* enum bit_meets: what a block or plate touches */
    int64_t offset_nm;   /* the reference point's height less that of what is met */
    int64_t cutting_nm;  /* cutting length; 0: not known */
    int64_t shank_nm;    /* 0: not known */
    bool plunging;       /* it can go straight up into wood */
    uint32_t speed_most; /* marked on it, turns a minute; 0: not known */
    uint32_t ring;       /* id of the ring that is around it; 0: none */
    bool ground;         /* since its size was measured */
    char note[SHOP_TEXT_SIZE];
};

struct ring {
    struct thing thing;
    int64_t opening_nm;
};

/* Sheet goods and boards as they measure, not as they are called. */
struct stock {
    struct thing thing;
    int64_t size_nm;
};

/* Two bits whose profiles fit each other. */
struct pair {
    struct thing thing;
    uint32_t first; /* ids */
    uint32_t second;
    int64_t difference_nm; /* height of the second's reference point less the first's */
    bool recompute;        /* one of them was ground since */
};

struct preset {
    struct thing thing;
    int64_t height_nm;
    uint32_t bit;              /* id; 0: of any bit */
    int64_t riding_nm;         /* what carried the work */
    bool recompute;            /* its bit was ground since */
    char ring[SHOP_TEXT_SIZE]; /* the card: as the operator wrote it */
    char fence[SHOP_TEXT_SIZE];
    char speed[SHOP_TEXT_SIZE];
    char wood[SHOP_TEXT_SIZE];
    char sample[SHOP_TEXT_SIZE]; /* where it hangs */
};

/* Room for one of any kind. */
union things_any {
    struct thing thing;
    struct bit bit;
    struct ring ring;
    struct stock stock;
    struct pair pair;
    struct preset preset;
};

enum field_type {
    FIELD_LENGTH = 1, /* int64_t nanometres, from low to high */
    FIELD_COUNT,      /* uint32_t, from low to high */
    FIELD_WORD,       /* uint32_t: its place among the words, from 1 */
    FIELD_FLAG,       /* bool */
    FIELD_TEXT,       /* char[SHOP_TEXT_SIZE] */
    FIELD_THING,      /* uint32_t: id of a thing of another kind */
};

struct field {
    const char *name;
    enum field_type type;
    size_t at; /* in the struct */
    bool required;
    int64_t low;
    int64_t high;
    const char *const *words;
    enum shop_kind kind; /* of FIELD_THING */
    uint32_t otherwise;  /* of FIELD_WORD, when it is left out */
};

struct kind {
    const char *word;  /* "bit" */
    const char *words; /* "bits": its list in the document and in answers */
    size_t size;       /* of the struct */
    size_t most;
    const struct field *fields; /* ends with a NULL name */
};

extern const struct kind things_kinds[SHOP_KINDS];

/* A name is 1 to 63 bytes without control characters, not beginning or ending with a space. */
REGLET_MUST_CHECK bool things_name_valid(const char *name);

/* What is left out stays as it is in *thing, so begin with zeros and things_default. */
void things_default(enum shop_kind kind, void *thing);

/* Out of the document: exact and complete. False and a clause. */
REGLET_MUST_CHECK bool things_read(enum shop_kind kind, const cJSON *object, void *thing, char *why,
                                   size_t why_size);
/* Into the document. NULL when memory is short. */
cJSON *things_print(enum shop_kind kind, const void *thing);

/* One field from a request: as text with its unit or as _nm (`nm`), of a length. `found` is never
 * NULL. False and a sentence. A FIELD_THING is the caller's: things_set_id sets it. */
REGLET_MUST_CHECK bool things_take(const struct field *field, const cJSON *found, bool nm,
                                   void *thing, char *why, size_t why_size);
void things_set_id(const struct field *field, void *thing, uint32_t id);
uint32_t things_id(const struct field *field, const void *thing);

/* All but FIELD_THING, as an answer has it. */
void things_answer(enum shop_kind kind, const void *thing, cJSON *object);

#endif
