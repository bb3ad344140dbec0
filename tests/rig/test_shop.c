/* SPDX-License-Identifier: MIT */
/* The shop's lists over the socket: each method's success and each of its refusals. */
#include <check.h>
#include <signal.h>

#include "tests/rig/shop_rig.h"
#include "tests/suite.h"

#define HALF "{\"name\":\"half\",\"kind\":\"straight\",\"diameter\":\"1/2in\"}"
#define HALF_ITEM                                                                                  \
    "{\"name\":\"half\",\"kind\":\"straight\",\"diameter\":\"12.7mm\",\"diameter_nm\":12700000,"   \
    "\"point\":\"top-edge\",\"meets\":\"edge\",\"steps\":true,\"speed_advice\":24000}"

START_TEST(a_bit_is_kept_changed_listed_and_forgotten)
{
    static const char whole[] =
        "[{\"name\":\"raiser\",\"kind\":\"raiser\",\"diameter\":\"76.2mm\",\"diameter_nm\":"
        "76200000,"
        "\"point\":\"shoulder\",\"meets\":\"bearing\",\"offset\":\"-4.7625mm\",\"offset_nm\":-"
        "4762500,\"cutting_length\":\"15.875mm\",\"cutting_length_nm\":15875000,\"shank\":\"12."
        "7mm\",\"shank_nm\":12700000,\"plunging\":true,\"speed_most\":11000,\"note\":\"new\","
        "\"ring\":\"wide\",\"steps\":true,\"speed_advice\":11000}]";
    struct rig rig;
    rig_start(&rig, true, 1);
    expect_list(&rig, "bits", NULL, "[]");
    cJSON *kept = ask(&rig, "keep-bit", HALF);
    char *text = cJSON_PrintUnformatted(kept);
    ck_assert_str_eq(text, "{\"bits\":[" HALF_ITEM "]}");
    cJSON_free(text);
    cJSON_Delete(kept);
    expect_done(rig_call(&rig, "keep-ring", "{\"name\":\"wide\",\"opening_nm\":80000000}"));
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"raiser\",\"kind\":\"raiser\",\"diameter\":\"3in\",\"point\":"
                         "\"shoulder\",\"meets\":\"bearing\",\"offset\":\"-3/16in\",\"cutting_"
                         "length\":\"5/8in\",\"shank_nm\":12700000,\"plunging\":true,\"speed_"
                         "most\":11000,\"ring\":\"wide\",\"note\":\"new\"}"));
    expect_list(&rig, "bits", "{\"after\":\"half\"}", whole);
    start_again(&rig, SIGKILL);
    expect_list(&rig, "bits", "{\"after\":\"half\"}", whole);
    expect_list(&rig, "bits", "{\"after\":\"raiser\"}", "[]");
    /* What is left out stays; what is given empty goes. */
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"half\",\"replace\":true,\"note\":\"dull\",\"diameter\":"
                         "\"12mm\"}"));
    expect_done(
        rig_call(&rig, "keep-bit", "{\"name\":\"half\",\"replace\":true,\"plunging\":true}"));
    cJSON *result = ask(&rig, "bits", NULL);
    const cJSON *half = cJSON_GetArrayItem(cJSON_GetObjectItem(result, "bits"), 0);
    ck_assert_str_eq(cJSON_GetObjectItem(half, "note")->valuestring, "dull");
    ck_assert_double_eq(rig_number(half, "diameter_nm"), 12e6);
    ck_assert(cJSON_IsTrue(cJSON_GetObjectItem(half, "plunging")));
    cJSON_Delete(result);
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"half\",\"replace\":true,\"plunging\":false,\"note\":\"\","
                         "\"diameter\":\"1/2in\"}"));
    result = ask(&rig, "forget-bit", "{\"name\":\"raiser\"}");
    ck_assert_str_eq(cJSON_GetObjectItem(result, "forgotten")->valuestring, "raiser");
    cJSON_Delete(result);
    expect_list(&rig, "bits", NULL, "[" HALF_ITEM "]");
    rig_end(&rig);
}
END_TEST

