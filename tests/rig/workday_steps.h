/* SPDX-License-Identifier: MIT */
/* The day's commands, in order, and what hands do before some of them. */
#ifndef REGLET_TESTS_RIG_WORKDAY_STEPS_H
#define REGLET_TESTS_RIG_WORKDAY_STEPS_H

#include "tests/rig/workday.h"

/* --- What hands do --- */

/* Behind a cut the lift may stand anywhere: a bit is set with room above it. */
static inline void make_room(struct day *day)
{
    for (int i = 0; i < TRIES && day->cuts; i++) {
        cJSON *status = status_of(day);
        bool high = rig_number(status, "position_nm") > -30e6;
        cJSON_Delete(status);
        if (high) {
            rig_tell(&day->rig, "bit 30000000"); /* well over the ring, whatever its width */
            (void)ask_plainly(day, "by", "{\"distance\":\"-12mm\"}");
        }
    }
}

/* The bit is set in the collet so that it stands flush, or as high as a sample; and touched off. */
static inline void bit_flush(struct day *day, char *params)
{
    make_room(day);
    rig_tell(&day->rig, "bit 0");
    snprintf(params, PARAMS_SIZE, "{\"height\":\"0in\"}");
}

/* At the change position, its cutter well over the table. */
static inline void wide_bit_in(struct day *day, char *params)
{
    rig_tell(&day->rig, "bit 35000000");
    snprintf(params, PARAMS_SIZE, "{\"bit\":\"slot\",\"clear\":true}");
}

static inline void bit_on_block(struct day *day, char *params)
{
    make_room(day);
    rig_tell(&day->rig, "bit 6350000");
    snprintf(params, PARAMS_SIZE, "{\"block\":\"1/4in\"}");
}

static inline void bit_in_sample(struct day *day, char *params)
{
    make_room(day);
    rig_tell(&day->rig, "bit 9525000");
    snprintf(params, PARAMS_SIZE, "{\"preset\":\"groove\"}");
}

static inline void bit_high(struct day *day, char *params)
{
    make_room(day);
    rig_tell(&day->rig, "bit 9525000");
    snprintf(params, PARAMS_SIZE, "{\"height\":\"3/8in\"}");
}

/* Behind a cut it may be lost, and has to be found before it can be compared. */
static inline cJSON *status_with_height(struct day *day)
{
    cJSON *status = status_of(day);
    if (day->cuts && !cJSON_HasObjectItem(status, "height_nm")) {
        cJSON_Delete(status);
        recover(day);
        status = status_of(day);
    }
    return status;
}

/* The bit slips by .002 in, a test cut shows it, and it is corrected by what the cut measures. */
static inline void bit_slips(struct day *day, char *params)
{
    cJSON_Delete(status_with_height(day));
    rig_tell(&day->rig, "bit %.0f", truth(day, "height_nm") - 50800);
    cJSON *status = status_of(day);
    snprintf(params, PARAMS_SIZE, "{\"raise_nm\":%.0f}", off_nm(day, status));
    cJSON_Delete(status);
}

/* It is pushed back, and the correction undone: what was corrected last is said. */
static inline void bit_pushed_back(struct day *day, char *params)
{
    cJSON *status = status_of(day);
    double nm =
        cJSON_HasObjectItem(status, "corrected_nm") ? rig_number(status, "corrected_nm") : 0;
    (void)params;
    rig_tell(&day->rig, "bit %.0f", truth(day, "height_nm") + nm);
    cJSON_Delete(status);
}

/* So low that it could not come up to it: travel ends 77 mm below the top. */
static inline void just_over_the_end(struct day *day, char *params)
{
    cJSON *status = status_with_height(day);
    double zero_nm = rig_number(status, "position_nm") - rig_number(status, "height_nm");
    snprintf(params, PARAMS_SIZE, "{\"height_nm\":%.0f}", -77e6 - zero_nm + 1e5);
    cJSON_Delete(status);
}

