/* SPDX-License-Identifier: MIT */
#include "protocol/json.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    END_OF_TEXT = -1,
    NAME_SHOWN_MAX = 32,      /* bytes of a name that a fault repeats */
    END_OF_STRING = 0x110000, /* what read_character gives for the closing quote */
};

/* A place in the text. */
struct cursor {
    const char *text;
    size_t size;
    size_t at;
    struct json_fault *fault;
};

/* A name of an open object. */
struct name {
    size_t at;     /* of its first character, behind the quote */
    uint32_t hash; /* of its unescaped characters */
};

struct scan {
    struct cursor cursor;
    unsigned depth;
    size_t name_count;
    struct name names[JSON_MEMBERS_MAX]; /* of all open objects, the outermost first */
};

static bool scan_value(struct scan *scan);

/* Puts the fault together, fit for any terminal. Always false, so that it can be returned. */
REGLET_PRINTF(3, 4)
static bool refuse(const struct cursor *cursor, size_t at, const char *format, ...)
{
    struct json_fault *fault = cursor->fault;
    fault->at = at;
    fault->line = 1;
    for (size_t i = 0; i < at; i++) {
        fault->line += cursor->text[i] == '\n';
    }
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(fault->text, sizeof fault->text, format, arguments);
    va_end(arguments);
    for (char *letter = fault->text; *letter != '\0'; letter++) {
        *letter = *letter >= 0x20 && *letter < 0x7f ? *letter : '?';
    }
    return false;
}

static int byte_at(const struct cursor *cursor, size_t at)
{
    return at < cursor->size ? (unsigned char)cursor->text[at] : END_OF_TEXT;
}

static int next_byte(const struct cursor *cursor)
{
    return byte_at(cursor, cursor->at);
}

/* "found X ...", for the byte that stands there. */
static bool refuse_at(const struct cursor *cursor, size_t at, const char *rest)
{
    int byte = byte_at(cursor, at);
    if (byte == END_OF_TEXT) {
        return refuse(cursor, at, "found the end of the text %s", rest);
    }
    return refuse(cursor, at, byte > 0x20 && byte < 0x7f ? "found '%c' %s" : "found byte 0x%02x %s",
                  byte, rest);
}

/* Steps over one byte if it stands there. */
static bool accept(struct cursor *cursor, char byte)
{
    bool there = next_byte(cursor) == byte;
    cursor->at += there;
    return there;
}

static void skip_space(struct cursor *cursor)
{
    int byte = next_byte(cursor);
    while (byte == ' ' || byte == '\n' || byte == '\t' || byte == '\r') {
        byte = byte_at(cursor, ++cursor->at);
    }
}

/* One UTF-8 sequence of two to four bytes, by the table of RFC 3629 section 4. */
static bool read_sequence(struct cursor *cursor, uint32_t *code)
{
    int lead = next_byte(cursor);
    size_t length = lead < 0xe0 ? 2 : lead < 0xf0 ? 3 : 4;
    bool good = lead >= 0xc2 && lead <= 0xf4;
    /* The second byte's range keeps out overlong forms, surrogates and all beyond U+10FFFF. */
    int low = lead == 0xe0 ? 0xa0 : lead == 0xf0 ? 0x90 : 0x80;
    int high = lead == 0xed ? 0x9f : lead == 0xf4 ? 0x8f : 0xbf;
    *code = (uint32_t)lead & (0x7fu >> length);
    for (size_t i = 1; good && i < length; i++) {
        int byte = byte_at(cursor, cursor->at + i);
        good = byte >= low && byte <= high;
        *code = *code << 6 | ((uint32_t)byte & 0x3f);
        low = 0x80;
        high = 0xbf;
    }
    if (!good) {
        return refuse_at(cursor, cursor->at,
                         "that begins no UTF-8 character; the text must be UTF-8");
    }
    cursor->at += length;
    return true;
}

/* \u and four digits, with the cursor on its backslash. */
static bool read_unit(struct cursor *cursor, uint32_t *unit)
{
    static const char digits[] = "0123456789abcdefABCDEF";
    *unit = 0;
    for (size_t i = 2; i < 6; i++) {
        int byte = byte_at(cursor, cursor->at + i);
        const char *digit = byte > 0 ? strchr(digits, byte) : NULL;
        if (digit == NULL) {
            return refuse_at(cursor, cursor->at + i, "in \\u, which wants four digits 0-9 a-f");
        }
        uint32_t value = (uint32_t)(digit - digits);
        *unit = *unit << 4 | (value < 16 ? value : value - 6);
    }
    cursor->at += 6;
    return true;
}

