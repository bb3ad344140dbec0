/* SPDX-License-Identifier: MIT */
#include "protocol/link.h"

/* Tables stay in program memory where data memory is scarce. */
#ifdef __AVR__
#define ROM const __flash
#else
#define ROM const
#endif

enum { WORD_MAX = 7, CRC_DIGITS = 4, BASE_BITS = 4 };

/* Each field: its greatest number of hexadecimal digits; SIGNED added for a signed 32-bit count. */
enum { SIGNED = 0x10, COUNT = SIGNED | 8 };

struct shape {
    char word[WORD_MAX + 1];
    uint8_t field[LINK_VALUES_MAX + 1]; /* ends at 0 */
};

static ROM struct shape shapes[LINK_WORDS] = {
    [LINK_HAIL] = {"HAIL", {0}},
    [LINK_SET] = {"SET", {2, 8}},
    [LINK_SYNC] = {"SYNC", {4, COUNT}},
    [LINK_STRIDE] = {"ST", {3, 4, 8, COUNT, COUNT}},
    [LINK_BEGIN] = {"BEGIN", {4, 2, 1}},
    [LINK_BRAKE] = {"BRAKE", {4}},
    [LINK_POLL] = {"POLL", {4, 2, 2}},
    [LINK_OUT] = {"OUT", {4, 2}},
    [LINK_BOARD] = {"BOARD", {2, 2, 8, 8}},
    [LINK_ABLE] = {"ABLE", {8, 2, 4, 4, 3}},
    [LINK_TOOK] = {"TOOK", {4, 2, 2, COUNT, 4}},
    [LINK_WANT] = {"WANT", {4, 2}},
    [LINK_USED] = {"USED", {4, 2}},
    [LINK_AT] = {"AT", {4, 2, 1, COUNT, COUNT}},
    [LINK_SEE] = {"SEE", {4, 2, 3, 2, 2, 4, 4}},
    [LINK_ENDED] = {"ENDED", {4, COUNT}},
    [LINK_STOPPED] = {"STOPPED", {4, 2, COUNT, COUNT}},
    [LINK_REFUSED] = {"REFUSED", {4, 2, 1}},
};

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
        while (shapes[word].field[count] != 0) {
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

static uint8_t number_digits(uint32_t value)
{
    uint8_t digits = 1;
    while (value >>= BASE_BITS) {
        digits++;
    }
    return digits;
}

static uint8_t put_digits(char *out, uint32_t value, uint8_t digits)
{
    for (uint8_t i = digits; i > 0; i--) {
        out[i - 1] = digit_char((uint8_t)(value & 15));
        value >>= BASE_BITS;
    }
    return digits;
}

/* One number with what parts it from the one before: a space, or its own minus sign. */
static uint8_t put_number(char *out, uint32_t value, uint8_t field)
{
    bool negative = (field & SIGNED) && (value >> 31);
    out[0] = negative ? '-' : ' ';
    if (negative) {
        value = 0u - value;
    }
    return (uint8_t)(1 + put_digits(out + 1, value, number_digits(value)));
}

uint8_t link_write(const struct link_line *line, char *out)
{
    enum { NUMBER_MAX = 9, TAIL = 1 + CRC_DIGITS + 1 };
    if (line->word >= LINK_WORDS || line->count != link_values(line->word)) {
        return 0;
    }
    uint8_t size = 0;
    for (; shapes[line->word].word[size] != '\0'; size++) {
        out[size] = shapes[line->word].word[size];
    }
    for (uint8_t i = 0; i < line->count; i++) {
        char number[NUMBER_MAX];
        uint8_t digits = put_number(number, line->value[i], shapes[line->word].field[i]);
        if (size + digits + TAIL > LINK_LINE_MAX) {
            return 0;
        }
        for (uint8_t k = 0; k < digits; k++) {
            out[size++] = number[k];
        }
    }
    uint16_t crc = LINK_CRC_START;
    for (uint8_t i = 0; i < size; i++) {
        crc = link_crc(crc, (uint8_t)out[i]);
    }
    out[size++] = '=';
    size = (uint8_t)(size + put_digits(out + size, crc, CRC_DIGITS));
    out[size++] = '\n';
    return size;
}

static bool word_is(uint8_t word, const char *text, uint8_t size)
{
    uint8_t i = 0;
    for (; shapes[word].word[i] != '\0'; i++) {
        if (i >= size || text[i] != shapes[word].word[i]) {
            return false;
        }
    }
    return i == size;
}

static bool find_word(const char *text, uint8_t size, uint8_t *word)
{
    for (uint8_t w = 0; w < LINK_WORDS; w++) {
        if (word_is(w, text, size)) {
            *word = w;
            return true;
        }
    }
    return false;
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
    for ((*at)++; *at < size && digit_value(text[*at]) < 16; (*at)++) {
        if (digits == (field & 15) || (digits > 0 && sum == 0)) {
            return false;
        }
        sum = sum << BASE_BITS | digit_value(text[*at]);
        digits++;
    }
    uint32_t most = negative ? 0x80000000u : 0x7fffffffu;
    if (digits == 0 || ((field & SIGNED) && sum > most) || (negative && sum == 0)) {
        return false;
    }
    *value = negative ? 0u - sum : sum;
    return true;
}

static bool crc_holds(const char *text, uint8_t size)
{
    uint16_t crc = LINK_CRC_START;
    for (uint8_t i = 0; i < size; i++) {
        crc = link_crc(crc, (uint8_t)text[i]);
    }
    char digits[CRC_DIGITS];
    put_digits(digits, crc, CRC_DIGITS);
    for (uint8_t i = 0; i < CRC_DIGITS; i++) {
        if (text[size + 1 + i] != digits[i]) {
            return false;
        }
    }
    return true;
}

bool link_read(const char *text, uint8_t size, struct link_line *line)
{
    if (size < 1 + CRC_DIGITS || size >= LINK_LINE_MAX || text[size - CRC_DIGITS - 1] != '=') {
        return false;
    }
    size = (uint8_t)(size - CRC_DIGITS - 1);
    if (!crc_holds(text, size)) {
        return false;
    }
    uint8_t at = 0;
    while (at < size && text[at] >= 'A' && text[at] <= 'Z') {
        at++;
    }
    if (!find_word(text, at, &line->word)) {
        return false;
    }
    line->count = link_values(line->word);
    for (uint8_t i = 0; i < line->count; i++) {
        uint8_t field = shapes[line->word].field[i];
        if (at >= size || !get_number(text, size, &at, field, &line->value[i])) {
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
