/* SPDX-License-Identifier: MIT */
/* The strict scan, against RFC 8259 (JSON), RFC 3629 (UTF-8) and RFC 7493 (I-JSON). */
#include <check.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "protocol/json.h"
#include "tests/seed.h"
#include "tests/suite.h"

/* For loops: ck_assert tells the runner of each pass, which is slow. */
static void expect(bool holds, const char *text, size_t size)
{
    if (!holds) {
        ck_abort_msg("with the text '%.*s'", (int)size, text);
    }
}

/* Scans a copy that ends where its memory ends, so that the sanitizer sees a byte read too far,
 * and checks that a fault is a whole sentence about a place in the text. */
static bool scan_fault(const char *text, size_t size, struct json_fault *fault)
{
    char *copy = malloc(size + (size == 0));
    expect(copy != NULL, text, size);
    memcpy(copy, text, size);
    *fault = (struct json_fault){.line = 0};
    bool accepted = json_scan(copy, size, fault);
    free(copy);
    size_t length = strlen(fault->text);
    bool told = fault->at <= size && fault->line > 0 && length > 20 &&
                length < sizeof fault->text - 1; /* longer may be cut */
    for (size_t i = 0; i < length; i++) {
        told = told && fault->text[i] >= 0x20 && fault->text[i] < 0x7f;
    }
    expect(accepted ? fault->line == 0 && length == 0 : told, text, size);
    return accepted;
}

static bool scan(const char *text, size_t size)
{
    struct json_fault fault;
    return scan_fault(text, size, &fault);
}

struct verdict {
    bool accepted;
    const char *text;
    size_t size;
};

/* clang-format off */
/* The tables. */
#define Y(literal) {true, literal, sizeof(literal) - 1}
#define N(literal) {false, literal, sizeof(literal) - 1}

