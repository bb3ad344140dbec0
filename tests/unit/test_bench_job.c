/* SPDX-License-Identifier: MIT */
/*
 * Joints as they are asked for in words: that each word reaches its size, that what is not said is
 * the usual, and that what cannot be cut is refused with numbers. The heights are the worked
 * examples of the formulas (derived and recomputed).
 */
#include <stdio.h>
#include <stdlib.h>

#include "clients/bench/joint_bit.h"
#include "clients/bench/joint_job.h"
#include "protocol/json.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/test_bench_joint.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

enum { WORDS_MAX = 40 };

static struct joint_plan plan;
static struct joint_job job;
static char why[JOINT_JOB_WHY];

/* A shelf with one piece of stock and a few bits. */
static bool stock(void *owner, const char *name, int64_t *nm, char *wrong)
{
    (void)owner;
    *nm = in(.205);
    snprintf(wrong, JOINT_JOB_WHY, "no stock '%s'", name);
    return strcmp(name, "ply-back") == 0;
}

static bool bit(void *owner, const char *name, enum joint_kind wanted, struct joint_cutter *cutter,
                char *fitted, char *wrong)
{
    (void)owner;
    (void)wanted;
    snprintf(wrong, JOINT_JOB_WHY, "no bit '%s'", name ? name : "fitted");
    *cutter = straight(.5);
    cutter->length_nm = in(1);
    if (!name) {
        snprintf(fitted, JOINT_NAME_SIZE, "straight-half");
        return true;
    }
    if (strcmp(name, "slot") == 0) {
        *cutter = slot(5.0 / 32);
        return true;
    }
    return strcmp(name, "straight-half") == 0;
}

static const struct joint_shelf shelf = {NULL, stock, bit};

static int cut_words(const char *line, char *text, size_t size, char **word)
{
    int count = 0;
    char *rest;
    snprintf(text, size, "%s", line);
    for (char *at = strtok_r(text, " ", &rest); at; at = strtok_r(NULL, " ", &rest)) {
        ck_assert_int_lt(count, WORDS_MAX);
        word[count++] = at;
    }
    return count;
}

static bool read_line(const char *line, enum length_bare bare)
{
    static char text[512];
    static char *word[WORDS_MAX];
    int count = cut_words(line, text, sizeof text, word);
    why[0] = '\0';
    return joint_job_read(count, word, bare, &shelf, &job, why);
}

static bool make(const char *line)
{
    ck_assert_msg(read_line(line, LENGTH_BARE_IN), "%s: %s", line, why);
    struct joint_shop shop = wide_shop();
    if (job.travel_said) {
        shop.lowest_nm = job.lowest_nm;
        shop.highest_nm = job.highest_nm;
    }
    return joint_job_plan(&job, &shop, &plan);
}

/* One line for each kind: how many marks, and where the first and the last is, in inches. */
static const struct {
    const char *line;
    int count;
    double first;
    double last;
} lines[] = {
    {"upright width 3 thick 1/2 bit 1/4 most 0", 2, .515625, .515625},
    {"stepped width 3/4 thick 1/2 kerf 1/8", 7, .247, .6175},
    {"stepped width 3/4 thick-a 1/2 thick-b 3/8 kerf 1/8 clearance .003 reach 1", 7, .247, .6175},
    {"groove width .209 edge 1/4 into 1/4 kerf 5/32", 2, .25 + .15625, .209 + .25},
    {"drawer bottom ply-back clearance .004 into 1/4 thick 1/2 kerf 5/32", 2, .40625, .459},
    {"tongue thick .742 groove .25 tongue 1/4 kerf 5/32", 3, .246 + .15625, .248},
    {"tongue thick .742 groove .25 tongue 1/4 bit slot second straight-half most 0", 2,
     .246 + .15625, .248},
    {"tenon thick .750 mortise .371 clearance 0 length 1 bit 1/2 most 0", 1, .1895, .1895},
    {"mortise thick 3/4 deep 3 width 1/4 length 2 tenon 1/2 bit 1/4", 5, .10625, .53125},
    {"lap thick 3/4 length 2 most 0", 1, .375, .375},
    {"rabbet thick 3/4 part ply-back into 1/4 most 0", 1, .205, .205},
    {"dado thick 3/4 part 1/2 clearance 0 edge 2 depth 1/4 most 0", 1, .25, .25},
    {"dado thick 3/4 part 1/2 clearance 0 edge 2 depth 1/4", 2, .125, .25},
    {"sliding depth 3/8 thick 3/4 bit 1/2 slope 14 waste 1/4 most 0", 3, .34375, .375},
    {"lock-mitre thick 3/4 bit 2 passes 2", 4, .375, .375},
    {"glue thick 1 bit 2 passes 1", 2, .5, .5},
    {"panel panel 5/8 groove 1/4 clearance 0 bit 3", 4, .125, .375},
    {"lap thick 1 7/16 length 2 bit 1/2 in most 0", 1, .71875, .71875},
};