static inline void show_contact(struct day *day)
{
    rig_tell(&day->rig, "plate touch");
    rig_run(&day->rig, 300);
    rig_tell(&day->rig, "plate untouch");
    rig_run(&day->rig, 300);
}

static inline void lay_plate(struct day *day, char *params)
{
    (void)params;
    (void)ask_plainly(day, "to", "{\"height\":\"-7mm\"}");
    show_contact(day);
    rig_tell(&day->rig, "plate lay 0");
}

static inline void no_plate_over_it(struct day *day, char *params)
{
    lay_plate(day, params);
    rig_tell(&day->rig, "plate lift");
}

static inline void shut_contact(struct day *day, char *params)
{
    (void)params;
    rig_tell(&day->rig, "plate touch");
    rig_run(&day->rig, 300);
}

/* --- The day --- */

#define YES "{\"clear\":true}"
#define TO(height) "to", "{\"height\":\"" height "\"}"
#define BY(distance) "by", "{\"distance\":\"" distance "\"}"

/* clang-format off */
static const struct step morning[] = {
    /* Nothing is known yet. */
    {TO("1mm"), "height-unknown", 0, NULL},
    {"change", YES, "top-unknown", 0, NULL},
    {BY("1in"), "nudge-too-far", 0, NULL},
    {"touch", NULL, "come-up-first", 0, bit_flush},
    {"undo", NULL, "height-unknown", 0, NULL},
    {"here-top", NULL, "top-switch-fitted", 0, NULL},
    {"find-top", NULL, NULL, 0, NULL},
    {BY("-1/2in"), NULL, 0, NULL},
    {BY("-1/2in"), NULL, 0, NULL},
    {BY("-1/2in"), NULL, 0, NULL},
    {BY("1/4in"), NULL, 0, NULL},
    /* The lists. */
    {"keep-ring", "{\"name\":\"wide\",\"opening\":\"2in\",\"replace\":true}", NULL, 0, NULL},
    {"keep-bit", "{\"name\":\"half\",\"kind\":\"straight\",\"diameter\":\"1/2in\","
        "\"replace\":true}", NULL, 0, NULL},
    {"keep-bit", "{\"name\":\"slot\",\"kind\":\"slot-cutter\",\"diameter\":\"2-1/4in\","
        "\"cutting_length\":\"5mm\",\"ring\":\"wide\",\"replace\":true}", NULL, 0, NULL},
    {"keep-stock", "{\"name\":\"ply\",\"size\":\".205in\",\"replace\":true}", NULL, 0, NULL},
    {"keep-stock", "{\"name\":\"ply\",\"size\":\".2in\"}", "name-taken", 0, NULL},
    {"forget-ring", "{\"name\":\"wide\"}", "in-use", 0, NULL},
    {"forget-stock", "{\"name\":\"none\"}", "no-such-thing", 0, NULL},
    {"fit", "{\"bit\":\"none\",\"clear\":true}", "no-such-bit", 0, NULL},
    {"fit", "{\"bit\":\"half\"}", "say-clear", 0, NULL},
    {"fit", "{\"bit\":\"half\",\"clear\":true}", NULL, 0, NULL},
    {"touch", NULL, NULL, 0, bit_flush},
    {"keep", "{\"name\":\"groove\",\"height\":\"3/8in\",\"bit\":\"half\","
        "\"riding\":\"0mm\",\"replace\":true,\"wood\":\"oak\"}", NULL, 0, NULL},
    {"recall", "{\"name\":\"none\"}", "no-such-preset", 0, NULL},
    {"recall", "{\"name\":\"groove\"}", NULL, 0, NULL},
    {"under", NULL, NULL, 0, NULL},
    {TO("-60mm"), "below-travel", 0, NULL},
    {TO("60mm"), "above-travel", 0, NULL},
    {"to", NULL, "take-up", 0, just_over_the_end},
    {TO("3/8in"), NULL, 0, NULL},
    {BY("1/64in"), NULL, 0, NULL},
    {BY("-1/64in"), NULL, 0, NULL},
    {TO("6mm"), NULL, 0, NULL},
    {"undo", NULL, "nothing-before", 0, NULL},
    {"correct", NULL, NULL, 0, bit_slips},
    {"undo", NULL, NULL, ONCE, bit_pushed_back},
    {"touch", NULL, NULL, 0, bit_on_block},
    {"touch", NULL, NULL, 0, bit_in_sample},
    {"correct", "{\"raise\":\"4mm\"}", "disagrees", 0, NULL},
    {"confirm", "{\"height\":\"20mm\"}", "disagrees", 0, NULL},
    {"renew", "{\"token\":\"none\"}", "hold-over", 0, NULL},
    {"to", "{\"height\":\"20mm\"}", "stopped", STOPPED_BY_OTHER, NULL},
    {"to", "{\"height\":\"-8mm\",\"wait\":false}", NULL, 0, NULL},
    {BY("1mm"), "busy", 0, NULL},
    {"stop", NULL, NULL, 0, NULL},
    {TO("2mm"), NULL, 0, NULL},
};