static bool read_unicode_escape(struct cursor *cursor, uint32_t *code)
{
    size_t start = cursor->at;
    if (!read_unit(cursor, code)) {
        return false;
    }
    if (*code == 0) {
        return refuse(cursor, start, "found \\u0000; no string here can hold a NUL");
    }
    if (*code < 0xd800 || *code > 0xdfff) {
        return true;
    }
    uint32_t low = 0;
    bool pair =
        *code < 0xdc00 && next_byte(cursor) == '\\' && byte_at(cursor, cursor->at + 1) == 'u';
    if (pair && !read_unit(cursor, &low)) {
        return false;
    }
    if (low < 0xdc00 || low > 0xdfff) {
        return refuse(cursor, start, "found half a surrogate pair; its other half is wanted too");
    }
    *code = 0x10000 + ((*code - 0xd800) << 10 | (low - 0xdc00));
    return true;
}

static bool read_escape(struct cursor *cursor, uint32_t *code)
{
    static const char letters[] = "\"\\/bfnrt";
    static const char meant[] = "\"\\/\b\f\n\r\t";
    int byte = byte_at(cursor, cursor->at + 1);
    if (byte == 'u') {
        return read_unicode_escape(cursor, code);
    }
    const char *letter = byte > 0 ? strchr(letters, byte) : NULL;
    if (letter == NULL) {
        return refuse_at(cursor, cursor->at + 1,
                         "behind a backslash; one of \" \\ / b f n r t u can stand there");
    }
    *code = (uint32_t)meant[letter - letters];
    cursor->at += 2;
    return true;
}

static bool refuse_raw(const struct cursor *cursor, int byte)
{
    if (byte == END_OF_TEXT || byte == '\n') {
        return refuse(cursor, cursor->at, "found the end of the %s in a string; close it with \"",
                      byte == '\n' ? "line" : "text");
    }
    return refuse(cursor, cursor->at,
                  byte == 0 ? "found byte 0x%02x; no string here can hold a NUL"
                            : "found control byte 0x%02x in a string; write it as an escape",
                  (unsigned)byte);
}

/* The next character of a string, unescaped, or END_OF_STRING. */
static bool read_character(struct cursor *cursor, uint32_t *code)
{
    int byte = next_byte(cursor);
    if (byte < 0x20) {
        return refuse_raw(cursor, byte);
    }
    if (byte == '\\') {
        return read_escape(cursor, code);
    }
    if (byte >= 0x80) {
        return read_sequence(cursor, code);
    }
    *code = byte == '"' ? (uint32_t)END_OF_STRING : (uint32_t)byte;
    cursor->at++;
    return true;
}

/* With the cursor on the opening quote. The hash is FNV-1a, taken over characters. */
static bool scan_string(struct cursor *cursor, uint32_t *hash)
{
    uint32_t code = 0;
    *hash = 2166136261u;
    cursor->at++;
    while (read_character(cursor, &code)) {
        if (code == END_OF_STRING) {
            return true;
        }
        *hash = (*hash ^ code) * 16777619u;
    }
    return false;
}

/* Compares two names that were scanned before, character by character. */
static bool same_name(const struct cursor *cursor, const struct name *a, const struct name *b)
{
    struct cursor one = *cursor;
    struct cursor other = *cursor;
    one.at = a->at;
    other.at = b->at;
    uint32_t x = 0;
    uint32_t y = 0;
    while (read_character(&one, &x) && read_character(&other, &y) && x == y) {
        if (x == END_OF_STRING) {
            return true;
        }
    }
    return false;
}

