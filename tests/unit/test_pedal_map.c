/* SPDX-License-Identifier: MIT */
/*
 * The pedal's mapping file. The codes of the keys are those of linux/input-event-codes.h; 1 in is
 * 25.4 mm exactly (NIST SP 811 appendix B).
 */
#include <check.h>
#include <linux/input-event-codes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "clients/pedal/map.h"
#include "clients/pedal/place.h"
#include "tests/suite.h"
#include "tests/unit/folder.h"

static struct map map;
static char fault[MAP_FAULT_SIZE];

static bool read_text(const char *text)
{
    char *copy = strdup(text);
    ck_assert_ptr_nonnull(copy);
    fault[0] = '\0';
    bool good = map_read(copy, strlen(copy), "pedal.json", &map, fault);
    free(copy);
    return good;
}

/* One device with these members. */
static bool read_device(const char *members)
{
    char text[2048];
    (void)snprintf(text, sizeof text, "{\"devices\": [{%s}]}", members);
    return read_text(text);
}

#define PEDAL "\"path\": \"/dev/input/by-id/a\", "

static bool read_action(const char *key, const char *action)
{
    char members[1024];
    (void)snprintf(members, sizeof members, PEDAL "\"keys\": {\"%s\": \"%s\"}", key, action);
    return read_device(members);
}

/* --- What is read --- */

static const struct {
    const char *words;
    struct action action;
} actions[] = {
    {"hold-up-slow", {.kind = ACTION_HOLD, .up = true}},
    {"hold-up-fast", {.kind = ACTION_HOLD, .up = true, .fast = true}},
    {"hold-down-slow", {.kind = ACTION_HOLD}},
    {"hold-down-fast", {.kind = ACTION_HOLD, .fast = true}},
    {"nudge up 1/64in", {.kind = ACTION_NUDGE, .nm = 396875}},
    {"nudge down .002in", {.kind = ACTION_NUDGE, .nm = -50800}},
    {"nudge up 0.1mm", {.kind = ACTION_NUDGE, .nm = 100000}},
    {"to 3/8in", {.kind = ACTION_TO, .nm = 9525000}},
    {"to -1-7/16in", {.kind = ACTION_TO, .nm = -36512500}},
    {"to 23/64in + .003in", {.kind = ACTION_TO, .nm = 9204325}},
    {"recall drawer-groove", {.kind = ACTION_RECALL, .name = "drawer-groove"}},
    {"recall the deep one", {.kind = ACTION_RECALL, .name = "the deep one"}},
    {"next", {.kind = ACTION_NEXT}},
    {"stop", {.kind = ACTION_STOP}},
};

START_TEST(actions_are_read)
{
    ck_assert_msg(read_action("KEY_F13", actions[_i].words), "%s", fault);
    const struct action *action = map_action(&map.device[0], KEY_F13);
    ck_assert_ptr_nonnull(action);
    ck_assert_int_eq(action->kind, actions[_i].action.kind);
    ck_assert_int_eq(action->up, actions[_i].action.up);
    ck_assert_int_eq(action->fast, actions[_i].action.fast);
    ck_assert_int_eq(action->nm, actions[_i].action.nm);
    ck_assert_str_eq(action->name, actions[_i].action.name);
    ck_assert_ptr_null(map_action(&map.device[0], KEY_F14));
}
END_TEST

START_TEST(keypad_keys_type_what_is_on_them)
{
    ck_assert(read_device(PEDAL "\"keypad\": true, \"keys\": {\"KEY_BACKSPACE\": \"stop\"}"));
    static const struct {
        unsigned code;
        char types;
    } some[] = {{KEY_KP7, '7'},     {KEY_0, '0'},        {KEY_KPCOMMA, '.'},
                {KEY_KPMINUS, '-'}, {KEY_KPENTER, '\n'}, {KEY_DELETE, '\b'}};
    for (size_t i = 0; i < sizeof some / sizeof *some; i++) {
        const struct action *action = map_action(&map.device[0], some[i].code);
        ck_assert_ptr_nonnull(action);
        ck_assert_int_eq(action->kind, ACTION_KEYPAD);
        ck_assert_int_eq(action->types, some[i].types);
    }
    /* A key's own entry stands over it. */
    ck_assert_int_eq(map_action(&map.device[0], KEY_BACKSPACE)->kind, ACTION_STOP);
    ck_assert_ptr_null(map_action(&map.device[0], KEY_A));
}
END_TEST

