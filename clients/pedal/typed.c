/* SPDX-License-Identifier: MIT */
#include "clients/pedal/typed.h"

#include <stdio.h>
#include <string.h>

bool typed_add(struct typed *typed, char character)
{
    if (typed->used + 1 >= sizeof typed->text) {
        return false;
    }
    typed->text[typed->used++] = character;
    typed->text[typed->used] = '\0';
    return true;
}

static bool is_fraction(const struct typed *typed)
{
    return strchr(typed->text, '/') != NULL;
}

const char *typed_unit(const struct typed *typed, enum length_style style)
{
    return words_bare(style) == LENGTH_BARE_MM && !is_fraction(typed) ? "mm" : "in";
}

bool typed_read(const struct typed *typed, enum length_style style, int64_t *nm, char *why)
{
    struct length_fault fault;
    bool fraction = is_fraction(typed);
    if (fraction && words_bare(style) == LENGTH_BARE_MM && strchr(typed->text, '.')) {
        (void)snprintf(why, WORDS_WHY,
                       "a fraction is inches and a decimal is millimetres here; type one of them");
        return false;
    }
    if (!length_parse(typed->text, fraction ? LENGTH_BARE_IN : words_bare(style), nm, &fault)) {
        (void)snprintf(why, WORDS_WHY, "%s", fault.text);
        return false;
    }
    return true;
}