START_TEST(every_kind_by_its_words)
{
    for (size_t i = 0; i < COUNT(lines); i++) {
        bool made = make(lines[i].line);
        ck_assert_msg(made, "%s: %s", lines[i].line, plan.why);
        ck_plan(made, &plan);
        ck_assert_msg(plan.count == lines[i].count, "%s: %d marks", lines[i].line, plan.count);
        ck_assert_msg(llabs(plan.mark[0].height_nm - in(lines[i].first)) <= 1, "%s: first %g",
                      lines[i].line, (double)plan.mark[0].height_nm / NM_PER_IN);
        ck_assert_msg(llabs(plan.mark[plan.count - 1].height_nm - in(lines[i].last)) <= 1,
                      "%s: last %g", lines[i].line,
                      (double)plan.mark[plan.count - 1].height_nm / NM_PER_IN);
    }
}
END_TEST

/* h = (2D - S - c)/(2 tan slope), D 1/2, S 7/8, 14 degrees: .25067. */
START_TEST(a_half_blind_dovetail)
{
    ck_assert(make("dovetail spacing 7/8 front 3/4 bit 1/2 slope 14"));
    ck_assert_double_le(fabs((double)plan.mark[0].height_nm / NM_PER_IN - .25067), .000005);
}
END_TEST

START_TEST(names_and_the_fitted_bit)
{
    ck_assert(make("lap thick 3/4 length 2"));
    ck_assert_str_eq(job.bit, "straight-half");
    ck_assert(job.bit_fitted);
    ck_assert_int_eq(job.in.lap.depth.most_nm, in(1.0 / 8)); /* the shank is not known */
    ck_assert_int_eq(job.in.lap.cutter.length_nm, in(1));
    ck_assert(make("lap thick 3/4 length 2 cutting-length 1/2 bit straight-half"));
    ck_assert(!job.bit_fitted);
    ck_assert_int_eq(job.in.lap.cutter.length_nm, in(.5)); /* said, in whatever order */
    ck_assert(make("tongue kerf .157 bit slot thick .742 groove .25 tongue 1/4"));
    ck_assert_str_eq(job.bit, "slot");
    ck_assert_int_eq(job.in.tongue.groove_cutter.kerf_nm, in(.157)); /* the slot as it was cut */
    ck_assert(job.in.tongue.same_cutter);
    ck_assert(make("drawer bottom ply-back into 1/4 thick 1/2 bit slot pieces 8"));
    ck_assert_int_eq(job.in.drawer.bottom_nm, in(.205));
    ck_assert_int_eq(plan.mark[0].pieces, 8);
}
END_TEST

/* What of the words needs the lift's lists. */
START_TEST(when_somebody_must_be_asked)
{
    static const struct {
        const char *line;
        bool asks;
    } asked[] = {{"lap thick 3/4 length 2", true},
                 {"lap thick 3/4 length 2 bit 1/2", false},
                 {"lap thick ply-back length 2 bit 1/2", true},
                 {"lap thick 3/4 length 2 bit straight-half", true},
                 {"stepped width 3/4 thick 1/2 kerf 1/8", false},
                 {"dovetail spacing 7/8 front 3/4 bit 1/2 slope 14", false},
                 {"nonsense", false}};
    static char text[256];
    static char *word[WORDS_MAX];
    for (size_t i = 0; i < COUNT(asked); i++) {
        int count = cut_words(asked[i].line, text, sizeof text, word);
        ck_assert_msg(joint_job_asks(count, word) == asked[i].asks, "%s", asked[i].line);
    }
}
END_TEST

