/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "clients/pedal/map.h"

static bool refuse_error(const char *path, int error, char *fault)
{
    const char *advice = error == ENOENT
                             ? "a copy of the annotated example pedal.json, with the keys that "
                               "'reglet-pedal --learn' tells you, would do"
                         : error == EACCES ? "a file that this user may read would do"
                                           : "a file that can be read would do";
    (void)snprintf(fault, MAP_FAULT_SIZE, "%s: found %s%s; %s", path,
                   error == ENOENT ? "no such file" : "that it cannot be read: ",
                   error == ENOENT ? "" : strerror(error), advice);
    return false;
}

/* A pipe or a device would make the start wait for ever. */
static bool is_file(const char *path, int fd, char *fault)
{
    struct stat status;
    if (fstat(fd, &status) != 0) {
        return refuse_error(path, errno, fault);
    }
    if (!S_ISREG(status.st_mode)) {
        (void)snprintf(fault, MAP_FAULT_SIZE,
                       "%s: found a folder, a device or a pipe; the mapping file would do", path);
        return false;
    }
    return true;
}

static bool read_all(const char *path, int fd, char *text, size_t *size, char *fault)
{
    *size = 0;
    while (*size <= MAP_FILE_MAX) {
        ssize_t got = read(fd, text + *size, MAP_FILE_MAX + 1 - *size);
        if (got < 0 && errno != EINTR) {
            return refuse_error(path, errno, fault);
        }
        if (got == 0) {
            break;
        }
        *size += got > 0 ? (size_t)got : 0;
    }
    text[*size] = '\0';
    return true;
}

static bool load(const char *path, int fd, struct map *map, char *fault)
{
    size_t size;
    char *text = malloc(MAP_FILE_MAX + 2); /* one more byte tells a file that is too long */
    if (!text) {
        return refuse_error(path, ENOMEM, fault);
    }
    bool good = is_file(path, fd, fault) && read_all(path, fd, text, &size, fault) &&
                map_read(text, size, path, map, fault);
    free(text);
    return good;
}

bool map_load(const char *path, struct map *map, char *fault)
{
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK);
    if (fd < 0) {
        return refuse_error(path, errno, fault);
    }
    bool good = load(path, fd, map, fault);
    (void)close(fd);
    return good;
}
