/* SPDX-License-Identifier: MIT */
/* Programs that are not ours, by the shell. */
#ifndef REGLET_TESTS_RIG_SHELL_H
#define REGLET_TESTS_RIG_SHELL_H

#include <check.h>
#include <stdio.h>
#include <sys/wait.h>

/* Its exit code; what it says goes into `text`. */
static inline int shell_says(const char *command, char *text, size_t size)
{
    FILE *pipe = popen(command, "re");
    ck_assert_ptr_nonnull(pipe);
    size_t got = fread(text, 1, size - 1, pipe);
    text[got] = '\0';
    int status = pclose(pipe);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

#endif
