/* SPDX-License-Identifier: MIT */
#include "clients/readout/number.h"

#include <stdio.h>
#include <string.h>

/* No digit is wider. */
static const char zeros[] = "000000000000000000000000";

enum { FRACTION_ROWS_MIN = DIGITS_ROWS_MIN + 1 }; /* one row of shift */

/* Copies the part of a text that is made of digits and points. */
static const char *take_figures(char *out, size_t out_size, const char *text)
{
    size_t size = strspn(text, ".0123456789");
    size_t kept = size < out_size ? size : out_size - 1;
    memcpy(out, text, kept);
    out[kept] = '\0';
    return text + size;
}

void number_read(int64_t nm, enum length_style style, struct number *number)
{
    char text[LENGTH_TEXT_SIZE];
    const char *at = text;
    *number = (struct number){0};
    (void)length_print(nm, style, text, sizeof text);
    number->negative = *at == '-';
    at = take_figures(number->whole, sizeof number->whole, at + number->negative);
    if (*at == '-') {
        at = take_figures(number->above, sizeof number->above, at + 1);
    }
    if (*at == '/') {
        if (number->above[0] == '\0') {
            (void)take_figures(number->above, sizeof number->above, number->whole);
            number->whole[0] = '\0';
        }
        at = take_figures(number->below, sizeof number->below, at + 1);
    }
    const char *remainder = strpbrk(at, "+-");
    (void)snprintf(number->rest, sizeof number->rest, "%.*s%s%s",
                   (int)(sizeof number->rest - sizeof " in"), remainder ? remainder : "",
                   remainder ? " " : "", style == LENGTH_STYLE_MM ? "mm" : "in");
}

/* At least so many digits before the point, if any, and behind it. */
static void widen_decimals(const struct number *number, struct number *widest, int whole,
                           int decimals)
{
    int there = (int)strcspn(number->whole, ".");
    (void)snprintf(widest->whole, sizeof widest->whole, "%.*s.%.*s", there > whole ? there : whole,
                   zeros, decimals, zeros);
}

void number_widest(const struct number *number, enum length_style style, struct number *widest)
{
    *widest = *number;
    if (style == LENGTH_STYLE_MM || style == LENGTH_STYLE_IN) {
        bool mm = style == LENGTH_STYLE_MM;
        widen_decimals(number, widest, mm ? 2 : 0, mm ? 3 : 4);
        return;
    }
    int whole = (int)strcspn(number->whole, ".");
    (void)snprintf(widest->whole, sizeof widest->whole, "%.*s", whole > 1 ? whole : 1, zeros);
    (void)snprintf(widest->above, sizeof widest->above, "%s",
                   style == LENGTH_STYLE_128 ? "000" : "00");
    (void)snprintf(widest->below, sizeof widest->below, "%s", widest->above);
}

static bool has_fraction(const struct number *number)
{
    return number->below[0] != '\0';
}

/* How far the upper figure stands above the lower one. */
static int shift_of(struct digits_scale scale)
{
    int shift = scale.rows / 4;
    return scale.rows - shift < DIGITS_ROWS_MIN ? scale.rows - DIGITS_ROWS_MIN : shift;
}

static struct digits_scale part_of(struct digits_scale scale)
{
    return (struct digits_scale){scale.rows - shift_of(scale), scale.columns};
}

int number_figure_rows(const struct number *number, struct digits_scale scale)
{
    return has_fraction(number) ? part_of(scale).rows : scale.rows;
}

void number_word(struct grid *grid, int row, int column, const char *word,
                 struct digits_scale scale, struct grid_cell ink)
{
    for (; *word != '\0'; word++) {
        int width = digits_width(*word, scale);
        for (int y = 0; y < scale.rows; y++) {
            for (int x = 0; x < width; x++) {
                if (digits_ink(*word, scale, y, x)) {
                    grid_put(grid, row + y, column + x, ink.character, ink.look);
                }
            }
        }
        column += width + digits_gap(scale);
    }
}

/* Goes along the parts from left to right; draws where there is a grid. Returns the width. */
static int walk(struct grid *grid, int row, int column, const struct number *number,
                struct digits_scale scale, struct grid_cell ink)
{
    struct digits_scale part = part_of(scale);
    int shift = shift_of(scale);
    bool fraction = has_fraction(number);
    int room = number->whole[0] != '\0' ? (scale.columns + 2) / 3 : 0; /* before a fraction */
    const struct {
        const char *word;
        struct digits_scale scale;
        int lower;  /* by so many rows */
        int before; /* blank columns, beside the gap */
    } parts[] = {
        {number->negative ? "-" : "", scale, 0, 0},      {number->whole, scale, 0, 0},
        {fraction ? number->above : "", part, 0, room},  {fraction ? "/" : "", scale, 0, 0},
        {fraction ? number->below : "", part, shift, 0},
    };
    int at = 0;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (parts[i].word[0] == '\0') {
            continue;
        }
        at += at > 0 ? digits_gap(scale) + parts[i].before : 0;
        if (grid) {
            number_word(grid, row + parts[i].lower, column + at, parts[i].word, parts[i].scale,
                        ink);
        }
        at += digits_word_width(parts[i].word, parts[i].scale);
    }
    return at;
}

int number_width(const struct number *number, struct digits_scale scale)
{
    return walk(NULL, 0, 0, number, scale, (struct grid_cell){' ', GRID_PLAIN});
}

struct digits_scale number_fit(const struct number *number, int rows, int columns)
{
    int rows_min = has_fraction(number) ? FRACTION_ROWS_MIN : DIGITS_ROWS_MIN;
    for (int wide = digits_columns_most(rows); wide >= DIGITS_COLUMNS_MIN && rows >= rows_min;
         wide--) {
        int high = digits_rows_most(wide);
        high = high < rows_min ? rows_min : high;
        struct digits_scale scale = {high < rows ? high : rows, wide};
        if (number_width(number, scale) <= columns) {
            return scale;
        }
    }
    return (struct digits_scale){0, 0};
}

void number_draw(struct grid *grid, int row, int column, const struct number *number,
                 struct digits_scale scale, struct grid_cell ink)
{
    (void)walk(grid, row, column, number, scale, ink);
}
