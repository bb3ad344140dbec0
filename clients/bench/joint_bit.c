/* SPDX-License-Identifier: MIT */
#include "clients/bench/joint_bit.h"

#include <stdio.h>
#include <string.h>

static const struct {
    const char *word;
    enum joint_kind kind;
} kinds[] = {
    {"straight", JOINT_STRAIGHT},
    {"spiral", JOINT_STRAIGHT},
    {"slot-cutter", JOINT_SLOT},
    {"rabbet", JOINT_EDGE},
    {"round-over", JOINT_EDGE},
    {"cove", JOINT_EDGE},
    {"chamfer", JOINT_EDGE},
    {"v-groove", JOINT_EDGE},
    {"bowl", JOINT_EDGE},
    {"dovetail", JOINT_DOVETAIL},
    {"t-slot", JOINT_T_SLOT},
    {"keyhole", JOINT_KEYHOLE},
    {"lock-mitre", JOINT_LOCK_MITRE},
    {"stile-rail", JOINT_STILE_RAIL},
    {"raiser", JOINT_RAISER},
    {"raiser-back-cutter", JOINT_RAISER_BACK},
    {"vertical-raiser", JOINT_RAISER_VERTICAL},
};

static const char *text_of(const cJSON *bit, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(bit, name);
    return cJSON_IsString(item) ? item->valuestring : "";
}

static int64_t length_of(const cJSON *bit, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(bit, name);
    return cJSON_IsNumber(item) ? (int64_t)item->valuedouble : 0;
}

static bool refuse(const cJSON *bit, char *why, size_t size, const char *what)
{
    (void)snprintf(why, size, "The bit '%.63s' %s", text_of(bit, "name"), what);
    return false;
}

static bool read_kind(const cJSON *bit, enum joint_kind wanted, enum joint_kind *kind)
{
    const char *word = text_of(bit, "kind");
    *kind = wanted;
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        if (strcmp(word, kinds[i].word) == 0) {
            *kind = kinds[i].kind;
            return true;
        }
    }
    return strcmp(word, "other") == 0;
}

static bool read_point(const cJSON *bit, enum joint_reference *reference)
{
    const char *word = text_of(bit, "point");
    *reference = strcmp(word, "lower-edge") == 0 ? JOINT_LOWER
                 : strcmp(word, "centre") == 0   ? JOINT_CENTRE
                                                 : JOINT_TOP;
    return strcmp(word, "shoulder") != 0;
}

bool joint_bit_read(const cJSON *bit, enum joint_kind wanted, struct joint_cutter *cutter,
                    char *why, size_t why_size)
{
    *cutter = (struct joint_cutter){.kind = wanted};
    if (!read_kind(bit, wanted, &cutter->kind)) {
        return refuse(bit, why, why_size, "is no cutter. Name one that cuts.");
    }
    if (!read_point(bit, &cutter->reference)) {
        return refuse(bit, why, why_size,
                      "has its heights by its shoulder, and joints are counted from an edge or the "
                      "centre. Keep it with another point, or take another bit.");
    }
    if (cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(bit, "ground"))) {
        return refuse(bit, why, why_size,
                      "was sharpened since it was measured. Measure it, and keep it with its new "
                      "diameter.");
    }
    cutter->width_nm = length_of(bit, "diameter_nm");
    cutter->length_nm = length_of(bit, "cutting_length_nm");
    cutter->shank_nm = length_of(bit, "shank_nm");
    cutter->plunging = cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(bit, "plunging"));
    if (cutter->kind == JOINT_SLOT) {
        cutter->kerf_nm = cutter->length_nm;
        cutter->length_nm = 0;
    }
    return true;
}
