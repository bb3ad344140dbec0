/* SPDX-License-Identifier: MIT */
#include "clients/common/shop_items.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/words.h"

enum { MEMBER_SIZE = 24 };

static const struct shop_member of_ring[] = {{"opening", SHOP_LENGTH}, {NULL, 0}};
static const struct shop_member of_stock[] = {{"size", SHOP_LENGTH}, {NULL, 0}};
static const struct shop_member of_pair[] = {{"first", SHOP_TEXT},
                                             {"second", SHOP_TEXT},
                                             {"difference", SHOP_LENGTH},
                                             {"recompute", SHOP_FLAG},
                                             {NULL, 0}};
static const struct shop_member of_bit[] = {{"kind", SHOP_TEXT},
                                            {"diameter", SHOP_LENGTH},
                                            {"point", SHOP_TEXT},
                                            {"meets", SHOP_TEXT},
                                            {"offset", SHOP_LENGTH},
                                            {"cutting_length", SHOP_LENGTH},
                                            {"shank", SHOP_LENGTH},
                                            {"plunging", SHOP_FLAG},
                                            {"speed_most", SHOP_COUNT},
                                            {"ring", SHOP_TEXT},
                                            {"note", SHOP_TEXT},
                                            {"ground", SHOP_FLAG},
                                            {NULL, 0}};
static const struct shop_member of_preset[] = {{"height", SHOP_LENGTH}, {"bit", SHOP_TEXT},
                                               {"riding", SHOP_LENGTH}, {"recompute", SHOP_FLAG},
                                               {"ring", SHOP_TEXT},     {"fence", SHOP_TEXT},
                                               {"speed", SHOP_TEXT},    {"wood", SHOP_TEXT},
                                               {"sample", SHOP_TEXT},   {NULL, 0}};

const struct shop_items shop_items[SHOP_LISTS] = {
    [SHOP_RINGS] = {"rings", "ring", "keep-ring", "forget-ring", "opening", of_ring},
    [SHOP_BITS] = {"bits", "bit", "keep-bit", "forget-bit", NULL, of_bit},
    [SHOP_STOCK] = {"stock", "stock", "keep-stock", "forget-stock", "size", of_stock},
    [SHOP_PAIRS] = {"pairs", "pair", "keep-pair", "forget-pair", NULL, of_pair},
    [SHOP_PRESETS] = {"presets", "preset", "keep", "forget", "height", of_preset},
};

static const cJSON *member(const cJSON *item, const char *name)
{
    return cJSON_GetObjectItemCaseSensitive(item, name);
}

static const char *text_of(const cJSON *item, const char *name)
{
    const cJSON *text = member(item, name);
    return cJSON_IsString(text) ? text->valuestring : "";
}

static bool nm_of(const cJSON *item, const char *name, int64_t *nm)
{
    char name_nm[48];
    (void)snprintf(name_nm, sizeof name_nm, "%s_nm", name);
    const cJSON *number = member(item, name_nm);
    *nm = cJSON_IsNumber(number) ? (int64_t)number->valuedouble : 0;
    return cJSON_IsNumber(number);
}

/* --- Typed --- */

/* "cutting-length" is typed for "cutting_length". */
static bool is_called(const char *typed, const char *name)
{
    for (; *typed != '\0' && (*typed == *name || (*typed == '-' && *name == '_')); typed++) {
        name++;
    }
    return *typed == '\0' && *name == '\0';
}

static const struct shop_member *member_called(const struct shop_items *items, const char *typed)
{
    const struct shop_member *m = items->members;
    while (m->name && !is_called(typed, m->name)) {
        m++;
    }
    return m->name ? m : NULL;
}

/* As it is typed and shown; the protocol's own names have no dashes. */
static void shown_name(const char *name, char *out, size_t size)
{
    (void)snprintf(out, size, "%s", name);
    for (char *at = strchr(out, '_'); at; at = strchr(at, '_')) {
        *at = '-';
    }
}

static bool no_such_member(const struct shop_items *items, const char *typed, char *why)
{
    int used = snprintf(why, SHOP_ITEMS_WHY, "'%.40s' is nothing that a %s has; it can be", typed,
                        items->word);
    for (const struct shop_member *m = items->members; m->name; m++) {
        char name[MEMBER_SIZE];
        shown_name(m->name, name, sizeof name);
        used += snprintf(why + used, (size_t)(SHOP_ITEMS_WHY - used), "%s %s",
                         m == items->members ? "" : ",", name);
    }
    return false;
}

static bool take_flag(const struct shop_member *m, const char *word, cJSON *params, char *why)
{
    bool yes = strcmp(word, "yes") == 0;
    if (!yes && strcmp(word, "no") != 0) {
        (void)snprintf(why, SHOP_ITEMS_WHY, "%s can be yes or no", m->name);
        return false;
    }
    return cJSON_AddBoolToObject(params, m->name, yes) != NULL;
}

