/* SPDX-License-Identifier: MIT */
/* The state folder found in every bad way: each is said in a sentence with its cure, and nothing
 * is overwritten. */
#include <check.h>
#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "tests/rig/harness.h"
#include "tests/suite.h"

static void must(cJSON *answer)
{
    ck_assert_msg(rig_done(answer), "refused: %s", rig_reason(answer));
    cJSON_Delete(answer);
}

static void path_of(const struct rig *rig, const char *name, char *path, size_t size)
{
    snprintf(path, size, "%s/%s", rig->folder, name);
}

static void write_file(const struct rig *rig, const char *name, const char *text)
{
    char path[200];
    path_of(rig, name, path, sizeof path);
    FILE *file = fopen(path, "we");
    ck_assert_ptr_nonnull(file);
    fputs(text, file);
    ck_assert_int_eq(fclose(file), 0);
}

static bool file_is(const struct rig *rig, const char *name, const char *text)
{
    char path[200];
    char found[4096];
    path_of(rig, name, path, sizeof path);
    FILE *file = fopen(path, "re");
    if (!file) {
        return false;
    }
    size_t size = fread(found, 1, sizeof found - 1, file);
    fclose(file);
    found[size] = '\0';
    return strcmp(found, text) == 0;
}

static void expect_trust(struct rig *rig, const char *reference, const char *table_zero)
{
    cJSON *answer = rig_call(rig, "status", NULL);
    const cJSON *status = cJSON_GetObjectItem(answer, "result");
    ck_assert_str_eq(cJSON_GetObjectItem(status, "reference")->valuestring, reference);
    ck_assert_str_eq(cJSON_GetObjectItem(status, "table_zero")->valuestring, table_zero);
    cJSON_Delete(answer);
}

static int count_presets(struct rig *rig)
{
    cJSON *answer = rig_call(rig, "presets", NULL);
    int count =
        cJSON_GetArraySize(cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "result"), "presets"));
    cJSON_Delete(answer);
    return count;
}

/* A lift with a zero and two presets, its daemon ended. */
static void prepare(struct rig *rig)
{
    rig_start(rig, true, 1);
    rig_touch_off(rig);
    must(rig_call(rig, "keep", "{\"name\":\"a\",\"height_nm\":1000000}"));
    must(rig_call(rig, "keep", "{\"name\":\"b\",\"height_nm\":2000000}"));
    must(rig_call(rig, "recall", "{\"name\":\"a\"}"));
    rig_end_daemon(rig, SIGTERM);
}

static void start_again(struct rig *rig)
{
    rig_start_daemon(rig);
    rig_run(rig, 1000);
}

START_TEST(a_damaged_shop_file_is_moved_aside_and_the_last_good_one_taken)
{
    struct rig rig;
    prepare(&rig);
    write_file(&rig, "shop.json", "{\"version\":1,\"pres");
    start_again(&rig);
    ck_assert(file_is(&rig, "shop.json.damaged", "{\"version\":1,\"pres"));
    ck_assert(rig_log_has(&rig, "shop.json"));
    ck_assert(rig_log_has(&rig, "damaged"));
    ck_assert_int_ge(count_presets(&rig), 1);
    expect_trust(&rig, "sure", "sure");
    rig_end(&rig);
}
END_TEST

START_TEST(a_journal_with_both_slots_damaged_is_moved_aside_and_the_position_called_lost)
{
    struct rig rig;
    char path[200];
    prepare(&rig);
    path_of(&rig, "journal", path, sizeof path);
    FILE *file = fopen(path, "r+e");
    ck_assert_ptr_nonnull(file);
    for (long at = 30; at < 8192; at += 4096) {
        ck_assert_int_eq(fseek(file, at, SEEK_SET), 0);
        ck_assert_int_ne(fputs("###", file), EOF);
    }
    ck_assert_int_eq(fclose(file), 0);
    start_again(&rig);
    path_of(&rig, "journal.damaged", path, sizeof path);
    ck_assert_int_eq(access(path, F_OK), 0);
    ck_assert(rig_log_has(&rig, "find the top, and touch off"));
    expect_trust(&rig, "lost", "lost");
    ck_assert_int_eq(count_presets(&rig), 2);
    must(rig_call(&rig, "find-top", NULL));
    expect_trust(&rig, "sure", "lost");
    rig_end(&rig);
}
END_TEST

START_TEST(a_shop_file_of_a_newer_version_is_left_alone)
{
    const char *newer = "{\"version\":99,\"presets\":[],\"more\":true}";
    struct rig rig;
    prepare(&rig);
    write_file(&rig, "shop.json", newer);
    rig_refuses_to_start(&rig);
    ck_assert(rig_log_has(&rig, "newer"));
    ck_assert(file_is(&rig, "shop.json", newer));
    rig_end(&rig);
}
END_TEST

