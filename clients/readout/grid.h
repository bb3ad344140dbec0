/* SPDX-License-Identifier: MIT */
/*
 * A screen in memory: cells of one ASCII character each, bold or reversed or neither. No I/O;
 * nothing is allocated.
 */
#ifndef REGLET_CLIENTS_READOUT_GRID_H
#define REGLET_CLIENTS_READOUT_GRID_H

#include <stdbool.h>
#include <stddef.h>

enum {
    GRID_ROWS = 200, /* of a larger terminal the rest stays blank */
    GRID_COLUMNS = 500,
};

enum { GRID_PLAIN = 0, GRID_BOLD = 1, GRID_REVERSE = 2 };

struct grid_cell {
    char character; /* from ' ' to '~' */
    unsigned char look;
};

struct grid {
    int rows; /* at most GRID_ROWS and GRID_COLUMNS */
    int columns;
    unsigned long outside; /* cells that were to be put where there is none: a fault of ours */
    struct grid_cell cell[GRID_ROWS][GRID_COLUMNS];
};

/* Blank, and of that size or the next one that there can be. */
void grid_clear(struct grid *grid, int rows, int columns);

/* What is outside is counted and dropped. */
void grid_put(struct grid *grid, int row, int column, char character, unsigned look);

/* The columns that a text of any source takes: each UTF-8 character is one. */
int grid_width(const char *text);

/* At most `columns` of `text` on one row. What is not ASCII, or is a control character, becomes
 * '?': the text may come from the other end of a socket. */
void grid_text(struct grid *grid, int row, int column, int columns, const char *text,
               unsigned look);

/* The text broken at blanks into rows of `columns`, `rows` of them at the most; what is over is
 * left out. A word that is longer than a row is cut. Returns the rows used. */
int grid_paragraph(struct grid *grid, int row, int column, int rows, int columns, const char *text,
                   unsigned look);

/* Does all of the text stand in such a paragraph, with no word cut? */
bool grid_paragraph_fits(const char *text, int rows, int columns);

#endif
