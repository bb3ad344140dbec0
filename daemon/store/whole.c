/* SPDX-License-Identifier: MIT */
#include "daemon/store/whole.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>

enum { ASIDE_MAX = 1000 };

static bool interrupted(ssize_t result)
{
    return result < 0 && errno == EINTR;
}

int whole_open(const struct files *files, const char *name, int flags)
{
    int fd;
    do {
        fd = files->call->open(files->disk, name, flags);
    } while (interrupted(fd));
    return fd;
}

ssize_t whole_read(const struct files *files, int fd, void *bytes, size_t size, off_t at)
{
    size_t done = 0;
    while (done < size) {
        ssize_t now =
            files->call->read(files->disk, fd, (char *)bytes + done, size - done, at + (off_t)done);
        if (interrupted(now)) {
            continue;
        }
        if (now < 0) {
            return -1;
        }
        if (now == 0) {
            break;
        }
        done += (size_t)now;
    }
    return (ssize_t)done;
}

bool whole_write(const struct files *files, int fd, const void *bytes, size_t size, off_t at)
{
    size_t done = 0;
    while (done < size) {
        ssize_t now = files->call->write(files->disk, fd, (const char *)bytes + done, size - done,
                                         at + (off_t)done);
        if (interrupted(now)) {
            continue;
        }
        if (now <= 0) {
            errno = now == 0 ? EIO : errno; /* a disk that takes nothing would be asked for ever */
            return false;
        }
        done += (size_t)now;
    }
    return true;
}

bool whole_truncate(const struct files *files, int fd, off_t size)
{
    int result;
    do {
        result = files->call->truncate(files->disk, fd, size);
    } while (interrupted(result));
    return result == 0;
}

bool whole_data_sync(const struct files *files, int fd)
{
    int result;
    do {
        result = files->call->data_sync(files->disk, fd);
    } while (interrupted(result));
    return result == 0;
}

static bool sync_all(const struct files *files, int fd)
{
    int result;
    do {
        result = files->call->sync(files->disk, fd);
    } while (interrupted(result));
    return result == 0;
}

bool whole_sync_folder(const struct files *files)
{
    int result;
    do {
        result = files->call->sync_folder(files->disk);
    } while (interrupted(result));
    return result == 0;
}

int whole_exists(const struct files *files, const char *name)
{
    int fd = whole_open(files, name, O_RDONLY);
    if (fd < 0) {
        /* A link, or one that we may not read, is there all the same. */
        return errno == ENOENT ? 0 : errno == ELOOP || errno == EACCES ? 1 : -1;
    }
    (void)files->call->close(files->disk, fd); /* opened for reading: there is nothing to lose */
    return 1;
}

static bool take_open(const struct files *files, int fd, size_t size_max, char **bytes,
                      size_t *size)
{
    off_t there = files->call->size(files->disk, fd);
    if (there < 0) {
        return false;
    }
    if ((uintmax_t)there > size_max) {
        errno = EFBIG;
        return false;
    }
    *bytes = malloc((size_t)there + 1);
    if (*bytes == NULL) {
        return false;
    }
    ssize_t got = whole_read(files, fd, *bytes, (size_t)there, 0);
    if (got < 0) {
        int error = errno;
        free(*bytes);
        *bytes = NULL;
        errno = error;
        return false;
    }
    (*bytes)[got] = '\0';
    *size = (size_t)got;
    return true;
}

bool whole_take(const struct files *files, const char *name, size_t size_max, char **bytes,
                size_t *size)
{
    *bytes = NULL;
    *size = 0;
    int fd = whole_open(files, name, O_RDONLY);
    if (fd < 0) {
        return false;
    }
    bool taken = take_open(files, fd, size_max, bytes, size);
    int error = errno;
    (void)files->call->close(files->disk, fd); /* opened for reading: there is nothing to lose */
    errno = error;
    return taken;
}

int whole_create(const struct files *files, const char *name, const void *bytes, size_t size,
                 const char **step)
{
    *step = "making a new file";
    if (files->call->remove(files->disk, name) != 0 && errno != ENOENT) {
        return -1;
    }
    int fd = whole_open(files, name, O_RDWR | O_CREAT | O_EXCL);
    if (fd < 0) {
        return -1;
    }
    *step = "writing the new file";
    if (whole_write(files, fd, bytes, size, 0)) {
        *step = "making the new file durable";
        if (sync_all(files, fd)) {
            return fd;
        }
    }
    int error = errno;
    (void)files->call->close(files->disk, fd); /* the first error is the one to tell */
    (void)files->call->remove(files->disk, name);
    errno = error;
    return -1;
}

bool whole_name(char joined[FILES_NAME_SIZE], const char *name, const char *suffix)
{
    int length = snprintf(joined, FILES_NAME_SIZE, "%s%s", name, suffix);
    if (length < 0 || length >= FILES_NAME_SIZE) {
        errno = ENAMETOOLONG;
        return false;
    }
    return true;
}

bool whole_move_aside(const struct files *files, const char *from, const char *name,
                      char aside[FILES_NAME_SIZE])
{
    for (int i = 1; i <= ASIDE_MAX; i++) {
        char suffix[sizeof ".damaged." + 10] = ".damaged";
        if (i > 1) {
            (void)snprintf(suffix, sizeof suffix, ".damaged.%d", i);
        }
        int taken = whole_name(aside, name, suffix) ? whole_exists(files, aside) : -1;
        if (taken < 0) {
            return false;
        }
        if (taken == 0) {
            return files->call->rename(files->disk, from, aside) == 0 && whole_sync_folder(files);
        }
    }
    errno = EEXIST;
    return false;
}
