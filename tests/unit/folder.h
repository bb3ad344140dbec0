/* SPDX-License-Identifier: MIT */
/* A folder of a test's own on the real disk. */
#ifndef REGLET_TESTS_UNIT_FOLDER_H
#define REGLET_TESTS_UNIT_FOLDER_H

#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Makes PARENT/reglet-NAME-?????? and writes its path; the caller removes it. */
static inline void make_own_folder(char *path, size_t size, const char *parent, const char *name)
{
    enum { DRAWN = 6 }; /* the letters that mkdtemp puts in the place of as many X */
    int length = snprintf(path, size, "%s/reglet-%s-", parent, name);
    ck_assert_int_gt(length, 0);
    ck_assert_uint_lt((size_t)length + DRAWN, size);
    memset(path + length, 'X', DRAWN);
    path[length + DRAWN] = '\0';
    ck_assert_ptr_nonnull(mkdtemp(path));
}

#endif