START_TEST(a_bit_that_cannot_be_is_refused_and_nothing_changes)
{
    static const struct {
        const char *params;
        const char *part;
    } rows[] = {
        {"{\"kind\":\"straight\",\"diameter\":\"1in\"}", "Found no 'name'; "},
        {"{\"name\":\" a\",\"kind\":\"straight\",\"diameter\":\"1in\"}", "1 to 63 bytes"},
        {"{\"name\":\"a\",\"diameter\":\"1in\"}", "without 'kind'; "},
        {"{\"name\":\"a\",\"kind\":\"straight\"}", "without 'diameter'; "},
        {"{\"name\":\"a\",\"kind\":\"saw\",\"diameter\":\"1in\"}", "slot-cutter"},
        {"{\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1\"}", "\"1\" for 'diameter': "},
        {"{\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"9in\"}", "from 0.397mm to 203.2mm"},
        {"{\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1in\",\"diameter_nm\":1}",
         "both 'diameter' and 'diameter_nm'; "},
        {"{\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1in\",\"point\":\"tip\"}", "shoulder"},
        {"{\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1in\",\"meets\":\"tip\"}", "bearing"},
        {"{\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1in\",\"offset\":\"5in\"}", "offset"},
        {"{\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1in\",\"shank\":\"-1in\"}", "shank"},
        {"{\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1in\",\"speed_most\":60001}", "60000"},
        {"{\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1in\",\"note\":\"a\\tb\"}", "one line"},
        {"{\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1in\",\"colour\":\"red\"}", "colour"},
        {"{\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"3in\",\"ring\":\"two\"}",
         "cutting_length"},
    };
    struct rig rig;
    rig_start(&rig, true, 1);
    expect_done(rig_call(&rig, "keep-ring", "{\"name\":\"two\",\"opening\":\"2in\"}"));
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        expect_wrong(rig_call(&rig, "keep-bit", rows[i].params), rows[i].part);
    }
    expect_said(rig_call(&rig, "keep-bit",
                         "{\"name\":\"a\",\"kind\":\"pin\",\"diameter\":\"1in\",\"ring\":\"x\"}"),
                "no-such-thing", "no ring named 'x'");
    expect_list(&rig, "bits", NULL, "[]");
    expect_done(rig_call(&rig, "keep-bit", HALF));
    expect_said(rig_call(&rig, "keep-bit", HALF), "name-taken", "Nothing has changed");
    expect_wrong(
        rig_call(&rig, "keep-bit",
                 "{\"name\":\"half\",\"replace\":true,\"diameter\":\"3in\",\"ring\":\"two\"}"),
        "cutting_length");
    expect_reason(rig_call(&rig, "forget-bit", "{\"name\":\"x\"}"), "no-such-bit");
    expect_reason(rig_call(&rig, "ground", "{\"bit\":\"x\"}"), "no-such-bit");
    expect_reason(rig_call(&rig, "presets", "{\"bit\":\"x\"}"), "no-such-bit");
    expect_list(&rig, "bits", NULL, "[" HALF_ITEM "]");
    rig_end(&rig);
}
END_TEST

