/* SPDX-License-Identifier: MIT */
/*
 * Stories as files: what is read, each mistake with its line, what was found and what would do, and
 * that what is written is read again.
 */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "clients/bench/joint_finger.h"
#include "clients/story/story_file.h"
#include "clients/story/story_plan.h"
#include "tests/seed.h"
#include "tests/suite.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

static struct story_file story;
static struct story_file other;

static void ck_read(const char *text, enum story_form form)
{
    struct story_fault fault = {0};
    ck_assert_msg(story_file_read(text, strlen(text), form, &story, &fault), "%s\nline %u: %s",
                  text, fault.line, fault.text);
}

/* --- What is read --- */

START_TEST(json_by_hand)
{
    ck_read("{\n \"version\": 1, \"name\": \"sides\", \"made_by\": \"hand\",\n \"marks\": [\n"
            "  {\"height\": \"3/8in\", \"bit\": \"straight-half\", \"words\": \"First pass\",\n"
            "   \"pieces\": 8, \"part\": \"A\", \"router\": \"off\",\n"
            "   \"dust\": \"auto\", \"lock\": \"on\"},\n"
            "  {\"fence\": \"fence to 2in\"}, {\"height\":\"23/64in + .003in\"}\n ]\n}\n",
            STORY_FORM_JSON);
    ck_assert_str_eq(story.name, "sides");
    ck_assert_str_eq(story.made_by, "hand");
    ck_assert_uint_eq(story.count, 3);
    ck_assert_int_eq(story.mark[0].height_nm, 9525000);
    ck_assert_str_eq(story.mark[0].bit, "straight-half");
    ck_assert_int_eq(story.mark[0].pieces, 8);
    ck_assert_int_eq(story.mark[0].router, STORY_ROUTER_OFF);
    ck_assert_int_eq(story.mark[0].dust, STORY_DUST_AUTO);
    ck_assert(story.mark[0].lock);
    ck_assert_int_eq(story.mark[1].dust, STORY_DUST_ANY);
    ck_assert(!story.mark[1].lock);
    ck_assert(!story.mark[1].has_height);
    ck_assert_str_eq(story.mark[1].fence, "fence to 2in");
    ck_assert_int_eq(story.mark[2].height_nm, 9128125 + 76200);
}
END_TEST

START_TEST(plain_text_by_hand)
{
    ck_read("# a comment\r\nname: sides\r\n\r\n1/4in\r\n"
            " 1 7/16in | slot-5/32 | a \\| b \\\\ c | part B | pieces 12 | router on | dust on\r\n"
            "||Turn the boards|fence to 2in\n",
            STORY_FORM_TEXT);
    ck_assert_str_eq(story.name, "sides");
    ck_assert_uint_eq(story.count, 3);
    ck_assert_int_eq(story.mark[0].height_nm, 6350000);
    ck_assert_int_eq(story.mark[1].height_nm, 36512500);
    ck_assert_str_eq(story.mark[1].words, "a | b \\ c");
    ck_assert_str_eq(story.mark[1].part, "B");
    ck_assert_int_eq(story.mark[1].pieces, 12);
    ck_assert_int_eq(story.mark[1].router, STORY_ROUTER_ON);
    ck_assert_int_eq(story.mark[1].dust, STORY_DUST_ON);
    ck_assert_str_eq(story.mark[2].fence, "to 2in");
    ck_assert(!story.mark[2].has_height);
}
END_TEST

/* RFC 4180, section 2: quotes, doubled quotes, commas inside, CRLF; the last row may lack it. */
START_TEST(csv_by_hand)
{
    ck_read("\xef\xbb\xbfwords,height,pieces\r\n\"a \"\"b\"\", c\",1/4in,8\r\n\r\nplain,9.5mm,",
            STORY_FORM_CSV);
    ck_assert_uint_eq(story.count, 2);
    ck_assert_str_eq(story.mark[0].words, "a \"b\", c");
    ck_assert_int_eq(story.mark[0].pieces, 8);
    ck_assert_int_eq(story.mark[1].height_nm, 9500000);
    ck_assert_int_eq(story.mark[1].pieces, 0);
}
END_TEST

