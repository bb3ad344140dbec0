/* SPDX-License-Identifier: MIT */
/*
 * Text for people, put together in memory: lengths in the user's style, and paragraphs of at most
 * 79 columns. No I/O; nothing is allocated.
 */
#ifndef REGLET_CLIENTS_SAY_H
#define REGLET_CLIENTS_SAY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "protocol/attributes.h"
#include "protocol/length.h"

enum {
    SAY_SIZE = 4096,
    SAY_COLUMNS = 79,
    SAY_INDENT = 9,        /* where the text behind a label begins */
    SAY_LENGTH_SIZE = 112, /* for say_both and say_exact: two lengths of LENGTH_TEXT_SIZE */
};

/* A text that grows; begins as {0}. What is over its size is cut off. NUL-terminated. */
struct say {
    size_t used;
    char text[SAY_SIZE];
};

REGLET_PRINTF(2, 3) void say_add(struct say *say, const char *format, ...);

/* One paragraph, ended by a newline: `label` at the left margin (empty: none), then `text`, broken
 * at blanks and standing under itself from column `indent` on. The text may come from the other
 * end of a socket: control characters, also those of two bytes that some terminals obey, become
 * '?'. A word that is longer than a line is not broken. */
void say_paragraph(struct say *say, const char *label, size_t indent, const char *text);

/* The same from a format, as one sentence of this program; at most 1023 bytes. */
REGLET_PRINTF(4, 5)
void say_wrap(struct say *say, const char *label, size_t indent, const char *format, ...);

/* A name that may come from the other end of a socket, on one line: blanks as they are, control
 * characters as above. And the columns that it takes, where each character is one wide. */
void say_harmless(struct say *say, const char *text);
size_t say_columns(const char *text);

/* Less than half a micrometre either way: no screw of a lift tells that from nothing. */
bool say_is_zero(int64_t nm);

/* A length in `style`, always with its unit: "23/64 + .003in", "9.525mm"; zero is "0" in the
 * fractional styles. LENGTH_TEXT_SIZE + 2 is always enough. */
void say_length(int64_t nm, enum length_style style, char *out, size_t out_size);

/* The style for what is added to a length or taken from it: thousandths, or mm. Nobody sets a
 * correction by a fraction. */
enum length_style say_small_style(enum length_style style);

/* The other unit's form of the same: mm for the inch styles, decimal inch for mm. */
void say_other(int64_t nm, enum length_style style, char *out, size_t out_size);

/* Both: "3/8in (9.525mm)"; "0" where say_is_zero. SAY_LENGTH_SIZE is always enough. */
void say_both(int64_t nm, enum length_style style, char *out, size_t out_size);

/* Both, the millimetres lossless, for showing what was understood: "1/128in (0.198438mm)". */
void say_exact(int64_t nm, enum length_style style, char *out, size_t out_size);

#endif
