/* SPDX-License-Identifier: MIT */
#include "protocol/link.h"

#include <stddef.h>
#include <string.h>

/* Tables stay in program memory where data memory is scarce. */
#ifdef __AVR__
#define ROM const __flash
#else
#define ROM const
#endif

enum { CRC_DIGITS = 4, BASE_BITS = 4, LETTER_MIN = 'A' };

/* Each word in the order of enum link_word: its letters, then each field's greatest number of
 * hexadecimal digits, then 0. A signed 32-bit field is SIGNED | 8. */
enum { SIGNED = 0x10, DIGITS = 0x0f };
#define COUNT "\x18"

static ROM char shapes[] = "HAIL\0"
                           "SET\2\x08\0"
                           "SYNC\4" COUNT "\0"
                           "ST\3\4\x08" COUNT COUNT "\0"
                           "BEGIN\4\2\1\0"
                           "BRAKE\4\0"
                           "POLL\4\2\2\0"
                           "OUT\4\2\0"
                           "BOARD\2\2\x08\x08\0"
                           "ABLE\x08\2\4\4\3\0"
                           "TOOK\4\2\2" COUNT "\4\0"
                           "WANT\4\2\0"
                           "USED\4\2\0"
                           "AT\4\2\1" COUNT COUNT "\0"
                           "SEE\4\2\3\2\2\4\4\0"
                           "ENDED\4" COUNT "\0"
                           "STOPPED\4\2" COUNT COUNT "\0"
                           "REFUSED\4\2\1\0"
                           "SCALE\4\2\6\0";

__attribute__((noinline)) static ROM char *shape_of(uint8_t word)
{
    ROM char *at = shapes;
    while (word > 0) {
        if (*at++ == '\0') {
            word--;
        }
    }
    return at;
}

static ROM char *fields_of(ROM char *shape)
{
    while (*shape >= LETTER_MIN) {
        shape++;
    }
    return shape;
}

uint16_t link_crc(uint16_t crc, uint8_t byte)
{
    /* All eight bits at once: the feedback reaches bits 4 and 11 after the byte's own, and what
     * the lower half feeds back comes round in the upper one. */
    byte ^= (uint8_t)crc;
    byte ^= (uint8_t)(byte << 4);
    return (uint16_t)((uint16_t)(byte << 8 | crc >> 8) ^ byte >> 4 ^ (uint16_t)(byte << 3));
}

uint16_t link_crc_of(const void *bytes, uint8_t size)
{
    const uint8_t *next = bytes;
    uint16_t crc = LINK_CRC_START;
    for (; size > 0; size--) {
        crc = link_crc(crc, *next++);
    }
    return crc;
}

__attribute__((noinline)) uint8_t link_values(uint8_t word)
{
    uint8_t count = 0;
    if (word < LINK_WORDS) {
        for (ROM char *field = fields_of(shape_of(word)); *field != '\0'; field++) {
            count++;
        }
    }
    return count;
}

static char digit_char(uint8_t value)
{
    return (char)(value < 10 ? '0' + value : 'a' - 10 + value);
}

enum { NO_DIGIT = 16 };

static uint8_t digit_value(char c)
{
    if (c >= '0' && c <= '9') {
        return (uint8_t)(c - '0');
    }
    return c >= 'a' && c <= 'f' ? (uint8_t)(c - 'a' + 10) : NO_DIGIT;
}

/* The lowest `most` digits, without leading zeros but for the last `least`. Returns the end. */
__attribute__((noinline)) static char *put_digits(char *out, uint32_t value, uint8_t least,
                                                  uint8_t most)
{
    uint8_t pair = 0;
    for (uint8_t left = 2 * sizeof value; left > 0; left--) {
        if (left % 2 == 0) { /* by whole bytes: the microcontroller shifts bit by bit */
            pair = (uint8_t)(value >> 8 * (sizeof value - 1));
            value <<= 8;
        }
        uint8_t digit = pair >> BASE_BITS;
        pair = (uint8_t)(pair << BASE_BITS);
        if (left <= most && (left <= least || digit != 0)) {
            *out++ = digit_char(digit);
            least = left;
        }
    }
    return out;
}