START_TEST(the_form_is_told_by_name_and_first_sign)
{
    ck_assert_int_eq(story_file_form("a.json", "x"), STORY_FORM_JSON);
    ck_assert_int_eq(story_file_form("a.csv", "{"), STORY_FORM_CSV);
    ck_assert_int_eq(story_file_form("a.txt", "{"), STORY_FORM_TEXT);
    ck_assert_int_eq(story_file_form("a", " \n{"), STORY_FORM_JSON);
    ck_assert_int_eq(story_file_form(NULL, "1/4in"), STORY_FORM_TEXT);
}
END_TEST

/* The examples of the page are stories. */
static void ck_example(const char *page, const char *fence, enum story_form form)
{
    static char text[4000];
    const char *from = strstr(page, fence);
    ck_assert_ptr_nonnull(from);
    from += strlen(fence);
    const char *to = strstr(from, "```");
    ck_assert_ptr_nonnull(to);
    snprintf(text, sizeof text, "%.*s", (int)(to - from), from);
    ck_read(text, form);
    ck_assert_uint_ge(story.count, 2);
    ck_assert_int_eq(story.mark[0].height_nm, 6350000);
    ck_assert_str_eq(story.mark[0].bit, "straight-half");
    ck_assert_int_eq(story.mark[0].pieces, 8);
}

START_TEST(the_page_says_the_truth)
{
    static char page[16384];
    char path[512];
    snprintf(path, sizeof path, "%s", __FILE__);
    char *root = strstr(path, "tests/unit/");
    ck_assert_ptr_nonnull(root);
    strcpy(root, "clients/story/STORY.md");
    FILE *file = fopen(path, "re");
    ck_assert_ptr_nonnull(file);
    page[fread(page, 1, sizeof page - 1, file)] = '\0';
    ck_assert_int_eq(fclose(file), 0);
    ck_example(page, "```json\n", STORY_FORM_JSON);
    ck_example(page, "```text\n", STORY_FORM_TEXT);
    ck_example(page, "```csv\n", STORY_FORM_CSV);
}
END_TEST

/* --- Every mistake --- */

struct mistake {
    enum story_form form;
    const char *text;
    unsigned line;
    const char *found; /* in the sentence */
    const char *does;  /* what would do, in it too */
};

#define J STORY_FORM_JSON
#define T STORY_FORM_TEXT
#define C STORY_FORM_CSV
#define HEAD "{\n\"version\": 1,\n"
#define MARK(text) HEAD "\"marks\": [\n{\"height\": \"1mm\"},\n{" text "}\n]}"
#define TEN "0123456789"
#define LONG24                                                                                     \
    TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN TEN

