/* SPDX-License-Identifier: MIT */
/*
 * Stories as files that a person can write by hand: JSON, plain text with bars, CSV. STORY.md is
 * the page on them. Pure: text in memory, no I/O.
 */
#ifndef REGLET_CLIENTS_STORY_FILE_H
#define REGLET_CLIENTS_STORY_FILE_H

#include <stdbool.h>
#include <stddef.h>

#include "protocol/attributes.h"
#include "protocol/length.h"
#include "protocol/story.h"

enum {
    STORY_FILE_SIZE_MAX = 256 * 1024,
    STORY_MADE_SIZE = 480,
    STORY_FAULT_SIZE = 480,
};

enum story_form { STORY_FORM_JSON = 1, STORY_FORM_TEXT, STORY_FORM_CSV };

/* Large: not for the stack of small threads. */
struct story_file {
    char name[STORY_NAME_SIZE];    /* "": the file does not say */
    char made_by[STORY_MADE_SIZE]; /* the command that made it, or "" */
    size_t count;                  /* of marks, 1 to STORY_MARKS_MAX */
    struct story_mark mark[STORY_MARKS_MAX];
};

/* The first mistake: its line, what was found, what would do. */
struct story_fault {
    unsigned line; /* from 1 */
    char text[STORY_FAULT_SIZE];
};

/* By the end of its name (.json, .csv, .txt); else a text that begins with { is JSON, and any
 * other plain text. `path` may be NULL. */
enum story_form story_file_form(const char *path, const char *text);

/* Reads all of it; `text` is `size` bytes and a NUL behind them. After false *story is void. */
REGLET_MUST_CHECK bool story_file_read(const char *text, size_t size, enum story_form form,
                                       struct story_file *story, struct story_fault *fault);

/* Writes it so that story_file_read reads the same again, heights in `style` where that is exact
 * and in exact millimetres where it is not. Plain text has no blanks at the ends of its fields. The
 * caller frees it; NULL when memory is short. */
REGLET_MUST_CHECK char *story_file_print(const struct story_file *story, enum story_form form,
                                         enum length_style style);

/* A cutting ticket of at most 79 columns: what to cut in which order, with boxes to tick. The same.
 */
REGLET_MUST_CHECK char *story_ticket(const struct story_file *story, enum length_style style);

#endif