START_TEST(a_whole_file_is_read)
{
    ck_assert_msg(
        read_text("// two of them\n"
                  "{\"unit\": \"mm\", \"debounce_ms\": 0, \"devices\": [\n"
                  "  {\"called\": \"left\", \"path\": \"/dev/input/by-path/x//y\",\n"
                  "   \"keys\": {\"BTN_0\": \"stop\", \"KEY_KP1\": \"keypad\"}}, // it\n"
                  "  {\"vendor\": \"1A2b\", \"product\": \"00c4\", \"name\": \"A b\",\n"
                  "   \"keys\": {\"KEY_A\": \"next\"}},\n"
                  "  {\"vendor\": \"ffff\", \"product\": \"0000\", \"keypad\": true}]}\n"),
        "%s", fault);
    ck_assert(map.has_style);
    ck_assert_int_eq(map.style, LENGTH_STYLE_MM);
    ck_assert_int_eq(map.debounce_ms, 0);
    ck_assert_uint_eq(map.devices, 3);
    ck_assert_str_eq(map.device[0].label, "left");
    ck_assert_str_eq(map.device[0].path, "/dev/input/by-path/x//y");
    ck_assert_int_eq(map_action(&map.device[0], BTN_0)->kind, ACTION_STOP);
    ck_assert_int_eq(map_action(&map.device[0], KEY_KP1)->types, '1');
    ck_assert_str_eq(map.device[1].label, "A b");
    ck_assert_str_eq(map.device[1].path, "");
    ck_assert_uint_eq(map.device[1].vendor, 0x1a2b);
    ck_assert_uint_eq(map.device[1].product, 0xc4);
    ck_assert_str_eq(map.device[2].label, "device ffff:0000");
    ck_assert_str_eq(map.device[2].name, "");
}
END_TEST

START_TEST(what_is_left_out_has_its_default)
{
    ck_assert(read_action("KEY_A", "stop"));
    ck_assert(!map.has_style);
    ck_assert_int_eq(map.debounce_ms, MAP_DEBOUNCE_MS);
    ck_assert_str_eq(map.device[0].label, "/dev/input/by-id/a");
}
END_TEST

/* --- What is refused, where, and with which words in the sentence --- */

static const struct {
    const char *text;
    const char *says;
} refusals[] = {
    {"", "pedal.json:1: "},
    {"[]", "pedal.json:1: found something else than one group"},
    {"{}", "pedal.json: found no \"devices\""},
    {"{\"devices\": []}", "pedal.json:1: found no device"},
    {"{\"devices\": {}}", "found no device"},
    {"{\n\n\"colour\": 1}", "pedal.json:3: found the unknown word \"colour\""},
    {"{\"unit\": \"cm\"}", "\"in\", \"mm\", \"32\", \"64\" or \"128\""},
    {"{\"unit\": 64}", "in quotes, would do"},
    {"{\"debounce_ms\": 101}", "a whole number from 0 to 100"},
    {"{\"debounce_ms\": -1}", "a whole number from 0 to 100"},
    {"{\"debounce_ms\": 2.5}", "a whole number from 0 to 100"},
    {"{\"debounce_ms\": 1, \"debounce_ms\": 2}", "pedal.json:1: "}, /* the strict scan's */
    {"{\"devices\": [\n1]}", "pedal.json:2: found something else than a group"},
    {"{\"devices\": [{\"keys\": {\"KEY_A\": \"stop\"}}]}", "nothing by which the device is known"},
    {"{\"devices\": [{\"vendor\": \"1234\", \"keypad\": true}]}",
     "nothing by which the device is known"},
    {"{\"devices\": [{\"vendor\": \"123\", \"product\": \"0000\"}]}", "four hexadecimal digits"},
    {"{\"devices\": [{\"vendor\": \"0x12\", \"product\": \"0000\"}]}", "four hexadecimal digits"},
    {"{\"devices\": [{\"path\": \"/a\", \"name\": \"b\"}]}", "found a path and a vendor"},
    {"{\"devices\": [{\"path\": \"a\", \"keypad\": true}]}", "does not begin with /"},
    {"{\"devices\": [{\"path\": \"/dev/input/event3\", \"keypad\": true}]}",
     "which another device may have tomorrow"},
    {"{\"devices\": [{\"path\": \"\", \"keypad\": true}]}", "found no text for \"path\""},
    {"{\"devices\": [{\"path\": \"/a\", \"called\": 3, \"keypad\": true}]}",
     "found no text for \"called\""},
    {"{\"devices\": [{\"path\": \"/a\", \"colour\": 3}]}",
     "the unknown word \"colour\" of a device"},
    {"{\"devices\": [{\"path\": \"/a\", \"keypad\": 1}]}", "true or false for \"keypad\""},
    {"{\"devices\": [{\"path\": \"/a\", \"keypad\": false}]}", "found a device without keys"},
    {"{\"devices\": [{\"path\": \"/a\", \"keys\": []}]}", "found no group for \"keys\""},
    {"{\"devices\": [{\"path\": \"/a\", \"keys\": {\"KEY_A\": \"stop\",\n \"KEY_PEDAL\": "
     "\"stop\"}}]}",
     "pedal.json:2: found the unknown key \"KEY_PEDAL\""},
    {"{\"devices\": [{\"path\": \"/a\", \"keys\": {\"KEY_A\":\n 1}}]}", "found no text for"},
    /* Two names of one code (linux/input-event-codes.h). */
    {"{\"devices\": [{\"path\": \"/a\", \"keys\": {\"BTN_A\": \"stop\", \"BTN_SOUTH\": "
     "\"stop\"}}]}",
     "stands here under another name too"},
};