static const struct verdict grammar[] = {
    /* RFC 8259 section 13, its examples. */
    Y("{\"Image\": {\"Width\": 800, \"Height\": 600, \"Title\": \"View from 15th Floor\", "
      "\"Thumbnail\": {\"Url\": \"http://www.example.com/image/481989943\", \"Height\": 125, "
      "\"Width\": 100}, \"Animated\" : false, \"IDs\": [116, 943, 234, 38793]}}"),
    Y("[{\"precision\": \"zip\", \"Latitude\": 37.7668, \"Longitude\": -122.3959, \"Country\": "
      "\"US\"}, {\"precision\": \"zip\", \"Latitude\": 37.371991, \"Zip\": \"94085\"}]"),
    Y("\"Hello world!\""), Y("42"), Y("true"),
    /* Section 2: white space, structure, one value and no more. */
    Y(" \t\r\n1 \t\r\n"), Y("[ ]"), Y("{ }"), Y("[\n]"), Y("[1 , 2]"), Y("{\"a\" : 1}"), Y("[[]]"),
    Y("[{},[]]"), Y("{\"a\":{}}"), Y("{\"\":0}"), Y("[\"\"]"),
    N(""), N(" "), N("\n"), N("\f1"), N("\v1"), N("\xc2\xa0" "1"), N("1\0"), N("\0" "1"), N("[1]x"),
    N("1 2"), N("{} {}"), N("[]]"), N("{}}"), N("["), N("{"), N("]"), N("}"), N("[1"), N("[1,"),
    N("{\"a\""), N("{\"a\":"), N("{\"a\":1"), N("{\"a\":1,"), N(","), N(":"), N("[,]"), N("[,1]"),
    N("[1,]"), N("[1,,2]"), N("[1 2]"), N("[1}"), N("{\"a\":1]"), N("{\"a\":1,}"), N("{,}"),
    N("{\"a\" 1}"), N("{\"a\"::1}"), N("{\"a\":}"), N("{\"a\"}"), N("{1:2}"), N("{a:1}"),
    N("{'a':1}"), N("{null:1}"), N("{[]:1}"), N("[\"a\":1]"), N("{\"a\":1 \"b\":2}"),
    N("{\"a\":1;\"b\":2}"), N("(1)"), N("<1>"), N("1;"), N("// no\n1"), N("/* no */ 1"), N("#1"),
    N("[1]//"), N("\\"),
    /* Section 3: three names in small letters. */
    Y("false"), Y("null"), Y("[true,false,null]"), N("True"), N("TRUE"), N("nul"), N("nulL"),
    N("tru"), N("fals"), N("truex"), N("true1"), N("t"), N("f"), N("n"), N("undefined"),
    N("[nan]"), N("NaN"), N("Infinity"), N("-Infinity"), N("inf"), N("yes"),
    /* Section 6: numbers. */
    Y("0"), Y("-0"), Y("0.0"), Y("-0.0"), Y("10"), Y("1.5"), Y("0.1"), Y("1e3"), Y("1E3"),
    Y("1e+3"), Y("1E-3"), Y("1.25e2"), Y("0e0"), Y("0e999"), Y("0.000e+999999999999999999999"),
    Y("1e-999"), Y("-1e-99999999999999999999"), Y("1e01"), Y("1e00000000000000001"), Y("100e-2"),
    N("01"), N("-01"), N("00"), N("00.5"), N("-"), N("+1"), N("--1"), N("-+1"), N(".5"), N("-.5"),
    N("1."), N("1.e1"), N("1.-1"), N("1e"), N("1e+"), N("1e-"), N("1E+-1"), N("1e1.5"), N("1.5.2"),
    N("0x10"), N("1a"), N("1_000"), N("1,000"), N("12,5"), N("- 1"), N("1 .5"), N("\xd9\xa1"),
    /* RFC 7493 section 2.2: within +-(2^53 - 1), by value. */
    Y("9007199254740991"), Y("-9007199254740991"), N("9007199254740992"), N("-9007199254740992"),
    N("9007199254740993"), Y("9007199254740991.0"), Y("9007199254740991.000e0"),
    N("9007199254740991.1"), Y("9007199254740990.9"), Y("9.007199254740991e15"),
    N("9.007199254740992e15"), Y("9007199254740991000e-3"), N("9007199254740991001e-3"),
    Y("0.0000009007199254740991e22"), N("0.0000009007199254740992e22"), N("1e16"), N("10e15"),
    Y("1e15"), Y("9e15"), N("91e14"), N("123456789012345678901234567890"), N("1e308"), N("1e999"),
    N("-1e999"), N("1e99999999999999999999999"), N("1.7976931348623157e308"),
    /* JSON_NUMBER_MAX. */
    Y("0.1234567890123456789012345678901234567890123456789012345678901"),
    N("0.12345678901234567890123456789012345678901234567890123456789012"),
    /* Section 7: strings. */
    Y("\"\\\"\\\\\\/\\b\\f\\n\\r\\t\""), Y("\"/\""), Y("\"\x7f\""), Y("\"'\""), Y("\"//\""),
    Y("\"\\u0001\""), Y("\"\\u00e9\\u00E9\""), Y("\"\\uD834\\uDD1E\""), Y("\"\\udbff\\udfff\""),
    Y("\"\\uffff\""), Y("\"\\ud7ff\\ue000\""), Y("\"\\\\u0000\""),
    N("\""), N("\"a"), N("\"\\"), N("\"\\\""), N("\"\\u\""), N("\"\\u1\""), N("\"\\u12\""),
    N("\"\\u123\""), N("\"\\u123g\""), N("\"\\u 123\""), N("\"\\u+123\""), N("\"\\u12"),
    N("\"\\U0041\""), N("\"\\x41\""), N("\"\\a\""), N("\"\\v\""), N("\"\\0\""), N("\"\\'\""),
    N("\"\\ \""), N("\"\\\n\""), N("\"\\\0\""), N("'a'"), N("\"a\nb\""), N("\"\t\""), N("\"\x01\""),
    N("\"\x1f\""), N("\"a\0b\""), N("\"\\u0000\""), N("{\"\\u0000\":1}"), N("\"\\ud800\""),
    N("\"\\udc00\""), N("\"\\ud800a\""), N("\"\\ud800\\n\""), N("\"\\ud800\\u0041\""),
    N("\"\\ud800\\udbff\""), N("\"\\ud800\\ue000\""), N("\"\\udc00\\ud800\""), N("\"\\ud800\\udc0\""), N("\"\\ud800\\u"),
    N("\"a\" \"b\""), N("\"a\"b"),
    /* Section 8.1: UTF-8 without a byte-order mark. U+FEFF within a string is a character. */
    N("\xef\xbb\xbf"), N("\xef\xbb\xbf" "1"), N(" \xef\xbb\xbf" "1"), N("1\xef\xbb\xbf"),
    Y("\"\xef\xbb\xbf\""), N("\xfe\xff\0001"), N("1\0"), N("\xff\xfe" "1\0"),
    N("[\xe2\x80\x9c" "a\xe2\x80\x9d]"),
    /* RFC 7493 section 2.3: no name twice, after unescaping. */
    N("{\"a\":1,\"a\":1}"), N("{\"a\":1,\"b\":2,\"a\":3}"), N("{\"\":1,\"\":2}"),
    N("{\"a\":1,\"\\u0061\":2}"), N("{\"\\u00E9\":1,\"\xc3\xa9\":2}"), N("{\"/\":1,\"\\/\":2}"),
    N("{\"\\uD834\\uDD1E\":1,\"\xf0\x9d\x84\x9e\":2}"), N("{\"\\n\":1,\"\\u000a\":2}"),
    N("[{\"a\":{\"b\":1,\"b\":2}}]"), N("{\"a\":{\"b\":1},\"a\":2}"),
    N("{\"\\\"\":1,\"\\u0022\":2}"),
    Y("{\"a\":1,\"A\":2}"), Y("{\"a\":{\"a\":{\"a\":1}}}"), Y("[{\"a\":1},{\"a\":1}]"),
    Y("{\"costarring\":1,\"liquid\":2}"), /* of one hash, FNV-1a; from memory, recomputed */
    Y("{\"a\":{\"b\":1},\"b\":2}"), Y("{\"a\":1,\"aa\":2,\"\":3}"), Y("{\"a\":1,\"a \":2}"),
    Y("{\"\\u0061\":1,\"\\\\u0061\":2}"), Y("{\"e\\u0301\":1,\"\\u00e9\":2}"),
};