static bool take_count(const struct shop_member *m, const char *word, cJSON *params, char *why)
{
    char *end;
    long number = strtol(word, &end, 10);
    if (end == word || *end != '\0' || number < 0 || number > 1000000) {
        (void)snprintf(why, SHOP_ITEMS_WHY, "%s is a whole number", m->name);
        return false;
    }
    return cJSON_AddNumberToObject(params, m->name, (double)number) != NULL;
}

static bool take_length(const struct shop_member *m, int count, char *const *word,
                        enum length_style style, cJSON *params, char *why)
{
    int64_t nm;
    char what[64];
    (void)snprintf(what, sizeof what, "a %s, such as 1/2in", m->name);
    return words_length(count, word, words_bare(style), what, &nm, why) &&
           words_add_length(params, m->name, nm);
}

static bool take_value(const struct shop_member *m, char *const *word, enum length_style style,
                       cJSON *params, char *why)
{
    switch (m->type) {
    case SHOP_LENGTH:
        return take_length(m, 1, word, style, params, why);
    case SHOP_COUNT:
        return take_count(m, *word, params, why);
    case SHOP_FLAG:
        return take_flag(m, *word, params, why);
    default:
        return cJSON_AddStringToObject(params, m->name, *word) != NULL;
    }
}

bool shop_items_take(const struct shop_items *items, int count, char *const *word,
                     enum length_style style, cJSON *params, char *why)
{
    (void)snprintf(why, SHOP_ITEMS_WHY, "there is no memory left");
    if (items->main && count > 0 && words_is_height(word[0])) {
        return take_length(member_called(items, items->main), count, word, style, params, why);
    }
    for (int i = 0; i < count; i += 2) {
        const struct shop_member *m = member_called(items, word[i]);
        if (!m) {
            return no_such_member(items, word[i], why);
        }
        if (i + 1 == count) {
            (void)snprintf(why, SHOP_ITEMS_WHY, "behind '%.40s' its value is missing", word[i]);
            return false;
        }
        if (member(params, m->name)) {
            (void)snprintf(why, SHOP_ITEMS_WHY, "'%.40s' is there twice", word[i]);
            return false;
        }
        if (!take_value(m, word + i + 1, style, params, why)) {
            return false;
        }
    }
    return true;
}

/* --- Plain, and compared --- */

cJSON *shop_items_plain(const struct shop_items *items, const cJSON *item)
{
    cJSON *plain = cJSON_CreateObject();
    bool whole = cJSON_AddStringToObject(plain, "name", text_of(item, "name")) != NULL;
    for (const struct shop_member *m = items->members; m->name && whole; m++) {
        const cJSON *value = member(item, m->name);
        if (value) {
            whole = cJSON_AddItemToObject(plain, m->name, cJSON_Duplicate(value, true));
        }
    }
    /* Left out, these would be taken from the lift that it is brought to. */
    if (whole && items == &shop_items[SHOP_PRESETS]) {
        whole = (member(plain, "bit") || cJSON_AddStringToObject(plain, "bit", "")) &&
                (member(plain, "riding") || cJSON_AddStringToObject(plain, "riding", "0mm"));
    }
    if (!whole) {
        cJSON_Delete(plain);
        return NULL;
    }
    return plain;
}

static bool same_length(const cJSON *one, const cJSON *other)
{
    int64_t a;
    int64_t b;
    struct length_fault fault;
    return cJSON_IsString(one) && cJSON_IsString(other) &&
           length_parse(one->valuestring, LENGTH_BARE_REFUSED, &a, &fault) &&
           length_parse(other->valuestring, LENGTH_BARE_REFUSED, &b, &fault) && a == b;
}

static bool same_member(const struct shop_member *m, const cJSON *one, const cJSON *other)
{
    const cJSON *a = member(one, m->name);
    const cJSON *b = member(other, m->name);
    if (!a || !b) {
        return !a && !b;
    }
    return (m->type == SHOP_LENGTH && same_length(a, b)) || cJSON_Compare(a, b, true);
}

bool shop_items_same(const struct shop_items *items, const cJSON *one, const cJSON *other)
{
    for (const struct shop_member *m = items->members; m->name; m++) {
        if (!same_member(m, one, other)) {
            return false;
        }
    }
    return true;
}

static void add_value(struct say *say, const cJSON *value)
{
    if (cJSON_IsString(value)) {
        say_harmless(say, value->valuestring[0] != '\0' ? value->valuestring : "none");
    } else if (cJSON_IsNumber(value)) {
        say_add(say, "%.0f", value->valuedouble);
    } else {
        say_add(say, "%s", cJSON_IsTrue(value) ? "yes" : value ? "no" : "not said");
    }
}

void shop_items_changes(struct say *say, const struct shop_items *items, const cJSON *now,
                        const cJSON *file)
{
    for (const struct shop_member *m = items->members; m->name; m++) {
        if (!same_member(m, now, file)) {
            say_add(say, "      %s: ", m->name);
            add_value(say, member(now, m->name));
            say_add(say, ", and in the file ");
            add_value(say, member(file, m->name));
            say_add(say, "\n");
        }
    }
}