static const struct mistake mistakes[] = {
    /* JSON */
    {J, "", 1, "", ""},
    {J, "{\n\"version\": 1,\n\"marks\": [}", 3, "", ""},
    {J, HEAD "\"marks\": [{\"height\": \"1mm\"}]\n", 4, "", ""},
    {J, HEAD "// words\n\"marks\": []}", 3, "", ""},
    {J, HEAD "\"version\": 1}", 3, "", ""},
    {J, "[\n]", 1, "braces", "version and marks"},
    {J, "{\n\"marks\": []}", 1, "no version", "\"version\": 1"},
    {J, "{\n\"version\": 2}", 2, "'2'", "version 1"},
    {J, "{\n\n\"version\": \"1\"}", 3, "no number", "version 1"},
    {J, "{\"version\": 1.5}", 1, "'1.5'", "version 1"},
    {J, "{\n\"version\": 1\n}", 1, "no marks", "\"marks\": ["},
    {J, HEAD "\"marks\": []}", 3, "no list of marks", "\"1/4in\""},
    {J, HEAD "\"marks\": {}}", 3, "no list of marks", "\"1/4in\""},
    {J, HEAD "\"nmae\": \"a\"}", 3, "\"nmae\"", "name"},
    {J, HEAD "\"name\": 7}", 3, "\"name\"", "in quotes"},
    {J, HEAD "\"name\": \"\"}", 3, "''", "drawer-sides"},
    {J, HEAD "\"name\": \" a\"}", 3, "' a'", "begins with no blank"},
    {J, HEAD "\"name\": \"a \"}", 3, "'a '", "no blank at its end"},
    {J, HEAD "\"name\": \"" TEN TEN TEN TEN TEN TEN TEN "\"}", 3, TEN, "63 bytes"},
    {J, HEAD "\"name\": \"a\\tb\"}", 3, "name of the story", "control"},
    {J, HEAD "\"made_by\": \"a\\nb\"}", 3, "made by", "one line"},
    {J, HEAD "\"marks\": [\n{\"height\": \"1mm\"},\n7]}", 5, "Mark 2", "braces"},
    {J, MARK("\"heigth\": \"2mm\""), 5, "\"heigth\"", "height, bit"},
    {J, MARK("\"words\": \"a\",\n\"height\": 9.5"), 6, "Mark 2", "\"3/8in\""},
    {J, MARK("\"height\": \"9.5\""), 5, "\"9.5\"", "in"},
    {J, MARK("\"height\": \"12,5mm\""), 5, "12,5mm", "point"},
    {J, MARK("\"height\": \"1/0in\""), 5, "1/0in", ""},
    {J, MARK("\"height\": \"3/8mm\""), 5, "3/8mm", ""},
    {J, MARK("\"height\": \"1in\",\n\n\"pieces\": 0"), 7, "pieces", "1 to 9999"},
    {J, MARK("\"height\": \"1in\", \"pieces\": 2.5"), 5, "pieces", "whole number"},
    {J, MARK("\"height\": \"1in\", \"pieces\": \"8\""), 5, "pieces", "whole number"},
    {J, MARK("\"height\": \"1in\", \"router\": \"fast\""), 5, "router", "one of them would do"},
    {J, MARK("\"height\": \"1in\", \"dust\": true"), 5, "dust", "one of them would do"},
    {J, MARK("\"height\": \"1in\", \"lock\": true"), 5, "lock", "would do"},
    {J, MARK("\"height\": \"1in\", \"part\": \"the left one\""), 5, "part", "7 bytes"},
    {J, MARK("\"height\": \"1in\", \"words\": \"a\\nb\""), 5, "words", "one line"},
    {J, MARK("\"height\": \"1in\", \"words\": \"" LONG24 "\""), 5, "words", "239 bytes"},
    {J, MARK("\"bit\": \"a\""), 5, "no \"height\"", "words"},
    {J, MARK("\"height\": \"1in\", \"height\": \"2in\""), 5, "", ""},
    {J, MARK("\"height\": null"), 5, "no text", "\"3/8in\""},
    /* Plain text */
    {T, "", 1, "no mark", "1/4in"},
    {T, "# only words\n", 2, "no mark", "1/4in"},
    {T, "1/4", 1, "\"1/4\"", "in"},
    {T, "1/4in\n\nquarter", 3, "\"quarter\"", "Mark 2"},
    {T, "1/4in | a | b | c", 1, "'c'", "pieces 8"},
    {T, "1/4in | a | b | pieces", 1, "'pieces'", "pieces 8"},
    {T, "1/4in | a | b | pieces many", 1, "pieces", "1 to 9999"},
    {T, "1/4in | a | b | pieces 4 | pieces 5", 1, "twice", "Leave one"},
    {T, "1/4in | a | b | router slow", 1, "router", "off"},
    {T, "1/4in | a | b | dust", 1, "Nothing stands behind 'dust'", "pieces 8"},
    {T, "1/4in | a | b | dust loud", 1, "dust", "\"auto\""},
    {T, "1/4in | a | b | lock off", 1, "lock", "loosened for each move"},
    {C, "height,lock\n1/4in,yes\n", 2, "lock", "that would do, or none"},
    {T, "1/4in\n | a", 2, "Mark 2", "would do"},
    {T, "version: 9\n1/4in", 1, "'9'", "version 1"},
    {T, "name:\n1/4in", 1, "''", "drawer-sides"},
    {T, "1/4in | a | \xff", 1, "UTF-8", "Save"},
    {T, "1in|||||||||||||", 1, "fields", "12"},
    /* CSV */
    {C, "", 1, "empty", "height,bit,words"},
    {C, "height,bit\n", 1, "no mark", "One row"},
    {C, "height;bit\n1in;a", 1, "semicolons", "commas"},
    {C, "Height\n1in", 1, "'Height'", "height, bit"},
    {C, "height,height\n1in,2in", 1, "two columns", "Leave one"},
    {C, "height,words\n1in,a,b", 2, "more fields", "between quotes"},
    {C, "height,words\n1in,\"a", 2, "opened", "twice"},
    {C, "height,words\n1in,a\n1in,\"a\"b", 3, "'b'", "comma"},
    {C, "height,words\n12,5mm\n", 2, "\"12\"", ""},
    {C, "height,pieces\n1in,-3\n", 2, "pieces", "1 to 9999"},
};

