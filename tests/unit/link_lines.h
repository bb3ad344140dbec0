/* SPDX-License-Identifier: MIT */
/* Lines of the serial link made at random, written and read back. */
#ifndef REGLET_TESTS_UNIT_LINK_LINES_H
#define REGLET_TESTS_UNIT_LINK_LINES_H

#include <check.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "protocol/link.h"
#include "tests/seed.h"

/* One case of the most digits and the signs of each word, as LINK.md has them: a digit is an
 * unsigned field of so many hexadecimal digits, 's' a signed one of 32 bits. */
static const struct {
    const char *word;
    const char *fields;
} shapes[LINK_WORDS] = {
    {"HAIL", ""},        {"SET", "28"},      {"SYNC", "4s"},     {"ST", "348ss"},
    {"BEGIN", "421"},    {"BRAKE", "4"},     {"POLL", "422"},    {"OUT", "42"},
    {"BOARD", "2288"},   {"ABLE", "82443"},  {"TOOK", "422s4"},  {"WANT", "42"},
    {"USED", "42"},      {"AT", "421ss"},    {"SEE", "4232244"}, {"ENDED", "4s"},
    {"STOPPED", "42ss"}, {"REFUSED", "421"}, {"SCALE", "426"},
};

/* Another way to the same CRC: bits fed in one by one, most significant end of the register
 * first, polynomial not reflected, and the register turned round at the end. */
static inline uint16_t other_crc(const char *text, size_t size)
{
    uint32_t r = 0xffff;
    for (size_t i = 0; i < size * 8; i++) {
        uint32_t bit = (uint32_t)(uint8_t)text[i / 8] >> (i % 8) & 1;
        uint32_t top = (r >> 15 & 1) ^ bit;
        r = (r << 1 & 0xffff) ^ (top ? 0x1021u : 0);
    }
    uint16_t turned = 0;
    for (unsigned i = 0; i < 16; i++)
        turned = (uint16_t)(turned | (r >> i & 1) << (15 - i));
    return turned;
}

/* Appends '=' and the CRC, without newline. */
static inline size_t seal(char *text, size_t room)
{
    size_t size = strlen(text);
    return size + (size_t)snprintf(text + size, room - size, "=%04x", other_crc(text, size));
}

static inline uint32_t field_mask(char field)
{
    return field == 's' ? UINT32_MAX : (uint32_t)((UINT64_C(1) << (4 * (field - '0'))) - 1);
}

static inline struct link_line random_line(uint8_t word)
{
    struct link_line line = {.word = word, .count = (uint8_t)strlen(shapes[word].fields)};
    for (uint8_t i = 0; i < line.count; i++)
        line.value[i] = (uint32_t)next_random() >> below(32) & field_mask(shapes[word].fields[i]);
    return line;
}

static inline struct stride random_stride(void)
{
    return (struct stride){
        .interval = (uint32_t)next_random(),
        .change = (int32_t)(uint32_t)next_random(),
        .curve = (int32_t)(uint32_t)next_random(),
        .steps = (uint16_t)(1 + below(STRIDE_STEPS_MAX)),
        .flags = (uint8_t)below(8),
    };
}

static inline bool same(const struct link_line *a, const struct link_line *b)
{
    return a->word == b->word && a->count == b->count &&
           memcmp(a->value, b->value, a->count * sizeof a->value[0]) == 0;
}

static inline void check_round_trip(const struct link_line *line)
{
    char text[LINK_LINE_MAX + 1] = {0};
    char again[LINK_LINE_MAX];
    struct link_line back = {0};
    uint8_t size = link_write(line, text);
    ck_assert_uint_gt(size, 0);
    ck_assert_uint_le(size, LINK_LINE_MAX);
    ck_assert_int_eq(text[size - 1], '\n');
    ck_assert_msg(link_read(text, (uint8_t)(size - 1), &back), "refused: %s", text);
    ck_assert_msg(same(line, &back), "read otherwise: %s", text);
    ck_assert_uint_eq(link_write(&back, again), size);
    ck_assert_mem_eq(text, again, size);
}

/* What a reader makes of some bytes: the lines it takes, and how often each other thing. */
struct found {
    unsigned lines;
    unsigned spoilt;
    unsigned brakes;
    struct link_line last;
};

static inline struct found read_all(struct link_reader *reader, const char *bytes, size_t size)
{
    struct found found = {0};
    for (size_t i = 0; i < size; i++) {
        struct link_line line = {0};
        switch (link_reader_byte(reader, (uint8_t)bytes[i], &line)) {
        case LINK_GOT_LINE:
            found.lines++;
            found.last = line;
            break;
        case LINK_GOT_SPOILT:
            found.spoilt++;
            break;
        case LINK_GOT_BRAKE:
            found.brakes++;
            break;
        default:
            break;
        }
    }
    return found;
}

/* Every byte that a line may hold. */
static inline size_t alphabet(uint8_t *bytes)
{
    size_t count = 0;
    for (const char *c = " -=\n0123456789abcdefABCDEFGHIJKLMNOPQRSTUVWXYZ"; *c != '\0'; c++)
        bytes[count++] = (uint8_t)*c;
    return count;
}

#endif
