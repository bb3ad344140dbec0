/* SPDX-License-Identifier: MIT */
/*
 * The lines of the serial link: what is written is read back, and nothing else is read.
 *
 * Sources: the check value of CRC-16/MCRF4XX is that of the catalogues of parametrised CRC
 * algorithms. That polynomial 1021 keeps Hamming distance 4 up to 32 751 bits is from Koopman's
 * published tables of CRC polynomials; here it is proved for our lines, whose CRC travels as
 * hexadecimal digits. Fletcher's sum is followed by another method than the code's.
 */
#include <check.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "protocol/link.h"

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
    {"STOPPED", "42ss"}, {"REFUSED", "421"},
};

static uint64_t seed;
static uint64_t state;

/* splitmix64 (public domain algorithm). */
static uint64_t next_random(void)
{
    uint64_t z = (state += UINT64_C(0x9e3779b97f4a7c15));
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static uint32_t below(uint32_t limit)
{
    return (uint32_t)(next_random() % limit);
}

static void start(void)
{
    state = seed;
}

/* --- Helpers --- */

/* Another way to the same CRC: bits fed in one by one, most significant end of the register
 * first, polynomial not reflected, and the register turned round at the end. */
static uint16_t other_crc(const char *text, size_t size)
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
static size_t seal(char *text, size_t room)
{
    size_t size = strlen(text);
    return size + (size_t)snprintf(text + size, room - size, "=%04x", other_crc(text, size));
}

static uint32_t field_mask(char field)
{
    return field == 's' ? UINT32_MAX : (uint32_t)((UINT64_C(1) << (4 * (field - '0'))) - 1);
}

static struct link_line random_line(uint8_t word)
{
    struct link_line line = {.word = word, .count = (uint8_t)strlen(shapes[word].fields)};
    for (uint8_t i = 0; i < line.count; i++)
        line.value[i] = (uint32_t)next_random() >> below(32) & field_mask(shapes[word].fields[i]);
    return line;
}

static bool same(const struct link_line *a, const struct link_line *b)
{
    return a->word == b->word && a->count == b->count &&
           memcmp(a->value, b->value, a->count * sizeof a->value[0]) == 0;
}

static void check_round_trip(const struct link_line *line)
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

static struct found read_all(struct link_reader *reader, const char *bytes, size_t size)
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

/* --- The CRC --- */

START_TEST(the_crc_of_123456789_is_6f91)
{
    /* Catalogues of parametrised CRC algorithms: CRC-16/MCRF4XX, check 6f91. */
    uint16_t crc = LINK_CRC_START;
    for (const char *c = "123456789"; *c != '\0'; c++)
        crc = link_crc(crc, (uint8_t)*c);
    ck_assert_uint_eq(crc, 0x6f91);
    ck_assert_uint_eq(other_crc("123456789", 9), 0x6f91);
}
END_TEST

START_TEST(the_crc_agrees_with_an_independent_one)
{
    start();
    for (int trial = 0; trial < 20000; trial++) {
        char bytes[64];
        uint32_t size = below(sizeof bytes + 1);
        uint16_t crc = LINK_CRC_START;
        for (uint32_t i = 0; i < size; i++) {
            bytes[i] = (char)next_random();
            crc = link_crc(crc, (uint8_t)bytes[i]);
        }
        ck_assert_uint_eq(crc, other_crc(bytes, size));
    }
}
END_TEST

/* --- Words and numbers --- */

START_TEST(every_word_with_every_mix_of_extreme_values_comes_back_the_same)
{
    enum { EXTREMES = 4 };
    uint8_t longest = 0;
    for (uint8_t word = 0; word < LINK_WORDS; word++) {
        const char *fields = shapes[word].fields;
        ck_assert_uint_eq(link_values(word), strlen(fields));
        ck_assert_uint_le(strlen(fields), LINK_VALUES_MAX);
        for (uint32_t mix = 0; mix < UINT32_C(1) << (2 * strlen(fields)); mix++) {
            struct link_line line = {.word = word, .count = (uint8_t)strlen(fields)};
            for (uint8_t i = 0; i < line.count; i++) {
                uint32_t least[EXTREMES] = {0, 1, field_mask(fields[i]), field_mask('s') >> 1};
                uint32_t sign[EXTREMES] = {0, UINT32_C(1) << 31, UINT32_MAX, INT32_MAX};
                uint32_t pick = mix >> (2 * i) & 3;
                line.value[i] = fields[i] == 's' ? sign[pick] : least[pick] & field_mask(fields[i]);
            }
            check_round_trip(&line);
            char text[LINK_LINE_MAX];
            uint8_t size = link_write(&line, text);
            longest = size > longest ? size : longest;
        }
    }
    /* LINK.md says so: the longest line that can be written is a stride's. */
    ck_assert_uint_eq(longest, 44);
}
END_TEST

START_TEST(random_values_of_every_word_come_back_the_same)
{
    start();
    for (int trial = 0; trial < 40000; trial++) {
        struct link_line line = random_line((uint8_t)below(LINK_WORDS));
        check_round_trip(&line);
    }
}
END_TEST

START_TEST(an_unknown_word_or_a_wrong_number_of_values_is_not_written)
{
    char text[LINK_LINE_MAX];
    ck_assert_uint_eq(link_write(&(struct link_line){.word = LINK_WORDS}, text), 0);
    ck_assert_uint_eq(link_write(&(struct link_line){.word = 255}, text), 0);
    ck_assert_uint_eq(link_write(&(struct link_line){.word = LINK_HAIL, .count = 1}, text), 0);
    ck_assert_uint_eq(link_write(&(struct link_line){.word = LINK_SEE, .count = 6}, text), 0);
    ck_assert_uint_eq(link_values(LINK_WORDS), 0);
    ck_assert_uint_eq(link_values(255), 0);
}
END_TEST

/* With a true CRC each: what is wrong is the form. */
static const char *const misspelt[] = {
    "",                    /* no word */
    "HAI",                 /* half a word */
    "HAILS",               /* more than a word */
    "hail",                /* case */
    "HaIL",                /* case */
    "HAIL ",               /* a space too many */
    " HAIL",               /* a space before */
    "HAIL 0",              /* a field too many */
    "NUDGE 1 2",           /* no such word */
    "USED 1",              /* a field missing */
    "USED",                /* all fields missing */
    "USED 1 2 3",          /* a field too many */
    "USED 1  2",           /* two spaces */
    "USED 1 2 ",           /* a space at the end */
    "USED  1 2",           /* two spaces */
    "USED1 2",             /* no space */
    "USED 1 02",           /* a leading zero */
    "USED 00 2",           /* a leading zero */
    "USED 1 -2",           /* a minus where no sign may be */
    "USED 1-2",            /* the same without a space */
    "USED 1 A2",           /* upper-case digit */
    "USED 1 g2",           /* no digit */
    "USED 12345 2",        /* too many digits */
    "USED 1 123",          /* too many digits */
    "ENDED 1 -1",          /* a space before the minus */
    "ENDED 1-",            /* a minus without a number */
    "ENDED 1-0",           /* minus zero */
    "ENDED 1-01",          /* a leading zero after the minus */
    "ENDED 1--1",          /* two signs */
    "ENDED 1 80000000",    /* over the largest count */
    "ENDED 1 ffffffff",    /* a negative count is written with its sign */
    "ENDED 1-80000001",    /* under the smallest count */
    "ENDED 1-100000000",   /* nine digits */
    "ENDED 1 100000000",   /* nine digits */
    "SET 0 123456789",     /* nine digits */
    "AT 1 2 10 0 0",       /* a state of two digits */
    "USED 1 2=",           /* a second equals sign */
    "USED 1=2",            /* the same inside */
    "USED 1\r2",           /* a carriage return inside */
    "USED 1\t2",           /* a tabulator */
    "ST 0 1 1 1 1 1",      /* a stride with a field too many */
    "SEE 1 2 3 4 5 6",     /* a report with a field missing */
    "POLL 1 2 3 4 5 6 7 8" /* more fields than any word has */
};

START_TEST(what_is_not_spelt_just_so_is_refused)
{
    for (size_t i = 0; i < sizeof misspelt / sizeof *misspelt; i++) {
        char text[64];
        struct link_line line;
        (void)snprintf(text, sizeof text, "%s", misspelt[i]);
        size_t size = seal(text, sizeof text);
        ck_assert_msg(!link_read(text, (uint8_t)size, &line), "was read: '%s'", text);
        struct link_reader reader = {0};
        text[size++] = '\n';
        struct found found = read_all(&reader, text, size);
        ck_assert_msg(found.lines == 0 && found.spoilt == 1, "was read: '%s'", misspelt[i]);
    }
}
END_TEST

START_TEST(a_line_whose_crc_is_wrong_or_misplaced_is_refused)
{
    char good[32] = "USED 1 b";
    size_t size = seal(good, sizeof good);
    struct link_line line;
    ck_assert(link_read(good, (uint8_t)size, &line));
    for (size_t shorter = 0; shorter < size; shorter++)
        ck_assert(!link_read(good, (uint8_t)shorter, &line));
    uint16_t crc = other_crc(good, size - 5);
    for (uint32_t other = 0; other < 0x10000; other++) {
        char text[32] = "USED 1 b";
        (void)snprintf(text + 8, sizeof text - 8, "=%04" PRIx32, other);
        ck_assert_int_eq(link_read(text, (uint8_t)size, &line), other == crc);
    }
    /* The same digits in upper case; five of them; three of them. */
    char text[32];
    (void)snprintf(text, sizeof text, "USED 1 b=%04X", crc);
    ck_assert_str_ne(text, good);
    ck_assert(!link_read(text, (uint8_t)size, &line));
    (void)snprintf(text, sizeof text, "USED 1 b=0%04x", crc);
    ck_assert(!link_read(text, (uint8_t)(size + 1), &line));
    ck_assert(!link_read(good, (uint8_t)(size - 1), &line));
}
END_TEST

START_TEST(a_line_of_47_characters_is_looked_at_and_a_longer_one_is_spoilt)
{
    char text[LINK_LINE_MAX * 2];
    struct link_line line;
    memset(text, ' ', sizeof text);
    for (uint8_t size = 5; size < LINK_LINE_MAX; size++)
        ck_assert(!link_read(text, size, &line));
    ck_assert(!link_read(text, LINK_LINE_MAX, &line));
    ck_assert(!link_read(text, UINT8_MAX > sizeof text ? sizeof text : UINT8_MAX, &line));
    for (size_t size = 1; size < sizeof text - 1; size++) {
        struct link_reader reader = {0};
        char bytes[sizeof text];
        memset(bytes, 'f', size);
        bytes[size] = '\n';
        struct found found = read_all(&reader, bytes, size + 1);
        ck_assert_uint_eq(found.spoilt, 1);
        char hail[16] = "HAIL";
        size_t length = seal(hail, sizeof hail);
        hail[length++] = '\n';
        ck_assert_uint_eq(read_all(&reader, hail, length).lines, 1);
    }
}
END_TEST

/* --- Errors on the wire --- */

/* Two lines one after the other, the first of them damaged: nothing may be read but the second,
 * and that one always unless the newline between them was hit. */
struct pair_of_lines {
    char bytes[2 * LINK_LINE_MAX];
    size_t first;
    size_t size;
    struct link_line second;
};

static struct pair_of_lines two_lines(const struct link_line *first)
{
    struct pair_of_lines pair = {.second = random_line(LINK_POLL)};
    pair.first = link_write(first, pair.bytes);
    pair.size = pair.first + link_write(&pair.second, pair.bytes + pair.first);
    return pair;
}

/* An assertion for each would take most of the time: they are made only where one fails. */
static void check_refused(const struct pair_of_lines *pair, const char *bytes, size_t size,
                          bool newline_hit)
{
    struct link_reader reader = {0};
    struct found found = read_all(&reader, bytes, size);
    unsigned lines = newline_hit ? 0 : 1;
    if (found.lines != lines || found.brakes != 0 ||
        (lines == 1 && !same(&found.last, &pair->second)))
        ck_abort_msg("%u lines, %u brakes from: %.*s", found.lines, found.brakes, (int)size, bytes);
}

static void flip(char *bytes, size_t bit)
{
    bytes[bit / 8] = (char)(bytes[bit / 8] ^ 1 << bit % 8);
}

START_TEST(every_line_with_one_bit_wrong_is_refused)
{
    start();
    for (int trial = 0; trial < 20 * LINK_WORDS; trial++) {
        struct link_line line = random_line((uint8_t)(trial % LINK_WORDS));
        struct pair_of_lines pair = two_lines(&line);
        for (size_t bit = 0; bit < 8 * pair.first; bit++) {
            flip(pair.bytes, bit);
            check_refused(&pair, pair.bytes, pair.size, bit / 8 == pair.first - 1);
            flip(pair.bytes, bit);
        }
    }
}
END_TEST

START_TEST(every_line_with_two_bits_wrong_is_refused)
{
    start();
    static const uint8_t words[] = {LINK_STRIDE, LINK_BEGIN, LINK_SYNC, LINK_HAIL};
    for (size_t w = 0; w < sizeof words; w++) {
        struct link_line line = random_line(words[w]);
        struct pair_of_lines pair = two_lines(&line);
        for (size_t one = 0; one < 8 * pair.first; one++) {
            flip(pair.bytes, one);
            for (size_t two = one + 1; two < 8 * pair.first; two++) {
                flip(pair.bytes, two);
                check_refused(&pair, pair.bytes, pair.size, two / 8 == pair.first - 1);
                flip(pair.bytes, two);
            }
            flip(pair.bytes, one);
        }
    }
}
END_TEST

START_TEST(lines_with_a_byte_lost_are_refused)
{
    start();
    unsigned trials = 0;
    unsigned passed = 0;
    for (int trial = 0; trial < 100 * LINK_WORDS; trial++) {
        struct link_line line = random_line((uint8_t)(trial % LINK_WORDS));
        struct pair_of_lines pair = two_lines(&line);
        for (size_t lost = 0; lost < pair.first; lost++) {
            char bytes[sizeof pair.bytes];
            memcpy(bytes, pair.bytes, lost);
            memcpy(bytes + lost, pair.bytes + lost + 1, pair.size - lost - 1);
            struct link_reader reader = {0};
            struct found found = read_all(&reader, bytes, pair.size - 1);
            passed += found.lines > (lost == pair.first - 1 ? 0 : 1);
            trials++;
        }
    }
    /* A CRC of 16 bits cannot promise it: about one in 100 000 gets through (LINK.md). */
    printf("a byte lost: %u of %u lines were read all the same\n", passed, trials);
    ck_assert_uint_le(passed, 4);
}
END_TEST

/* Every byte that a line may hold. */
static size_t alphabet(uint8_t *bytes)
{
    size_t count = 0;
    for (const char *c = " -=\n0123456789abcdefABCDEFGHIJKLMNOPQRSTUVWXYZ"; *c != '\0'; c++)
        bytes[count++] = (uint8_t)*c;
    return count;
}

START_TEST(the_brake_byte_is_three_bits_or_more_from_what_lines_and_idle_noise_hold)
{
    uint8_t bytes[64];
    size_t count = alphabet(bytes);
    int nearest = 8;
    for (size_t i = 0; i < count; i++) {
        int bits = __builtin_popcount((unsigned)(bytes[i] ^ LINK_BRAKE_BYTE));
        nearest = bits < nearest ? bits : nearest;
    }
    ck_assert_int_eq(nearest, 3);
    ck_assert_int_ge(__builtin_popcount(LINK_BRAKE_BYTE), 3);        /* from 00 */
    ck_assert_int_ge(__builtin_popcount(LINK_BRAKE_BYTE ^ 0xff), 3); /* from ff */
}
END_TEST

/* --- Every line at once, by arithmetic: the CRC is linear --- */

/* What is left out here are errors that make or hit a newline or the '='. They change the form: no
 * letter that words use is one bit from a newline, and within three only REFUSED has another word
 * behind it, USED, with a value too many. */

enum { SEALED_MAX = LINK_LINE_MAX - 1 - 5, ERRORS_MAX = 20000 };

struct error {
    uint16_t crc; /* what it changes in the CRC */
    uint8_t byte; /* where, counted from the '=' backward */
    uint8_t bits;
};

/* Errors of one to three bits in one byte that leave a byte which lines use. */
static size_t errors_of_one_byte(struct error *errors)
{
    static const uint8_t used[] = " -0123456789abcdefABCDEFGHIJKLMNOPQRSTUVWXYZ";
    size_t count = sizeof used - 1;
    size_t found = 0;
    for (unsigned mask = 1; mask < 256; mask++) {
        bool hidden = false;
        for (size_t i = 0; i < count; i++)
            hidden = hidden || memchr(used, (int)(used[i] ^ mask), count) != NULL;
        uint8_t bits = (uint8_t)__builtin_popcount(mask);
        for (uint8_t byte = 0; hidden && bits <= 3 && byte < SEALED_MAX; byte++) {
            uint16_t crc = link_crc(0, (uint8_t)mask);
            for (uint8_t i = 0; i < byte; i++)
                crc = link_crc(crc, 0);
            errors[found++] = (struct error){crc, byte, bits};
        }
    }
    return found;
}

/* The fewest bits that must be wrong among the CRC's four digits to change it so. */
static int fewest_bits(uint16_t change)
{
    static const char digits[] = "0123456789abcdef";
    int bits = 0;
    for (unsigned digit = 0; digit < 4; digit++) {
        unsigned delta = change >> (4 * digit) & 15;
        int fewest = 8;
        for (unsigned value = 0; value < 16; value++) {
            int here = __builtin_popcount((unsigned)(digits[value] ^ digits[value ^ delta]));
            fewest = here < fewest ? here : fewest;
        }
        bits += fewest;
    }
    return bits;
}

START_TEST(no_error_of_three_bits_or_fewer_gets_through_any_line)
{
    static struct error errors[ERRORS_MAX];
    static uint8_t fewest[0x10000];
    size_t count = errors_of_one_byte(errors);
    ck_assert_uint_lt(count, ERRORS_MAX);
    for (uint32_t change = 0; change < 0x10000; change++)
        fewest[change] = (uint8_t)fewest_bits((uint16_t)change);
    static bool single[0x10000];
    int least = 99;
    for (size_t i = 0; i < count; i++) {
        int bits = errors[i].bits + fewest[errors[i].crc];
        least = bits < least ? bits : least;
        single[errors[i].crc] = single[errors[i].crc] || errors[i].bits == 1;
    }
    for (size_t i = 0; i < count; i++) {
        for (size_t k = i + 1; errors[i].bits < 3 && k < count; k++) {
            int bits = errors[i].bits + errors[k].bits;
            if (bits > 3 || errors[i].byte == errors[k].byte)
                continue;
            uint16_t change = errors[i].crc ^ errors[k].crc;
            bits += fewest[change];
            least = bits < least ? bits : least;
            if (errors[i].bits + errors[k].bits == 2 && single[change])
                least = least < 3 ? least : 3; /* three bits in three bytes, the CRC as it was */
        }
    }
    printf("the least error that could get through has %d bits or more\n", least);
    ck_assert_int_ge(least, 4);
}
END_TEST

START_TEST(a_byte_that_no_line_uses_spoils_its_line_and_no_other)
{
    start();
    uint8_t used[64];
    size_t count = alphabet(used);
    for (unsigned byte = 0; byte < 256; byte++) {
        if (byte == LINK_BRAKE_BYTE || memchr(used, (int)byte, count) != NULL)
            continue;
        struct link_line line = random_line(LINK_STRIDE);
        struct pair_of_lines pair = two_lines(&line);
        for (size_t at = 0; at < pair.first; at++) {
            char bytes[sizeof pair.bytes + 1];
            memcpy(bytes, pair.bytes, at);
            bytes[at] = (char)byte;
            memcpy(bytes + at + 1, pair.bytes + at, pair.size - at);
            check_refused(&pair, bytes, pair.size + 1, false);
        }
    }
}
END_TEST

START_TEST(the_brake_byte_brakes_wherever_it_stands_and_spoils_nothing)
{
    start();
    struct link_line line = random_line(LINK_STRIDE);
    struct pair_of_lines pair = two_lines(&line);
    for (size_t at = 0; at <= pair.size; at++) {
        char bytes[sizeof pair.bytes + 1];
        memcpy(bytes, pair.bytes, at);
        bytes[at] = (char)LINK_BRAKE_BYTE;
        memcpy(bytes + at + 1, pair.bytes + at, pair.size - at);
        struct link_reader reader = {0};
        struct found found = read_all(&reader, bytes, pair.size + 1);
        ck_assert_uint_eq(found.brakes, 1);
        ck_assert_uint_eq(found.lines, 2);
        ck_assert_uint_eq(found.spoilt, 0);
    }
}
END_TEST

START_TEST(empty_lines_are_nothing)
{
    struct link_reader reader = {0};
    struct found found = read_all(&reader, "\n\n\n", 3);
    ck_assert_uint_eq(found.lines + found.spoilt + found.brakes, 0);
}
END_TEST

START_TEST(after_any_junk_and_a_newline_the_next_line_is_read)
{
    start();
    for (int trial = 0; trial < 20000; trial++) {
        struct link_reader reader = {0};
        char junk[200];
        uint32_t size = below(sizeof junk);
        for (uint32_t i = 0; i < size; i++)
            junk[i] = (char)next_random();
        (void)read_all(&reader, junk, size);
        (void)read_all(&reader, "\n", 1);
        struct link_line line = random_line((uint8_t)below(LINK_WORDS));
        char text[LINK_LINE_MAX];
        struct found found = read_all(&reader, text, link_write(&line, text));
        ck_assert_uint_eq(found.lines, 1);
        ck_assert(same(&found.last, &line));
    }
}
END_TEST

START_TEST(whatever_text_is_read_is_just_what_its_values_are_written_as)
{
    start();
    uint8_t used[64];
    size_t count = alphabet(used);
    unsigned taken = 0;
    for (int trial = 0; trial < 300000; trial++) {
        struct link_line line = random_line((uint8_t)below(LINK_WORDS));
        char text[64] = {0};
        uint8_t size = link_write(&line, text);
        text[size - 6] = '\0';
        for (uint32_t hits = below(3); hits > 0; hits--)
            text[below((uint32_t)strlen(text))] = (char)used[below((uint32_t)count)];
        size = (uint8_t)seal(text, sizeof text);
        struct link_line back;
        if (!link_read(text, size, &back))
            continue;
        char again[LINK_LINE_MAX];
        ck_assert_uint_eq(link_write(&back, again), size + 1);
        ck_assert_mem_eq(again, text, size);
        taken++;
    }
    ck_assert_uint_gt(taken, 10000);
}
END_TEST

/* --- Strides and sums --- */

static struct stride random_stride(void)
{
    return (struct stride){
        .interval = (uint32_t)next_random(),
        .change = (int32_t)(uint32_t)next_random(),
        .curve = (int32_t)(uint32_t)next_random(),
        .steps = (uint16_t)(1 + below(STRIDE_STEPS_MAX)),
        .flags = (uint8_t)below(8),
    };
}

START_TEST(a_stride_goes_into_a_line_and_comes_out_the_same)
{
    start();
    for (int trial = 0; trial < 20000; trial++) {
        struct stride stride = random_stride();
        uint8_t sequence = (uint8_t)next_random();
        struct link_line line;
        link_stride_line(&stride, sequence, &line);
        check_round_trip(&line);
        struct stride back;
        uint8_t number;
        ck_assert(link_line_stride(&line, &back, &number));
        ck_assert_uint_eq(number, sequence);
        ck_assert_uint_eq(back.interval, stride.interval);
        ck_assert_int_eq(back.change, stride.change);
        ck_assert_int_eq(back.curve, stride.curve);
        ck_assert_uint_eq(back.steps, stride.steps);
        ck_assert_uint_eq(back.flags, stride.flags);
    }
}
END_TEST

START_TEST(a_stride_of_no_steps_or_of_unknown_flags_is_none)
{
    struct stride stride;
    uint8_t sequence;
    struct link_line line = {LINK_STRIDE, 5, {0x7ff, 1, 0, 0, 0}};
    ck_assert(link_line_stride(&line, &stride, &sequence));
    line.value[1] = 0;
    ck_assert(!link_line_stride(&line, &stride, &sequence));
    line.value[1] = 1;
    line.value[0] = 0x8ff;
    ck_assert(!link_line_stride(&line, &stride, &sequence));
    line.value[0] = 0;
    line.word = LINK_SEE;
    ck_assert(!link_line_stride(&line, &stride, &sequence));
}
END_TEST

/* Fletcher's sum by its closed form: of n bytes, low = sum b, high = sum (n - i) b_i, modulo 255.
 */
static uint16_t other_sum(const uint8_t *bytes, size_t size)
{
    uint64_t low = 0;
    uint64_t high = 0;
    for (size_t i = 0; i < size; i++) {
        low += bytes[i];
        high += (size - i) * bytes[i];
    }
    return (uint16_t)(high % 255 << 8 | low % 255);
}

static size_t put(uint8_t *bytes, uint32_t value, size_t size)
{
    for (size_t i = 0; i < size; i++)
        bytes[i] = (uint8_t)(value >> (8 * i));
    return size;
}

START_TEST(the_sum_agrees_with_fletchers_modulo_255)
{
    start();
    for (int trial = 0; trial < 2000; trial++) {
        uint8_t bytes[16 * 40];
        size_t size = 0;
        uint16_t sum = LINK_SUM_START;
        for (uint32_t strides = below(41); strides > 0; strides--) {
            struct stride s = random_stride();
            uint8_t sequence = (uint8_t)next_random();
            sum = link_sum_stride(sum, &s, sequence);
            size += put(bytes + size, sequence, 1);
            size += put(bytes + size, s.flags, 1);
            size += put(bytes + size, s.steps, 2);
            size += put(bytes + size, s.interval, 4);
            size += put(bytes + size, (uint32_t)s.change, 4);
            size += put(bytes + size, (uint32_t)s.curve, 4);
        }
        ck_assert_uint_eq(sum, other_sum(bytes, size));
        uint32_t setting[LINK_SETTINGS];
        size = 0;
        for (uint8_t i = 0; i < LINK_SETTINGS; i++) {
            setting[i] = (uint32_t)next_random();
            size += put(bytes + size, i + 1u, 1);
            size += put(bytes + size, setting[i], 4);
        }
        ck_assert_uint_eq(link_sum_settings(setting), other_sum(bytes, size));
    }
}
END_TEST

START_TEST(two_strides_that_the_crc_cannot_tell_apart_differ_in_their_sums)
{
    enum { PAIRS = 2000 };
    start();
    struct stride *by_crc = calloc(0x10000, sizeof *by_crc);
    ck_assert_ptr_nonnull(by_crc);
    unsigned pairs = 0;
    unsigned alike = 0;
    while (pairs < PAIRS) {
        struct stride stride = random_stride();
        struct link_line line;
        char text[LINK_LINE_MAX];
        link_stride_line(&stride, 7, &line);
        uint8_t size = link_write(&line, text);
        uint16_t crc = other_crc(text, size - 6u);
        if (by_crc[crc].steps != 0) {
            pairs++;
            alike += link_sum_stride(0, &stride, 7) == link_sum_stride(0, &by_crc[crc], 7);
        }
        by_crc[crc] = stride;
    }
    free(by_crc);
    /* By chance one pair in 65 025 has the same sum too. */
    printf("%u of %u pairs of strides with one CRC have one sum\n", alike, pairs);
    ck_assert_uint_le(alike, 2);
}
END_TEST

/* --- The specification --- */

static FILE *open_specification(void)
{
    char path[4096];
    (void)snprintf(path, sizeof path, "%s", __FILE__);
    char *slash = strrchr(path, '/');
    size_t folder = slash ? (size_t)(slash - path) + 1 : 0;
    (void)snprintf(path + folder, sizeof path - folder, "../../protocol/LINK.md");
    return fopen(path, "r");
}

START_TEST(every_example_line_of_the_specification_is_read_and_written_the_same)
{
    FILE *file = open_specification();
    ck_assert_ptr_nonnull(file);
    unsigned seen[LINK_WORDS] = {0};
    char row[256];
    bool inside = false;
    while (fgets(row, sizeof row, file) != NULL) {
        if (strncmp(row, "```", 3) == 0) {
            inside = strcmp(row, "```line\n") == 0;
            continue;
        }
        if (!inside)
            continue;
        /* Who speaks stands in front where lines of both are shown. */
        const char *text = strncmp(row, "> ", 2) == 0 || strncmp(row, "< ", 2) == 0 ? row + 2 : row;
        size_t size = strlen(text);
        char again[LINK_LINE_MAX];
        struct link_line line;
        ck_assert_msg(size <= LINK_LINE_MAX && link_read(text, (uint8_t)(size - 1), &line),
                      "LINK.md has a line that cannot be read: %s", text);
        ck_assert_uint_eq(link_write(&line, again), size);
        ck_assert_mem_eq(again, text, size);
        if (text != row)
            ck_assert_int_eq(row[0], line.word < LINK_BOARD ? '>' : '<');
        seen[line.word]++;
    }
    (void)fclose(file);
    for (int word = 0; word < LINK_WORDS; word++)
        ck_assert_msg(seen[word] > 0, "LINK.md has no example of %s", shapes[word].word);
}
END_TEST

static Suite *link_suite(void)
{
    Suite *suite = suite_create("link");
    TCase *form = tcase_create("form");
    tcase_add_test(form, the_crc_of_123456789_is_6f91);
    tcase_add_test(form, the_crc_agrees_with_an_independent_one);
    tcase_add_test(form, every_word_with_every_mix_of_extreme_values_comes_back_the_same);
    tcase_add_test(form, random_values_of_every_word_come_back_the_same);
    tcase_add_test(form, an_unknown_word_or_a_wrong_number_of_values_is_not_written);
    tcase_add_test(form, what_is_not_spelt_just_so_is_refused);
    tcase_add_test(form, a_line_whose_crc_is_wrong_or_misplaced_is_refused);
    tcase_add_test(form, a_line_of_47_characters_is_looked_at_and_a_longer_one_is_spoilt);
    tcase_add_test(form, whatever_text_is_read_is_just_what_its_values_are_written_as);
    tcase_add_test(form, every_example_line_of_the_specification_is_read_and_written_the_same);
    TCase *wire = tcase_create("wire");
    tcase_set_timeout(wire, 60);
    tcase_add_test(wire, every_line_with_one_bit_wrong_is_refused);
    tcase_add_test(wire, every_line_with_two_bits_wrong_is_refused);
    tcase_add_test(wire, no_error_of_three_bits_or_fewer_gets_through_any_line);
    tcase_add_test(wire, lines_with_a_byte_lost_are_refused);
    tcase_add_test(wire, the_brake_byte_is_three_bits_or_more_from_what_lines_and_idle_noise_hold);
    tcase_add_test(wire, a_byte_that_no_line_uses_spoils_its_line_and_no_other);
    tcase_add_test(wire, the_brake_byte_brakes_wherever_it_stands_and_spoils_nothing);
    tcase_add_test(wire, empty_lines_are_nothing);
    tcase_add_test(wire, after_any_junk_and_a_newline_the_next_line_is_read);
    TCase *sums = tcase_create("sums");
    tcase_add_test(sums, a_stride_goes_into_a_line_and_comes_out_the_same);
    tcase_add_test(sums, a_stride_of_no_steps_or_of_unknown_flags_is_none);
    tcase_add_test(sums, the_sum_agrees_with_fletchers_modulo_255);
    tcase_add_test(sums, two_strides_that_the_crc_cannot_tell_apart_differ_in_their_sums);
    suite_add_tcase(suite, form);
    suite_add_tcase(suite, wire);
    suite_add_tcase(suite, sums);
    return suite;
}

int main(void)
{
    const char *given = getenv("REGLET_SEED");
    seed = given ? strtoull(given, NULL, 0) : (uint64_t)time(NULL) * 65537 + (uint64_t)getpid();
    printf("REGLET_SEED=%" PRIu64 "\n", seed);
    (void)fflush(stdout);
    SRunner *runner = srunner_create(link_suite());
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