/* RFC 3629 section 4, its grammar: length, then the range of each byte. UTF8-1 less what a JSON
 * string cannot hold raw. */
static const unsigned char sequences[][9] = {
    {1, 0x20, 0x21}, {1, 0x23, 0x5b}, {1, 0x5d, 0x7f}, {2, 0xc2, 0xdf, 0x80, 0xbf},
    {3, 0xe0, 0xe0, 0xa0, 0xbf, 0x80, 0xbf}, {3, 0xe1, 0xec, 0x80, 0xbf, 0x80, 0xbf},
    {3, 0xed, 0xed, 0x80, 0x9f, 0x80, 0xbf}, {3, 0xee, 0xef, 0x80, 0xbf, 0x80, 0xbf},
    {4, 0xf0, 0xf0, 0x90, 0xbf, 0x80, 0xbf, 0x80, 0xbf},
    {4, 0xf1, 0xf3, 0x80, 0xbf, 0x80, 0xbf, 0x80, 0xbf},
    {4, 0xf4, 0xf4, 0x80, 0x8f, 0x80, 0xbf, 0x80, 0xbf},
};

static const unsigned char edges[] = {
    0x41, 0x7f, 0x80, 0x8f, 0x90, 0x9f, 0xa0, 0xbf, 0xc0, 0xc1, 0xc2, 0xdf,
    0xe0, 0xe1, 0xec, 0xed, 0xee, 0xef, 0xf0, 0xf1, 0xf3, 0xf4, 0xf5, 0xff,
};

