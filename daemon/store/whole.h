/* SPDX-License-Identifier: MIT */
/*
 * The disk's calls carried to their end: an interrupted one is made again, a short transfer goes
 * on. And the three things that journal and document both do with whole files.
 *
 * All fail with errno of the call that failed. All block.
 */
#ifndef REGLET_DAEMON_STORE_WHOLE_H
#define REGLET_DAEMON_STORE_WHOLE_H

#include "daemon/store/files.h"

REGLET_MUST_CHECK int whole_open(const struct files *files, const char *name, int flags);

/* Fewer bytes than `size` only at the file's end; -1 after an error. */
REGLET_MUST_CHECK ssize_t whole_read(const struct files *files, int fd, void *bytes, size_t size,
                                     off_t at);

/* After false any part may have been written. */
REGLET_MUST_CHECK bool whole_write(const struct files *files, int fd, const void *bytes,
                                   size_t size, off_t at);

REGLET_MUST_CHECK bool whole_truncate(const struct files *files, int fd, off_t size);
REGLET_MUST_CHECK bool whole_data_sync(const struct files *files, int fd);
REGLET_MUST_CHECK bool whole_sync_folder(const struct files *files);

/* 1 when something of that name is there, 0 when not, -1 when that cannot be told. */
REGLET_MUST_CHECK int whole_exists(const struct files *files, const char *name);

/* Reads a file of at most `size_max` bytes into memory, with a NUL behind; free it. ENOENT, EFBIG,
 * or what the disk says. */
REGLET_MUST_CHECK bool whole_take(const struct files *files, const char *name, size_t size_max,
                                  char **bytes, size_t *size);

/* Makes a new file with these bytes, durable but for its name, and gives its descriptor (reading
 * and writing). A file of that name is removed first and never written into: after a power cut it
 * may be a second name of one that is wanted. After -1 *step says what failed, and what was made
 * is removed again as far as the disk allows. */
REGLET_MUST_CHECK int whole_create(const struct files *files, const char *name, const void *bytes,
                                   size_t size, const char **step);

/* Gives `from` the first free name of NAME.damaged, NAME.damaged.2 and so on, which goes into
 * `aside`, and makes that durable. EEXIST when there are a thousand already. */
REGLET_MUST_CHECK bool whole_move_aside(const struct files *files, const char *from,
                                        const char *name, char aside[FILES_NAME_SIZE]);

/* NAME + suffix; false (ENAMETOOLONG) where that has no room. */
REGLET_MUST_CHECK bool whole_name(char joined[FILES_NAME_SIZE], const char *name,
                                  const char *suffix);

#endif
