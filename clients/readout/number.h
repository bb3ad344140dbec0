/* SPDX-License-Identifier: MIT */
/*
 * A height as large figures: the whole inches at full height, and the fraction leaning, its upper
 * figure raised and its lower one lowered on both sides of the slash. So 1 7/16 is no 17/16 from
 * across the shop. The remainder in thousandths and the unit are words, for smaller figures. No
 * I/O.
 */
#ifndef REGLET_CLIENTS_READOUT_NUMBER_H
#define REGLET_CLIENTS_READOUT_NUMBER_H

#include <stdbool.h>
#include <stdint.h>

#include "clients/readout/digits.h"
#include "clients/readout/grid.h"
#include "protocol/length.h"

/* What length_print writes, taken apart. */
struct number {
    bool negative;
    char whole[LENGTH_TEXT_SIZE]; /* "1", "9.525", ".375"; empty in front of a mere fraction */
    char above[8];                /* of the fraction; both empty where there is none */
    char below[8];
    char rest[LENGTH_TEXT_SIZE]; /* remainder and unit: "+ .003 in", "mm" */
};

/* Takes a height apart as reglet shows it in this style. */
void number_read(int64_t nm, enum length_style style, struct number *number);

/* The widest that a height near this one takes in this style: what the figures of a moving lift
 * are sized by, so that their size does not jump. */
void number_widest(const struct number *number, enum length_style style, struct number *widest);

/* The largest scale at which it fits into that room; columns 0 when none does. The figures of the
 * fraction are a little lower than the rows. */
struct digits_scale number_fit(const struct number *number, int rows, int columns);

/* The rows of the lowest of its figures. */
int number_figure_rows(const struct number *number, struct digits_scale scale);

/* The columns that it takes. */
int number_width(const struct number *number, struct digits_scale scale);

/* Draws it with its upper left corner there, in cells of that character and look. */
void number_draw(struct grid *grid, int row, int column, const struct number *number,
                 struct digits_scale scale, struct grid_cell ink);

/* Draws a word in the same way. */
void number_word(struct grid *grid, int row, int column, const char *word,
                 struct digits_scale scale, struct grid_cell ink);

#endif
