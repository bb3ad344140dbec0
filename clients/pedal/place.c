/* SPDX-License-Identifier: MIT */
#include "clients/pedal/place.h"

#include <stdbool.h>
#include <string.h>

/* Blanks, and what stands between two values. */
static const char *past_between(const char *at)
{
    return at + strspn(at, " \t\r\n,:");
}

static const char *past_string(const char *at)
{
    for (at++; *at != '"'; at++) {
        at += *at == '\\';
    }
    return at + 1;
}

/* Behind the item that begins at *at; true when `item` is it or in it, *at is then its beginning.
 * The scan has bounded the depth. */
static bool walk(const char **at, const cJSON *here, const cJSON *item)
{
    *at = past_between(*at);
    if (here == item) {
        return true;
    }
    if (here->string) {
        *at = past_between(past_string(*at));
    }
    if (cJSON_IsString(here)) {
        *at = past_string(*at);
    } else if (cJSON_IsObject(here) || cJSON_IsArray(here)) {
        (*at)++;
        for (const cJSON *child = here->child; child; child = child->next) {
            if (walk(at, child, item)) {
                return true;
            }
        }
        *at = past_between(*at) + 1;
    } else {
        *at += strcspn(*at, " \t\r\n,]}");
    }
    return false;
}

unsigned place_line(const char *text, const cJSON *root, const cJSON *item)
{
    unsigned line = 1;
    const char *at = text;
    if (!walk(&at, root, item)) {
        return 1;
    }
    for (const char *here = text; here < at; here++) {
        line += *here == '\n';
    }
    return line;
}