START_TEST(each_mistake_with_its_line)
{
    struct story_fault fault = {0};
    for (size_t i = 0; i < COUNT(mistakes); i++) {
        const struct mistake *m = &mistakes[i];
        ck_assert_msg(!story_file_read(m->text, strlen(m->text), m->form, &story, &fault),
                      "not refused: %s", m->text);
        ck_assert_msg(fault.line == m->line, "%s\nline %u, not %u: %s", m->text, fault.line,
                      m->line, fault.text);
        ck_assert_msg(strstr(fault.text, m->found) && strstr(fault.text, m->does), "%s\n%s",
                      m->text, fault.text);
        ck_assert_uint_gt(strlen(fault.text), 15);
        ck_assert_uint_lt(strlen(fault.text), STORY_FAULT_SIZE - 1);
    }
}
END_TEST

START_TEST(too_many_marks_too_long_and_no_text)
{
    static char text[STORY_FILE_SIZE_MAX + 2];
    struct story_fault fault = {0};
    for (int i = 0; i < STORY_MARKS_MAX; i++)
        strcat(text, "1in\n");
    ck_read(text, STORY_FORM_TEXT);
    ck_assert_uint_eq(story.count, STORY_MARKS_MAX);
    strcat(text, "1in\n");
    ck_assert(!story_file_read(text, strlen(text), STORY_FORM_TEXT, &story, &fault));
    ck_assert_uint_eq(fault.line, STORY_MARKS_MAX + 1);
    ck_assert(strstr(fault.text, "two stories"));
    memset(text, ' ', sizeof text - 1);
    ck_assert(!story_file_read(text, sizeof text - 1, STORY_FORM_TEXT, &story, &fault));
    ck_assert(strstr(fault.text, "256 KiB"));
    ck_assert(!story_file_read("1in\0\n", 5, STORY_FORM_TEXT, &story, &fault));
    ck_assert(strstr(fault.text, "NUL"));
}
END_TEST

/* Any bytes: refused with a line and a sentence, or read; never more than that. */
START_TEST(rubbish_is_refused_or_read)
{
    static const char signs[] = "{}[]\",:|\\#\n\r 1/4inm.height;version marks\xc3\xa9\xff";
    char text[200];
    struct story_fault fault = {0};
    for (int trial = 0; trial < 5000; trial++) {
        size_t size = (size_t)below(sizeof text);
        for (size_t i = 0; i < size; i++)
            text[i] = signs[below(sizeof signs - 1)];
        text[size < sizeof text ? size : sizeof text - 1] = '\0';
        size = strlen(text);
        for (int form = STORY_FORM_JSON; form <= STORY_FORM_CSV; form++) {
            if (!story_file_read(text, size, (enum story_form)form, &story, &fault)) {
                ck_assert_uint_ge(fault.line, 1);
                ck_assert(fault.text[0] != '\0');
            } else {
                ck_assert_uint_ge(story.count, 1);
            }
        }
    }
}
END_TEST

/* --- Written and read again --- */

