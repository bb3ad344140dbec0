/* SPDX-License-Identifier: MIT */
#include "clients/bench/quantity.h"

#include <ctype.h>
#include <stddef.h>
#include <string.h>

enum { UNIT_SIZE = 12, DIGITS_MAX = 15 };

static const struct {
    enum quantity_kind kind;
    const char *unit; /* in lower case, joined */
    double factor;
} units[] = {
    {QUANTITY_NUMBER, "", 1},
    {QUANTITY_TORQUE, "nm", 1},
    {QUANTITY_TORQUE, "ncm", 0.01},
    {QUANTITY_TORQUE, "ozfin", QUANTITY_N_M_PER_OZF_IN},
    {QUANTITY_TORQUE, "ozin", QUANTITY_N_M_PER_OZF_IN},
    {QUANTITY_TORQUE, "lbfin", 0.112984829027617},
    {QUANTITY_TORQUE, "lbin", 0.112984829027617},
    {QUANTITY_TORQUE, "kgfcm", 0.0980665},
    {QUANTITY_TORQUE, "kgcm", 0.0980665},
    {QUANTITY_LOAD, "n", 1},
    {QUANTITY_LOAD, "kg", 9.80665},
    {QUANTITY_LOAD, "kgf", 9.80665},
    {QUANTITY_LOAD, "lb", 4.4482216152605},
    {QUANTITY_LOAD, "lbf", 4.4482216152605},
    {QUANTITY_INERTIA, "kgm2", 1},
    {QUANTITY_INERTIA, "kgcm2", 1e-4},
    {QUANTITY_INERTIA, "gcm2", 1e-7},
    {QUANTITY_INERTIA, "ozin2", 0.028349523125 * 0.0254 * 0.0254},
};

const char *quantity_units(enum quantity_kind kind)
{
    switch (kind) {
    case QUANTITY_TORQUE:
        return "Nm, Ncm, ozf-in, lbf-in or kgf-cm";
    case QUANTITY_LOAD:
        return "kg, lb or N";
    case QUANTITY_INERTIA:
        return "kg-cm2, g-cm2 or oz-in2";
    default:
        return "a number alone";
    }
}

/* Digits with at most one point, at least one digit. NULL where there is no number. */
static const char *read_number(const char *text, double *value)
{
    double scale = 0; /* 0: no point yet */
    int digits = 0;
    *value = 0;
    for (; isdigit((unsigned char)*text) || (*text == '.' && scale == 0); text++) {
        if (*text == '.') {
            scale = 1;
            continue;
        }
        if (++digits > DIGITS_MAX) {
            return NULL;
        }
        *value = *value * 10 + (*text - '0');
        scale *= 10;
    }
    *value /= scale > 0 ? scale : 1;
    return digits > 0 ? text : NULL;
}

static bool is_joint(char c)
{
    return c == ' ' || c == '-' || c == '.' || c == '*';
}

/* Without what joins its parts. False where it is too long to be one. */
static bool read_unit(const char *text, char unit[UNIT_SIZE])
{
    size_t used = 0;
    for (; *text != '\0'; text++) {
        if (is_joint(*text)) {
            continue;
        }
        if (used + 1 == UNIT_SIZE) {
            return false;
        }
        unit[used++] = (char)tolower((unsigned char)*text);
    }
    unit[used] = '\0';
    return true;
}

bool quantity_read(const char *text, enum quantity_kind kind, bool zero, double *value)
{
    char unit[UNIT_SIZE];
    double number;
    const char *behind = read_number(text + strspn(text, " "), &number);
    if (!behind || !read_unit(behind, unit) || (number <= 0 && !zero)) {
        return false;
    }
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        if (units[i].kind == kind && strcmp(units[i].unit, unit) == 0) {
            *value = number * units[i].factor;
            return true;
        }
    }
    return false;
}
