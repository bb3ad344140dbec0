/* SPDX-License-Identifier: MIT */
/* A pair of bits on the practice lift: one is set from where the other cut, both ways. */
#include <signal.h>

#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/rig/reglet_run.h"
#include "tests/rig/shop_rig.h"
#include "tests/suite.h"

/* In whole steps of the practice lift (1.25 um), so that said and wanted are the same. */
#define STICK_NM 6350000
#define DIFFERENCE_NM 9525000

static void expect_true(struct rig *rig, double nm)
{
    cJSON *truth = rig_ask(rig, "truth");
    ck_assert_msg(fabs(rig_number(truth, "height_nm") - nm) <= 625, "%g, not %g",
                  rig_number(truth, "height_nm"), nm);
    cJSON_Delete(truth);
}

static void keep_pair(struct rig *rig)
{
    static const char *const bits[] = {"stick", "cope", "third"};
    for (size_t i = 0; i < sizeof bits / sizeof *bits; i++) {
        char params[160];
        snprintf(params, sizeof params,
                 "{\"name\":\"%s\",\"kind\":\"stile-rail\",\"diameter\":\"1-5/8in\"}", bits[i]);
        expect_done(rig_call(rig, "keep-bit", params));
    }
    expect_done(rig_call(rig, "keep-pair",
                         "{\"name\":\"door\",\"first\":\"stick\",\"second\":\"cope\","
                         "\"difference\":\"3/8in\"}"));
}

/* Its tip stands anywhere; the operator sees it flush 2 mm over the table. */
static void touch_off(struct rig *rig)
{
    expect_done(rig_call(rig, "by", "{\"distance\":\"-2mm\"}"));
    expect_done(rig_call(rig, "by", "{\"distance\":\"2mm\"}"));
    rig_tell(rig, "bit 2000000");
    expect_done(rig_call(rig, "touch", "{\"height\":\"2mm\"}"));
}

/* The whole of it, up to where the new bit's height is to be touched off. */
static void change_to(struct rig *rig, const char *bit)
{
    char params[80];
    snprintf(params, sizeof params, "{\"bit\":\"%s\",\"clear\":true}", bit);
    expect_done(rig_call(rig, "change", "{\"clear\":true}"));
    expect_reason(rig_call(rig, "match", "{\"name\":\"door\",\"other\":\"1mm\"}"), "bit-out");
    expect_done(rig_call(rig, "fit", params));
    expect_done(rig_call(rig, "hold", "{\"direction\":\"down\"}"));
    rig_run(rig, 600); /* not renewed: it ends by itself */
    for (int i = 0; i < 3; i++) {
        expect_done(rig_call(rig, "by", "{\"distance\":\"-10mm\"}"));
    }
}

static void expect_before(struct rig *rig, const char *bit, double nm)
{
    cJSON *status = ask(rig, "status", NULL);
    const cJSON *before = cJSON_GetObjectItem(status, "before");
    ck_assert_ptr_nonnull(before);
    ck_assert_str_eq(cJSON_GetObjectItem(before, "bit")->valuestring, bit);
    ck_assert_double_eq(rig_number(before, "height_nm"), nm);
    cJSON_Delete(status);
}

/* The first bit stands where it cuts. */
static void begin(struct rig *rig)
{
    rig_start(rig, true, 1);
    rig_touch_off(rig);
    keep_pair(rig);
    expect_done(rig_call(rig, "fit", "{\"bit\":\"stick\",\"clear\":true}"));
    touch_off(rig);
    expect_done(rig_call(rig, "to", "{\"height\":\"1/4in\"}"));
}