static const struct step interlocks[] = {
    {"tell", "lock on", NULL, 0, NULL},
    {"run", "300", NULL, 0, NULL},
    {TO("4mm"), "carriage-locked", 0, NULL},
    {BY("1mm"), "carriage-locked", 0, NULL},
    {"tell", "lock off", NULL, 0, NULL},
    {"run", "300", NULL, 0, NULL},
    {TO("4mm"), NULL, 0, NULL},
    {"tell", "work on", NULL, 0, NULL},
    {"tell", "router on", NULL, 0, NULL},
    {"run", "300", NULL, 0, NULL},
    {TO("5mm"), "router-running", 0, NULL},
    {"hold", "{\"direction\":\"up\"}", "router-running", 0, NULL},
    {"change", YES, "router-running", 0, NULL},
    {"confirm", NULL, "router-running", 0, NULL},
    {"tell", "router off", NULL, 0, NULL},
    {"run", "5000", NULL, 0, NULL},
    {TO("5mm"), "router-running", 0, NULL},
    {"run", "12000", NULL, 0, NULL},
    {"tell", "work off", NULL, 0, NULL},
    {TO("5mm"), NULL, 0, NULL},
    {"tell", "stop-circuit open", NULL, 0, NULL},
    {"run", "300", NULL, 0, NULL},
    {TO("6mm"), "stop-open", 0, NULL},
    {"all-clear", NULL, "stop-open", 0, NULL},
    {"tell", "stop-circuit closed", NULL, 0, NULL},
    {"run", "300", NULL, 0, NULL},
    {TO("6mm"), "barred", 0, NULL},
    {"all-clear", NULL, NULL, 0, NULL},
    {TO("6mm"), "unchecked", 0, NULL},
    {"change", YES, "top-unknown", 0, NULL},
    {"confirm", NULL, NULL, 0, NULL},
    {TO("6mm"), NULL, 0, NULL},
    {"tell", "motor-supply off", NULL, 0, NULL},
    {"run", "300", NULL, 0, NULL},
    {TO("7mm"), "unpowered", 0, NULL},
    {"tell", "motor-supply on", NULL, 0, NULL},
    {"run", "500", NULL, 0, NULL},
    {"confirm", NULL, NULL, 0, NULL},
    {"tell", "unplug", NULL, 0, NULL},
    {"run", "2500", NULL, 0, NULL},
    {TO("8mm"), "unplugged", 0, NULL},
    {"tell", "plug", NULL, 0, NULL},
    {"run", "5000", NULL, 0, NULL},
    {TO("8mm"), NULL, 0, NULL},
    {"touch", "{\"plate\":true}", "plate-check", 0, NULL},
    {"touch", "{\"plate\":true}", "plate-closed", 0, shut_contact},
    {"tell", "plate untouch", NULL, 0, NULL},
    {"run", "300", NULL, 0, NULL},
    {"touch", "{\"plate\":true,\"most\":\"5mm\"}", "plate-not-met", 0, no_plate_over_it},
    {"touch", "{\"plate\":true}", NULL, 0, lay_plate},
    {"tell", "plate lift", NULL, 0, NULL},
    {TO("3mm"), NULL, 0, NULL},
};

