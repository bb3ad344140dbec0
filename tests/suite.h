/* SPDX-License-Identifier: MIT */
/* The end of every test program. */
#ifndef REGLET_TESTS_SUITE_H
#define REGLET_TESTS_SUITE_H

#include <check.h>
#include <stdlib.h>

/* Runs the suite and frees it; the exit status. */
static inline int run_suite(Suite *suite)
{
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

#endif