static void draw_text(char *out, size_t most)
{
    static const char *const bits[] = {"a",  "B", "7", " ",        "|", "\\",
                                       "\"", ",", ";", "\xc3\xa9", "/"};
    size_t used = 0;
    size_t count = (size_t)below(12);
    for (size_t i = 0; i < count && used + 3 < most; i++) {
        const char *bit = bits[below(COUNT(bits))];
        strcpy(out + used, bit);
        used += strlen(bit);
    }
    while (used > 0 && out[used - 1] == ' ')
        used--;
    out[used] = '\0';
    if (out[0] == ' ')
        out[0] = 'x';
}

static void draw_story(void)
{
    memset(&story, 0, sizeof story);
    strcpy(story.name, "sides");
    strcpy(story.made_by, "joint tongue thick .742");
    story.count = 1 + (size_t)below(20);
    for (size_t i = 0; i < story.count; i++) {
        struct story_mark *mark = &story.mark[i];
        mark->has_height = below(4) > 0;
        if (mark->has_height) {
            static const int64_t grid[] = {396875, 2540, 1000, 1};
            mark->height_nm = ((int64_t)below(2000) - 300) * grid[below(COUNT(grid))];
        }
        draw_text(mark->bit, sizeof mark->bit);
        draw_text(mark->words, sizeof mark->words);
        draw_text(mark->fence, sizeof mark->fence);
        draw_text(mark->part, sizeof mark->part);
        mark->pieces = (uint16_t)below(4);
        mark->router = (enum story_router)below(3);
        mark->dust = (enum story_dust)below(4);
        mark->lock = below(3) == 0;
        if (!mark->has_height && mark->words[0] == '\0')
            strcpy(mark->words, "turn");
    }
}

static void ck_same(const struct story_mark *one, const struct story_mark *two)
{
    ck_assert_int_eq(one->has_height, two->has_height);
    ck_assert_int_eq(one->height_nm, two->height_nm);
    ck_assert_str_eq(one->bit, two->bit);
    ck_assert_str_eq(one->words, two->words);
    ck_assert_str_eq(one->fence, two->fence);
    ck_assert_str_eq(one->part, two->part);
    ck_assert_int_eq(one->pieces, two->pieces);
    ck_assert_int_eq(one->router, two->router);
    ck_assert_int_eq(one->dust, two->dust);
    ck_assert(one->lock == two->lock);
}

START_TEST(what_is_written_is_read_again)
{
    for (int trial = 0; trial < 500; trial++) {
        draw_story();
        other = story;
        for (int form = STORY_FORM_JSON; form <= STORY_FORM_CSV; form++) {
            char *text = story_file_print(&other, (enum story_form)form,
                                          trial % 2 ? LENGTH_STYLE_64 : LENGTH_STYLE_MM);
            ck_assert_ptr_nonnull(text);
            ck_read(text, (enum story_form)form);
            if (form != STORY_FORM_CSV) { /* it has no room for these */
                ck_assert_str_eq(story.name, other.name);
                ck_assert_str_eq(story.made_by, other.made_by);
            }
            ck_assert_uint_eq(story.count, other.count);
            for (size_t i = 0; i < story.count; i++) {
                ck_same(&story.mark[i], &other.mark[i]);
            }
            free(text);
        }
    }
}
END_TEST

