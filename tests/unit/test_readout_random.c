/* SPDX-License-Identifier: MIT */
/*
 * What holds for every height at every size. Above all: where a height is not the present one, the
 * screen is the same whatever the height is, so that nothing of it can be read there.
 */
#include <check.h>
#include <stdio.h>
#include <string.h>

#include "clients/readout/number.h"
#include "clients/readout/verdict.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/test_readout_face.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

enum {
    ROUNDS = 1000,
    TEXT_MAX = 60000,
    ROWS_MAX = 50,
    COLUMNS_MAX = 150,
};

static const enum length_style styles[] = {LENGTH_STYLE_32, LENGTH_STYLE_64, LENGTH_STYLE_128,
                                           LENGTH_STYLE_IN, LENGTH_STYLE_MM};

/* Mostly what a lift can have, now and then what it cannot. */
static int64_t random_height(void)
{
    return below(8) == 0 ? between(-LENGTH_NM_MAX, LENGTH_NM_MAX) : between(-60000000, 60000000);
}

/* A lift of which all is known, in random words. */
static struct face random_face(void)
{
    static const char *const activities[] = {"still", "moving", "braking", "unpowered"};
    static const char *const plays[] = {"taken-up", "open", "unknown"};
    struct face face = {
        .style = styles[below(COUNT(styles))],
        .reversible = below(2) == 0,
        .practice = below(2) == 0,
        .link = FACE_TOLD,
        .why = "regletd is not there: it has ended.",
        .heard_ms = between(0, 500),
        .bit = below(2) == 0 ? "straight-half" : "",
        .riding_known = below(2) == 0,
        .riding_nm = between(0, 20000000),
        .stop = (enum face_stop)below(FACE_STOP_REFUSED + 1),
        .lift = {.activity = activities[below(COUNT(activities))],
                 .reference = "sure",
                 .trust = below(2) == 0 ? "sure" : "unchecked",
                 .play = plays[below(COUNT(plays))],
                 .preset = below(2) == 0 ? "drawer-groove" : "",
                 .why = below(4) == 0 ? "the disk is full" : "",
                 .stop_open = below(4) == 0,
                 .height_known = true,
                 .height_nm = random_height(),
                 .age_ms = between(0, 900)},
    };
    face.lift.going_known = below(2) == 0;
    face.lift.going_nm = random_height();
    face.lift.practice = face.practice;
    return face;
}

/* One of the ways in which a height is not the present one, and nothing of it may be seen. */
static void hide(struct face *face)
{
    static const char *const activities[] = {"dancing", "Still", ""};
    switch (below(6)) {
    case 0:
        face->link = FACE_AWAY;
        break;
    case 1:
        face->link = FACE_WAITING;
        face->heard_ms = between(0, 10000);
        break;
    case 2:
        face->heard_ms = between(FACE_SILENT_MS + 1, 100000);
        break;
    case 3:
        face->lift.age_ms = between(SHOW_OLD_MS + 1, 100000);
        break;
    case 4:
        face->lift.activity = activities[below(COUNT(activities))];
        break;
    default:
        face->lift.trust = "lost";
        face->lift.height_known = below(2) == 0; /* show_read never says so; the face holds */
        face->lift.going_known = false;
    }
}

static int random_rows(void)
{
    return (int)between(0, ROWS_MAX);
}

static int random_columns(void)
{
    return (int)between(0, COLUMNS_MAX);
}

/* --- What is hidden --- */

/* No figures are written in letters, either: in the words of these states there are none, but for
 * the size of a terminal that would do, and what the work rides on. */
static void expect_no_digit(const char *text)
{
    ck_assert_msg(strpbrk(text, "0123456789") == NULL, "%s", text);
}

START_TEST(of_a_height_that_is_not_present_nothing_is_seen)
{
    static char before[TEXT_MAX];
    for (int i = 0; i < ROUNDS; i++) {
        struct face face = random_face();
        int rows = random_rows();
        int columns = random_columns();
        bool figures = rows >= FACE_ROWS_MIN && columns >= FACE_COLUMNS_MIN;
        hide(&face);
        (void)snprintf(before, sizeof before, "%s", face_as_text(&face, rows, columns));
        face.lift.height_nm = random_height();
        expect_same(face_as_text(&face, rows, columns), before);
        if (figures && !face.riding_known) {
            expect_no_digit(before);
        }
    }
}
END_TEST

/* Behind the first line: the rest of the screen. */
static const char *below_first(const char *text)
{
    const char *newline = strchr(text, '\n');
    return newline ? newline + 1 : text;
}

START_TEST(a_last_height_is_in_the_first_row_alone)
{
    static char before[TEXT_MAX];
    int seen = 0;
    for (int i = 0; i < ROUNDS; i++) {
        struct face face = random_face();
        int rows = random_rows();
        int columns = random_columns();
        bool figures = rows >= FACE_ROWS_MIN && columns >= FACE_COLUMNS_MIN;
        face.lift.activity = below(2) == 0 ? "unplugged" : "barred";
        (void)snprintf(before, sizeof before, "%s", face_as_text(&face, rows, columns));
        face.lift.height_nm = random_height();
        const char *after = face_as_text(&face, rows, columns);
        expect_same(below_first(after), below_first(before));
        if (!figures) {
            expect_same(after, before);
        } else if (strcmp(after, before) != 0) {
            ck_assert(strstr(before, "last") != NULL);
            seen++;
        }
    }
    ck_assert_int_gt(seen, ROUNDS / 4); /* else nothing was tested */
}
END_TEST

/* --- What is shown --- */

