/* SPDX-License-Identifier: MIT */
/*
 * The block font: digits, capitals and the signs of a height, at any size. No I/O.
 *
 * A glyph is a small pattern of five rows, whose first, third and fifth row are strokes and keep
 * their thickness, while the two between stretch; and so its columns. So the strokes of a figure
 * stay even at every size. A cell of a terminal is taken to be twice as high as it is wide.
 */
#ifndef REGLET_CLIENTS_READOUT_DIGITS_H
#define REGLET_CLIENTS_READOUT_DIGITS_H

#include <stdbool.h>

enum {
    DIGITS_ROWS_MIN = 5,    /* of a glyph, and its columns: what can still be told apart */
    DIGITS_COLUMNS_MIN = 3, /* of a digit but 1, which is narrower */
};

/* How large. */
struct digits_scale {
    int rows;
    int columns; /* of a wide digit, such as 8 */
};

/* The slenderest that is drawn: a digit of 5 columns is 9 rows high at the most. */
int digits_rows_most(int columns);
/* And the broadest: of 9 rows it is 12 columns wide at the most. */
int digits_columns_most(int rows);

/* The columns of a glyph; 0 for a character that the font does not have, and for ' ' a gap.
 * Lower-case letters are drawn as capitals. */
int digits_width(char character, struct digits_scale scale);

/* Blank columns between two glyphs. */
int digits_gap(struct digits_scale scale);

/* Is the cell of the glyph that is `row` from its top and `column` from its left side inked? */
bool digits_ink(char character, struct digits_scale scale, int row, int column);

/* The columns of a word with its gaps. */
int digits_word_width(const char *word, struct digits_scale scale);

/* The largest scale at which the word fits; columns 0 when none does. */
struct digits_scale digits_fit(const char *word, int rows, int columns);

#endif
