/* SPDX-License-Identifier: MIT */
#include "protocol/link.h"

/* Tables stay in program memory where data memory is scarce. */
#ifdef __AVR__
#define ROM const __flash
#else
#define ROM const
#endif

enum { CRC_DIGITS = 4, BASE_BITS = 4, LETTER_MIN = 'A' };

/* Each word in the order of enum link_word: its letters, then each field's greatest number of
 * hexadecimal digits, then 0. A signed 32-bit field is SIGNED | 8. */
enum { SIGNED = 0x10 };
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
                           "REFUSED\4\2\1\0";

static ROM char *shape_of(uint8_t word)
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

uint8_t link_values(uint8_t word)
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
    return (char)(value < 10 ? '0' + value : 'a' + (value - 10));
}

/* 16 for what is no digit. */
static uint8_t digit_value(char c)
{
    if (c >= '0' && c <= '9') {
        return (uint8_t)(c - '0');
    }
    if (c >= 'a' && c <= 'f') {
        return (uint8_t)(c - 'a' + 10);
    }
    return 16;
}

/* At least `digits` of them. */
static uint8_t put_digits(char *out, uint32_t value, uint8_t digits)
{
    char reversed[2 * sizeof value];
    uint8_t count = 0;
    do {
        reversed[count++] = digit_char((uint8_t)value & 15);
        value >>= BASE_BITS;
    } while (value != 0 || count < digits);
    for (uint8_t i = count; i > 0; i--) {
        *out++ = reversed[i - 1];
    }
    return count;
}

static uint16_t crc_of(const char *text, uint8_t size)
{
    uint16_t crc = LINK_CRC_START;
    while (size-- > 0) {
        crc = link_crc(crc, (uint8_t)*text++);
    }
    return crc;
}

uint8_t link_write(const struct link_line *line, char *out)
{
    enum { NUMBER_MAX = 9, TAIL = 1 + CRC_DIGITS + 1 };
    if (line->word >= LINK_WORDS || line->count != link_values(line->word)) {
        return 0;
    }
    uint8_t size = 0;
    ROM char *shape = shape_of(line->word);
    for (; *shape >= LETTER_MIN; shape++) {
        out[size++] = *shape;
    }
    for (uint8_t i = 0; i < line->count; i++) {
        /* A number, with what parts it from the one before: a space, or its own minus sign. */
        char number[NUMBER_MAX];
        uint32_t value = line->value[i];
        bool negative = shape[i] & SIGNED && value >> 31;
        number[0] = negative ? '-' : ' ';
        uint8_t digits = (uint8_t)(1 + put_digits(number + 1, negative ? 0u - value : value, 1));
        if (size + digits + TAIL > LINK_LINE_MAX) {
            return 0;
        }
        for (uint8_t k = 0; k < digits; k++) {
            out[size++] = number[k];
        }
    }
    uint16_t crc = crc_of(out, size);
    out[size++] = '=';
    size = (uint8_t)(size + put_digits(out + size, crc, CRC_DIGITS));
    out[size++] = '\n';
    return size;
}

/* The word that text begins with: *at moves past it. LINK_WORDS when there is none such. */
static uint8_t find_word(const char *text, uint8_t size, uint8_t *at, ROM char **fields)
{
    ROM char *shape = shapes;
    for (uint8_t word = 0; word < LINK_WORDS; word++) {
        uint8_t i = 0;
        while (i < size && *shape >= LETTER_MIN && *shape == text[i]) {
            shape++;
            i++;
        }
        bool found = *shape < LETTER_MIN && (i == size || text[i] < LETTER_MIN);
        if (found) {
            *at = i;
            *fields = shape;
            return word;
        }
        while (*shape++ != '\0') {
        }
    }
    return LINK_WORDS;
}

/* Reads the number at text[*at], with the space or sign before it; *at moves past it. Just one
 * spelling of each number is taken: no leading zeros, no minus zero. */
static bool get_number(const char *text, uint8_t size, uint8_t *at, uint8_t field, uint32_t *value)
{
    bool negative = text[*at] == '-';
    if (negative ? !(field & SIGNED) : text[*at] != ' ') {
        return false;
    }
    uint8_t digits = 0;
    uint32_t sum = 0;
    while (++*at < size) {
        uint8_t digit = digit_value(text[*at]);
        if (digit > 15) {
            break;
        }
        if (digits == (field & 15) || (digits > 0 && sum == 0)) {
            return false;
        }
        sum = sum << BASE_BITS | digit;
        digits++;
    }
    if (digits == 0 || (negative && sum == 0)) {
        return false;
    }
    if (field & SIGNED && sum - negative > INT32_MAX) {
        return false;
    }
    *value = negative ? 0u - sum : sum;
    return true;
}