START_TEST(words_that_cannot_be_used)
{
    static const struct {
        const char *line;
        const char *said;
    } wrong[] = {
        {"", "upright, stepped"},
        {"biscuit", "'biscuit' is no kind of joint"},
        {"lap", "'thick' is missing"},
        {"lap thick", "nothing stands behind 'thick'"},
        {"lap thick 3/4", "'length' is missing: of the lap"},
        {"lap thick 3/4 length 2 colour red", "'colour' is no word of 'lap'"},
        {"lap colour red", "it takes thick, finished, length"},
        {"lap thick 3/4 length 2 bit 1/2 size 3", "'size' is no word of 'lap'"},
        {"lap thick 3/0 length 2", "thick '3/0'"},
        {"lap thick 12,5 length 2", "12,5"},
        {"lap thick oak length 2", "no stock 'oak'"},
        {"lap thick 3/4 length 2 bit old-bit", "no bit 'old-bit'"},
        {"lap thick 3/4 length 2 pieces many", "'pieces many'"},
        {"lap thick 3/4 length 2 pieces -1", "'pieces -1'"},
        {"dovetail spacing 7/8 front 3/4 bit 1/2", "'slope' is missing"},
        {"dovetail spacing 7/8 front 3/4 bit 1/2 slope steep", "'slope steep'"},
        {"sliding depth 3/8 thick 3/4 bit 1/2 slope 14", "'waste' is missing"},
    };
    for (size_t i = 0; i < COUNT(wrong); i++) {
        ck_assert_msg(!read_line(wrong[i].line, LENGTH_BARE_IN), "%s", wrong[i].line);
        ck_assert_msg(strstr(why, wrong[i].said) != NULL, "%s: %s", wrong[i].line, why);
        ck_assert_uint_lt(strlen(why), JOINT_JOB_WHY - 1);
    }
    ck_assert(!read_line("lap thick 3/4 length 50 bit 12", LENGTH_BARE_MM)); /* 3/4 of what? */
    ck_assert(read_line("lap thick 18 length 50 bit 12", LENGTH_BARE_MM));
    ck_assert_int_eq(job.in.lap.thick_nm, 18000000);
}
END_TEST

/* The refusals of the generators, as they come to somebody who types: with the numbers. */
START_TEST(what_cannot_be_cut)
{
    static const struct {
        const char *line;
        enum joint_fault fault;
        const char *number;
    } refused[] = {
        {"stepped width 3 thick 1/2 kerf 1/8 lowest -1 highest .9", JOINT_FAULT_BOARD, "3in"},
        {"groove width 1/8 edge 1/4 into 1/4 kerf 5/32", JOINT_FAULT_WIDE, "5/32in"},
        {"tongue thick .742 groove 1/2 tongue 1/4 kerf 5/32", JOINT_FAULT_NARROW, "5/32in"},
        {"tenon thick 3/4 mortise 1 length 1 bit 1/2", JOINT_FAULT_STOCK, "3/4in"},
        {"lap thick 3/4 length 2 bit 1/2 highest 1/4", JOINT_FAULT_TRAVEL, "1/4in"},
        {"lap thick 3 length 2", JOINT_FAULT_REACH, "1-1/2in"},
        {"stepped width 3/4 thick 1/2 kerf 1/8 reach 1/2", JOINT_FAULT_REACH, "1/2in"},
        {"rabbet thick 3/4 part 1/2 into 1/4 bit straight-half most 1/8 last 1/4", JOINT_FAULT_LAST,
         "1/4in"},
        {"stepped width 3/4 thick 1/2 bit straight-half", JOINT_FAULT_KIND, "straight bit"},
        {"lap thick 3/4 length 2 bit 1/2 pieces 0", JOINT_FAULT_PIECES, "0 pieces"},
        {"tongue thick .742 groove .25 clearance 1/2 tongue 1/4 kerf 5/32", JOINT_FAULT_CLEARANCE,
         "1/2in"},
    };
    for (size_t i = 0; i < COUNT(refused); i++) {
        bool made = make(refused[i].line);
        ck_assert_msg(!made, "%s", refused[i].line);
        ck_refused(made, &plan, refused[i].fault);
        ck_assert_msg(strstr(plan.why, refused[i].number) != NULL, "%s: %s", refused[i].line,
                      plan.why);
    }
}
END_TEST

