/* SPDX-License-Identifier: MIT */
#include "clients/common/say.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { SENTENCE_SIZE = 1024 };

void say_add(struct say *say, const char *format, ...)
{
    size_t room = sizeof say->text - say->used;
    va_list arguments;
    va_start(arguments, format);
    int size = vsnprintf(say->text + say->used, room, format, arguments);
    va_end(arguments);
    if (size > 0) {
        say->used += (size_t)size < room ? (size_t)size : room - 1;
    }
}

/* Bytes of the control character that begins here: 0 is none, 2 is U+0080 to U+009F in UTF-8. */
static size_t control_size(const char *text)
{
    unsigned char first = (unsigned char)text[0];
    unsigned char second = first == '\0' ? 0 : (unsigned char)text[1];
    if (first < ' ' || first == 0x7f) {
        return 1;
    }
    return first == 0xc2 && second >= 0x80 && second <= 0x9f ? 2 : 0;
}

static void add_byte(struct say *say, char byte)
{
    if (say->used < sizeof say->text - 1) {
        say->text[say->used++] = byte;
        say->text[say->used] = '\0';
    }
}

/* Copies a word, made harmless, and returns the columns that it takes. */
static size_t add_word(struct say *say, const char *word, size_t size)
{
    size_t columns = 0;
    for (size_t i = 0; i < size; i++) {
        size_t control = control_size(word + i);
        bool goes_on = ((unsigned char)word[i] & 0xc0) == 0x80; /* inside a UTF-8 character */
        if (control > 0) {
            add_byte(say, '?');
            i += control - 1;
        } else {
            add_byte(say, word[i]);
        }
        columns += control > 0 || !goes_on;
    }
    return columns;
}

static size_t word_columns(const char *word, size_t size)
{
    size_t columns = 0;
    for (size_t i = 0; i < size; i++) {
        columns += ((unsigned char)word[i] & 0xc0) != 0x80;
    }
    return columns;
}

void say_harmless(struct say *say, const char *text)
{
    (void)add_word(say, text, strlen(text));
}

size_t say_columns(const char *text)
{
    return word_columns(text, strlen(text));
}

void say_paragraph(struct say *say, const char *label, size_t indent, const char *text)
{
    say_add(say, "%-*s", (int)indent, label);
    size_t column = strlen(label) > indent ? strlen(label) : indent;
    bool first = true;
    for (text += strspn(text, " "); *text != '\0'; text += strspn(text, " ")) {
        size_t size = strcspn(text, " ");
        size_t columns = word_columns(text, size);
        if (!first && column + 1 + columns > SAY_COLUMNS) {
            say_add(say, "\n%*s", (int)indent, "");
            column = indent;
        } else if (!first) {
            say_add(say, " ");
            column++;
        }
        column += add_word(say, text, size);
        text += size;
        first = false;
    }
    say_add(say, "\n");
}

void say_wrap(struct say *say, const char *label, size_t indent, const char *format, ...)
{
    char sentence[SENTENCE_SIZE];
    va_list arguments;
    va_start(arguments, format);
    int size = vsnprintf(sentence, sizeof sentence, format, arguments);
    va_end(arguments);
    say_paragraph(say, label, indent, size < 0 ? "" : sentence);
}

/* A fraction is printed bare; nothing that a person reads here is. */
static void add_unit(char *text, size_t size)
{
    size_t used = strlen(text);
    bool bare = used > 0 && text[used - 1] >= '0' && text[used - 1] <= '9';
    if (bare && strcmp(text, "0") != 0 && used + 2 < size) {
        memcpy(text + used, "in", 3);
    }
}

bool say_is_zero(int64_t nm)
{
    return nm < 500 && nm > -500;
}

void say_length(int64_t nm, enum length_style style, char *out, size_t out_size)
{
    (void)length_print(nm, style, out, out_size);
    add_unit(out, out_size);
}

enum length_style say_small_style(enum length_style style)
{
    return style == LENGTH_STYLE_MM ? LENGTH_STYLE_MM : LENGTH_STYLE_IN;
}

void say_other(int64_t nm, enum length_style style, char *out, size_t out_size)
{
    enum length_style other = style == LENGTH_STYLE_MM ? LENGTH_STYLE_IN : LENGTH_STYLE_MM;
    say_length(nm, other, out, out_size);
}

void say_both(int64_t nm, enum length_style style, char *out, size_t out_size)
{
    char text[LENGTH_TEXT_SIZE + 2];
    char other[LENGTH_TEXT_SIZE + 2];
    say_length(nm, style, text, sizeof text);
    say_other(nm, style, other, sizeof other);
    if (say_is_zero(nm)) {
        (void)snprintf(out, out_size, "0");
    } else {
        (void)snprintf(out, out_size, "%s (%s)", text, other);
    }
}

void say_exact(int64_t nm, enum length_style style, char *out, size_t out_size)
{
    char text[LENGTH_TEXT_SIZE + 2];
    char exact[LENGTH_TEXT_SIZE];
    (void)length_print_exact(nm, exact, sizeof exact);
    if (nm == 0) {
        (void)snprintf(out, out_size, "0");
    } else if (style == LENGTH_STYLE_MM) {
        say_other(nm, style, text, sizeof text);
        (void)snprintf(out, out_size, "%s (%s)", exact, text);
    } else {
        say_length(nm, style, text, sizeof text);
        (void)snprintf(out, out_size, "%s (%s)", text, exact);
    }
}