/* A plan becomes a story mark by mark, and is the same to the nanometre when it has been a file. */
START_TEST(a_plan_as_a_story)
{
    static struct joint_plan plan;
    struct joint_shop shop = {LENGTH_STYLE_64, -LENGTH_NM_MAX, LENGTH_NM_MAX};
    for (int trial = 0; trial < 200; trial++) {
        struct joint_stepped in = {.width_nm = between(20000000, 120000000),
                                   .thick_a_nm = between(5000000, 25000000),
                                   .thick_b_nm = between(5000000, 25000000),
                                   .clearance_nm = between(0, 200000),
                                   .cutter = {.kind = JOINT_SLOT,
                                              .reference = JOINT_TOP,
                                              .kerf_nm = between(2000000, 6000000)},
                                   .pieces_a = 3,
                                   .pieces_b = 5};
        ck_assert(joint_stepped(&in, &shop, &plan));
        story_of_plan(&plan, "slot", "", &other);
        ck_assert_uint_eq(other.count, (size_t)plan.count);
        char *text = story_file_print(&other, STORY_FORM_JSON, LENGTH_STYLE_64);
        ck_assert_ptr_nonnull(text);
        ck_read(text, STORY_FORM_JSON);
        free(text);
        for (int i = 0; i < plan.count; i++) {
            ck_same(&story.mark[i], &other.mark[i]);
            ck_assert_int_eq(story.mark[i].height_nm, plan.mark[i].height_nm);
            ck_assert_str_eq(story.mark[i].words, plan.mark[i].words);
            ck_assert_str_eq(story.mark[i].bit, "slot");
            ck_assert_str_eq(story.mark[i].part, plan.mark[i].part == JOINT_A ? "A" : "B");
            ck_assert_int_eq(story.mark[i].pieces, plan.mark[i].part == JOINT_A ? 3 : 5);
        }
    }
}
END_TEST

START_TEST(heights_are_written_as_the_shop_says_them)
{
    memset(&story, 0, sizeof story);
    story.count = 3;
    story.mark[0] = (struct story_mark){.has_height = true, .height_nm = 9525000};
    story.mark[1] = (struct story_mark){.has_height = true, .height_nm = 6248400};
    story.mark[2] = (struct story_mark){.has_height = true, .height_nm = 6083301};
    char *text = story_file_print(&story, STORY_FORM_CSV, LENGTH_STYLE_64);
    ck_assert(strstr(text, "\n3/8in,") && strstr(text, "\n.246in,") &&
              strstr(text, "\n6.083301mm,"));
    free(text);
    text = story_file_print(&story, STORY_FORM_CSV, LENGTH_STYLE_MM);
    ck_assert(strstr(text, "\n9.525mm,"));
    free(text);
}
END_TEST

START_TEST(the_ticket_has_all_of_it_on_79_columns)
{
    ck_read(
        "name: sides\n1/4in | waste | Socket. | part A | pieces 2\n3/8in | tail | Tail. | fence "
        "The fence goes back by so much that this line is longer than any line of a ticket may "
        "be | pieces 40\n",
        STORY_FORM_TEXT);
    char *text = story_ticket(&story, LENGTH_STYLE_64);
    ck_assert(strstr(text, "CUTTING TICKET   sides   2 marks"));
    ck_assert(strstr(text, "Bits:    waste, tail"));
    ck_assert(strstr(text, "[ ]   1 of 2   PART A   1/4in (6.35mm)   bit waste\n"));
    ck_assert(strstr(text, "2 pieces: [ ] [ ] \n"));
    ck_assert(strstr(text, "CHANGE THE BIT: fit tail"));
    ck_assert(strstr(text, "40 pieces: ______"));
    ck_assert(strstr(text, "Unplug the router"));
    for (const char *line = text; *line; line += strcspn(line, "\n") + 1)
        ck_assert_uint_le(strcspn(line, "\n"), 79);
    free(text);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("story_file");
    TCase *cases = tcase_create("story_file");
    tcase_add_test(cases, json_by_hand);
    tcase_add_test(cases, plain_text_by_hand);
    tcase_add_test(cases, csv_by_hand);
    tcase_add_test(cases, the_form_is_told_by_name_and_first_sign);
    tcase_add_test(cases, the_page_says_the_truth);
    tcase_add_test(cases, each_mistake_with_its_line);
    tcase_add_test(cases, too_many_marks_too_long_and_no_text);
    tcase_add_test(cases, rubbish_is_refused_or_read);
    tcase_add_test(cases, what_is_written_is_read_again);
    tcase_add_test(cases, a_plan_as_a_story);
    tcase_add_test(cases, heights_are_written_as_the_shop_says_them);
    tcase_add_test(cases, the_ticket_has_all_of_it_on_79_columns);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
