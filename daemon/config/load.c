/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/config/config.h"
#include "daemon/config/sentence.h"

static bool refuse_error(const struct sentence_source *source, int error)
{
    switch (error) {
    case ENOENT:
        return sentence_refuse(source, SENTENCE_WHOLE_FILE,
                               "found no such file; a copy of the annotated example reglet.json, "
                               "fitted to your lift, would do");
    case EACCES:
        return sentence_refuse(source, SENTENCE_WHOLE_FILE,
                               "found it closed to user %ld, who runs this (%s); a file and "
                               "folders that this user may read would do",
                               (long)geteuid(), strerror(error));
    default:
        return sentence_refuse(source, SENTENCE_WHOLE_FILE,
                               "found it unreadable (%s); a file that can be read would do",
                               strerror(error));
    }
}

/* A pipe or a device would make the start wait for ever. */
static bool check_kind(const struct sentence_source *source, int fd)
{
    struct stat status;
    if (fstat(fd, &status) != 0) {
        return refuse_error(source, errno);
    }
    if (!S_ISREG(status.st_mode)) {
        return sentence_refuse(source, SENTENCE_WHOLE_FILE,
                               "found %s; the configuration file itself would do",
                               S_ISDIR(status.st_mode) ? "a folder" : "a device or a pipe");
    }
    return true;
}

/* At most `most` bytes; *size tells how many. */
static bool read_bytes(const struct sentence_source *source, int fd, char *bytes, size_t most,
                       size_t *size)
{
    *size = 0;
    while (*size < most) {
        ssize_t got = read(fd, bytes + *size, most - *size);
        if (got < 0 && errno != EINTR) {
            return refuse_error(source, errno);
        }
        if (got == 0) {
            return true;
        }
        *size += got > 0 ? (size_t)got : 0;
    }
    return true;
}

static bool load(const struct sentence_source *source, int fd, struct config *config)
{
    size_t size = 0;
    char *text = malloc(CONFIG_SIZE_MAX + 1); /* one more tells a file that is too long */
    if (text == NULL) {
        return refuse_error(source, ENOMEM);
    }
    bool good = check_kind(source, fd) &&
                read_bytes(source, fd, text, CONFIG_SIZE_MAX + 1, &size) &&
                config_read(text, size, source->name, config, source->fault);
    free(text);
    return good;
}

bool config_load(const char *path, struct config *config, struct config_fault *fault)
{
    struct sentence_source source = {.name = path, .fault = fault};
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK);
    if (fd < 0) {
        return refuse_error(&source, errno);
    }
    bool good = load(&source, fd, config);
    (void)close(fd);
    return good;
}
