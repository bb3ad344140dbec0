/* SPDX-License-Identifier: MIT */
#include "protocol/length.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

__extension__ typedef __int128 wide_int;

/* Every digit run stays below 10^12, so a term's numerator below 10^24 and the two products of a
 * sum below 10^35: nothing here comes near the 1.7 * 10^38 of wide_int. */
enum {
    DIGITS_MAX = 12,
    ECHO_MAX = 40, /* characters of what was typed that a sentence repeats */
    HALF_NM_PER_THOUSANDTH = 50800,
};

enum unit { UNIT_NONE, UNIT_IN, UNIT_MM };

enum form { FORM_WHOLE, FORM_DECIMAL, FORM_FRACTION };

struct scan {
    const char *text;
    size_t at;
    struct length_fault *fault; /* may be NULL */
};

/* numerator / denominator of `unit`, never negative; the number as typed is text[from, to). */
struct term {
    wide_int numerator;
    int64_t denominator;
    enum form form;
    enum unit unit;
    size_t from;
    size_t to;
};

static const char words_number[] = "expected a digit or a point, as in 3/8, .375in or 9.5mm";
static const char words_empty[] = "expected a length, such as 3/8, .375in or 9.5mm";
static const char words_digits[] = "expected at most 12 digits: no length over 10 m is read";
static const char words_range[] = "expected at most 10 m (393.7 in) either way";
static const char words_join[] = "expected a fraction behind a whole number, as in 1-7/16; a "
                                 "remainder stands between blanks, as in 1 - .003";
static const char words_both[] = "expected the sum as 1-1/2 or the difference as 1in - 1/2in: a "
                                 "minus between blanks and a fraction can be read both ways";

/* --- Faults --- */

REGLET_PRINTF(3, 4) static bool fail(struct scan *scan, size_t at, const char *format, ...)
{
    if (scan->fault) {
        va_list arguments;
        va_start(arguments, format);
        scan->fault->at = at;
        (void)vsnprintf(scan->fault->text, sizeof scan->fault->text, format, arguments);
        va_end(arguments);
    }
    return false;
}

/* What stands here cannot be read. A comma, a control character and anything beyond ASCII are
 * the same mistake wherever they are met. */
static bool expected(struct scan *scan, const char *words)
{
    unsigned char found = (unsigned char)scan->text[scan->at];
    if (found == ',')
        words = "expected a point, not a comma: write 12.5 for 12,5";
    else if (found >= 0x80)
        words = "expected plain characters: digits, point, slash, plus, hyphen, and in, \" or mm";
    else if (found == 0x7f || (found > 0 && found < ' '))
        words = "expected no control character: a length is one line, with blanks and no tabs";
    return fail(scan, scan->at, "%s", words);
}

/* How much of the typed number a sentence can repeat: all of it, or nothing. */
static bool fail_of_what(struct scan *scan, const struct term *term)
{
    int size = (int)(term->to - term->from);
    const char *typed = scan->text + term->from;
    if (term->to - term->from > ECHO_MAX)
        return fail(scan, term->to, "a length of what? write its unit behind it, in or mm");
    if (term->form == FORM_FRACTION)
        return fail(scan, term->to, "%.*s of what? write %.*sin", size, typed, size, typed);
    return fail(scan, term->to, "%.*s of what? write %.*sin or %.*smm", size, typed, size, typed,
                size, typed);
}

/* --- Scanning --- */

