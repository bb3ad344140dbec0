/* SPDX-License-Identifier: MIT */
/*
 * A client that is not ours: a general-purpose JSON-RPC 2.0 package of the npm registry leads a
 * session (npm/session.js) over the socket. In real time; the package goes into the build folder.
 */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/rig/harness.h"
#include "tests/rig/shell.h"
#include "tests/suite.h"

enum { PATH_SIZE = 512, COMMAND_SIZE = 1300, LEFT_OUT = 77, SESSION_S = 240 };

/* In the build folder, beside the one of the programs. */
static void working_folder(char *path, size_t size)
{
    char program[PATH_SIZE];
    ssize_t length = readlink("/proc/self/exe", program, sizeof program / 2);
    ck_assert_int_gt(length, 0);
    program[length] = '\0';
    for (int up = 0; up < 2; up++) {
        char *slash = strrchr(program, '/');
        ck_assert_ptr_nonnull(slash);
        *slash = '\0';
    }
    snprintf(path, size, "%.300s/npm", program);
}

static bool prepare(const char *folder)
{
    static char text[16384];
    char command[COMMAND_SIZE];
    const char *root_end = strstr(__FILE__, "tests/rig/");
    ck_assert_ptr_nonnull(root_end);
    snprintf(command, sizeof command, "sh '%.*stests/rig/npm/prepare' '%s' 2>&1",
             (int)(root_end - __FILE__), __FILE__, folder);
    int code = shell_says(command, text, sizeof text);
    if (code == LEFT_OUT) {
        printf("left out: %s", text);
        return false;
    }
    ck_assert_msg(code == 0, "npm/prepare ended with %d: %s", code, text);
    return true;
}

START_TEST(a_client_of_the_npm_registry_leads_a_session)
{
    static char text[16384];
    struct rig rig;
    char folder[PATH_SIZE];
    char command[COMMAND_SIZE];
    working_folder(folder, sizeof folder);
    if (!prepare(folder)) {
        return;
    }
    rig_start_patient(&rig);
    snprintf(command, sizeof command, "timeout %d node '%s/session.js' '%s/reglet.sock' 2>&1",
             SESSION_S, folder, rig.folder);
    int code = shell_says(command, text, sizeof text);
    ck_assert_msg(code == 0, "the session ended with %d: %s", code, text);
    ck_assert_ptr_nonnull(strstr(text, "heights: as the page says\n")); /* its last part */
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("npm");
    TCase *cases = tcase_create("npm");
    tcase_set_timeout(cases, 600);
    tcase_add_test(cases, a_client_of_the_npm_registry_leads_a_session);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
