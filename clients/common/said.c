/* SPDX-License-Identifier: MIT */
#include "clients/common/said.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

bool said_wrong(struct said *said, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(said->why, sizeof said->why, format, arguments);
    va_end(arguments);
    return false;
}

static int named(const struct said *said, const char *word)
{
    int at = 0;
    while (at < said->count && strcmp(said->name[at], word) != 0) {
        at++;
    }
    return at;
}

static bool take_value(struct said *said, int at, int count, char *const *word)
{
    if (said_is(said, at)) {
        return said_wrong(said, "'%s' is said twice", said->name[at]);
    }
    if (count == 0) {
        return said_wrong(said, "'%s' is followed by its value", said->name[at]);
    }
    if (!words_join(count, word, said->value[at], WORDS_SIZE) || !said_is(said, at)) {
        return said_wrong(said, "what follows '%s' is too long, or empty", said->name[at]);
    }
    return true;
}

bool said_take(struct said *said, int count, char *const *word, const char *expected)
{
    for (int i = 0; i < count;) {
        int at = named(said, word[i]);
        if (at == said->count) {
            return said_wrong(said, "'%.40s' can be %s", word[i], expected);
        }
        int end = i + 1;
        while (end < count && named(said, word[end]) == said->count) {
            end++;
        }
        if (!take_value(said, at, end - i - 1, word + i + 1)) {
            return false;
        }
        i = end;
    }
    return true;
}

bool said_length(struct said *said, int at, enum length_bare bare, const char *what, int64_t *nm)
{
    char *word = said->value[at];
    return !said_is(said, at) || words_length(1, &word, bare, what, nm, said->why);
}
