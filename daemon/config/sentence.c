/* SPDX-License-Identifier: MIT */
#include "daemon/config/sentence.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "protocol/length.h"

enum {
    NAME_SHOWN_MAX = 96,  /* bytes of the file's name, its end, which tells more than its start */
    FOUND_SHOWN_MAX = 44, /* bytes of what was typed; the rest is three points */
    NM_PER_64TH = LENGTH_NM_PER_IN / 64,
};

/* The place: "NAME:LINE: ", and without a line "NAME: ". */
static size_t write_place(const struct sentence_source *source, unsigned line)
{
    struct config_fault *fault = source->fault;
    size_t length = strlen(source->name);
    bool cut = length > NAME_SHOWN_MAX;
    const char *name = source->name + (cut ? length - NAME_SHOWN_MAX : 0);
    int used =
        line > 0
            ? snprintf(fault->text, sizeof fault->text, "%s%s:%u: ", cut ? "..." : "", name, line)
            : snprintf(fault->text, sizeof fault->text, "%s%s: ", cut ? "..." : "", name);
    for (char *letter = fault->text; *letter != '\0'; letter++) {
        *letter = (unsigned char)*letter < 0x20 || *letter == 0x7f ? '?' : *letter;
    }
    return used > 0 ? (size_t)used : 0;
}

static unsigned line_of(const struct sentence_source *source, size_t at)
{
    if (at == SENTENCE_WHOLE_FILE) {
        return 0;
    }
    unsigned line = 1;
    for (size_t i = 0; i < at && i < source->size; i++) {
        line += source->text[i] == '\n';
    }
    return line;
}

bool sentence_refuse(const struct sentence_source *source, size_t at, const char *format, ...)
{
    struct config_fault *fault = source->fault;
    fault->line = line_of(source, at);
    char *words = fault->text + write_place(source, fault->line);
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(words, sizeof fault->text - (size_t)(words - fault->text), format, arguments);
    va_end(arguments);
    for (; *words != '\0'; words++) {
        *words = *words >= 0x20 && *words < 0x7f ? *words : '?';
    }
    return false;
}

const char *sentence_found(const struct sentence_source *source, struct locate_span span,
                           char out[SENTENCE_FOUND_SIZE])
{
    const char *typed = source->text + span.at;
    if (*typed == '{' || *typed == '[') {
        (void)snprintf(out, SENTENCE_FOUND_SIZE, "%s",
                       *typed == '{' ? "a group { }" : "a list [ ]");
    } else if (span.size <= FOUND_SHOWN_MAX) {
        (void)snprintf(out, SENTENCE_FOUND_SIZE, "%.*s", (int)span.size, typed);
    } else {
        (void)snprintf(out, SENTENCE_FOUND_SIZE, "%.*s...%s", FOUND_SHOWN_MAX, typed,
                       *typed == '"' ? "\"" : "");
    }
    return out;
}

const char *sentence_length(int64_t nm, bool in_mm, bool up, char out[SENTENCE_LENGTH_SIZE])
{
    bool fraction = !in_mm && nm % NM_PER_64TH == 0;
    int64_t grain = in_mm ? LENGTH_NM_PER_MM / 1000 : LENGTH_NM_PER_IN / 10000;
    if (!fraction) {
        nm = (nm + (up ? grain - 1 : 0)) / grain * grain;
    }
    char length[LENGTH_TEXT_SIZE];
    enum length_style decimal = in_mm ? LENGTH_STYLE_MM : LENGTH_STYLE_IN;
    (void)length_print(nm, fraction ? LENGTH_STYLE_64 : decimal, length, sizeof length);
    /* A fraction is printed bare below one and where it is mixed, and so is nothing at all. */
    bool bare = fraction && strchr(length, 'i') == NULL;
    (void)snprintf(out, SENTENCE_LENGTH_SIZE, "%s%s", length, bare ? "in" : "");
    return out;
}

/* "1, 2, 4 or 8" */
static void write_choices(const int64_t *choices, char *out, size_t size)
{
    size_t used = 0;
    for (size_t i = 0; choices[i] != 0; i++) {
        const char *before = i == 0 ? "" : choices[i + 1] == 0 ? " or " : ", ";
        int wrote = snprintf(out + used, size - used, "%s%" PRId64, before, choices[i]);
        used += wrote > 0 ? (size_t)wrote : 0;
        used = used < size ? used : size - 1;
    }
}

/* "a", "b" or "c", each in quotes. */
static void write_words(const char *const *words, char *out, size_t size)
{
    size_t used = 0;
    for (size_t i = 0; words[i] != NULL; i++) {
        const char *before = i == 0 ? "" : words[i + 1] == NULL ? " or " : ", ";
        int wrote = snprintf(out + used, size - used, "%s\"%s\"", before, words[i]);
        used += wrote > 0 ? (size_t)wrote : 0;
        used = used < size ? used : size - 1;
    }
}

const char *sentence_wanted(const struct table_entry *entry, bool in_mm,
                            char out[SENTENCE_WANTED_SIZE])
{
    char least[SENTENCE_LENGTH_SIZE];
    char most[SENTENCE_LENGTH_SIZE];
    switch (entry->kind) {
    case TABLE_IS_LENGTH:
        (void)snprintf(out, SENTENCE_WANTED_SIZE,
                       "a length from %s to %s, in quotes and with its unit as in %s,",
                       sentence_length(entry->least, in_mm, true, least),
                       sentence_length(entry->most, in_mm, false, most), entry->example);
        break;
    case TABLE_IS_SPEED:
    case TABLE_IS_ACCELERATION:
        (void)snprintf(out, SENTENCE_WANTED_SIZE, "a length a second%s, in quotes as in %s,",
                       entry->kind == TABLE_IS_SPEED ? "" : " squared", entry->example);
        break;
    case TABLE_IS_WHOLE:
        (void)snprintf(out, SENTENCE_WANTED_SIZE,
                       "a whole number from %" PRId64 " to %" PRId64 ", without quotes,",
                       entry->least, entry->most);
        break;
    case TABLE_IS_CHOICE:
        write_choices(entry->choices, out, SENTENCE_WANTED_SIZE);
        break;
    case TABLE_IS_WORD:
        write_words(entry->words, out, SENTENCE_WANTED_SIZE);
        break;
    case TABLE_IS_PATH:
        (void)snprintf(out, SENTENCE_WANTED_SIZE,
                       "a path from / on, at most %" PRId64
                       " bytes long and with no / at its end, as in %s,",
                       entry->most, entry->example);
        break;
    }
    return out;
}