struct place {
    const char *text;
    size_t at;
    unsigned line;
    const char *words;
};

static const struct place places[] = {
    {"", 0, 1, "found the end of the text where a value is wanted"},
    {"{\n  \"speed\": 1,\n  \"speed\": 2\n}", 18, 3, "the name \"speed\" a second time"},
    {"{\"\xc3\xa9\":1,\"\xc3\xa9\":1}", 8, 1, "found the name \"\?\?\" a second time"},
    {"[1,\n2,\n]", 5, 2, "found a comma before ]"}, {"{\"a\":1,}", 6, 1, "a comma before }"},
    {"[1\n2]", 3, 2, "found '2' where , or ] is wanted"},
    {"{\"a\":1\x80}", 6, 1, "found byte 0x80 where , or } is wanted"},
    {"{a:1}", 1, 1, "found 'a' where a name in double quotes is wanted"},
    {"{\"a\" 1}", 5, 1, "found '1' behind a name, where : is wanted"},
    {"\n\n1 x", 4, 3, "found 'x' behind the end of the value"},
    {"{\"a\": \"b\n}", 8, 1, "found the end of the line in a string"},
    {"\"abc", 4, 1, "the end of the text in a string"}, {"\"a\tb\"", 2, 1, "control byte 0x09"},
    {"\"a\\qb\"", 3, 1, "'q' behind a backslash"}, {"\"\\u00g0\"", 5, 1, "found 'g' in \\u"},
    {"\"a\\u0000\"", 2, 1, "found \\u0000"}, {"\"a\\udead\"", 2, 1, "half a surrogate pair"},
    {"\"ab\xc0\xaf\"", 3, 1, "found byte 0xc0 that begins no UTF-8 character"},
    {"[007]", 1, 1, "begins with 0"}, {"[-x]", 2, 1, "found 'x' behind a minus sign"},
    {"[1.]", 3, 1, "']' behind a decimal point"}, {"[1e]", 3, 1, "found ']' in an exponent"},
    {"[1, 1e999]", 4, 1, "beyond 9007199254740991"}, {"[truth]", 1, 1, "not true"},
    {"[True]", 1, 1, "'T' where a value is wanted"}, {"\xef\xbb\xbf{}", 0, 1, "byte-order mark"},
};

static const char *const comments[][2] = {
    {"// all", "      "}, {"/", "/"}, {"", ""}, {"//\n//", "  \n  "},
    {"{ // one\n\"a\":1 // two\r\n}", "{       \n\"a\":1        \n}"},
    {"\"http://x\" // y", "\"http://x\"     "}, {"\"a\\\"//b\" //c", "\"a\\\"//b\"    "},
    {"\"a\\\\\"//c", "\"a\\\\\"   "}, {"\"open // in\n//x", "\"open // in\n   "},
    {"\"open \\\n//x", "\"open \\\n   "}, {"/ /* x */ \"", "/ /* x */ \""},
    {"1 //\xc3\xa9 \"\n2", "1       \n2"},
};

static const char *const pieces[] = {
    "\"", "\\", "\\u", "\\ud834", "\\u0000", "{", "}", "[", "]", ",", ":", "1", "0", "-", "e9",
    ".5", "true", "\xc3", "\xa9", " ", "\"a\":", "\xed\xa0\x80", "e+15", "9007199",
};
/* clang-format on */

START_TEST(a_text_is_accepted_or_refused_as_the_standards_say)
{
    for (size_t i = 0; i < sizeof grammar / sizeof *grammar; i++) {
        const struct verdict *row = &grammar[i];
        expect(scan(row->text, row->size) == row->accepted, row->text, row->size);
    }
}
END_TEST