/* 63 bytes are a name; longer ones that begin with it are not that name. */
START_TEST(a_name_that_is_too_long_names_nothing)
{
    static const char *const methods[][2] = {
        {"forget", "no-such-preset"},     {"forget-bit", "no-such-bit"},
        {"forget-ring", "no-such-thing"}, {"forget-stock", "no-such-thing"},
        {"forget-pair", "no-such-thing"},
    };
    char name[65];
    char params[200];
    struct rig rig;
    memset(name, 'n', sizeof name - 1);
    name[64] = '\0';
    rig_start(&rig, true, 1);
    snprintf(params, sizeof params, "{\"name\":\"%.63s\",\"height\":\"1mm\"}", name);
    expect_done(rig_call(&rig, "keep", params));
    snprintf(params, sizeof params, "{\"name\":\"%.63s\",\"kind\":\"pin\",\"diameter\":\"1mm\"}",
             name);
    expect_done(rig_call(&rig, "keep-bit", params));
    snprintf(params, sizeof params, "{\"name\":\"%.63s\",\"opening\":\"1in\"}", name);
    expect_done(rig_call(&rig, "keep-ring", params));
    snprintf(params, sizeof params, "{\"name\":\"%s\"}", name);
    for (size_t i = 0; i < sizeof methods / sizeof *methods; i++) {
        expect_reason(rig_call(&rig, methods[i][0], params), methods[i][1]);
    }
    snprintf(params, sizeof params, "{\"bit\":\"%s\"}", name);
    expect_reason(rig_call(&rig, "ground", params), "no-such-bit");
    snprintf(params, sizeof params, "{\"what\":\"ring\",\"name\":\"%s\",\"to\":\"x\"}", name);
    expect_reason(rig_call(&rig, "rename", params), "no-such-thing");
    snprintf(params, sizeof params, "{\"what\":\"ring\",\"name\":\"%.63s\",\"to\":\"%s\"}", name,
             name);
    expect_wrong(rig_call(&rig, "rename", params), "1 to 63 bytes");
    snprintf(params, sizeof params, "{\"name\":\"%.63s\"}", name);
    expect_done(rig_call(&rig, "forget", params)); /* they are all there still */
    expect_done(rig_call(&rig, "forget-bit", params));
    expect_done(rig_call(&rig, "forget-ring", params));
    rig_end(&rig);
}
END_TEST

START_TEST(rings_and_stock_are_kept_and_forgotten)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    expect_done(rig_call(&rig, "keep-ring", "{\"name\":\"one\",\"opening\":\"1in\"}"));
    expect_done(rig_call(&rig, "keep-stock", "{\"name\":\"ply\",\"size\":\".205in\"}"));
    expect_done(rig_call(&rig, "keep-stock", "{\"name\":\"oak\",\"size_nm\":19000000}"));
    expect_said(rig_call(&rig, "keep-stock", "{\"name\":\"oak\",\"size\":\"20mm\"}"), "name-taken",
                "stock");
    expect_said(rig_call(&rig, "keep-ring", "{\"name\":\"one\",\"opening\":\"2in\"}"), "name-taken",
                "ring");
    expect_done(
        rig_call(&rig, "keep-stock", "{\"name\":\"oak\",\"size\":\"20mm\",\"replace\":true}"));
    expect_wrong(rig_call(&rig, "keep-stock", "{\"name\":\"x\"}"), "without 'size'; ");
    expect_wrong(rig_call(&rig, "keep-stock", "{\"name\":\"x\",\"size\":\"0mm\"}"), "size");
    expect_wrong(rig_call(&rig, "keep-ring", "{\"name\":\"x\"}"), "without 'opening'; ");
    expect_wrong(rig_call(&rig, "keep-ring", "{\"name\":\"x\",\"opening\":\"1/16in\"}"), "opening");
    start_again(&rig, SIGKILL);
    expect_list(&rig, "stock", NULL,
                "[{\"name\":\"oak\",\"size\":\"20mm\",\"size_nm\":20000000},"
                "{\"name\":\"ply\",\"size\":\"5.207mm\",\"size_nm\":5207000}]");
    expect_list(&rig, "rings", NULL,
                "[{\"name\":\"one\",\"opening\":\"25.4mm\",\"opening_nm\":25400000}]");
    expect_done(rig_call(&rig, "forget-stock", "{\"name\":\"oak\"}"));
    expect_reason(rig_call(&rig, "forget-stock", "{\"name\":\"oak\"}"), "no-such-thing");
    /* A ring goes only when no bit is in it, whatever is said. */
    expect_done(rig_call(
        &rig, "keep-bit",
        "{\"name\":\"half\",\"kind\":\"straight\",\"diameter\":\"1/2in\",\"ring\":\"one\"}"));
    expect_said(rig_call(&rig, "forget-ring", "{\"name\":\"one\"}"), "in-use", "'half'");
    expect_said(rig_call(&rig, "forget-ring", "{\"name\":\"one\",\"with_others\":true}"), "in-use",
                "'half'");
    expect_done(rig_call(&rig, "keep-bit", "{\"name\":\"half\",\"replace\":true,\"ring\":\"\"}"));
    expect_done(rig_call(&rig, "forget-ring", "{\"name\":\"one\"}"));
    expect_list(&rig, "rings", NULL, "[]");
    rig_end(&rig);
}
END_TEST