/* --- Shown --- */

double shop_items_rim_m_s(double diameter_nm, double turns_min)
{
    return 3.14159265358979323846 * diameter_nm * 1e-9 * turns_min / 60;
}

void shop_items_speed(struct say *say, const cJSON *bit)
{
    int64_t diameter_nm;
    const cJSON *advice = member(bit, "speed_advice");
    const cJSON *marked = member(bit, "speed_most");
    if (!cJSON_IsNumber(advice) || !nm_of(bit, "diameter", &diameter_nm) ||
        strcmp(text_of(bit, "kind"), "pin") == 0) {
        return;
    }
    bool by_mark = cJSON_IsNumber(marked) && marked->valuedouble == advice->valuedouble;
    double m_s = shop_items_rim_m_s((double)diameter_nm, advice->valuedouble);
    say_wrap(say, "Speed:", SAY_INDENT,
             "at most %.0f turns a minute, by %s; its rim then runs at %.1f m/s (%.0f ft/s)",
             advice->valuedouble,
             by_mark ? "what is marked on it" : "its diameter, as charts commonly have it", m_s,
             m_s / 0.3048);
    say_wrap(say, "", SAY_INDENT,
             "%sThe marking on the bit, its maker's word and the router's manual come first. "
             "Begin slower; look at the bit for cracks and dull edges, with the router unplugged.",
             cJSON_IsNumber(marked) ? "" : "No marking is kept of it: look for one. ");
}

/* A bit's line: what it is, how wide, how fast. */
static void add_bit(struct say *say, const cJSON *item, enum length_style style)
{
    int64_t nm;
    char text[SAY_LENGTH_SIZE];
    const cJSON *advice = member(item, "speed_advice");
    say_harmless(say, text_of(item, "kind"));
    if (nm_of(item, "diameter", &nm)) {
        say_both(nm, style, text, sizeof text);
        say_add(say, ", %s", text);
    }
    if (cJSON_IsNumber(advice) && strcmp(text_of(item, "kind"), "pin") != 0) {
        say_add(say, ", at most %.0f/min", advice->valuedouble);
    }
    say_add(say, "%s", cJSON_IsTrue(member(item, "ground")) ? ", GROUND: measure it" : "");
}

static void add_pair(struct say *say, const cJSON *item, enum length_style style)
{
    int64_t nm;
    char text[SAY_LENGTH_SIZE];
    (void)nm_of(item, "difference", &nm);
    say_both(nm < 0 ? -nm : nm, style, text, sizeof text);
    say_harmless(say, text_of(item, "second"));
    say_add(say, " stands %s %s than ", text, nm < 0 ? "lower" : "higher");
    say_harmless(say, text_of(item, "first"));
    say_add(say, "%s", cJSON_IsTrue(member(item, "recompute")) ? ", GROUND: find it anew" : "");
}

void shop_items_line(struct say *say, const struct shop_items *items, const cJSON *item,
                     enum length_style style)
{
    int64_t nm;
    char text[SAY_LENGTH_SIZE];
    say_add(say, "  ");
    say_harmless(say, text_of(item, "name"));
    say_add(say, ": ");
    if (items == &shop_items[SHOP_BITS]) {
        add_bit(say, item, style);
    } else if (items == &shop_items[SHOP_PAIRS]) {
        add_pair(say, item, style);
    } else if (nm_of(item, items->main, &nm)) {
        say_both(nm, style, text, sizeof text);
        say_add(say, "%s", text);
    }
    say_add(say, "%s\n",
            member(item, "gone") ? "   (names what is not in the lists any more)" : "");
}

void shop_items_all(struct say *say, const struct shop_items *items, const cJSON *item,
                    enum length_style style)
{
    say_harmless(say, text_of(item, "name"));
    say_add(say, ", %s%s\n", items == &shop_items[SHOP_STOCK] ? "" : "a ", items->word);
    for (const struct shop_member *m = items->members; m->name; m++) {
        int64_t nm;
        char text[SAY_LENGTH_SIZE];
        char name[MEMBER_SIZE];
        const cJSON *value = member(item, m->name);
        if (!value) {
            continue;
        }
        shown_name(m->name, name, sizeof name);
        say_add(say, "  %s: ", name);
        if (m->type == SHOP_LENGTH && nm_of(item, m->name, &nm)) {
            say_exact(nm, style, text, sizeof text);
            say_add(say, "%s", text);
        } else {
            add_value(say, value);
        }
        say_add(say, "\n");
    }
    if (items == &shop_items[SHOP_BITS]) {
        if (cJSON_IsFalse(member(item, "steps"))) {
            say_wrap(say, "Passes:", SAY_INDENT,
                     "none of growing height: its profile would be spoilt. Waste the cut first "
                     "with a straight bit, or go by the fence.");
        }
        shop_items_speed(say, item);
    }
}