/* The names of this object begin at `first`. */
static bool scan_name(struct scan *scan, size_t first)
{
    struct cursor *cursor = &scan->cursor;
    if (next_byte(cursor) != '"') {
        return refuse_at(cursor, cursor->at, "where a name in double quotes is wanted");
    }
    if (scan->name_count == JSON_MEMBERS_MAX) {
        return refuse(cursor, cursor->at, "found more than %d names in the objects open here",
                      JSON_MEMBERS_MAX);
    }
    struct name *name = &scan->names[scan->name_count];
    name->at = cursor->at + 1;
    if (!scan_string(cursor, &name->hash)) {
        return false;
    }
    size_t length = cursor->at - 1 - name->at;
    for (size_t i = first; i < scan->name_count; i++) {
        if (scan->names[i].hash == name->hash && same_name(cursor, &scan->names[i], name)) {
            return refuse(cursor, name->at - 1,
                          "found the name \"%.*s\" a second time in one object; use it once",
                          length > NAME_SHOWN_MAX ? NAME_SHOWN_MAX : (int)length,
                          cursor->text + name->at);
        }
    }
    scan->name_count++;
    return true;
}

static bool scan_member(struct scan *scan, size_t first)
{
    struct cursor *cursor = &scan->cursor;
    if (!scan_name(scan, first)) {
        return false;
    }
    skip_space(cursor);
    if (!accept(cursor, ':')) {
        return refuse_at(cursor, cursor->at, "behind a name, where : is wanted");
    }
    return scan_value(scan);
}

/* What stands behind a member or an element: the end of its container, or a comma. */
static bool scan_separator(struct cursor *cursor, char close, bool *end)
{
    skip_space(cursor);
    *end = accept(cursor, close);
    if (*end) {
        return true;
    }
    size_t comma = cursor->at;
    if (!accept(cursor, ',')) {
        return refuse_at(cursor, comma,
                         close == ']' ? "where , or ] is wanted" : "where , or } is wanted");
    }
    skip_space(cursor);
    if (next_byte(cursor) == close) {
        return refuse(cursor, comma, "found a comma before %c; take it away", close);
    }
    return true;
}

/* With the cursor on the opening bracket. */
static bool scan_container(struct scan *scan, char close)
{
    struct cursor *cursor = &scan->cursor;
    size_t first = scan->name_count;
    if (scan->depth == JSON_DEPTH_MAX) {
        return refuse(cursor, cursor->at,
                      "found brackets %d deep; at most %d can enclose each other",
                      JSON_DEPTH_MAX + 1, JSON_DEPTH_MAX);
    }
    scan->depth++;
    cursor->at++;
    skip_space(cursor);
    bool end = accept(cursor, close);
    while (!end) {
        bool good = close == '}' ? scan_member(scan, first) : scan_value(scan);
        if (!good || !scan_separator(cursor, close, &end)) {
            return false;
        }
    }
    scan->depth--;
    scan->name_count = first;
    return true;
}

static bool scan_digits(struct cursor *cursor, const char *else_found)
{
    size_t start = cursor->at;
    while (next_byte(cursor) >= '0' && next_byte(cursor) <= '9') {
        cursor->at++;
    }
    return cursor->at > start || refuse_at(cursor, start, else_found);
}

/* Whether a number by the grammar, of at most JSON_NUMBER_MAX bytes, lies outside +-(2^53 - 1).
 * Decided by its digits, so exact and in any locale: its size is 0.DIGITS times ten to the point,
 * without zeros at either end. */
static bool beyond_exact(const char *text, size_t size)
{
    static const char most[] = "9007199254740991";
    const double most_point = sizeof most - 1;
    char digits[JSON_NUMBER_MAX + 1] = {0};
    memcpy(digits, text, size);
    char *end = digits + strcspn(digits, "eE");
    double point = *end == '\0' ? 0 : strtod(end + 1, NULL); /* exact where it matters, or huge */
    size_t count = 0;
    bool fraction = false;
    for (const char *next = digits; next < end; next++) {
        if (*next == '.') {
            fraction = true;
        } else if (*next != '-' && (count > 0 || *next != '0')) {
            digits[count++] = *next;
            point += !fraction;
        } else {
            point -= fraction;
        }
    }
    while (count > 0 && digits[count - 1] == '0') {
        count--;
    }
    digits[count] = '\0';
    return count > 0 && (point > most_point || (point == most_point && strcmp(digits, most) > 0));
}