static void keep_cope_and_stick(struct rig *rig)
{
    expect_done(rig_call(rig, "keep-bit",
                         "{\"name\":\"cope\",\"kind\":\"stile-rail\",\"diameter\":\"1-5/8in\"}"));
    expect_done(rig_call(rig, "keep-bit",
                         "{\"name\":\"stick\",\"kind\":\"stile-rail\",\"diameter\":\"1-5/8in\"}"));
    expect_done(rig_call(
        rig, "keep-pair",
        "{\"name\":\"door\",\"first\":\"cope\",\"second\":\"stick\",\"difference\":\"-.25mm\"}"));
}

START_TEST(a_pair_is_of_two_bits_that_are_there)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    keep_cope_and_stick(&rig);
    static const char *const wrong[][2] = {
        {"{\"name\":\"x\",\"second\":\"stick\",\"difference\":\"0mm\"}", "without 'first'; "},
        {"{\"name\":\"x\",\"first\":\"\",\"second\":\"stick\",\"difference\":\"0mm\"}",
         "without 'first'; "},
        {"{\"name\":\"x\",\"first\":\"cope\",\"difference\":\"0mm\"}", "without 'second'; "},
        {"{\"name\":\"x\",\"first\":\"cope\",\"second\":\"stick\"}", "without 'difference'; "},
        {"{\"name\":\"x\",\"first\":\"cope\",\"second\":\"cope\",\"difference\":\"0mm\"}",
         "two different bits"},
        {"{\"name\":\"door\",\"replace\":true,\"second\":\"\"}", "without 'second'; "},
        {"{\"name\":\"door\",\"replace\":true,\"second\":\"cope\"}", "two different bits"},
        {"{\"name\":\"door\",\"replace\":true,\"difference\":\"5in\"}", "difference"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        expect_wrong(rig_call(&rig, "keep-pair", wrong[i][0]), wrong[i][1]);
    }
    expect_reason(
        rig_call(&rig, "keep-pair",
                 "{\"name\":\"x\",\"first\":\"cope\",\"second\":\"y\",\"difference\":\"0mm\"}"),
        "no-such-bit");
    start_again(&rig, SIGTERM);
    expect_list(&rig, "pairs", NULL,
                "[{\"name\":\"door\",\"difference\":\"-0.25mm\",\"difference_nm\":-250000,"
                "\"first\":\"cope\",\"second\":\"stick\"}]");
    expect_said(rig_call(&rig, "forget-bit", "{\"name\":\"stick\"}"), "in-use", "'door'");
    expect_done(rig_call(&rig, "forget-pair", "{\"name\":\"door\"}"));
    expect_reason(rig_call(&rig, "forget-pair", "{\"name\":\"door\"}"), "no-such-thing");
    expect_done(rig_call(&rig, "forget-bit", "{\"name\":\"stick\"}"));
    rig_end(&rig);
}
END_TEST