START_TEST(a_text_that_ends_anywhere_too_soon_is_refused)
{
    static const char text[] =
        "{\"a\\u00e9\":[-1.5e+1,\"\\ud834\\udd1e\xf0\x9d\x84\x9e\",true,{}]}";
    for (size_t size = 0; size < sizeof text; size++) {
        expect(scan(text, size) == (size == sizeof text - 1), text, size);
    }
}
END_TEST

static bool utf8_by_grammar(const unsigned char *bytes, size_t size)
{
    size_t at = 0;
    size_t row = 0;
    while (at < size && row < sizeof sequences / sizeof *sequences) {
        const unsigned char *range = sequences[row] + 1;
        size_t length = sequences[row][0];
        size_t i = 0;
        while (i < length && at + i < size && bytes[at + i] >= range[2 * i] &&
               bytes[at + i] <= range[2 * i + 1]) {
            i++;
        }
        at += i == length ? length : 0;
        row = i == length ? 0 : row + 1;
    }
    return at == size;
}

START_TEST(four_bytes_at_the_edges_of_utf8_are_judged_by_its_grammar)
{
    const size_t count = sizeof edges;
    size_t good = 0;
    for (size_t i = 0; i < count * count * count * count; i++) {
        unsigned char text[] = "\"....\"";
        for (size_t k = 1, rest = i; k <= 4; k++, rest /= count) {
            text[k] = edges[rest % count];
        }
        bool wanted = utf8_by_grammar(text + 1, 4);
        expect(scan((const char *)text, 6) == wanted, (const char *)text, 6);
        good += wanted;
    }
    ck_assert_uint_gt(good, 1000);
}
END_TEST

START_TEST(every_escape_of_four_digits_is_accepted_but_nul_and_half_surrogates)
{
    for (unsigned code = 0; code < 0x10000; code++) {
        char text[16];
        int size = snprintf(text, sizeof text, code % 2 ? "\"\\u%04x\"" : "\"\\u%04X\"", code);
        bool wanted = code != 0 && (code < 0xd800 || code > 0xdfff);
        expect(scan(text, (size_t)size) == wanted, text, (size_t)size);
    }
}
END_TEST

/* `depth` containers in each other, the i-th an object where bit i of `objects` is set. */
static size_t nest(char *text, size_t depth, uint64_t objects)
{
    size_t size = 0;
    for (size_t i = 0; i < depth; i++) {
        size += (size_t)sprintf(text + size, objects >> i & 1 ? "{\"a\":" : "[");
    }
    text[size++] = '1';
    for (size_t i = depth; i-- > 0;) {
        text[size++] = objects >> i & 1 ? '}' : ']';
    }
    return size;
}

START_TEST(depth_16_is_accepted_and_17_refused)
{
    for (int round = 0; round < 100; round++) {
        char text[256];
        uint64_t objects = round == 0 ? 0 : round == 1 ? UINT64_MAX : next_random();
        ck_assert(scan(text, nest(text, JSON_DEPTH_MAX, objects)));
        ck_assert(!scan(text, nest(text, JSON_DEPTH_MAX + 1, objects)));
    }
    ck_assert(scan("[[[[[[[[[[[[[[[[],[],{}]]]]]]]]]]]]]]]", 38));
}
END_TEST

START_TEST(a_line_of_opening_brackets_is_given_up_at_the_17th)
{
    static char text[16384];
    struct json_fault fault;
    memset(text, '[', sizeof text);
    ck_assert(!scan_fault(text, sizeof text, &fault));
    ck_assert_uint_eq(fault.at, JSON_DEPTH_MAX);
}
END_TEST

static size_t put_members(char *text, size_t from, size_t count)
{
    size_t size = 0;
    for (size_t i = from; i < from + count; i++) {
        size += (size_t)sprintf(text + size, "%s\"n%zu\":1", i == from ? "" : ",", i);
    }
    return size;
}

