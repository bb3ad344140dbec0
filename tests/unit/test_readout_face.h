/* SPDX-License-Identifier: MIT */
/* Faces made of a status as text, and drawn as text: a reversed blank is '#', and a reversed
 * question mark '%', since two of them begin a trigraph. */
#ifndef REGLET_TESTS_UNIT_TEST_READOUT_FACE_H
#define REGLET_TESTS_UNIT_TEST_READOUT_FACE_H

#include <check.h>
#include <stdio.h>
#include <string.h>

#include "clients/readout/face.h"
#include "protocol/json.h"

/* The face of a lift that was heard just now. The caller deletes the document, from which the face
 * borrows; the members `bit` and `riding_nm` are read as hear.c does. */
static inline cJSON *read_face(const char *json, enum length_style style, struct face *face)
{
    struct json_fault fault = {0};
    cJSON *status = json_parse(json, strlen(json), &fault);
    ck_assert_msg(status != NULL, "%s: %s", json, fault.text);
    const cJSON *bit = cJSON_GetObjectItem(status, "bit");
    const cJSON *riding = cJSON_GetObjectItem(status, "riding_nm");
    *face = (struct face){.style = style,
                          .reversible = true,
                          .link = FACE_TOLD,
                          .why = "",
                          .bit = bit ? bit->valuestring : "",
                          .riding_known = riding != NULL,
                          .riding_nm = riding ? (int64_t)riding->valuedouble : 0};
    ck_assert_msg(show_read(status, &face->lift), "%s", json);
    return status;
}

/* The grid as lines, without the blanks at their ends. */
static inline const char *grid_as_text(const struct grid *grid)
{
    static char text[GRID_ROWS * (GRID_COLUMNS + 1) + 1];
    size_t used = 0;
    for (int row = 0; row < grid->rows; row++) {
        size_t end = used;
        for (int column = 0; column < grid->columns; column++) {
            struct grid_cell cell = grid->cell[row][column];
            bool reversed = (cell.look & GRID_REVERSE) != 0;
            text[used++] = reversed && cell.character == ' '   ? '#'
                           : reversed && cell.character == '?' ? '%'
                                                               : cell.character;
            end = text[used - 1] != ' ' ? used : end;
        }
        used = end;
        text[used++] = '\n';
    }
    text[used] = '\0';
    return text;
}

/* Draws the face at that size, with nothing outside. */
static inline const char *face_as_text(const struct face *face, int rows, int columns)
{
    static struct grid grid;
    grid_clear(&grid, rows, columns);
    face_draw(&grid, face);
    ck_assert_uint_eq(grid.outside, 0);
    ck_assert_int_eq(grid.rows, rows);
    ck_assert_int_eq(grid.columns, columns);
    return grid_as_text(&grid);
}

/* Both are printed where they differ: a message of Check's is too short for a screen. */
static inline void expect_same(const char *screen, const char *expected)
{
    if (strcmp(screen, expected) != 0) {
        (void)fprintf(stderr, "shown:\n%sexpected:\n%s", screen, expected);
        ck_abort_msg("the screens differ");
    }
}

#endif
