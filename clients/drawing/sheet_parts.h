/* SPDX-License-Identifier: MIT */
/* What all sheets share: the head, the foot, the stream. For this module alone. */
#ifndef REGLET_DRAWING_SHEET_PARTS_H
#define REGLET_DRAWING_SHEET_PARTS_H

#include <stdio.h>

#include "clients/drawing/sheet.h"
#include "clients/drawing/svg.h"

enum { SHEET_MARGIN_MM = 8, SHEET_TOP_MM = 36, SHEET_FOOT_MM = 228 };

/* `under` is the line below the title: the scale, and over what heights are. */
void sheet_begin(FILE *out, const struct sheet_text *text, const char *under, double scale);
/* Notes and cautions, and the end. */
void sheet_end(FILE *out, const struct sheet_text *text);

/* Closes the stream; its text, or NULL. */
char *sheet_close(FILE *out, char **text);

#endif