/* An object with `outer` names, the next in it an object with `inner`. */
static bool scan_members(size_t outer, size_t inner)
{
    static char text[32768];
    size_t size = (size_t)sprintf(text, "{\"x\":{");
    size += put_members(text + size, 0, inner);
    size += (size_t)sprintf(text + size, "},");
    size += put_members(text + size, 0, outer - 1);
    text[size++] = '}';
    return scan(text, size);
}

START_TEST(names_are_counted_over_all_open_objects)
{
    ck_assert(scan_members(JSON_MEMBERS_MAX, 1));
    ck_assert(!scan_members(JSON_MEMBERS_MAX + 1, 1));
    ck_assert(scan_members(JSON_MEMBERS_MAX, JSON_MEMBERS_MAX - 1)); /* one stands around them */
    ck_assert(!scan_members(JSON_MEMBERS_MAX, JSON_MEMBERS_MAX));
}
END_TEST

/* Characters, and the spellings that a string has for each. */
static const char *const spellings[][3] = {
    {"a", "\\u0061", "a"},
    {"/", "\\/", "\\u002F"},
    {"\\n", "\\u000a", "\\u000A"},
    {"\xc3\xa9", "\\u00e9", "\\u00E9"},
    {"\xf0\x9d\x84\x9e", "\\ud834\\udd1e", "\\uD834\\uDD1E"},
};

static size_t spell(char *text, const size_t *characters, size_t count)
{
    size_t size = 0;
    for (size_t i = 0; i < count; i++) {
        size += (size_t)sprintf(text + size, "%s", spellings[characters[i]][below(3)]);
    }
    return size;
}

START_TEST(a_name_is_known_again_in_any_spelling)
{
    for (int round = 0; round < 5000; round++) {
        size_t characters[8];
        size_t count = 1 + below(8);
        for (size_t i = 0; i < count; i++) {
            characters[i] = below(5);
        }
        char text[256] = "{\"";
        size_t size = 2 + spell(text + 2, characters, count);
        size += (size_t)sprintf(text + size, "\":1,\"b\":{},\"");
        bool differ = below(2);
        size_t *character = &characters[below(count)];
        *character = (*character + differ) % 5;
        size += spell(text + size, characters, count);
        size += (size_t)sprintf(text + size, "\":2}");
        expect(scan(text, size) == differ, text, size);
    }
}
END_TEST

START_TEST(numbers_near_the_limit_are_judged_by_value_and_read_exactly)
{
    static const char *const tails[] = {"", ".0", "e0", "00e-2", ".000E+0"};
    const long long most = 9007199254740991; /* 2^53 - 1 */
    for (int round = 0; round < 5000; round++) {
        long long whole = most - 20 + (long long)below(41);
        const char *sign = below(2) ? "-" : "";
        char text[64];
        (void)sprintf(text, "%s%lld%s", sign, whole, tails[below(5)]);
        struct json_fault fault;
        cJSON *number = json_parse(text, strlen(text), &fault);
        expect((number != NULL) == (whole <= most), text, strlen(text));
        expect(number == NULL || number->valuedouble == (double)(*sign ? -whole : whole), text,
               strlen(text));
        cJSON_Delete(number);
        (void)sprintf(text, "%lld.%zu", whole, 1 + below(999999));
        expect(scan(text, strlen(text)) == (whole < most), text, strlen(text));
    }
}
END_TEST

START_TEST(a_fault_says_where_and_what_and_what_would_do)
{
    for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
        const struct place *row = &places[i];
        struct json_fault fault;
        ck_assert(!scan_fault(row->text, strlen(row->text), &fault));
        ck_assert_msg(fault.at == row->at && fault.line == row->line &&
                          strstr(fault.text, row->words) != NULL,
                      "'%s': %zu, line %u: %s", row->text, fault.at, fault.line, fault.text);
    }
}
END_TEST

