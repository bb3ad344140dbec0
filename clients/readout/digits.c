/* SPDX-License-Identifier: MIT */
#include "clients/readout/digits.h"

#include <ctype.h>
#include <stddef.h>

enum { BANDS = 5 };

/* Columns: s is a stroke, w the wide stretch of a digit, n the narrow one of a letter. */
static const struct glyph {
    char character;
    const char *columns;
    const char *row[BANDS];
} glyphs[] = {
    {'0', "sws", {"###", "#.#", "#.#", "#.#", "###"}},
    {'1', "nsn", {"##.", ".#.", ".#.", ".#.", "###"}},
    {'2', "sws", {"###", "..#", "###", "#..", "###"}},
    {'3', "sws", {"###", "..#", ".##", "..#", "###"}},
    {'4', "sws", {"#.#", "#.#", "###", "..#", "..#"}},
    {'5', "sws", {"###", "#..", "###", "..#", "###"}},
    {'6', "sws", {"###", "#..", "###", "#.#", "###"}},
    {'7', "sws", {"###", "..#", "..#", "..#", "..#"}},
    {'8', "sws", {"###", "#.#", "###", "#.#", "###"}},
    {'9', "sws", {"###", "#.#", "###", "..#", "###"}},
    {'.', "s", {".", ".", ".", ".", "#"}},
    {'-', "nsn", {"...", "...", "###", "...", "..."}},
    {'+', "nsn", {"...", ".#.", "###", ".#.", "..."}},
    {'A', "sws", {"###", "#.#", "###", "#.#", "#.#"}},
    {'B', "sws", {"##.", "#.#", "##.", "#.#", "##."}},
    {'C', "sws", {"###", "#..", "#..", "#..", "###"}},
    {'D', "sws", {"##.", "#.#", "#.#", "#.#", "##."}},
    {'E', "sws", {"###", "#..", "##.", "#..", "###"}},
    {'F', "sws", {"###", "#..", "##.", "#..", "#.."}},
    {'G', "sws", {"###", "#..", "#.#", "#.#", "###"}},
    {'H', "sws", {"#.#", "#.#", "###", "#.#", "#.#"}},
    {'I', "nsn", {"###", ".#.", ".#.", ".#.", "###"}},
    {'J', "sws", {"..#", "..#", "..#", "#.#", "###"}},
    {'K', "sws", {"#.#", "#.#", "##.", "#.#", "#.#"}},
    {'L', "sws", {"#..", "#..", "#..", "#..", "###"}},
    {'M', "snsns", {"#...#", "##.##", "#.#.#", "#...#", "#...#"}},
    {'N', "snsns", {"#...#", "##..#", "#.#.#", "#..##", "#...#"}},
    {'O', "sws", {"###", "#.#", "#.#", "#.#", "###"}},
    {'P', "sws", {"###", "#.#", "###", "#..", "#.."}},
    {'Q', "sws", {"###", "#.#", "#.#", "###", "..#"}},
    {'R', "sws", {"###", "#.#", "##.", "#.#", "#.#"}},
    {'S', "sws", {"###", "#..", "###", "..#", "###"}},
    {'T', "nsn", {"###", ".#.", ".#.", ".#.", ".#."}},
    {'U', "sws", {"#.#", "#.#", "#.#", "#.#", "###"}},
    {'V', "snsns", {"#...#", "#...#", "#...#", ".#.#.", "..#.."}},
    {'W', "snsns", {"#...#", "#...#", "#.#.#", "##.##", "#...#"}},
    {'X', "snsns", {"#...#", ".#.#.", "..#..", ".#.#.", "#...#"}},
    {'Y', "snsns", {"#...#", ".#.#.", "..#..", "..#..", "..#.."}},
    {'Z', "sws", {"###", "..#", "###", "#..", "###"}},
};

static const struct glyph *find(char character)
{
    char capital = (char)toupper((unsigned char)character);
    for (size_t i = 0; i < sizeof glyphs / sizeof *glyphs; i++) {
        if (glyphs[i].character == capital) {
            return &glyphs[i];
        }
    }
    return NULL;
}