/* Whatever the travel is: refused, with nothing to cut from, or every height strictly within. */
START_TEST(heights_are_strictly_inside_the_travel)
{
    int made = 0;
    int refused = 0;
    for (int trial = 0; trial < 6000; trial++) {
        ck_assert(read_line(lines[below(COUNT(lines))].line, LENGTH_BARE_IN));
        struct joint_shop shop = {LENGTH_STYLE_64, between(-in(.5), in(.2)), 0};
        shop.highest_nm = shop.lowest_nm + between(1, in(1));
        if (joint_job_plan(&job, &shop, &plan)) {
            ck_plan(true, &plan); /* strictly within */
            made++;
        } else {
            ck_assert_int_eq(plan.count, 0);
            ck_assert(plan.fault == JOINT_FAULT_TRAVEL || plan.fault == JOINT_FAULT_BOARD);
            refused++;
        }
    }
    ck_assert_int_gt(made, 500);
    ck_assert_int_gt(refused, 500);
}
END_TEST

static bool read_bit(const char *text, enum joint_kind wanted, struct joint_cutter *cutter)
{
    struct json_fault fault;
    cJSON *item = json_parse(text, strlen(text), &fault);
    ck_assert_ptr_nonnull(item);
    why[0] = '\0';
    bool good = joint_bit_read(item, wanted, cutter, why, sizeof why);
    cJSON_Delete(item);
    return good;
}

START_TEST(bits_of_the_list)
{
    struct joint_cutter cutter;
    ck_assert(read_bit("{\"name\":\"s\",\"kind\":\"spiral\",\"diameter_nm\":12700000,"
                       "\"cutting_length_nm\":25400000,\"shank_nm\":12700000,\"plunging\":true}",
                       JOINT_SLOT, &cutter));
    ck_assert_int_eq(cutter.kind, JOINT_STRAIGHT);
    ck_assert_int_eq(cutter.width_nm, 12700000);
    ck_assert_int_eq(cutter.length_nm, 25400000);
    ck_assert(cutter.plunging);
    ck_assert(read_bit("{\"name\":\"s\",\"kind\":\"slot-cutter\",\"diameter_nm\":47625000,"
                       "\"cutting_length_nm\":3968750,\"point\":\"lower-edge\"}",
                       JOINT_SLOT, &cutter));
    ck_assert_int_eq(cutter.kerf_nm, 3968750);
    ck_assert_int_eq(cutter.reference, JOINT_LOWER);
    ck_assert(
        read_bit("{\"name\":\"s\",\"kind\":\"other\",\"diameter_nm\":1}", JOINT_GLUE, &cutter));
    ck_assert_int_eq(cutter.kind, JOINT_GLUE);
    ck_assert(!read_bit("{\"name\":\"p\",\"kind\":\"pin\"}", JOINT_SLOT, &cutter));
    ck_assert(strstr(why, "'p' is no cutter"));
    ck_assert(
        !read_bit("{\"name\":\"p\",\"kind\":\"straight\",\"ground\":true}", JOINT_SLOT, &cutter));
    ck_assert(strstr(why, "sharpened"));
    ck_assert(!read_bit("{\"name\":\"p\",\"kind\":\"raiser\",\"point\":\"shoulder\"}", JOINT_RAISER,
                        &cutter));
    ck_assert(strstr(why, "shoulder"));
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("bench_job");
    TCase *cases = tcase_create("bench_job");
    tcase_add_test(cases, every_kind_by_its_words);
    tcase_add_test(cases, a_half_blind_dovetail);
    tcase_add_test(cases, names_and_the_fitted_bit);
    tcase_add_test(cases, when_somebody_must_be_asked);
    tcase_add_test(cases, words_that_cannot_be_used);
    tcase_add_test(cases, what_cannot_be_cut);
    tcase_add_test(cases, bits_of_the_list);
    tcase_add_test(cases, heights_are_strictly_inside_the_travel);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