START_TEST(what_cannot_be_meant_is_refused_with_its_line)
{
    ck_assert(!read_text(refusals[_i].text));
    ck_assert_msg(strstr(fault, refusals[_i].says) != NULL, "'%s' says: %s", refusals[_i].text,
                  fault);
    ck_assert_ptr_eq(strstr(fault, "pedal.json:"), fault);
}
END_TEST

static const struct {
    const char *key;
    const char *words;
    const char *says;
} bad_actions[] = {
    {"KEY_A", "all-clear", "all-clear is not for a pedal"},
    {"KEY_A", "touch flush", "touch is not for a pedal"},
    {"KEY_A", "find-top", "find-top is not for a pedal"},
    {"KEY_A", "confirm", "confirm is not for a pedal"},
    {"KEY_A", "jump", "found the unknown action 'jump'; hold-up-slow"},
    {"KEY_A", "", "found the unknown action ''"},
    {"KEY_A", "stop ", "found the unknown action 'stop '"},
    {"KEY_A", "hold-up", "found the unknown action 'hold-up'"},
    {"KEY_A", "nudge 1/64in", "a nudge needs its way"},
    {"KEY_A", "nudge up", "a nudge needs its way"},
    {"KEY_A", "nudge up -1/64in", "a nudge's length is above zero"},
    {"KEY_A", "nudge up 0in", "a nudge's length is above zero"},
    {"KEY_A", "nudge up 1/64", "found the length '1/64'"}, /* no unit: refused in files */
    {"KEY_A", "to 9.5", "found the length '9.5'"},
    {"KEY_A", "to", "found the unknown action 'to'"},
    {"KEY_A", "recall ", "found no name to recall"},
    {"KEY_A", "recall a b ", "found no name to recall"},
    {"KEY_A", "keypad", "this key types nothing"},
    {"KEY_KPPLUS", "keypad", "this key types nothing"},
};

START_TEST(what_no_key_can_be_for_is_refused)
{
    ck_assert(!read_action(bad_actions[_i].key, bad_actions[_i].words));
    ck_assert_msg(strstr(fault, bad_actions[_i].says) != NULL, "'%s' says: %s",
                  bad_actions[_i].words, fault);
}
END_TEST

START_TEST(a_name_as_long_as_presets_have_it_is_read)
{
    char words[128] = "recall ";
    memset(words + 7, 'x', WORDS_NAME);
    ck_assert(read_action("KEY_A", words));
    ck_assert_str_eq(map_action(&map.device[0], KEY_A)->name, words + 7);
    words[7 + WORDS_NAME] = 'x';
    ck_assert(!read_action("KEY_A", words));
    ck_assert_ptr_nonnull(strstr(fault, "at most 63 bytes"));
}
END_TEST

/* Of any length and nesting, with what looks like brackets and quotes inside of strings. */
START_TEST(the_line_of_any_item_is_found)
{
    static const char text[] = "{\"a\": [1,\n {\"}\\\"]\": null},\n \"x\"],\n\n\"b\":\n{}}";
    cJSON *root = cJSON_Parse(text);
    ck_assert_ptr_nonnull(root);
    const cJSON *a = root->child;
    ck_assert_uint_eq(place_line(text, root, root), 1);
    ck_assert_uint_eq(place_line(text, root, a->child->next->child), 2);
    ck_assert_uint_eq(place_line(text, root, a->child->next->next), 3);
    ck_assert_uint_eq(place_line(text, root, a->next), 5);
    ck_assert_uint_eq(place_line(text, root, NULL), 1);
    cJSON_Delete(root);
}
END_TEST