static const struct step afternoon[] = {
    {"riding", "{\"thickness\":\"3/8in\"}", NULL, 0, NULL},
    {"recall", "{\"name\":\"groove\"}", "other-riding", 0, NULL},
    {TO("2mm"), NULL, 0, NULL},
    {"kill", NULL, NULL, 0, NULL},
    {TO("3mm"), "ask-riding", 0, NULL},
    {"riding", "{\"thickness\":\"3/8in\"}", NULL, 0, NULL},
    {TO("3mm"), NULL, 0, NULL},
    {"riding", "{\"thickness\":\"0in\"}", NULL, 0, NULL},
    {TO("3mm"), NULL, 0, NULL},
    {"run", "28800000", NULL, 0, NULL},
    {TO("4mm"), "ask-bit", 0, NULL},
    {"confirm", NULL, NULL, 0, NULL},
    {TO("4mm"), NULL, 0, NULL},
    /* A story, in which the bit is changed. */
    {"keep-story", "{\"name\":\"box\",\"replace\":true,\"marks\":[{\"height\":\"1/4in\","
        "\"bit\":\"half\"},{\"height\":\"3/8in\",\"bit\":\"half\",\"pieces\":2},"
        "{\"height\":\"1/2in\",\"bit\":\"slot\"}]}", NULL, ONCE, NULL},
    {"next", NULL, "no-such-story", 0, NULL},
    {"load", "{\"name\":\"box\"}", NULL, 0, NULL},
    {"back", NULL, "story-end", 0, NULL},
    {"next", NULL, NULL, ONCE, NULL},
    {"cut", NULL, NULL, ONCE, NULL},
    {"next", NULL, NULL, ONCE, NULL},
    {"again", NULL, NULL, ONCE, NULL},
    {"cut", NULL, NULL, ONCE, NULL},
    {"next", NULL, "wrong-bit", 0, NULL},
    {"change", NULL, "say-clear", 0, NULL},
    {"change", YES, NULL, 0, NULL},
    {TO("1mm"), "bit-out", 0, NULL},
    {"find-top", NULL, "bit-out", 0, NULL},
    {"tell", "ring 50800000", NULL, 0, NULL},
    {"tell", "cutter 57150000 5000000", NULL, 0, NULL},
    {"fit", NULL, NULL, 0, wide_bit_in},
    {BY("-1mm"), "hold-first", 0, NULL},
    {"hold", "{\"direction\":\"down\"}", NULL, HELD, NULL},
    {BY("-12mm"), NULL, ONCE, NULL},
    {BY("2mm"), NULL, ONCE, NULL},
    {"touch", NULL, NULL, 0, bit_high},
    {"recall", "{\"name\":\"groove\"}", "wrong-bit", 0, NULL},
    {TO("2mm"), "ring", 0, NULL},
    {"under", NULL, "not-under", 0, NULL},
    {"next", NULL, NULL, ONCE, NULL},
    {"next", NULL, "story-end", 0, NULL},
    {"hold", "{\"direction\":\"down\"}", NULL, HELD, NULL},
    {TO("10mm"), NULL, 0, NULL},
    {"abandon", NULL, NULL, 0, NULL},
    {"ground", "{\"bit\":\"slot\"}", NULL, 0, NULL},
    {"keep", "{\"name\":\"deep\",\"height\":\"12mm\",\"bit\":\"slot\",\"riding\":\"0mm\","
        "\"recompute\":true,\"replace\":true}", NULL, 0, NULL},
    {"recall", "{\"name\":\"deep\"}", "recompute", 0, NULL},
    {"log", NULL, NULL, 0, NULL},
    {"forget-story", "{\"name\":\"box\"}", NULL, ONCE, NULL},
    {TO("14mm"), NULL, 0, NULL},
};
/* clang-format on */

#endif