static int most(int a, int b)
{
    return a > b ? a : b;
}

static int least(int a, int b)
{
    return a < b ? a : b;
}

int digits_rows_most(int columns)
{
    return most(DIGITS_ROWS_MIN, 9 * columns / 5);
}

int digits_columns_most(int rows)
{
    return most(DIGITS_COLUMNS_MIN, 4 * rows / 3);
}

/* Thickness of a level stroke, in rows, and of an upright one, in columns: the same to the eye,
 * where the digit leaves room for it. */
static int stroke_rows(struct digits_scale scale)
{
    int slender = most(1, (scale.columns / 3 + 1) / 2);
    return least((scale.rows + 2) / 6, slender);
}

static int stroke_columns(struct digits_scale scale)
{
    return least(2 * stroke_rows(scale), most(1, scale.columns / 3));
}

static int column_width(char kind, struct digits_scale scale)
{
    int stroke = stroke_columns(scale);
    int wide = scale.columns - 2 * stroke;
    return kind == 's' ? stroke : kind == 'w' ? wide : most(1, wide / 2);
}

static int row_height(int band, struct digits_scale scale)
{
    int stretch = scale.rows - 3 * stroke_rows(scale);
    return band % 2 == 0 ? stroke_rows(scale) : band == 1 ? stretch / 2 : stretch - stretch / 2;
}

/* The slash of a fraction leans, and so is no pattern. */
static int slash_width(struct digits_scale scale)
{
    return stroke_columns(scale) + most(2, least(scale.rows, scale.columns) / 2);
}

static bool slash_ink(struct digits_scale scale, int row, int column)
{
    int way = slash_width(scale) - stroke_columns(scale);
    int left = ((scale.rows - 1 - row) * way + (scale.rows - 1) / 2) / (scale.rows - 1);
    return column >= left && column < left + stroke_columns(scale);
}

int digits_gap(struct digits_scale scale)
{
    return stroke_columns(scale) > 1 ? (stroke_columns(scale) + 2) / 2 : 1;
}

int digits_width(char character, struct digits_scale scale)
{
    const struct glyph *glyph = find(character);
    if (character == '/') {
        return slash_width(scale);
    }
    if (character == ' ') {
        return digits_gap(scale);
    }
    int width = 0;
    for (const char *kind = glyph ? glyph->columns : ""; *kind != '\0'; kind++) {
        width += column_width(*kind, scale);
    }
    return width;
}

bool digits_ink(char character, struct digits_scale scale, int row, int column)
{
    const struct glyph *glyph = find(character);
    int band = 0;
    int kind = 0;
    if (character == '/') {
        return slash_ink(scale, row, column);
    }
    if (!glyph || row < 0 || row >= scale.rows || column < 0 ||
        column >= digits_width(character, scale)) {
        return false;
    }
    for (; row >= row_height(band, scale); band++) {
        row -= row_height(band, scale);
    }
    for (; column >= column_width(glyph->columns[kind], scale); kind++) {
        column -= column_width(glyph->columns[kind], scale);
    }
    return glyph->row[band][kind] == '#';
}

int digits_word_width(const char *word, struct digits_scale scale)
{
    int width = 0;
    for (const char *at = word; *at != '\0'; at++) {
        width += digits_width(*at, scale) + (at[1] != '\0' ? digits_gap(scale) : 0);
    }
    return width;
}

struct digits_scale digits_fit(const char *word, int rows, int columns)
{
    struct digits_scale scale = {0, 0};
    if (rows < DIGITS_ROWS_MIN) {
        return scale;
    }
    for (int wide = digits_columns_most(rows); wide >= DIGITS_COLUMNS_MIN; wide--) {
        scale = (struct digits_scale){least(rows, digits_rows_most(wide)), wide};
        if (digits_word_width(word, scale) <= columns) {
            return scale;
        }
    }
    return (struct digits_scale){0, 0};
}
