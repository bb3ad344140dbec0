/* SPDX-License-Identifier: MIT */
/*
 * Stands in for <check.h> where a unit test is compiled for the microcontroller: those macros of it
 * that the tests use. A test runs when it is added to its case; a failed assertion ends it, as on
 * the host, by a jump. Texts would take up data memory: of an assertion only its line is kept, of a
 * test its name, in flash; what a test prints is not printed.
 *
 * Reported over the serial line (115 200 baud), a line each:
 *     passed NAME INDEX ASSERTS
 *     failed NAME INDEX line LINE           (or: header line LINE)
 *     end TESTS FAILED ASSERTS STACK        (bytes of data memory that the stack has not touched)
 */
#ifndef REGLET_TESTS_RIG_AVR_UNIT_CHECK_H
#define REGLET_TESTS_RIG_AVR_UNIT_CHECK_H

#include <avr/pgmspace.h>
#include <inttypes.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

/* --- What the macros rest on (check.c) --- */

enum { AVR_UNIT_HEADER = 0x8000 }; /* with a line: not of the test's own file */

/* Runs test(from) to test(to - 1); the name is in flash. */
void avr_unit_run(const char *name, void (*test)(int), int from, int to);

/* Counts an assertion; does not return when it fails. */
void avr_unit_assert(bool holds, uint16_t line);

int avr_unit_failures(void);
void avr_unit_end(void);

/* Never called: takes what is not printed. */
int avr_unit_silent(const char *format, ...);

#define AVR_UNIT_LINE                                                                              \
    ((uint16_t)(__LINE__ |                                                                         \
                (__builtin_strcmp(__FILE__, __BASE_FILE__) == 0 ? 0u                               \
                                                                : (unsigned)AVR_UNIT_HEADER)))
#define AVR_UNIT_SILENT(...) ((void)sizeof(avr_unit_silent(__VA_ARGS__)))
#define AVR_UNIT_ASSERT(holds) avr_unit_assert(holds, AVR_UNIT_LINE)
#define AVR_UNIT_INT(a, op, b) AVR_UNIT_ASSERT((intmax_t)(a)op(intmax_t)(b))
#define AVR_UNIT_UINT(a, op, b) AVR_UNIT_ASSERT((uintmax_t)(a)op(uintmax_t)(b))

/* --- Tests --- */

#define START_TEST(name) static void name(int _i __attribute__((unused)))
#define END_TEST

#define ck_assert(holds) AVR_UNIT_ASSERT(holds)
#define ck_assert_msg(holds, ...) (AVR_UNIT_SILENT(__VA_ARGS__), AVR_UNIT_ASSERT(holds))
#define ck_abort_msg(...) (AVR_UNIT_SILENT(__VA_ARGS__), AVR_UNIT_ASSERT(false))
#define ck_assert_int_eq(a, b) AVR_UNIT_INT(a, ==, b)
#define ck_assert_int_ge(a, b) AVR_UNIT_INT(a, >=, b)
#define ck_assert_uint_eq(a, b) AVR_UNIT_UINT(a, ==, b)
#define ck_assert_uint_lt(a, b) AVR_UNIT_UINT(a, <, b)
#define ck_assert_uint_le(a, b) AVR_UNIT_UINT(a, <=, b)
#define ck_assert_uint_gt(a, b) AVR_UNIT_UINT(a, >, b)
#define ck_assert_uint_ge(a, b) AVR_UNIT_UINT(a, >=, b)
#define ck_assert_mem_eq(a, b, size) AVR_UNIT_ASSERT(memcmp(a, b, size) == 0)
#define ck_assert_str_ne(a, b) AVR_UNIT_ASSERT(strcmp(a, b) != 0)

/* avr-libc has none, and the texts that it stands in are not printed. */
#ifndef PRIu64
#define PRIu64 "llu"
#endif

#define printf(...) AVR_UNIT_SILENT(__VA_ARGS__)

/* --- Suites --- */

typedef struct avr_unit_none Suite;
typedef struct avr_unit_none TCase;
typedef struct avr_unit_none SRunner;

#define suite_create(name) ((Suite *)NULL)
#define suite_add_tcase(suite, cases) ((void)(suite), (void)(cases))
#define tcase_create(name) ((TCase *)NULL)
#define tcase_set_timeout(cases, seconds) ((void)(cases))
#define tcase_add_test(cases, test) tcase_add_loop_test(cases, test, 0, 1)
#define tcase_add_loop_test(cases, test, from, to)                                                 \
    ((void)(cases), avr_unit_run(PSTR(#test), test, from, to))
#define srunner_create(suite) ((void)(suite), (SRunner *)NULL)
#define srunner_run_all(runner, verbosity) ((void)(runner), avr_unit_end())
#define srunner_ntests_failed(runner) ((void)(runner), avr_unit_failures())
#define srunner_free(runner) ((void)(runner))

#endif
