/* SPDX-License-Identifier: MIT */
#include "clients/readout/grid.h"

#include <string.h>

static int within(int value, int most)
{
    return value < 0 ? 0 : value > most ? most : value;
}

void grid_clear(struct grid *grid, int rows, int columns)
{
    grid->rows = within(rows, GRID_ROWS);
    grid->columns = within(columns, GRID_COLUMNS);
    grid->outside = 0;
    for (int row = 0; row < grid->rows; row++) {
        for (int column = 0; column < grid->columns; column++) {
            grid->cell[row][column] = (struct grid_cell){' ', GRID_PLAIN};
        }
    }
}

void grid_put(struct grid *grid, int row, int column, char character, unsigned look)
{
    if (row < 0 || row >= grid->rows || column < 0 || column >= grid->columns) {
        grid->outside++;
        return;
    }
    grid->cell[row][column] = (struct grid_cell){character, (unsigned char)look};
}

static bool goes_on(char byte)
{
    return ((unsigned char)byte & 0xc0) == 0x80; /* inside a UTF-8 character */
}

static int width_of(const char *text, size_t size)
{
    int width = 0;
    for (size_t i = 0; i < size; i++) {
        width += !goes_on(text[i]);
    }
    return width;
}

int grid_width(const char *text)
{
    return width_of(text, strlen(text));
}

static void put_bytes(struct grid *grid, int row, int column, int columns, const char *text,
                      size_t size, unsigned look)
{
    int used = 0;
    for (size_t i = 0; i < size && used < columns; i++) {
        if (!goes_on(text[i])) {
            bool plain = text[i] >= ' ' && text[i] <= '~';
            grid_put(grid, row, column + used++, plain ? text[i] : '?', look);
        }
    }
}

void grid_text(struct grid *grid, int row, int column, int columns, const char *text, unsigned look)
{
    put_bytes(grid, row, column, columns, text, strlen(text), look);
}

/* Where the next word of a paragraph stands. */
struct pen {
    int row; /* -1 before the first word */
    int column;
};

static struct pen advance(struct pen pen, int width, int columns)
{
    bool breaks = pen.row < 0 || pen.column + 1 + width > columns;
    return breaks ? (struct pen){pen.row + 1, 0} : (struct pen){pen.row, pen.column + 1};
}

int grid_paragraph(struct grid *grid, int row, int column, int rows, int columns, const char *text,
                   unsigned look)
{
    struct pen pen = {-1, 0};
    for (text += strspn(text, " "); *text != '\0'; text += strspn(text, " ")) {
        size_t size = strcspn(text, " ");
        int width = width_of(text, size);
        struct pen next = advance(pen, width, columns);
        if (next.row >= rows) {
            break;
        }
        pen = next;
        put_bytes(grid, row + pen.row, column + pen.column, columns - pen.column, text, size, look);
        pen.column += width;
        text += size;
    }
    return pen.row + 1;
}

bool grid_paragraph_fits(const char *text, int rows, int columns)
{
    struct pen pen = {-1, 0};
    for (text += strspn(text, " "); *text != '\0'; text += strspn(text, " ")) {
        size_t size = strcspn(text, " ");
        int width = width_of(text, size);
        pen = advance(pen, width, columns);
        if (pen.row >= rows || width > columns) {
            return false;
        }
        pen.column += width;
        text += size;
    }
    return true;
}
