/* SPDX-License-Identifier: MIT */
/*
 * A held key out of what a terminal sends, by tables of what comes when. That a terminal repeats a
 * held key, first after a quarter of a second to a second and then every 20 to 100 ms, and says
 * nothing of its release, is common practice, no source. The bytes of an arrow key are those of
 * ECMA-48 section 8.3.22 (CUU).
 */
#include <check.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/held.h"
#include "tests/suite.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))
#define UP "\033[A"
#define DOWN "\033[B"

enum { STEPS_MOST = 12 };

/* At `ms` comes `text` (NULL: nothing; OVER: the lift has stopped by itself). */
struct step {
    int64_t ms;
    const char *text;
    enum held_does does;
};

static const char OVER[] = "over";

static const struct {
    const char *about;
    struct step steps[STEPS_MOST];
} tables[] = {
    {"the first repeat begins, and 150 ms behind the last it ends",
     {{0, " ", HELD_NOTHING},
      {500, " ", HELD_BEGIN},
      {533, " ", HELD_NOTHING},
      {682, NULL, HELD_NOTHING},
      {683, NULL, HELD_END},
      {684, NULL, HELD_NOTHING}}},
    {"a tap does nothing", {{0, "x", HELD_NOTHING}, {500, NULL, HELD_NOTHING}}},
    {"a tap long after a tap does nothing",
     {{0, "x", HELD_NOTHING}, {1000, "x", HELD_NOTHING}, {2000, "x", HELD_NOTHING}}},
    {"the slowest first repeat counts",
     {{0, "x", HELD_NOTHING}, {999, "x", HELD_BEGIN}, {1149, NULL, HELD_END}}},
    {"and the quickest", {{0, "x", HELD_NOTHING}, {99, "x", HELD_NOTHING}, {100, "x", HELD_BEGIN}}},
    {"repeats that had queued up, read one by one, begin nothing",
     {{0, "x", HELD_NOTHING},
      {1, "xxxx", HELD_NOTHING},
      {2, "x", HELD_NOTHING},
      {3, NULL, HELD_NOTHING},
      {1000, NULL, HELD_NOTHING},
      {1001, "x", HELD_NOTHING}}},
    {"while it runs, what had queued up for too long ends it",
     {{0, "x", HELD_NOTHING},
      {500, "x", HELD_BEGIN},
      {900, "xxxxxxxxxx", HELD_END},
      {901, "xxx", HELD_NOTHING},
      {902, NULL, HELD_NOTHING}}},
    {"an arrow key is one key",
     {{0, UP, HELD_NOTHING}, {300, UP, HELD_BEGIN}, {330, UP, HELD_NOTHING}}},
    {"two arrows are two keys",
     {{0, UP, HELD_NOTHING}, {300, UP, HELD_BEGIN}, {330, DOWN, HELD_END}}},
    {"an arrow that comes in two pieces stops",
     {{0, UP, HELD_NOTHING}, {300, UP, HELD_BEGIN}, {330, "\033", HELD_END}}},
    {"another key stops, and its own repeats begin nothing",
     {{0, "x", HELD_NOTHING},
      {500, "x", HELD_BEGIN},
      {530, "y", HELD_END},
      {1529, "y", HELD_NOTHING},
      {1560, "y", HELD_NOTHING},
      {1590, "y", HELD_NOTHING},
      {2590, "y", HELD_NOTHING}, /* a fresh press */
      {3090, "y", HELD_BEGIN}}},
    {"another key before the repeat is a press of its own",
     {{0, "x", HELD_NOTHING}, {400, "y", HELD_NOTHING}, {800, "y", HELD_BEGIN}}},
    {"queued repeats count as one",
     {{0, "xxxxxx", HELD_NOTHING}, {500, "xxx", HELD_BEGIN}, {530, UP UP, HELD_END}}},
    {"two keys at once are none",
     {{0, "xy", HELD_NOTHING}, {500, "y", HELD_NOTHING}, {530, "y", HELD_NOTHING}}},
    {"a repeat that comes too late ends it, and is a press",
     {{0, "x", HELD_NOTHING},
      {500, "x", HELD_BEGIN},
      {650, "x", HELD_END},
      {680, "x", HELD_NOTHING},
      {750, "x", HELD_BEGIN}}},
    {"another key that comes too late ends it, too",
     {{0, "x", HELD_NOTHING}, {500, "x", HELD_BEGIN}, {700, "xy", HELD_END}}},
    {"a hold that is over is not taken up by the repeats",
     {{0, "x", HELD_NOTHING},
      {500, "x", HELD_BEGIN},
      {530, OVER, HELD_NOTHING},
      {560, "x", HELD_NOTHING},
      {590, "x", HELD_NOTHING},
      {900, "x", HELD_NOTHING},
      {930, "x", HELD_NOTHING},
      {1930, "x", HELD_NOTHING},
      {2430, "x", HELD_BEGIN}}},
    {"q quits while it is held",
     {{0, "x", HELD_NOTHING}, {500, "x", HELD_BEGIN}, {530, "q", HELD_QUIT}}},
    {"Enter quits", {{0, "\r", HELD_QUIT}}},
    {"so does a newline behind another key", {{0, "x\n", HELD_QUIT}}},
    {"Ctrl-C quits", {{0, "x", HELD_NOTHING}, {300, "\003", HELD_QUIT}}},
    {"Ctrl-D quits", {{0, "\004", HELD_QUIT}}},
    {"a q inside an escape sequence does not", {{0, "\033[3q", HELD_NOTHING}}},
    {"a letter outside ASCII is one key",
     {{0, "\303\251", HELD_NOTHING}, {500, "\303\251\303\251", HELD_BEGIN}}},
};