START_TEST(a_bit_goes_with_its_presets_and_pairs_when_that_is_said)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    keep_cope_and_stick(&rig);
    expect_done(rig_call(&rig, "fit", "{\"bit\":\"cope\",\"clear\":true}"));
    expect_said(rig_call(&rig, "forget-bit", "{\"name\":\"cope\",\"with_others\":true}"), "in-use",
                "collet");
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0in\"}"));
    expect_done(rig_call(&rig, "keep", "{\"name\":\"a\",\"height\":\"1mm\"}"));
    expect_done(rig_call(&rig, "keep", "{\"name\":\"b\",\"height\":\"2mm\",\"bit\":\"\"}"));
    expect_done(rig_call(&rig, "keep", "{\"name\":\"c\",\"height\":\"3mm\",\"bit\":\"stick\"}"));
    expect_done(rig_call(&rig, "recall", "{\"name\":\"a\"}"));
    expect_status(&rig, rig.client, "preset", "a");
    expect_done(rig_call(&rig, "fit", "{\"clear\":true}"));
    expect_done(rig_call(&rig, "touch", "{\"height\":\"1mm\"}"));
    /* The lift stands at a preset that has become one of that bit's since: the journal names it. */
    expect_done(rig_call(&rig, "recall", "{\"name\":\"b\"}"));
    expect_done(rig_call(&rig, "keep",
                         "{\"name\":\"b\",\"height\":\"2mm\",\"bit\":\"cope\",\"replace\":true}"));
    expect_said(rig_call(&rig, "forget-bit", "{\"name\":\"cope\"}"), "in-use", "names it");
    expect_done(rig_call(&rig, "forget-bit", "{\"name\":\"cope\",\"with_others\":true}"));
    expect_list(&rig, "presets", NULL,
                "[{\"name\":\"c\",\"height\":\"3mm\",\"height_nm\":3000000,\"bit\":\"stick\"}]");
    expect_list(&rig, "pairs", NULL, "[]");
    start_again(&rig, SIGKILL);
    ck_assert(!rig_log_has(&rig, "any more")); /* neither file names what has gone */
    expect_list(&rig, "presets", "{\"bit\":\"stick\"}",
                "[{\"name\":\"c\",\"height\":\"3mm\",\"height_nm\":3000000,\"bit\":\"stick\"}]");
    rig_end(&rig);
}
END_TEST

START_TEST(a_preset_has_a_card_and_belongs_to_the_fitted_bit)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "keep-bit", HALF));
    expect_done(rig_call(&rig, "fit", "{\"bit\":\"half\",\"clear\":true}"));
    expect_reason(rig_call(&rig, "keep", "{\"name\":\"a\"}"), "height-unknown");
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0in\"}"));
    expect_done(rig_call(&rig, "riding", "{\"thickness\":\"3mm\"}"));
    expect_done(rig_call(&rig, "to", "{\"height\":\"7mm\"}"));
    expect_done(rig_call(&rig, "keep",
                         "{\"name\":\"a\",\"ring\":\"two\",\"fence\":\"3/4 back\",\"speed\":"
                         "\"slow\",\"wood\":\"oak\",\"sample\":\"hook 3\"}"));
    static const char kept[] =
        "[{\"name\":\"a\",\"height\":\"7mm\",\"height_nm\":7000000,\"riding\":\"3mm\",\"riding_"
        "nm\":3000000,\"ring\":\"two\",\"fence\":\"3/4 back\",\"speed\":\"slow\",\"wood\":\"oak\","
        "\"sample\":\"hook 3\",\"bit\":\"half\"}]";
    expect_list(&rig, "presets", NULL, kept);
    expect_said(rig_call(&rig, "keep", "{\"name\":\"a\",\"height\":\"9mm\"}"), "name-taken",
                "at 7mm already; the new height would be 9mm");
    expect_wrong(rig_call(&rig, "keep", "{\"name\":\"b\",\"riding\":\"11in\"}"), "riding");
    static const char *const touch_words[] = {"flush", "block", "plate"};
    for (size_t i = 0; i < sizeof touch_words / sizeof *touch_words; i++) {
        char params[100];
        snprintf(params, sizeof params, "{\"name\":\"%s\",\"height\":\"1mm\"}", touch_words[i]);
        expect_wrong(rig_call(&rig, "keep", params), "touched off");
    }
    expect_wrong(rig_call(&rig, "keep", "{\"name\":\"b\",\"wood\":\"a\\u0007\"}"), "one line");
    expect_wrong(rig_call(&rig, "keep", "{\"name\":\"b\",\"height\":\"41in\"}"), "height");
    expect_reason(rig_call(&rig, "keep", "{\"name\":\"b\",\"bit\":\"x\"}"), "no-such-bit");
    start_again(&rig, SIGKILL);
    expect_list(&rig, "presets", NULL, kept);
    /* In its place: what is left out of the card stays, also whose height it is. */
    expect_done(rig_call(&rig, "fit", "{\"clear\":true}"));
    expect_done(rig_call(&rig, "keep",
                         "{\"name\":\"a\",\"height\":\"9mm\",\"replace\":true,\"wood\":\"ash\","
                         "\"sample\":\"\"}"));
    expect_list(&rig, "presets", "{\"bit\":\"half\"}",
                "[{\"name\":\"a\",\"height\":\"9mm\",\"height_nm\":9000000,\"riding\":\"3mm\","
                "\"riding_nm\":3000000,\"ring\":\"two\",\"fence\":\"3/4 back\",\"speed\":\"slow\","
                "\"wood\":\"ash\",\"bit\":\"half\"}]");
    expect_reason(rig_call(&rig, "recall", "{\"name\":\"a\"}"), "wrong-bit");
    expect_done(rig_call(&rig, "forget", "{\"name\":\"a\"}"));
    expect_reason(rig_call(&rig, "forget", "{\"name\":\"a\"}"), "no-such-preset");
    rig_end(&rig);
}
END_TEST

