/* SPDX-License-Identifier: MIT */
/*
 * The daemon of a real lift that has no step generator (yet): what it says, its rights and those of
 * its files, and the unit files that start it.
 */
#include <check.h>
#include <dirent.h>
#include <grp.h>
#include <pwd.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "tests/rig/expect.h"
#include "tests/rig/service.h"
#include "tests/rig/shell.h"
#include "tests/suite.h"

/* --- Without a step generator --- */

static bool tried(const char *why)
{
    return why[0] != '\0' && !strstr(why, "not been found yet");
}

/* Why it is unplugged, when it has found out. */
static void ask_why(struct bench *b, FILE *client, char *why, size_t size)
{
    why[0] = '\0';
    for (int turn = 0; turn < PATIENCE_MS / 10 && !tried(why); turn++) {
        cJSON *answer = rig_answer(client, rig_send(&b->rig, client, "status", NULL));
        const cJSON *result = cJSON_GetObjectItem(answer, "result");
        const cJSON *words = cJSON_GetObjectItem(result, "why");
        ck_assert_str_eq(cJSON_GetObjectItem(result, "activity")->valuestring, "unplugged");
        ck_assert(cJSON_IsString(words));
        snprintf(why, size, "%s", words->valuestring);
        cJSON_Delete(answer);
        rig_run(&b->rig, tried(why) ? 0 : 10);
    }
}

/* Daemon, journal, shop and log: nothing of it is for others. */
static void expect_closed_files(const struct bench *b)
{
    char folder[PATH_SIZE];
    int files = 0;
    snprintf(folder, sizeof folder, "%s/state", b->folder);
    DIR *list = opendir(folder);
    ck_assert_ptr_nonnull(list);
    for (const struct dirent *entry; (entry = readdir(list)) != NULL;) {
        if (entry->d_name[0] != '.') {
            ck_assert_msg(mode_of(folder, entry->d_name) == 0600, "%s has mode %o", entry->d_name,
                          mode_of(folder, entry->d_name));
            files++;
        }
    }
    closedir(list);
    ck_assert_int_ge(files, 2);
}

START_TEST(it_starts_without_a_generator_and_says_why_it_is_unplugged)
{
    struct bench b;
    char why[512];
    static const mode_t masks[] = {0, 022, 077};
    bench_open(&b);
    for (size_t i = 0; i < sizeof masks / sizeof *masks; i++) {
        begin(&b, &(struct start){.mask = masks[i]});
        FILE *client = rig_connect(&b.rig);
        expect_greeting(&b, client);
        ask_why(&b, client, why, sizeof why);
        ck_assert_msg(strstr(why, NO_PORT) != NULL, "it says: %s", why);
        expect_reason(rig_answer(client, rig_send(&b.rig, client, "by", "{\"distance\":\"1mm\"}")),
                      "unplugged");
        ck_assert_uint_eq(mode_of(b.rig.folder, "reglet.sock"), 0666);
        ck_assert_uint_eq(mode_of(b.folder, "run"), 0755);
        ck_assert_uint_eq(mode_of(b.folder, "state"), 0700);
        expect_closed_files(&b);
        fclose(client);
        end(&b);
        ck_assert(!accepts(&b));
        ck_assert_int_eq(rmdir(b.rig.folder), 0); /* it has taken its socket away */
    }
    bench_close(&b);
}
END_TEST

/* --- Where the socket is --- */

START_TEST(the_environment_names_the_socket_for_daemon_and_client_alike)
{
    struct bench b;
    char path[PATH_SIZE];
    char text[4096];
    char command[700];
    char program[512];
    bench_open(&b);
    ck_assert_int_eq(mkdir(b.rig.folder, 0755), 0);
    snprintf(path, sizeof path, "%s/elsewhere/reglet.sock", b.folder);
    begin(&b, &(struct start){.socket = path, .mask = 077});
    own_program("reglet", program, sizeof program);
    snprintf(b.rig.folder, sizeof b.rig.folder, "%.40s/elsewhere", b.folder);
    FILE *client = rig_connect(&b.rig);
    expect_greeting(&b, client);
    fclose(client);
    ck_assert_uint_eq(mode_of(b.folder, "elsewhere"), 0755);
    snprintf(command, sizeof command, "REGLET_SOCKET=%s '%s' --json 2>&1", path, program);
    int code = shell_says(command, text, sizeof text);
    ck_assert_msg(code == 0 && strstr(text, "unplugged"), "it ended with %d: %s", code, text);
    end(&b);
    snprintf(path, sizeof path, "%s/run/reglet.sock", b.folder);
    ck_assert_int_ne(access(path, F_OK), 0);
    begin(&b, &(struct start){.socket = "", .mask = 022}); /* as good as none */
    snprintf(b.rig.folder, sizeof b.rig.folder, "%.40s/run", b.folder);
    client = rig_connect(&b.rig);
    expect_greeting(&b, client);
    fclose(client);
    end(&b);
    char name[101];
    memset(name, 'a', sizeof name - 1);
    name[0] = '/';
    name[sizeof name - 1] = '\0';
    begin(&b, &(struct start){.socket = name, .mask = 022});
    ck_assert_int_eq(exit_code(&b), 1);
    ck_assert(said(&b, "REGLET_SOCKET is longer than 99 bytes"));
    bench_close(&b);
}
END_TEST

/* --- A port that it has no right to --- */

