/* SPDX-License-Identifier: MIT */
#include "clients/bench/screw_tables.h"

#include "protocol/length.h"

enum { PITCHES = 5, UM = 1000 };

/* Micrometres. */
struct metric {
    int32_t major_um;
    int32_t pitch_um[PITCHES]; /* the coarse one first; 0 ends */
};

/* ISO 261, first and second choice, from memory. */
static const struct metric metrics[] = {
    {1000, {250, 200}},
    {1200, {250, 200}},
    {1400, {300, 200}},
    {1600, {350, 200}},
    {1800, {350, 200}},
    {2000, {400, 250}},
    {2500, {450, 350}},
    {3000, {500, 350}},
    {3500, {600, 350}},
    {4000, {700, 500}},
    {5000, {800, 500}},
    {6000, {1000, 750}},
    {7000, {1000, 750}},
    {8000, {1250, 1000, 750}},
    {10000, {1500, 1250, 1000, 750}},
    {12000, {1750, 1500, 1250, 1000}},
    {14000, {2000, 1500, 1250, 1000}},
    {16000, {2000, 1500, 1000}},
    {18000, {2500, 2000, 1500, 1000}},
    {20000, {2500, 2000, 1500, 1000}},
    {22000, {2500, 2000, 1500, 1000}},
    {24000, {3000, 2000, 1500, 1000}},
    {27000, {3000, 2000, 1500, 1000}},
    {30000, {3500, 3000, 2000, 1500, 1000}},
    {33000, {3500, 3000, 2000, 1500}},
    {36000, {4000, 3000, 2000, 1500}},
    {39000, {4000, 3000, 2000, 1500}},
    {42000, {4500, 4000, 3000, 2000, 1500}},
    {45000, {4500, 4000, 3000, 2000, 1500}},
    {48000, {5000, 4000, 3000, 2000, 1500}},
    {52000, {5000, 4000, 3000, 2000, 1500}},
};

/* ISO 2904 and ISO 2903, from memory; Tr8x2 and Tr10x3 are sold everywhere and stand in no table
 * of theirs. */
static const struct metric trapezoidals[] = {
    {8000, {1500}},
    {9000, {2000, 1500}},
    {10000, {2000, 1500}},
    {11000, {3000, 2000}},
    {12000, {3000, 2000}},
    {14000, {3000, 2000}},
    {16000, {4000, 2000}},
    {18000, {4000, 2000}},
    {20000, {4000, 2000}},
    {22000, {5000, 8000, 3000}},
    {24000, {5000, 8000, 3000}},
    {26000, {5000, 8000, 3000}},
    {28000, {5000, 8000, 3000}},
    {30000, {6000, 10000, 3000}},
    {32000, {6000, 10000, 3000}},
    {34000, {6000, 10000, 3000}},
    {36000, {6000, 10000, 3000}},
    {38000, {7000, 10000, 3000}},
    {40000, {7000, 10000, 3000}},
};

struct inch {
    int32_t major; /* thousandths of an inch; of a fraction, 1/64 in: see below */
    int16_t coarse;
    int16_t fine;
};

/* ASME B1.5 general purpose, preferred: Shigley Table 8-3; the rest from memory. 64ths. */
static const struct inch acmes[] = {
    {16, 16, 0}, {20, 14, 0}, {24, 12, 0}, {28, 12, 0}, {32, 10, 0}, {40, 8, 0},
    {48, 6, 0},  {56, 6, 0},  {64, 5, 0},  {72, 5, 0},  {80, 5, 0},  {88, 4, 0},
    {96, 4, 0},  {112, 4, 0}, {128, 4, 0}, {144, 3, 0}, {160, 3, 0}, {192, 2, 0},
};

/* ASME B1.1, from memory. 64ths. */
static const struct inch unifieds[] = {
    {16, 20, 28}, {20, 18, 24}, {24, 16, 24}, {28, 14, 20}, {32, 13, 20},
    {36, 12, 18}, {40, 11, 18}, {48, 10, 16}, {56, 9, 14},  {64, 8, 12},
    {72, 7, 12},  {80, 7, 12},  {88, 6, 12},  {96, 6, 12},
};

/* The numbered sizes, thousandths: .060 + .013 times the number. */
static const struct inch numbereds[] = {
    {60, 0, 80},   {73, 64, 72},  {86, 56, 64},  {99, 48, 56},  {112, 40, 48},
    {125, 40, 44}, {138, 32, 40}, {164, 32, 36}, {190, 24, 32}, {216, 24, 28},
};

static const struct metric *find_metric(const struct metric *table, size_t count, int64_t major_nm)
{
    for (size_t i = 0; i < count; i++) {
        if ((int64_t)table[i].major_um * UM == major_nm) {
            return &table[i];
        }
    }
    return NULL;
}

static bool has_pitch(const struct metric *entry, int64_t pitch_nm)
{
    for (size_t i = 0; entry && i < PITCHES && entry->pitch_um[i] > 0; i++) {
        if ((int64_t)entry->pitch_um[i] * UM == pitch_nm) {
            return true;
        }
    }
    return false;
}

int64_t screw_metric_coarse(int64_t major_nm)
{
    const struct metric *entry = find_metric(metrics, sizeof metrics / sizeof *metrics, major_nm);
    return entry ? (int64_t)entry->pitch_um[0] * UM : 0;
}

bool screw_metric_has(int64_t major_nm, int64_t pitch_nm)
{
    return has_pitch(find_metric(metrics, sizeof metrics / sizeof *metrics, major_nm), pitch_nm);
}

bool screw_trapezoidal_has(int64_t major_nm, int64_t pitch_nm)
{
    return has_pitch(
        find_metric(trapezoidals, sizeof trapezoidals / sizeof *trapezoidals, major_nm), pitch_nm);
}

static const struct inch *find_inch(const struct inch *table, size_t count, int64_t unit_nm,
                                    int64_t major_nm)
{
    for (size_t i = 0; i < count; i++) {
        if (table[i].major * unit_nm == major_nm) {
            return &table[i];
        }
    }
    return NULL;
}

int screw_acme_threads(int64_t major_nm)
{
    const struct inch *entry =
        find_inch(acmes, sizeof acmes / sizeof *acmes, LENGTH_NM_PER_IN / 64, major_nm);
    return entry ? entry->coarse : 0;
}

int screw_unified_threads(int64_t major_nm, bool fine)
{
    const struct inch *entry =
        find_inch(unifieds, sizeof unifieds / sizeof *unifieds, LENGTH_NM_PER_IN / 64, major_nm);
    if (!entry) {
        entry = find_inch(numbereds, sizeof numbereds / sizeof *numbereds, LENGTH_NM_PER_IN / 1000,
                          major_nm);
    }
    return !entry ? 0 : fine ? entry->fine : entry->coarse;
}