START_TEST(two_heights_that_differ_in_print_differ_on_the_screen)
{
    static char before[TEXT_MAX];
    for (int i = 0; i < ROUNDS; i++) {
        struct face face = random_face();
        char one[LENGTH_TEXT_SIZE];
        char other[LENGTH_TEXT_SIZE];
        int rows = (int)between(FACE_ROWS_MIN, ROWS_MAX);
        int columns = (int)between(FACE_COLUMNS_MIN, COLUMNS_MAX);
        face.lift.height_nm = between(-60000000, 60000000);
        (void)length_print(face.lift.height_nm, face.style, one, sizeof one);
        (void)snprintf(before, sizeof before, "%s", face_as_text(&face, rows, columns));
        face.lift.height_nm += between(-100000, 100000);
        (void)length_print(face.lift.height_nm, face.style, other, sizeof other);
        bool same = strcmp(face_as_text(&face, rows, columns), before) == 0;
        ck_assert_msg(strcmp(one, other) == 0 || !same, "%s and %s", one, other);
    }
}
END_TEST

/* On one row and whole, or not at all. */
START_TEST(in_a_terminal_without_figures_a_height_is_whole_or_not_there)
{
    int seen = 0;
    for (int i = 0; i < ROUNDS; i++) {
        struct face face = random_face();
        char height[SAY_LENGTH_SIZE];
        char closed[SAY_LENGTH_SIZE] = "";
        int rows = (int)between(0, FACE_ROWS_MIN - 1);
        const char *text = face_as_text(&face, rows, (int)between(0, 60));
        say_length(face.lift.height_nm, face.style, height, sizeof height);
        for (const char *from = strtok(height, " "); from; from = strtok(NULL, " ")) {
            (void)strncat(closed, from, sizeof closed - strlen(closed) - 1);
        }
        const char *trust = strcmp(face.lift.trust, "sure") == 0 ? "sure" : "UNCHECKED";
        if (strstr(text, closed) != NULL && strlen(closed) > 1) {
            ck_assert(strstr(text, trust) != NULL); /* never without its trust */
            ck_assert(!face.practice || strstr(text, "PRACTICE") != NULL);
            seen++;
        } else if (strstr(text, "40x10") == NULL) {
            ck_assert_msg(strpbrk(text, "56789") == NULL, "%s in %s", closed, text);
        }
    }
    ck_assert_int_gt(seen, ROUNDS / 4);
}
END_TEST

START_TEST(every_size_is_drawn_within_its_bounds)
{
    struct face face = random_face();
    for (int rows = 0; rows <= ROWS_MAX; rows++) {
        for (int columns = 0; columns <= COLUMNS_MAX; columns += 1 + (int)below(3)) {
            (void)face_as_text(&face, rows, columns); /* asserts it */
            face = random_face();
            if (below(2) == 0) {
                hide(&face);
            }
        }
    }
}
END_TEST

/* --- Figures --- */

START_TEST(on_a_usual_terminal_figures_are_at_least_seven_rows_high)
{
    for (int i = 0; i < ROUNDS; i++) {
        struct number number;
        struct number widest;
        enum length_style style = styles[below(COUNT(styles))];
        number_read(between(-99000000, 99000000), style, &number);
        number_widest(&number, style, &widest);
        /* what 80 by 24 leaves beside head, second line, notes and keys */
        struct digits_scale scale = number_fit(&widest, 13, 78);
        ck_assert_int_ge(number_figure_rows(&widest, scale), 7);
        ck_assert_int_ge(number_width(&widest, scale), number_width(&number, scale));
        scale = number_fit(&number, 13, 78);
        ck_assert_int_ge(number_figure_rows(&number, scale), 7);
    }
}
END_TEST

static bool look_alike(char one, char other, struct digits_scale scale)
{
    int width = digits_width(one, scale);
    if (width != digits_width(other, scale)) {
        return false;
    }
    for (int row = 0; row < scale.rows; row++) {
        for (int column = 0; column < width; column++) {
            if (digits_ink(one, scale, row, column) != digits_ink(other, scale, row, column)) {
                return false;
            }
        }
    }
    return true;
}

START_TEST(no_two_figures_look_alike_at_any_size)
{
    static const char figures[] = "0123456789.-+/";
    for (int rows = DIGITS_ROWS_MIN; rows <= 30; rows++) {
        for (int columns = DIGITS_COLUMNS_MIN; columns <= 40; columns++) {
            struct digits_scale scale = {rows, columns};
            for (const char *one = figures; *one != '\0'; one++) {
                ck_assert_int_gt(digits_width(*one, scale), 0);
                for (const char *other = one + 1; *other != '\0'; other++) {
                    ck_assert_msg(!look_alike(*one, *other, scale), "%c and %c, %d by %d", *one,
                                  *other, rows, columns);
                }
            }
        }
    }
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("readout_random");
    TCase *hidden = tcase_create("hidden");
    TCase *shown = tcase_create("shown");
    tcase_add_test(hidden, of_a_height_that_is_not_present_nothing_is_seen);
    tcase_add_test(hidden, a_last_height_is_in_the_first_row_alone);
    tcase_add_test(shown, two_heights_that_differ_in_print_differ_on_the_screen);
    tcase_add_test(shown, in_a_terminal_without_figures_a_height_is_whole_or_not_there);
    tcase_add_test(shown, every_size_is_drawn_within_its_bounds);
    tcase_add_test(shown, on_a_usual_terminal_figures_are_at_least_seven_rows_high);
    tcase_add_test(shown, no_two_figures_look_alike_at_any_size);
    suite_add_tcase(suite, hidden);
    suite_add_tcase(suite, shown);
    return run_suite(suite);
}
