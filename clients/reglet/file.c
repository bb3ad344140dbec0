/* SPDX-License-Identifier: MIT */
#include "clients/reglet/file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "clients/reglet/run.h"

static const char other_name[] = "Say --replace, or take another name.";

static void complain(const char *path, const char *what, int error, const char *next)
{
    struct say say = {0};
    say_wrap(&say, "", 0, "%.200s: it cannot be %s: %s. The lift is not concerned. %s", path, what,
             strerror(error), next);
    run_complain(&say);
}

char *file_read(const char *path, size_t most_size, size_t *size)
{
    bool is_stdin = strcmp(path, "-") == 0;
    int fd = is_stdin ? STDIN_FILENO : open(path, O_RDONLY | O_CLOEXEC);
    char *text = malloc(most_size + 2);
    ssize_t got = 1;
    *size = 0;
    while (fd >= 0 && text && got > 0 && *size <= most_size) {
        got = read(fd, text + *size, most_size + 1 - *size);
        *size += got > 0 ? (size_t)got : 0;
    }
    int error = text ? errno : ENOMEM;
    if (fd < 0 || !text || got < 0) {
        complain(path, "read", error, "Look at its name and its rights.");
        free(text);
        text = NULL;
    } else {
        text[*size] = '\0';
    }
    if (fd >= 0 && !is_stdin) {
        close(fd);
    }
    return text;
}

static bool write_all(int fd, const char *text)
{
    size_t size = strlen(text);
    while (size > 0) {
        ssize_t put = write(fd, text, size);
        if (put < 0 && errno != EINTR) {
            return false;
        }
        text += put > 0 ? put : 0;
        size -= put > 0 ? (size_t)put : 0;
    }
    return true;
}

bool file_write(const char *path, const char *text, bool replace)
{
    if (strcmp(path, "-") == 0) {
        return fputs(text, stdout) >= 0; /* main looks at ferror */
    }
    int fd = open(path, O_WRONLY | O_CREAT | O_CLOEXEC | (replace ? O_TRUNC : O_EXCL), 0666);
    if (fd < 0) {
        complain(path, "written", errno,
                 errno == EEXIST ? other_name : "Look at its name and its rights.");
        return false;
    }
    bool good = write_all(fd, text);
    int error = errno;
    if (close(fd) != 0 && good) {
        good = false;
        error = errno;
    }
    if (!good) {
        complain(path, "written whole", error, "Look at the disk, and say it again.");
    }
    return good;
}

bool file_free(const char *path, bool replace)
{
    if (path[0] == '\0' || replace || strcmp(path, "-") == 0 || access(path, F_OK) != 0) {
        return true;
    }
    complain(path, "written", EEXIST, other_name);
    return false;
}