START_TEST(there_is_an_end_to_devices_and_keys)
{
    static char text[65536];
    size_t used = (size_t)sprintf(text, "{\"devices\": [");
    for (int i = 0; i <= MAP_DEVICES_MAX; i++) {
        used += (size_t)sprintf(text + used, "%s{\"path\": \"/a\", \"keypad\": true}",
                                i > 0 ? ",\n" : "");
    }
    (void)sprintf(text + used, "]}");
    ck_assert(!read_text(text));
    ck_assert_ptr_nonnull(strstr(fault, "pedal.json:17: found more than 16 devices"));
    used = (size_t)sprintf(text, "{\"devices\": [{\"path\": \"/a\", \"keys\": {");
    for (int i = 1; i <= 12; i++) {
        used += (size_t)sprintf(text + used, "\"KEY_F%d\": \"stop\",\n", i);
    }
    for (char letter = 'A'; letter <= 'Z'; letter++) {
        used += (size_t)sprintf(text + used, "\"KEY_%c\": \"stop\",", letter);
    }
    (void)sprintf(text + used, "\"KEY_TAB\": \"stop\"}, \"keypad\": true}]}");
    ck_assert(!read_text(text)); /* 39 and 34 */
    ck_assert_ptr_nonnull(strstr(fault, "found more than 64 keys of one device"));
}
END_TEST

/* --- Files --- */

START_TEST(the_example_is_a_good_file)
{
    char path[512];
    (void)snprintf(path, sizeof path, "%s", __FILE__);
    char *root = strstr(path, "tests/unit/");
    ck_assert_ptr_nonnull(root);
    strcpy(root, "config/pedal.json");
    ck_assert_msg(map_load(path, &map, fault), "%s", fault);
    ck_assert_uint_eq(map.devices, 2);
    ck_assert_int_eq(map.debounce_ms, MAP_DEBOUNCE_MS);
}
END_TEST

START_TEST(what_is_no_file_is_refused)
{
    char folder[128];
    char path[192];
    make_own_folder(folder, sizeof folder, "/tmp", "pedal-map");
    (void)snprintf(path, sizeof path, "%s/pedal.json", folder);
    ck_assert(!map_load(path, &map, fault));
    ck_assert_ptr_nonnull(strstr(fault, "found no such file"));
    ck_assert(!map_load(folder, &map, fault));
    ck_assert_ptr_nonnull(strstr(fault, "found a folder, a device or a pipe"));
    FILE *file = fopen(path, "we");
    ck_assert_ptr_nonnull(file);
    for (int i = 0; i <= MAP_FILE_MAX; i++) {
        ck_assert_int_eq(fputc(' ', file), ' ');
    }
    ck_assert_int_eq(fclose(file), 0);
    ck_assert(!map_load(path, &map, fault));
    ck_assert_ptr_nonnull(strstr(fault, "found more than 65536 bytes"));
    ck_assert_int_eq(unlink(path), 0);
    ck_assert_int_eq(rmdir(folder), 0);
}
END_TEST

static Suite *map_suite(void)
{
    Suite *suite = suite_create("pedal-map");
    TCase *reads = tcase_create("reads");
    tcase_add_loop_test(reads, actions_are_read, 0, sizeof actions / sizeof *actions);
    tcase_add_test(reads, keypad_keys_type_what_is_on_them);
    tcase_add_test(reads, a_whole_file_is_read);
    tcase_add_test(reads, what_is_left_out_has_its_default);
    tcase_add_test(reads, a_name_as_long_as_presets_have_it_is_read);
    suite_add_tcase(suite, reads);
    TCase *refuses = tcase_create("refuses");
    tcase_add_loop_test(refuses, what_cannot_be_meant_is_refused_with_its_line, 0,
                        sizeof refusals / sizeof *refusals);
    tcase_add_loop_test(refuses, what_no_key_can_be_for_is_refused, 0,
                        sizeof bad_actions / sizeof *bad_actions);
    tcase_add_test(refuses, the_line_of_any_item_is_found);
    tcase_add_test(refuses, there_is_an_end_to_devices_and_keys);
    suite_add_tcase(suite, refuses);
    TCase *files = tcase_create("files");
    tcase_add_test(files, the_example_is_a_good_file);
    tcase_add_test(files, what_is_no_file_is_refused);
    suite_add_tcase(suite, files);
    return suite;
}

int main(void)
{
    return run_suite(map_suite());
}
