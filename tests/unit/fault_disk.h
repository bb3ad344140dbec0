/* SPDX-License-Identifier: MIT */
/*
 * A disk in memory that loses its power, runs full, fails, and remembers only what it must; to be
 * put behind daemon/store/files.h. fault_disk.c is included by each test that uses it.
 *
 * What is promised of a disk, and so what a power cut does here:
 * - What data_sync or sync has confirmed is kept. Of what was written since, every 512-byte sector
 *   stands as it was at some moment since then: all at the same one, or each at its own, and a
 *   sector may hold the bytes of one moment up to any byte and of another behind it. The size is
 *   that of some moment; what it takes in and was never written reads as zeros or as anything.
 * - What sync_folder has confirmed of names is kept. Of the names made, changed and removed since,
 *   all, none, the first few, or any may have come about; a rename whole, or with both names in
 *   place (as file systems without a journal can leave it).
 * - A sync that fails may have kept any of what it was to keep, and forgets the rest: it is in the
 *   cache, and will not be tried again (as in Linux).
 * - A killed process loses nothing of the cache.
 *
 * Operations are counted from 1. One at which the process dies has its effect on the cache, wholly
 * or (write) in part, and returns failure, as every one after it does without effect.
 */
#ifndef REGLET_TESTS_UNIT_FAULT_DISK_H
#define REGLET_TESTS_UNIT_FAULT_DISK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "daemon/store/files.h"
#include "tests/seed.h"

enum { FAULT_NAMES = 32, FAULT_NAME_SIZE = 48, FAULT_FDS = 8, FAULT_SECTOR = 512 };

struct fault_names {
    struct fault_name {
        char name[FAULT_NAME_SIZE];
        int file;
    } of[FAULT_NAMES];
    int count;
};

struct fault_disk {
    struct files files; /* to be used as the disk */

    /* What goes wrong; to be set by the test at any time. */
    unsigned long die_at;                /* 0: never */
    unsigned long fail_first, fail_last; /* these operations fail; 0: none */
    int fail_error;                      /* with this errno */
    bool read_only;                      /* EROFS */
    size_t room;                         /* bytes that may still be added; then ENOSPC */
    bool choppy;                         /* short transfers, and EINTR now and then */

    /* What has happened. */
    unsigned long operations;
    unsigned long writes;      /* of them, writes that were not refused */
    unsigned long alterations; /* of these, those after which a file's bytes were others */
    unsigned long opened;      /* descriptors open now */
    const char *failed;        /* the kind of the last operation that was made to fail */
    bool dead;

    uint64_t random; /* state of the generator; to be set before the power is cut */
    struct fault_file *of;
    int file_count;
    struct fault_names cached;
    struct fault_names kept;
    struct fault_change *changes; /* of names, since the last sync_folder */
    int change_count;
    int fds[FAULT_FDS]; /* the file, or -1 */
};

void fault_disk_make(struct fault_disk *disk, uint64_t seed);
void fault_disk_free(struct fault_disk *disk);

/* A new process: no descriptor is open, no fault is set; the cache is as it was. */
void fault_disk_restart(struct fault_disk *disk);

/* A power cut, and a new process. */
void fault_disk_cut(struct fault_disk *disk);

/* Puts a file there, or replaces it, durably; and reads one (-1: not there). Not counted. */
void fault_disk_put(struct fault_disk *disk, const char *name, const void *bytes, size_t size);
long fault_disk_get(const struct fault_disk *disk, const char *name, void *bytes, size_t size);

#endif
