/* SPDX-License-Identifier: MIT */
/* Files that the command reads and writes. */
#ifndef REGLET_CLIENTS_FILE_H
#define REGLET_CLIENTS_FILE_H

#include <stdbool.h>
#include <stddef.h>

#include "protocol/attributes.h"

/* All of a file, or of stdin for "-", with a NUL behind it; the caller frees it. NULL, and told:
 * what could not be read, why, and that nothing has changed. More than most_size is cut off behind
 * one more byte, so that a reader sees that there is too much. */
REGLET_MUST_CHECK char *file_read(const char *path, size_t most_size, size_t *size);

/* Writes it, "-" to stdout. An existing file is replaced only with `replace`. False, and told. */
REGLET_MUST_CHECK bool file_write(const char *path, const char *text, bool replace);

/* May it be written? For an empty name, and for one that is not there, or with `replace`. False,
 * and told: what takes long asks before it begins. */
REGLET_MUST_CHECK bool file_free(const char *path, bool replace);

#endif