START_TEST(keys_and_time_begin_and_end_it)
{
    struct held held = {0};
    const struct step *steps = tables[_i].steps;
    for (int i = 0; i < STEPS_MOST && steps[i].does; i++) {
        enum held_does does = HELD_NOTHING;
        if (steps[i].text == OVER) {
            held_over(&held, steps[i].ms);
        } else if (steps[i].text) {
            does = held_keys(&held, steps[i].ms, steps[i].text, strlen(steps[i].text));
        } else {
            does = held_time(&held, steps[i].ms);
        }
        ck_assert_msg(does == steps[i].does, "%s, at %d ms: %d", tables[_i].about, (int)steps[i].ms,
                      does);
    }
}
END_TEST

START_TEST(it_is_waited_for_only_while_it_runs)
{
    struct held held = {0};
    ck_assert_int_eq(held_left_ms(&held, 0), -1);
    ck_assert_int_eq(held_keys(&held, 0, "x", 1), HELD_NOTHING);
    ck_assert_int_eq(held_left_ms(&held, 10), -1);
    ck_assert_int_eq(held_keys(&held, 500, "x", 1), HELD_BEGIN);
    ck_assert_int_eq(held_left_ms(&held, 500), 150);
    ck_assert_int_eq(held_left_ms(&held, 540), 110);
    ck_assert_int_eq(held_left_ms(&held, 700), 0);
    held_over(&held, 700);
    ck_assert_int_eq(held_left_ms(&held, 700), -1);
}
END_TEST

/* Whatever comes: it runs only between BEGIN and END or QUIT, never 150 ms without a key, and never
 * on the first key behind a second of silence. */
START_TEST(it_never_runs_without_keys)
{
    static const char *const texts[] = {"x", "x", "x", "x", "y", UP, "xx", "xy", "q", NULL, NULL};
    uint64_t seed = 1;
    for (int round = 0; round < 2000; round++) {
        struct held held = {0};
        bool running = false;
        int64_t now_ms = 0;
        int64_t key_ms = 0;
        for (int i = 0; i < 100; i++) {
            seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
            const char *text = texts[(seed >> 33) % COUNT(texts)];
            now_ms += (seed >> 45) % 4 == 0 ? (int64_t)(seed >> 50) % 1500 : 30;
            bool stale = running && now_ms - key_ms >= HELD_END_MS;
            enum held_does does =
                text ? held_keys(&held, now_ms, text, strlen(text)) : held_time(&held, now_ms);
            ck_assert(does != HELD_BEGIN || (!running && text));
            ck_assert(does != HELD_BEGIN || now_ms - key_ms < HELD_FIRST_MS);
            ck_assert(does != HELD_END || running);
            ck_assert(!stale || does == HELD_END || does == HELD_QUIT);
            running = does == HELD_BEGIN || (running && does == HELD_NOTHING);
            ck_assert(running == (held.state == HELD_RUNNING));
            key_ms = text ? now_ms : key_ms;
        }
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("client_held");
    TCase *cases = tcase_create("held");
    tcase_add_loop_test(cases, keys_and_time_begin_and_end_it, 0, COUNT(tables));
    tcase_add_test(cases, it_is_waited_for_only_while_it_runs);
    tcase_add_test(cases, it_never_runs_without_keys);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
