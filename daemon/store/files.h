/* SPDX-License-Identifier: MIT */
/*
 * The seam between what is to be kept and the disk: the few calls that the store makes, as a
 * table, so that a test can put a disk in their place that loses its power, runs full or fails.
 *
 * All names are names within one folder, which is open for as long as the store is. The calls
 * block and belong in the worker's thread (worker.h), but for the reading at start. The table's
 * calls may be interrupted (EINTR) or transfer less than was asked, as the system's own may; only
 * whole.h makes them, and carries them to their end there.
 */
#ifndef REGLET_DAEMON_STORE_FILES_H
#define REGLET_DAEMON_STORE_FILES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

#include "protocol/attributes.h"

enum { FILES_NAME_SIZE = 128 }; /* bytes of a name, its NUL included */

/* Each returns -1 with errno when it fails. After a failed sync it is unknown which of the changes
 * before it are on the disk, and a later sync does not try them again (Linux drops them from the
 * cache's list): whoever wants them there writes them again. */
struct files_operations {
    int (*open)(void *disk, const char *name, int flags); /* mode 0600, close-on-exec */
    ssize_t (*read)(void *disk, int fd, void *bytes, size_t size, off_t at);
    ssize_t (*write)(void *disk, int fd, const void *bytes, size_t size, off_t at);
    off_t (*size)(void *disk, int fd); /* bytes in the file */
    int (*truncate)(void *disk, int fd, off_t size);
    int (*data_sync)(void *disk, int fd); /* contents, and the size where it changed */
    int (*sync)(void *disk, int fd);
    int (*close)(void *disk, int fd); /* the descriptor is gone even after -1 */
    int (*rename)(void *disk, const char *from, const char *to); /* replaces `to` */
    int (*remove)(void *disk, const char *name);
    int (*sync_folder)(void *disk); /* names: what rename, open and remove have changed */
};

/* A disk: its calls, and what they need. Shared, and only borrowed by those who use it. */
struct files {
    const struct files_operations *call;
    void *disk;
};

/* The real disk, in a folder that exists (0700, ours: protocol/paths.h). After false `why` is a
 * sentence, and *files must not be used. */
REGLET_MUST_CHECK bool files_open(struct files *files, const char *folder, char *why,
                                  size_t why_size);
void files_close(struct files *files);

#endif