START_TEST(the_second_bit_is_set_from_the_first_and_the_first_from_the_second)
{
    struct rig rig;
    begin(&rig);
    change_to(&rig, "cope");
    expect_before(&rig, "stick", STICK_NM);
    expect_reason(rig_call(&rig, "match", "{\"name\":\"door\"}"), "height-unknown");
    touch_off(&rig);
    expect_done(rig_call(&rig, "match", "{\"name\":\"door\"}"));
    expect_true(&rig, STICK_NM + DIFFERENCE_NM);
    expect_agreement(&rig);
    /* A restart has forgotten nothing of it. */
    start_again(&rig, SIGKILL);
    expect_before(&rig, "stick", STICK_NM);
    expect_done(rig_call(&rig, "to", "{\"height\":\"1mm\"}"));
    expect_done(rig_call(&rig, "match", "{\"name\":\"door\"}"));
    expect_true(&rig, STICK_NM + DIFFERENCE_NM);
    /* The other way: the cope has moved by a test cut, and the stick follows. */
    expect_done(rig_call(&rig, "to", "{\"height\":\"16.5mm\"}"));
    change_to(&rig, "stick");
    expect_before(&rig, "cope", 16500000);
    touch_off(&rig);
    expect_done(rig_call(&rig, "match", "{\"name\":\"door\"}"));
    expect_true(&rig, 16500000 - DIFFERENCE_NM);
    /* And by a height that is said. */
    expect_done(rig_call(&rig, "match", "{\"name\":\"door\",\"other_nm\":10000000}"));
    expect_true(&rig, 10000000 - DIFFERENCE_NM);
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

/* Over what carries the work, as every height: each bit over its own. */
START_TEST(a_sled_under_the_second_cut_is_counted_in)
{
    struct rig rig;
    begin(&rig);
    change_to(&rig, "cope");
    touch_off(&rig);
    expect_done(rig_call(&rig, "riding", "{\"thickness\":\"5mm\"}"));
    expect_done(rig_call(&rig, "match", "{\"name\":\"door\"}"));
    expect_true(&rig, STICK_NM + DIFFERENCE_NM + 5000000);
    rig_end(&rig);
}
END_TEST

START_TEST(what_cannot_be_matched_is_refused_and_nothing_moves)
{
    struct rig rig;
    begin(&rig);
    expect_reason(rig_call(&rig, "match", "{\"name\":\"none\"}"), "no-such-thing");
    expect_said(rig_call(&rig, "match", "{\"name\":\"door\"}"), "height-unknown", "'cope'");
    expect_wrong(rig_call(&rig, "match", "{\"name\":\"door\",\"other\":\"1/4\"}"), "1/4");
    expect_wrong(
        rig_call(&rig, "match", "{\"name\":\"door\",\"other\":\"1mm\",\"other_nm\":1000000}"),
        "both");
    expect_reason(rig_call(&rig, "match", "{\"name\":\"door\",\"other\":\"9in\"}"), "above-travel");
    expect_done(rig_call(&rig, "fit", "{\"bit\":\"third\",\"clear\":true}"));
    touch_off(&rig);
    expect_said(rig_call(&rig, "match", "{\"name\":\"door\"}"), "wrong-bit", "'stick' and 'cope'");
    expect_done(rig_call(&rig, "fit", "{\"clear\":true}")); /* one without a name */
    touch_off(&rig);
    expect_reason(rig_call(&rig, "match", "{\"name\":\"door\"}"), "wrong-bit");
    expect_before(&rig, "third", 2000000);
    /* The third was in between: how high the stick stood is not to be guessed at. */
    expect_done(rig_call(&rig, "fit", "{\"bit\":\"cope\",\"clear\":true}"));
    touch_off(&rig);
    expect_reason(rig_call(&rig, "match", "{\"name\":\"door\"}"), "height-unknown");
    expect_done(rig_call(&rig, "match", "{\"name\":\"door\",\"other\":\"1mm\"}"));
    expect_done(rig_call(&rig, "ground", "{\"bit\":\"stick\"}"));
    expect_reason(rig_call(&rig, "match", "{\"name\":\"door\",\"other\":\"1mm\"}"), "recompute");
    expect_done(rig_call(&rig, "keep-pair", "{\"name\":\"door\",\"replace\":true}"));
    expect_reason(rig_call(&rig, "match", "{\"name\":\"door\",\"other\":\"1mm\"}"), "recompute");
    expect_done(
        rig_call(&rig, "keep-pair", "{\"name\":\"door\",\"difference\":\"2mm\",\"replace\":true}"));
    expect_true(&rig, 1000000 + DIFFERENCE_NM);
    expect_done(rig_call(&rig, "match", "{\"name\":\"door\",\"other\":\"1mm\"}"));
    expect_true(&rig, 3000000);
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(the_word_says_what_it_will_do_before_it_does_it)
{
    struct rig rig;
    begin(&rig);
    reglet_expect(&rig, "match", 2, "name of a pair");
    reglet_expect(&rig, "match none", 1, "no pair of that name");
    reglet_expect(&rig, "match door", 1, "Say its height");
    reglet_expect(&rig, "match door wide", 2, "expected a digit");
    reglet_expect(&rig, "match door 5/8", 0,
                  "match door: stick to 1/4in (6.35mm), 3/8in (9.525mm) lower than cope stood,\n"
                  "which was 5/8in (15.875mm); no work on or over the bit\n");
    change_to(&rig, "cope");
    touch_off(&rig);
    reglet_expect(&rig, "match door", 0,
                  "match door: cope to 5/8in (15.875mm), 3/8in (9.525mm) higher than stick stood,\n"
                  "which was 1/4in (6.35mm); no work on or over the bit\n");
    expect_true(&rig, STICK_NM + DIFFERENCE_NM);
    reglet_expect(&rig, "ground cope", 0, "");
    reglet_expect(&rig, "pairs", 0, "GROUND: find it anew");
    reglet_expect(&rig, "match door", 1, "test cut");
    reglet_expect(&rig, "--help", 0, "match PAIR [HEIGHT]");
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("pair");
    TCase *cases = tcase_create("pair");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, the_second_bit_is_set_from_the_first_and_the_first_from_the_second);
    tcase_add_test(cases, a_sled_under_the_second_cut_is_counted_in);
    tcase_add_test(cases, what_cannot_be_matched_is_refused_and_nothing_moves);
    tcase_add_test(cases, the_word_says_what_it_will_do_before_it_does_it);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