START_TEST(comments_become_spaces_and_all_else_stays_in_its_place)
{
    for (size_t i = 0; i < sizeof comments / sizeof *comments; i++) {
        size_t size = strlen(comments[i][0]);
        char *text = malloc(size + (size == 0));
        ck_assert(text != NULL);
        memcpy(text, comments[i][0], size);
        json_blank_comments(text, size);
        ck_assert_msg(strlen(comments[i][1]) == size && memcmp(text, comments[i][1], size) == 0,
                      "'%s' became '%.*s'", comments[i][0], (int)size, text);
        free(text);
    }
}
END_TEST

/* What the scan accepts, cJSON reads, and what it prints of it is accepted again. */
static bool agrees_with_cjson(const char *text, size_t size)
{
    if (!scan(text, size)) {
        return false;
    }
    cJSON *document = cJSON_ParseWithLengthOpts(text, size, NULL, false);
    char *print = cJSON_PrintUnformatted(document);
    expect(document != NULL && print != NULL && scan(print, strlen(print)), text, size);
    cJSON_free(print);
    cJSON_Delete(document);
    return true;
}

START_TEST(what_is_accepted_of_mutated_texts_cjson_reads_and_prints_soundly)
{
    size_t accepted = 0;
    for (int round = 0; round < 60000; round++) {
        const struct verdict *row = &grammar[below(sizeof grammar / sizeof *grammar)];
        char text[512];
        memcpy(text, row->text, row->size);
        size_t size = row->size;
        for (size_t change = below(4); change > 0; change--) {
            const char *piece = pieces[below(sizeof pieces / sizeof *pieces)];
            size_t at = below(size + 1);
            size_t gone = below(2) * below(size - at + 1);
            size_t more = below(3) > 0 ? strlen(piece) : 0;
            memmove(text + at + more, text + at + gone, size - at - gone);
            for (size_t i = 0; i < more; i++) {
                text[at + i] = piece[i];
            }
            size = size - gone + more;
        }
        accepted += agrees_with_cjson(text, size);
    }
    ck_assert_uint_gt(accepted, 6000);
}
END_TEST

START_TEST(random_bytes_are_judged_without_harm)
{
    static const char letters[] = "{}[]:,\"\\u0019-+.eE \ntrufalsn\xc3\xa9\xf0\x9f\x98\x80";
    for (int round = 0; round < 60000; round++) {
        char text[48];
        size_t size = below(sizeof text + 1);
        for (size_t i = 0; i < size; i++) {
            text[i] = round % 4 ? letters[below(sizeof letters)] : (char)below(256);
        }
        (void)agrees_with_cjson(text, size);
    }
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("json");
    TCase *all = tcase_create("scan");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, a_text_is_accepted_or_refused_as_the_standards_say);
    tcase_add_test(all, a_text_that_ends_anywhere_too_soon_is_refused);
    tcase_add_test(all, four_bytes_at_the_edges_of_utf8_are_judged_by_its_grammar);
    tcase_add_test(all, every_escape_of_four_digits_is_accepted_but_nul_and_half_surrogates);
    tcase_add_test(all, depth_16_is_accepted_and_17_refused);
    tcase_add_test(all, a_line_of_opening_brackets_is_given_up_at_the_17th);
    tcase_add_test(all, names_are_counted_over_all_open_objects);
    tcase_add_test(all, a_name_is_known_again_in_any_spelling);
    tcase_add_test(all, numbers_near_the_limit_are_judged_by_value_and_read_exactly);
    tcase_add_test(all, a_fault_says_where_and_what_and_what_would_do);
    tcase_add_test(all, comments_become_spaces_and_all_else_stays_in_its_place);
    tcase_add_test(all, what_is_accepted_of_mutated_texts_cjson_reads_and_prints_soundly);
    tcase_add_test(all, random_bytes_are_judged_without_harm);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