/* A terminal that `user` may not open; false: there is none here. */
static bool find_denied(uid_t user, char *path, size_t size, struct stat *status)
{
    static const char *const names[] = {"ttyS0", "ttyS1", "tty1", "tty2"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char known[64];
        snprintf(known, sizeof known, "/sys/class/tty/%s", names[i]);
        snprintf(path, size, "/dev/%s", names[i]);
        bool there = access(known, F_OK) == 0 && stat(path, status) == 0 &&
                     S_ISCHR(status->st_mode) && status->st_uid != user;
        bool denied = user == geteuid() ? access(path, R_OK | W_OK) != 0
                                        : (status->st_mode & 06) != 06 && status->st_gid != user;
        if (there && denied) {
            return true;
        }
    }
    return false;
}

START_TEST(a_port_without_rights_is_named_with_user_group_and_cure)
{
    struct bench b;
    struct stat status;
    char port[64];
    char socket_path[PATH_SIZE];
    char why[512];
    uid_t user = geteuid() == 0 ? NOBODY : geteuid();
    if (!find_denied(user, port, sizeof port, &status)) {
        printf("left out: there is no serial port here that a user may not open\n");
        return;
    }
    bench_open(&b);
    ck_assert_int_eq(chown(b.folder, user, (gid_t)-1), 0);
    snprintf(socket_path, sizeof socket_path, "%s/reglet.sock", b.rig.folder);
    write_config(&b, port, socket_path);
    ck_assert_int_eq(chmod(b.config, 0644), 0);
    begin(&b, &(struct start){.user = geteuid() == 0 ? user : 0, .mask = 022});
    FILE *client = rig_connect(&b.rig);
    ask_why(&b, client, why, sizeof why);
    const struct passwd *who = getpwuid(user);
    const struct group *group = getgrgid(status.st_gid);
    char numbers[2][16];
    snprintf(numbers[0], sizeof numbers[0], "%u", (unsigned)user);
    snprintf(numbers[1], sizeof numbers[1], "%u", (unsigned)status.st_gid);
    char named[2][64];
    snprintf(named[0], sizeof named[0], "user %.40s", who ? who->pw_name : numbers[0]);
    snprintf(named[1], sizeof named[1], "group %.40s", group ? group->gr_name : numbers[1]);
    const char *const wanted[] = {port, named[0], named[1], "Add that user to that group"};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        ck_assert_msg(strstr(why, wanted[i]) != NULL, "'%s' is not in: %s", wanted[i], why);
    }
    fclose(client);
    end(&b);
    bench_close(&b);
}
END_TEST

/* --- The unit files --- */

/* The folder of the unit files. */
static void units(char *folder, size_t size)
{
    const char *end_of_root = strstr(__FILE__, "tests/rig/");
    ck_assert_ptr_nonnull(end_of_root);
    snprintf(folder, size, "%.*scontrib/service", (int)(end_of_root - __FILE__), __FILE__);
}

static bool analysis_is_here(void)
{
    char text[64];
    if (shell_says("command -v systemd-analyze 2>&1", text, sizeof text) == 0) {
        return true;
    }
    printf("left out: systemd-analyze is not here\n");
    return false;
}

START_TEST(the_unit_scores_one_at_the_most)
{
    static char text[65536];
    char folder[512];
    char command[700];
    if (!analysis_is_here()) {
        return;
    }
    units(folder, sizeof folder);
    snprintf(command, sizeof command,
             "LC_ALL=C systemd-analyze security --no-pager --offline=true '%s/regletd.service' "
             "2>&1",
             folder);
    int code = shell_says(command, text, sizeof text);
    ck_assert_msg(code == 0, "it ended with %d: %s", code, text);
    static const char words[] = "Overall exposure level for regletd.service: ";
    const char *found = strstr(text, words);
    ck_assert_msg(found != NULL, "there is no score: %s", text);
    char *rest = NULL;
    double score = strtod(found + sizeof words - 1, &rest);
    ck_assert_ptr_ne(rest, found + sizeof words - 1);
    ck_assert_double_le(score, 1.0);
    printf("exposure %.1f\n", score);
}
END_TEST

/* With the program that was built in the place of the one that would be installed. */
START_TEST(the_units_have_no_word_that_is_not_known)
{
    static char text[65536];
    struct bench b;
    char folder[512];
    char command[2000];
    char program[512];
    if (!analysis_is_here()) {
        return;
    }
    bench_open(&b);
    units(folder, sizeof folder);
    own_program("regletd", program, sizeof program);
    snprintf(command, sizeof command,
             "cd %s && sed 's,/usr/bin/regletd,%s,' '%s/regletd.service' >regletd.service && "
             "cp '%s/regletd.socket' . && LC_ALL=C SYSTEMD_LOG_LEVEL=warning "
             "systemd-analyze verify ./regletd.service ./regletd.socket 2>&1",
             b.folder, program, folder, folder);
    int code = shell_says(command, text, sizeof text);
    ck_assert_msg(code == 0, "it ended with %d: %s", code, text);
    ck_assert_msg(!strstr(text, "regletd.service:") && !strstr(text, "regletd.socket:"), "%s",
                  text);
    bench_close(&b);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("service");
    TCase *cases = tcase_create("service");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, it_starts_without_a_generator_and_says_why_it_is_unplugged);
    tcase_add_test(cases, the_environment_names_the_socket_for_daemon_and_client_alike);
    tcase_add_test(cases, a_port_without_rights_is_named_with_user_group_and_cure);
    tcase_add_test(cases, the_unit_scores_one_at_the_most);
    tcase_add_test(cases, the_units_have_no_word_that_is_not_known);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