START_TEST(a_preset_that_the_journal_names_and_the_shop_has_not_is_said)
{
    struct rig rig;
    prepare(&rig);
    write_file(&rig, "shop.json", "{\"version\":1,\"next_id\":9,\"presets\":[]}");
    start_again(&rig);
    ck_assert(rig_log_has(&rig, "the lift was last sent to is not in the shop's list any more"));
    expect_trust(&rig, "sure", "sure");
    ck_assert_int_eq(count_presets(&rig), 0);
    rig_end(&rig);
}
END_TEST

START_TEST(changed_screw_settings_make_every_length_lost)
{
    struct rig rig;
    char path[200];
    prepare(&rig);
    write_file(&rig, "other.json",
               "{\"screw\":{\"threads_per_inch\":16,\"full_steps\":200,\"microsteps\":8},"
               "\"travel\":{\"length\":\"77mm\",\"top_margin\":\"1mm\"},"
               "\"speeds\":{\"move\":\"8mm/s\",\"search\":\"4mm/s\",\"brake\":\"100mm/s2\"},"
               "\"inputs\":{\"top_switch\":\"active-high\",\"stop_circuit\":\"active-high\"},"
               "\"link\":{\"port\":\"/dev/null\"}}");
    path_of(&rig, "other.json", path, sizeof path);
    rig.config = path;
    start_again(&rig);
    ck_assert(rig_log_has(&rig, "the screw settings have changed"));
    expect_trust(&rig, "lost", "lost");
    rig_end(&rig);
}
END_TEST

START_TEST(a_state_folder_open_to_others_is_refused)
{
    struct rig rig;
    prepare(&rig);
    ck_assert_int_eq(chmod(rig.folder, 0755), 0);
    rig_refuses_to_start(&rig);
    ck_assert(rig_log_has(&rig, "chmod 700"));
    ck_assert_int_eq(chmod(rig.folder, 0700), 0);
    start_again(&rig);
    expect_trust(&rig, "sure", "sure");
    rig_end(&rig);
}
END_TEST

START_TEST(a_second_daemon_on_the_same_folder_is_refused)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_refuses_to_start(&rig);
    ck_assert(rig_log_has(&rig, "there can be only one"));
    expect_trust(&rig, "lost", "lost"); /* and the first one works on */
    rig_end(&rig);
}
END_TEST

START_TEST(a_wrong_configuration_is_refused_with_its_place)
{
    struct rig rig;
    char path[200];
    rig_start(&rig, true, 1);
    rig_end_daemon(&rig, SIGTERM);
    write_file(&rig, "wrong.json", "{\n  \"screw\": {\"lead\": \"2 furlongs\"}\n}\n");
    path_of(&rig, "wrong.json", path, sizeof path);
    rig.config = path;
    rig_refuses_to_start(&rig);
    ck_assert(rig_log_has(&rig, "wrong.json:2: found"));
    rig_end(&rig);
}
END_TEST

START_TEST(all_that_is_kept_is_closed_to_others)
{
    const char *names[] = {"journal", "shop.json", "log", "daemon.lock", "reglet.sock"};
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    must(rig_call(&rig, "keep", "{\"name\":\"a\"}"));
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char path[200];
        struct stat status;
        path_of(&rig, names[i], path, sizeof path);
        ck_assert_msg(stat(path, &status) == 0, "there is no %s", names[i]);
        ck_assert_msg((status.st_mode & 07777) == 0600, "%s has mode %o", names[i],
                      status.st_mode & 07777);
    }
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("files");
    TCase *cases = tcase_create("files");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, a_damaged_shop_file_is_moved_aside_and_the_last_good_one_taken);
    tcase_add_test(cases,
                   a_journal_with_both_slots_damaged_is_moved_aside_and_the_position_called_lost);
    tcase_add_test(cases, a_shop_file_of_a_newer_version_is_left_alone);
    tcase_add_test(cases, a_preset_that_the_journal_names_and_the_shop_has_not_is_said);
    tcase_add_test(cases, changed_screw_settings_make_every_length_lost);
    tcase_add_test(cases, a_state_folder_open_to_others_is_refused);
    tcase_add_test(cases, a_second_daemon_on_the_same_folder_is_refused);
    tcase_add_test(cases, a_wrong_configuration_is_refused_with_its_place);
    tcase_add_test(cases, all_that_is_kept_is_closed_to_others);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