uint8_t link_compose(uint8_t word, link_value *value, void *owner, char *out)
{
    char *at = out;
    ROM char *shape = shape_of(word);
    for (; *shape >= LETTER_MIN; shape++) {
        *at++ = *shape;
    }
    for (; *shape != '\0'; shape++) {
        /* A number, with what parts it from the one before: a space, or its own minus sign. */
        uint32_t number = value(owner);
        *at = ' ';
        if (*shape & SIGNED && number >> 31) {
            *at = '-';
            number = 0u - number;
        }
        at = put_digits(at + 1, number, 1, *shape & DIGITS);
    }
    uint16_t crc = link_crc_of(out, (uint8_t)(at - out));
    *at++ = '=';
    at = put_digits(at, crc, CRC_DIGITS, CRC_DIGITS);
    *at++ = '\n';
    return (uint8_t)(at - out);
}

static uint32_t next_value(void *owner)
{
    const uint32_t **next = owner;
    return *(*next)++;
}

uint8_t link_write(const struct link_line *line, char *out)
{
    const uint32_t *next = line->value;
    if (line->word >= LINK_WORDS || line->count != link_values(line->word)) {
        return 0;
    }
    return link_compose(line->word, next_value, &next, out);
}

/* The word that *text begins with, which moves past it, and the word's fields. LINK_WORDS when
 * there is none such. */
static uint8_t find_word(const char **text, ROM char **fields)
{
    ROM char *shape = shapes;
    for (uint8_t word = 0; word < LINK_WORDS; word++) {
        const char *at = *text;
        while (*shape >= LETTER_MIN && *shape == *at) {
            shape++;
            at++;
        }
        if (*shape < LETTER_MIN && *at < LETTER_MIN) {
            *text = at;
            *fields = shape;
            return word;
        }
        while (*shape++ != '\0') {
        }
    }
    return LINK_WORDS;
}

/* Reads the number at `at`, with the space or sign before it, and returns what is behind it, or
 * NULL. Just one spelling of each number is taken: no leading zeros, no minus zero. */
__attribute__((noinline)) static const char *get_number(const char *at, uint8_t field,
                                                        uint32_t *value)
{
    char sign = *at++;
    if (sign != ' ' && (sign != '-' || !(field & SIGNED))) {
        return NULL;
    }
    uint8_t digit = digit_value(*at++);
    uint8_t more = digit == 0 ? 0 : (uint8_t)((field & DIGITS) - 1); /* no zeros lead */
    if (digit == NO_DIGIT) {
        return NULL;
    }
    uint32_t sum = digit;
    for (; (digit = digit_value(*at)) != NO_DIGIT; at++) {
        if (more-- == 0) {
            return NULL;
        }
        sum = sum << BASE_BITS | digit;
    }
    bool negative = sign == '-';
    if (field & SIGNED && sum - negative > INT32_MAX) {
        return NULL;
    }
    *value = negative ? 0u - sum : sum;
    return at;
}

bool link_read(const char *text, uint8_t size, struct link_line *line)
{
    if (size < 1 + CRC_DIGITS || size >= LINK_LINE_MAX) {
        return false;
    }
    /* None of what follows reads over the '=', which is neither letter nor digit nor space. */
    size = (uint8_t)(size - CRC_DIGITS - 1);
    const char *end = text + size;
    if (*end != '=') {
        return false;
    }
    uint16_t crc = link_crc_of(text, size);
    for (uint8_t i = 1; i <= CRC_DIGITS; i++) {
        if (end[i] != digit_char((uint8_t)(crc >> (16 - BASE_BITS)))) {
            return false;
        }
        crc = (uint16_t)(crc << BASE_BITS);
    }
    ROM char *field;
    line->word = find_word(&text, &field);
    if (line->word == LINK_WORDS) {
        return false;
    }
    for (line->count = 0; *field != '\0'; field++) {
        text = get_number(text, (uint8_t)*field, &line->value[line->count++]);
        if (!text) {
            return false;
        }
    }
    return text == end;
}