static char peek(const struct scan *scan)
{
    return scan->text[scan->at];
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static size_t past_blanks(const struct scan *scan)
{
    size_t at = scan->at;
    while (scan->text[at] == ' ')
        at++;
    return at;
}

static bool read_whole(struct scan *scan, const char *words, int64_t *value)
{
    size_t from = scan->at;
    int significant = 0;
    if (!is_digit(peek(scan)))
        return expected(scan, words);
    for (*value = 0; is_digit(peek(scan)); scan->at++) {
        *value = *value * 10 + (peek(scan) - '0');
        significant += *value > 0;
        if (significant > DIGITS_MAX)
            return fail(scan, from, "%s", words_digits);
    }
    return true;
}

/* From the point on. */
static bool read_decimals(struct scan *scan, struct term *term, int64_t whole)
{
    size_t point = scan->at++;
    term->form = FORM_DECIMAL;
    term->numerator = whole;
    if (!is_digit(peek(scan)))
        return expected(scan, "expected a digit behind the point");
    for (; is_digit(peek(scan)); scan->at++) {
        if (scan->at - point > DIGITS_MAX)
            return fail(scan, scan->at, "expected at most 12 decimals");
        term->numerator = term->numerator * 10 + (peek(scan) - '0');
        term->denominator *= 10;
    }
    return true;
}

/* From the slash on. */
static bool read_fraction(struct scan *scan, struct term *term, int64_t whole, int64_t numerator)
{
    size_t at = ++scan->at;
    term->form = FORM_FRACTION;
    if (!read_whole(scan, "expected a denominator, as in 3/8", &term->denominator))
        return false;
    if (term->denominator == 0)
        return fail(scan, at, "expected a denominator above zero");
    term->numerator = (wide_int)whole * term->denominator + numerator;
    return true;
}

/* From the hyphen or the blanks that join the fraction to its whole number. */
static bool read_mixed(struct scan *scan, struct term *term, int64_t whole)
{
    int64_t numerator = 0;
    scan->at = peek(scan) == '-' ? scan->at + 1 : past_blanks(scan);
    size_t at = scan->at;
    if (!read_whole(scan, words_join, &numerator))
        return false;
    if (peek(scan) != '/')
        return expected(scan, words_join);
    if (!read_fraction(scan, term, whole, numerator))
        return false;
    if (numerator >= term->denominator)
        return fail(scan, at, "expected a fraction below one behind a whole number, as in 1-7/16");
    return true;
}

static bool read_number(struct scan *scan, struct term *term)
{
    int64_t whole = 0;
    if (peek(scan) != '.' && !read_whole(scan, words_number, &whole))
        return false;
    if (peek(scan) == '.')
        return read_decimals(scan, term, whole);
    if (peek(scan) == '/')
        return read_fraction(scan, term, 0, whole);
    if (peek(scan) == '-' || (peek(scan) == ' ' && is_digit(scan->text[past_blanks(scan)])))
        return read_mixed(scan, term, whole);
    term->form = FORM_WHOLE;
    term->numerator = whole;
    return true;
}

static bool read_unit(struct scan *scan, struct term *term)
{
    size_t from = past_blanks(scan);
    const char *word = scan->text + from;
    size_t size = 0;
    while (is_letter(word[size]))
        size++;
    if (*word == '"')
        size = 1;
    if (size == 0)
        return true;
    scan->at = from;
    if (*word == '"' || (size == 2 && memcmp(word, "in", 2) == 0))
        term->unit = UNIT_IN;
    else if (size == 2 && memcmp(word, "mm", 2) == 0)
        term->unit = UNIT_MM;
    else
        return expected(scan, "expected the unit in, \" or mm");
    if (term->unit == UNIT_MM && term->form == FORM_FRACTION)
        return expected(scan, "expected in: a fraction is inches, always; write 3/8in, or "
                              "millimetres with a point, 9.5mm");
    scan->at += size;
    return true;
}

static int64_t nm_per_unit(const struct term *term)
{
    return term->unit == UNIT_IN ? LENGTH_NM_PER_IN : LENGTH_NM_PER_MM;
}

/* `from` is where the typed text begins: at the sign, where there is one. */
static bool read_term(struct scan *scan, size_t from, struct term *term)
{
    *term = (struct term){.denominator = 1, .unit = UNIT_NONE, .from = from};
    if (!read_number(scan, term))
        return false;
    term->to = scan->at;
    return read_unit(scan, term);
}

static bool check_range(struct scan *scan, const struct term *term)
{
    if (term->numerator * nm_per_unit(term) > (wide_int)LENGTH_NM_MAX * term->denominator)
        return fail(scan, term->from, "%s", words_range);
    return true;
}

/* --- The sum --- */

/* The sign between two terms. Behind a number without a unit a minus could be the hyphen of a
 * mixed number, so there it stands between blanks. */
static bool read_sum_sign(struct scan *scan, const struct term *first, bool *minus)
{
    size_t sign = past_blanks(scan);
    bool blanks = sign > scan->at && scan->text[sign + 1] == ' ';
    scan->at = sign;
    *minus = peek(scan) == '-';
    if (*minus && first->form != FORM_FRACTION && first->unit == UNIT_NONE && !blanks)
        return expected(scan, words_join);
    scan->at++;
    scan->at = past_blanks(scan);
    return true;
}

static bool read_remainder(struct scan *scan, const struct term *first, bool *minus,
                           struct term *second)
{
    size_t next = past_blanks(scan);
    *second = (struct term){.denominator = 1, .unit = UNIT_NONE};
    if (scan->text[next] != '+' && scan->text[next] != '-')
        return true;
    if (!read_sum_sign(scan, first, minus) || !read_term(scan, scan->at, second))
        return false;
    if (*minus && first->form == FORM_WHOLE && first->unit == UNIT_NONE &&
        second->form == FORM_FRACTION)
        return fail(scan, next, "%s", words_both);
    return true;
}

static bool resolve_first(struct scan *scan, enum length_bare bare, struct term *first)
{
    if (first->unit != UNIT_NONE)
        return true;
    if (bare == LENGTH_BARE_IN)
        first->unit = UNIT_IN;
    else if (bare == LENGTH_BARE_MM && first->form != FORM_FRACTION)
        first->unit = UNIT_MM;
    else
        return fail_of_what(scan, first);
    return true;
}

static bool resolve_second(struct scan *scan, const struct term *first, bool first_bare,
                           struct term *second)
{
    if (second->unit == UNIT_NONE) {
        if (first->unit == UNIT_MM && second->form == FORM_FRACTION)
            return fail_of_what(scan, second);
        second->unit = first->unit;
    }
    if (first_bare && second->unit != first->unit)
        return fail(scan, first->to,
                    "expected a unit with each of two that differ, as in "
                    "3/8in + 1mm");
    return true;
}

static bool resolve(struct scan *scan, enum length_bare bare, struct term *first,
                    struct term *second)
{
    bool first_bare = first->unit == UNIT_NONE;
    if (!resolve_first(scan, bare, first) || !check_range(scan, first))
        return false;
    if (second->to == 0) /* no second term was typed */
        return true;
    return resolve_second(scan, first, first_bare, second) && check_range(scan, second);
}

/* Exact, then rounded once. */
static bool add(struct scan *scan, const struct term *first, bool negative,
                const struct term *second, bool minus, int64_t *nm)
{
    wide_int a = first->numerator * nm_per_unit(first) * second->denominator;
    wide_int b = second->numerator * nm_per_unit(second) * first->denominator;
    wide_int below = (wide_int)first->denominator * second->denominator;
    wide_int sum = (negative ? -a : a) + (minus ? -b : b);
    wide_int size = sum < 0 ? -sum : sum;
    if (size > LENGTH_NM_MAX * below)
        return fail(scan, first->from, "%s", words_range);
    int64_t rounded = (int64_t)((2 * size + below) / (2 * below));
    *nm = sum < 0 ? -rounded : rounded;
    return true;
}

static bool read_end(struct scan *scan, bool has_second)
{
    scan->at = past_blanks(scan);
    if (peek(scan) == '\0')
        return true;
    return expected(scan, has_second
                              ? "expected the end: a length is one term, or two such as 3/8 + .003"
                              : "expected a unit, a remainder such as + .003, or the end");
}

bool length_parse(const char *text, enum length_bare bare, int64_t *nm, struct length_fault *fault)
{
    struct scan scan = {text, 0, fault};
    struct term first;
    struct term second;
    bool minus = false;

    scan.at = past_blanks(&scan);
    if (peek(&scan) == '\0')
        return expected(&scan, words_empty);
    size_t from = scan.at;
    bool negative = peek(&scan) == '-';
    if (negative || peek(&scan) == '+')
        scan.at++;
    return read_term(&scan, from, &first) && read_remainder(&scan, &first, &minus, &second) &&
           read_end(&scan, second.to > 0) && resolve(&scan, bare, &first, &second) &&
           add(&scan, &first, negative, &second, minus, nm);
}

/* --- Printing --- */

enum { WORK_SIZE = 2 * LENGTH_TEXT_SIZE };

static uint64_t magnitude(int64_t nm)
{
    return nm < 0 ? -(uint64_t)nm : (uint64_t)nm;
}

static uint64_t divide_rounded(wide_int value, int64_t by)
{
    return (uint64_t)((2 * value + by) / (2 * (wide_int)by));
}

/* All of it or nothing: half a height is a wrong height. */
static size_t deliver(const char *text, char *out, size_t out_size)
{
    size_t size = strlen(text);
    if (out_size == 0)
        return 0;
    if (size >= out_size) {
        out[0] = '\0';
        return 0;
    }
    memcpy(out, text, size + 1);
    return size;
}

/* The fraction count/parts in lowest terms; parts is a power of two. */
static void write_fraction(char work[WORK_SIZE], const char *sign, uint64_t count, uint64_t parts)
{
    unsigned long long whole = count / parts;
    unsigned above = (unsigned)(count % parts);
    unsigned below = (unsigned)parts;
    while (above > 0 && above % 2 == 0) {
        above /= 2;
        below /= 2;
    }
    if (above == 0)
        (void)snprintf(work, WORK_SIZE, "%s%lluin", sign, whole);
    else if (whole == 0)
        (void)snprintf(work, WORK_SIZE, "%s%u/%u", sign, above, below);
    else
        (void)snprintf(work, WORK_SIZE, "%s%llu-%u/%u", sign, whole, above, below);
}

/* In half nanometres, since 1/128 in is 198 437.5 nm. */
static void write_fractional(char work[WORK_SIZE], int64_t nm, int64_t parts)
{
    wide_int size = 2 * (wide_int)magnitude(nm);
    int64_t part = 2 * (int64_t)LENGTH_NM_PER_IN / parts;
    uint64_t count = divide_rounded(size, part);
    wide_int rest = size - (wide_int)count * part;
    unsigned thousandths =
        (unsigned)divide_rounded(rest < 0 ? -rest : rest, HALF_NM_PER_THOUSANDTH);
    const char *sign = nm < 0 ? "-" : "";

    if (count == 0 && thousandths == 0) {
        (void)snprintf(work, WORK_SIZE, "0");
        return;
    }
    if (count == 0) {
        (void)snprintf(work, WORK_SIZE, "%s.%03uin", sign, thousandths);
        return;
    }
    write_fraction(work, sign, count, (uint64_t)parts);
    if (thousandths > 0) {
        size_t used = strlen(work);
        (void)snprintf(work + used, WORK_SIZE - used, " %c .%03u",
                       (rest < 0) != (nm < 0) ? '-' : '+', thousandths);
    }
}

/* Three decimals as the trade says them, the fourth only where it is not zero. */
static void write_decimal_in(char work[WORK_SIZE], int64_t nm)
{
    uint64_t tenths = divide_rounded((wide_int)magnitude(nm), LENGTH_NM_PER_IN / 10000);
    unsigned decimals = (unsigned)(tenths % 10000);
    const char *sign = nm < 0 && tenths > 0 ? "-" : "";
    char whole[24] = "";

    if (tenths >= 10000)
        (void)snprintf(whole, sizeof whole, "%llu", (unsigned long long)(tenths / 10000));
    if (decimals % 10 == 0)
        (void)snprintf(work, WORK_SIZE, "%s%s.%03uin", sign, whole, decimals / 10);
    else
        (void)snprintf(work, WORK_SIZE, "%s%s.%04uin", sign, whole, decimals);
}

/* `size` counts units of 10^-decimals mm; zeros at the end are left out. */
static void write_mm(char work[WORK_SIZE], bool negative, uint64_t size, int decimals)
{
    uint64_t scale = decimals == 3 ? 1000 : 1000000;
    unsigned long long whole = size / scale;
    unsigned long long rest = size % scale;
    const char *sign = negative && size > 0 ? "-" : "";

    while (decimals > 0 && rest % 10 == 0) {
        rest /= 10;
        decimals--;
    }
    if (decimals == 0)
        (void)snprintf(work, WORK_SIZE, "%s%llumm", sign, whole);
    else
        (void)snprintf(work, WORK_SIZE, "%s%llu.%0*llumm", sign, whole, decimals, rest);
}

size_t length_print(int64_t nm, enum length_style style, char *out, size_t out_size)
{
    char work[WORK_SIZE];
    switch (style) {
    case LENGTH_STYLE_32:
        write_fractional(work, nm, 32);
        break;
    case LENGTH_STYLE_64:
        write_fractional(work, nm, 64);
        break;
    case LENGTH_STYLE_128:
        write_fractional(work, nm, 128);
        break;
    case LENGTH_STYLE_IN:
        write_decimal_in(work, nm);
        break;
    case LENGTH_STYLE_MM:
        write_mm(work, nm < 0, divide_rounded((wide_int)magnitude(nm), 1000), 3);
        break;
    default:
        write_mm(work, nm < 0, magnitude(nm), 6);
    }
    return deliver(work, out, out_size);
}

size_t length_print_exact(int64_t nm, char *out, size_t out_size)
{
    char work[WORK_SIZE];
    write_mm(work, nm < 0, magnitude(nm), 6);
    return deliver(work, out, out_size);
}