bool link_read(const char *text, uint8_t size, struct link_line *line)
{
    if (size < 1 + CRC_DIGITS || size >= LINK_LINE_MAX || text[size - CRC_DIGITS - 1] != '=') {
        return false;
    }
    size = (uint8_t)(size - CRC_DIGITS - 1);
    char digits[CRC_DIGITS];
    put_digits(digits, crc_of(text, size), CRC_DIGITS);
    for (uint8_t i = 0; i < CRC_DIGITS; i++) {
        if (text[size + 1 + i] != digits[i]) {
            return false;
        }
    }
    uint8_t at = 0;
    ROM char *field;
    line->word = find_word(text, size, &at, &field);
    if (line->word == LINK_WORDS) {
        return false;
    }
    line->count = 0;
    for (; *field != '\0'; field++) {
        if (at >= size ||
            !get_number(text, size, &at, (uint8_t)*field, &line->value[line->count++])) {
            return false;
        }
    }
    return at == size;
}

void link_stride_line(const struct stride *stride, uint8_t sequence, struct link_line *line)
{
    line->word = LINK_STRIDE;
    line->count = 5;
    line->value[0] = (uint32_t)stride->flags << 8 | sequence;
    line->value[1] = stride->steps;
    line->value[2] = stride->interval;
    line->value[3] = (uint32_t)stride->change;
    line->value[4] = (uint32_t)stride->curve;
}

bool link_line_stride(const struct link_line *line, struct stride *stride, uint8_t *sequence)
{
    uint32_t flags = line->value[0] >> 8;
    if (line->word != LINK_STRIDE || line->count != 5 ||
        flags > (STRIDE_DOWN | STRIDE_SLOW | STRIDE_REST) || line->value[1] == 0) {
        return false;
    }
    *sequence = (uint8_t)line->value[0];
    stride->flags = (uint8_t)flags;
    stride->steps = (uint16_t)line->value[1];
    stride->interval = line->value[2];
    stride->change = (int32_t)line->value[3];
    stride->curve = (int32_t)line->value[4];
    return true;
}

/* Modulo 255 by carrying round the end; 255 and 0 are one value, and 255 is never kept. */
static uint8_t add_255(uint8_t a, uint8_t b)
{
    uint16_t sum = (uint16_t)(a + b);
    sum = (uint16_t)((sum & 0xff) + (sum >> 8));
    return sum == 0xff ? 0 : (uint8_t)sum;
}

uint16_t link_sum_byte(uint16_t sum, uint8_t byte)
{
    uint8_t low = add_255((uint8_t)sum, byte);
    uint8_t high = add_255((uint8_t)(sum >> 8), low);
    return (uint16_t)(high << 8 | low);
}

uint16_t link_sum_word(uint16_t sum, uint32_t word)
{
    for (uint8_t i = 0; i < 4; i++) {
        sum = link_sum_byte(sum, (uint8_t)word);
        word >>= 8;
    }
    return sum;
}

uint16_t link_sum_stride(uint16_t sum, const struct stride *stride, uint8_t sequence)
{
    sum = link_sum_byte(sum, sequence);
    sum = link_sum_byte(sum, stride->flags);
    sum = link_sum_byte(sum, (uint8_t)stride->steps);
    sum = link_sum_byte(sum, (uint8_t)(stride->steps >> 8));
    sum = link_sum_word(sum, stride->interval);
    sum = link_sum_word(sum, (uint32_t)stride->change);
    return link_sum_word(sum, (uint32_t)stride->curve);
}

uint16_t link_sum_settings(const uint32_t setting[LINK_SETTINGS])
{
    uint16_t sum = LINK_SUM_START;
    for (uint8_t i = 0; i < LINK_SETTINGS; i++) {
        sum = link_sum_byte(sum, (uint8_t)(i + 1));
        sum = link_sum_word(sum, setting[i]);
    }
    return sum;
}

/* What lines are made of; anything else spoils the line that it stands in. */
static bool usable(uint8_t byte)
{
    return byte == ' ' || byte == '-' || byte == '=' || (byte >= '0' && byte <= '9') ||
           (byte >= 'A' && byte <= 'Z') || (byte >= 'a' && byte <= 'f');
}

enum link_got link_reader_byte(struct link_reader *reader, uint8_t byte, struct link_line *line)
{
    if (byte == LINK_BRAKE_BYTE) {
        return LINK_GOT_BRAKE;
    }
    if (byte != '\n') {
        if (!usable(byte) || reader->size == LINK_LINE_MAX - 1) {
            reader->spoilt = true;
        } else {
            reader->text[reader->size++] = (char)byte;
        }
        return LINK_GOT_NOTHING;
    }
    bool spoilt = reader->spoilt;
    uint8_t size = reader->size;
    reader->spoilt = false;
    reader->size = 0;
    if (spoilt) {
        return LINK_GOT_SPOILT;
    }
    if (size == 0) {
        return LINK_GOT_NOTHING;
    }
    return link_read(reader->text, size, line) ? LINK_GOT_LINE : LINK_GOT_SPOILT;
}