/* A stride's long members stand as its line has them. */
enum { LONGS = 3 };
_Static_assert(offsetof(struct stride, interval) == 0 && offsetof(struct stride, change) == 4 &&
                   offsetof(struct stride, curve) == 8,
               "interval, change, curve");

void link_stride_line(const struct stride *stride, uint8_t sequence, struct link_line *line)
{
    line->word = LINK_STRIDE;
    line->count = 2 + LONGS;
    line->value[0] = (uint32_t)stride->flags << 8 | sequence;
    line->value[1] = stride->steps;
    memcpy(&line->value[2], stride, LONGS * sizeof line->value[0]);
}

bool link_line_stride(const struct link_line *line, struct stride *stride, uint8_t *sequence)
{
    uint16_t tag = (uint16_t)line->value[0];
    stride->flags = (uint8_t)(tag >> 8);
    stride->steps = (uint16_t)line->value[1];
    memcpy(stride, &line->value[2], LONGS * sizeof line->value[0]);
    *sequence = (uint8_t)tag;
    return line->word == LINK_STRIDE && stride->steps != 0 &&
           stride->flags <= (STRIDE_DOWN | STRIDE_SLOW | STRIDE_REST);
}

/* Modulo 255 by carrying round the end; 255 and 0 are one value, and 255 is never kept. */
static uint8_t add_255(uint8_t a, uint8_t b)
{
    uint16_t sum = (uint16_t)(a + b);
    sum = (uint16_t)((sum & 0xff) + (sum >> 8));
    return sum == 0xff ? 0 : (uint8_t)sum;
}

__attribute__((noinline)) uint16_t link_sum_byte(uint16_t sum, uint8_t byte)
{
    uint8_t low = add_255((uint8_t)sum, byte);
    uint8_t high = add_255((uint8_t)(sum >> 8), low);
    return (uint16_t)(high << 8 | low);
}

uint16_t link_sum_words(uint16_t sum, const uint32_t *words, uint8_t count)
{
    for (; count > 0; count--) {
        uint32_t word = *words++;
        for (uint8_t i = 0; i < sizeof word; i++) {
            sum = link_sum_byte(sum, (uint8_t)word);
            word >>= 8;
        }
    }
    return sum;
}

uint16_t link_sum_stride(uint16_t sum, const struct stride *stride, uint8_t sequence)
{
    uint32_t words[1 + LONGS];
    words[0] = (uint32_t)stride->steps << 16 | (uint16_t)(stride->flags << 8) | sequence;
    memcpy(&words[1], stride, LONGS * sizeof words[0]);
    return link_sum_words(sum, words, 1 + LONGS);
}

uint16_t link_sum_settings(const uint32_t setting[LINK_SETTINGS])
{
    uint16_t sum = LINK_SUM_START;
    for (uint8_t i = 0; i < LINK_SETTINGS; i++) {
        sum = link_sum_byte(sum, (uint8_t)(i + 1));
        sum = link_sum_words(sum, &setting[i], 1);
    }
    return sum;
}

enum link_got link_reader_byte(struct link_reader *reader, uint8_t byte, struct link_line *line)
{
    uint8_t size = reader->size;
    if (byte == LINK_BRAKE_BYTE) {
        return LINK_GOT_BRAKE;
    }
    if (byte != '\n') {
        if (size < LINK_LINE_MAX) { /* a full one is too long */
            reader->text[size] = (char)byte;
            reader->size = (uint8_t)(size + 1);
        }
        return LINK_GOT_NOTHING;
    }
    reader->size = 0;
    if (size == 0) {
        return LINK_GOT_NOTHING;
    }
    return link_read(reader->text, size, line) ? LINK_GOT_LINE : LINK_GOT_SPOILT;
}