START_TEST(a_ground_bit_is_measured_anew_and_its_presets_too)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "keep-bit", HALF));
    expect_done(rig_call(&rig, "fit", "{\"bit\":\"half\",\"clear\":true}"));
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0in\"}"));
    expect_done(rig_call(&rig, "keep", "{\"name\":\"a\",\"height\":\"1mm\"}"));
    expect_done(rig_call(&rig, "keep", "{\"name\":\"b\",\"height\":\"2mm\",\"bit\":\"\"}"));
    expect_done(rig_call(&rig, "ground", "{\"bit\":\"half\"}"));
    start_again(&rig, SIGKILL);
    expect_list(&rig, "presets", NULL,
                "[{\"name\":\"a\",\"height\":\"1mm\",\"height_nm\":1000000,\"recompute\":true,"
                "\"bit\":\"half\"},{\"name\":\"b\",\"height\":\"2mm\",\"height_nm\":2000000}]");
    expect_reason(rig_call(&rig, "recall", "{\"name\":\"a\"}"), "recompute");
    expect_done(rig_call(&rig, "recall", "{\"name\":\"b\"}"));
    expect_done(rig_call(&rig, "keep", "{\"name\":\"a\",\"height\":\"1.1mm\",\"replace\":true}"));
    expect_done(rig_call(&rig, "recall", "{\"name\":\"a\"}"));
    /* The bit's own size: a note does not measure it. */
    expect_done(rig_call(&rig, "keep-bit", "{\"name\":\"half\",\"replace\":true,\"note\":\"x\"}"));
    cJSON *result = ask(&rig, "bits", NULL);
    const cJSON *half = cJSON_GetArrayItem(cJSON_GetObjectItem(result, "bits"), 0);
    ck_assert(cJSON_IsTrue(cJSON_GetObjectItem(half, "ground")));
    cJSON_Delete(result);
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"half\",\"replace\":true,\"note\":\"\",\"diameter\":"
                         "\"1/2in\"}"));
    expect_list(&rig, "bits", NULL, "[" HALF_ITEM "]");
    rig_end(&rig);
}
END_TEST