static bool scan_number(struct cursor *cursor)
{
    size_t start = cursor->at;
    (void)accept(cursor, '-');
    size_t whole = cursor->at;
    if (!scan_digits(cursor, "behind a minus sign, where a digit is wanted")) {
        return false;
    }
    if (cursor->text[whole] == '0' && cursor->at - whole > 1) {
        return refuse(cursor, whole, "found a number that begins with 0; take the zero away");
    }
    if (accept(cursor, '.') &&
        !scan_digits(cursor, "behind a decimal point, where a digit is wanted")) {
        return false;
    }
    if (accept(cursor, 'e') || accept(cursor, 'E')) {
        (void)(accept(cursor, '+') || accept(cursor, '-'));
        if (!scan_digits(cursor, "in an exponent, where a digit is wanted")) {
            return false;
        }
    }
    if (cursor->at - start > JSON_NUMBER_MAX) {
        return refuse(cursor, start, "found a number of more than %d characters; write it shorter",
                      JSON_NUMBER_MAX);
    }
    if (beyond_exact(cursor->text + start, cursor->at - start)) {
        return refuse(cursor, start,
                      "found a number beyond 9007199254740991, the most that is exact");
    }
    return true;
}

static bool scan_word(struct cursor *cursor, const char *word)
{
    size_t length = strlen(word);
    if (cursor->size - cursor->at < length ||
        memcmp(cursor->text + cursor->at, word, length) != 0) {
        return refuse(cursor, cursor->at, "found a word that is not %s; text goes in double quotes",
                      word);
    }
    cursor->at += length;
    return true;
}

static bool scan_value(struct scan *scan)
{
    struct cursor *cursor = &scan->cursor;
    uint32_t hash;
    skip_space(cursor);
    int byte = next_byte(cursor);
    switch (byte) {
    case '{':
        return scan_container(scan, '}');
    case '[':
        return scan_container(scan, ']');
    case '"':
        return scan_string(cursor, &hash);
    case 't':
        return scan_word(cursor, "true");
    case 'f':
        return scan_word(cursor, "false");
    case 'n':
        return scan_word(cursor, "null");
    default:
        break;
    }
    if (byte == '-' || (byte >= '0' && byte <= '9')) {
        return scan_number(cursor);
    }
    return refuse_at(cursor, cursor->at,
                     "where a value is wanted: an object, an array, a string, a number, "
                     "true, false or null");
}

bool json_scan(const char *text, size_t size, struct json_fault *fault)
{
    static const char mark[] = "\xef\xbb\xbf";
    struct scan scan; /* names[] is filled as far as it is counted, which spares clearing 8 KiB */
    scan.cursor = (struct cursor){.text = text, .size = size, .at = 0, .fault = fault};
    scan.depth = 0;
    scan.name_count = 0;
    if (size >= sizeof mark - 1 && memcmp(text, mark, sizeof mark - 1) == 0) {
        return refuse(&scan.cursor, 0,
                      "found a byte-order mark; save the text as UTF-8 without one");
    }
    if (!scan_value(&scan)) {
        return false;
    }
    skip_space(&scan.cursor);
    if (next_byte(&scan.cursor) != END_OF_TEXT) {
        return refuse_at(&scan.cursor, scan.cursor.at,
                         "behind the end of the value, where nothing is wanted");
    }
    return true;
}

cJSON *json_parse(const char *text, size_t size, struct json_fault *fault)
{
    if (!json_scan(text, size, fault)) {
        return NULL;
    }
    cJSON *document = cJSON_ParseWithLengthOpts(text, size, NULL, false);
    if (document == NULL) {
        /* The scan accepts nothing that cJSON refuses, so this is the one cause left. */
        *fault = (struct json_fault){.at = 0, .line = 1};
        (void)snprintf(fault->text, sizeof fault->text,
                       "memory is short: the text is sound but could not be held; try again");
    }
    return document;
}

void json_blank_comments(char *text, size_t size)
{
    bool string = false;
    bool comment = false;
    for (size_t i = 0; i < size; i++) {
        bool more = i + 1 < size && text[i + 1] != '\n';
        if (text[i] == '\n') {
            string = false;
            comment = false;
        } else if (string) {
            string = text[i] != '"';
            i += text[i] == '\\' && more;
        } else if (comment || (text[i] == '/' && more && text[i + 1] == '/')) {
            comment = true;
            text[i] = ' ';
        } else {
            string = text[i] == '"';
        }
    }
}