START_TEST(another_name_is_the_same_thing)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "keep-bit", HALF));
    expect_done(rig_call(&rig, "keep-ring", "{\"name\":\"one\",\"opening\":\"1in\"}"));
    expect_done(
        rig_call(&rig, "keep-bit", "{\"name\":\"half\",\"replace\":true,\"ring\":\"one\"}"));
    expect_done(rig_call(&rig, "fit", "{\"bit\":\"half\",\"clear\":true}"));
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0in\"}"));
    expect_done(rig_call(&rig, "keep", "{\"name\":\"a\",\"height\":\"1mm\"}"));
    expect_done(rig_call(&rig, "recall", "{\"name\":\"a\"}"));
    expect_done(rig_call(&rig, "rename", "{\"what\":\"bit\",\"name\":\"half\",\"to\":\"zz\"}"));
    expect_done(rig_call(&rig, "rename", "{\"what\":\"ring\",\"name\":\"one\",\"to\":\"two\"}"));
    expect_done(rig_call(&rig, "rename", "{\"what\":\"preset\",\"name\":\"a\",\"to\":\"b\"}"));
    for (int round = 0; round < 2; round++) {
        expect_status(&rig, rig.client, "bit", "zz");
        expect_status(&rig, rig.client, "preset", "b");
        expect_list(&rig, "presets", NULL,
                    "[{\"name\":\"b\",\"height\":\"1mm\",\"height_nm\":1000000,\"bit\":\"zz\"}]");
        start_again(&rig, SIGKILL);
    }
    expect_done(rig_call(&rig, "recall", "{\"name\":\"b\"}"));
    expect_reason(rig_call(&rig, "recall", "{\"name\":\"a\"}"), "no-such-preset");
    expect_reason(rig_call(&rig, "rename", "{\"what\":\"bit\",\"name\":\"half\",\"to\":\"x\"}"),
                  "no-such-bit");
    expect_reason(rig_call(&rig, "rename", "{\"what\":\"stock\",\"name\":\"q\",\"to\":\"x\"}"),
                  "no-such-thing");
    expect_reason(rig_call(&rig, "rename", "{\"what\":\"preset\",\"name\":\"q\",\"to\":\"x\"}"),
                  "no-such-preset");
    expect_reason(rig_call(&rig, "rename", "{\"what\":\"bit\",\"name\":\"zz\",\"to\":\"zz\"}"),
                  "name-taken");
    expect_wrong(rig_call(&rig, "rename", "{\"what\":\"preset\",\"name\":\"zz\",\"to\":\"plate\"}"),
                 "touched off");
    expect_wrong(rig_call(&rig, "rename", "{\"what\":\"lift\",\"name\":\"zz\",\"to\":\"x\"}"),
                 "preset, bit, ring, stock or pair");
    rig_end(&rig);
}
END_TEST

/* Both of one line are taken up in one turn of the loop: the second one finds the first being
 * written. */
START_TEST(a_change_that_is_asked_for_during_another_is_refused)
{
    static char line[20000];
    struct rig rig;
    rig_start(&rig, true, 1);
    ck_assert_int_gt(dprintf(fileno(rig.client),
                             "[{\"jsonrpc\":\"2.0\",\"id\":1001,\"method\":\"keep-stock\","
                             "\"params\":{\"name\":\"a\",\"size\":\"1mm\"}},"
                             "{\"jsonrpc\":\"2.0\",\"id\":1002,\"method\":\"keep-stock\","
                             "\"params\":{\"name\":\"b\",\"size\":\"2mm\"}}]\n"),
                     0);
    ck_assert_ptr_nonnull(fgets(line, sizeof line, rig.client));
    cJSON *answers = cJSON_Parse(line);
    ck_assert_int_eq(cJSON_GetArraySize(answers), 2);
    for (int i = 0; i < 2; i++) {
        const cJSON *answer = cJSON_GetArrayItem(answers, i);
        bool first = cJSON_GetObjectItem(answer, "id")->valueint == 1001;
        ck_assert(rig_done(answer) == first);
        ck_assert_str_eq(rig_reason(answer), first ? "" : "busy");
    }
    cJSON_Delete(answers);
    expect_list(&rig, "stock", NULL, "[{\"name\":\"a\",\"size\":\"1mm\",\"size_nm\":1000000}]");
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("shop");
    TCase *cases = tcase_create("shop");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, a_bit_is_kept_changed_listed_and_forgotten);
    tcase_add_test(cases, a_bit_that_cannot_be_is_refused_and_nothing_changes);
    tcase_add_test(cases, a_name_that_is_too_long_names_nothing);
    tcase_add_test(cases, rings_and_stock_are_kept_and_forgotten);
    tcase_add_test(cases, a_pair_is_of_two_bits_that_are_there);
    tcase_add_test(cases, a_bit_goes_with_its_presets_and_pairs_when_that_is_said);
    tcase_add_test(cases, a_preset_has_a_card_and_belongs_to_the_fitted_bit);
    tcase_add_test(cases, a_ground_bit_is_measured_anew_and_its_presets_too);
    tcase_add_test(cases, another_name_is_the_same_thing);
    tcase_add_test(cases, a_change_that_is_asked_for_during_another_is_refused);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
