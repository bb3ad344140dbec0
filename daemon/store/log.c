/* SPDX-License-Identifier: MIT */
#include "daemon/store/log.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/whole.h"

static void close_file(struct log *log)
{
    int error = errno;
    if (log->fd >= 0) {
        (void)log->files.call->close(log->files.disk, log->fd); /* what was to be kept is synced */
    }
    log->fd = -1;
    errno = error;
}

/* A last line without its newline is closed off, so that the next one stands by itself. */
static bool close_off(struct log *log)
{
    char last = '\n';
    log->size = log->files.call->size(log->files.disk, log->fd);
    if (log->size < 0 ||
        (log->size > 0 && whole_read(&log->files, log->fd, &last, 1, log->size - 1) < 0)) {
        return false;
    }
    if (last != '\n') {
        if (!whole_write(&log->files, log->fd, "\n", 1, log->size)) {
            return false;
        }
        log->size++;
    }
    return true;
}

static bool open_file(struct log *log, int flags)
{
    log->torn = false;
    log->fd = whole_open(&log->files, LOG_NAME, O_RDWR | O_CREAT | flags);
    if (log->fd < 0) {
        return false;
    }
    /* An empty one may be new, and then its name is to be made durable. */
    if (!close_off(log) || (log->size == 0 && !whole_sync_folder(&log->files))) {
        close_file(log);
        return false;
    }
    return true;
}

bool log_open(struct log *log, const struct files *files)
{
    *log = (struct log){.files = *files, .fd = -1};
    return open_file(log, 0);
}

/* The full one is durable before it takes the place of the older. */
static bool turn_over(struct log *log)
{
    const struct files *files = &log->files;
    if (!whole_data_sync(files, log->fd) ||
        files->call->rename(files->disk, LOG_NAME, LOG_NAME_OLDER) != 0) {
        return false;
    }
    close_file(log);
    /* After a power cut on a simple file system both may have been names of one file; then the
     * rename has changed nothing. */
    if (files->call->remove(files->disk, LOG_NAME) != 0 && errno != ENOENT) {
        return false;
    }
    /* Else the new name could reach the disk alone, and nothing would be called log.1. */
    return whole_sync_folder(files) && open_file(log, O_EXCL);
}

static bool make_ready(struct log *log, off_t more)
{
    if (log->fd < 0 && !open_file(log, 0)) {
        return false;
    }
    if (log->torn && !whole_truncate(&log->files, log->fd, log->size)) {
        return false;
    }
    log->torn = false;
    return log->size + more <= LOG_SIZE_MAX || turn_over(log);
}

static bool append(struct log *log, const char *bytes, size_t size)
{
    if (whole_write(&log->files, log->fd, bytes, size, log->size)) {
        log->size += (off_t)size;
        return true;
    }
    int error = errno;
    log->torn = !whole_truncate(&log->files, log->fd, log->size);
    errno = error;
    return false;
}

bool log_write(struct log *log, const char *line)
{
    char bytes[LOG_LINE_MAX];
    size_t length = strnlen(line, sizeof bytes);
    bool good = length > 0 && length < sizeof bytes && memchr(line, '\n', length) == NULL;
    if (good) {
        memcpy(bytes, line, length);
        bytes[length++] = '\n';
        good = make_ready(log, (off_t)length) && append(log, bytes, length);
    } else {
        errno = EINVAL;
    }
    log->lost += !good;
    return good;
}

void log_close(struct log *log)
{
    if (log->fd >= 0 && !whole_data_sync(&log->files, log->fd)) {
        log->lost++; /* how many is not to be known, but not none */
    }
    close_file(log);
}

/* --- Reading --- */

/* A page under way. */
struct page_reader {
    const char *from;
    size_t skip;
    size_t most;
    size_t used;
    struct log_page *page;
};

/* Is it a line of a time that is wanted? Its time stands at its end; half a line has none. */
static bool wanted(const struct page_reader *r, const char *line, size_t size)
{
    static const char mark[] = "\"time\":\"";
    size_t length = strlen(r->from);
    const char *at = memmem(line, size, mark, sizeof mark - 1);
    size_t left = at ? (size_t)(line + size - at) - (sizeof mark - 1) : 0;
    return line[0] == '{' && line[size - 1] == '}' && at && left > length &&
           memcmp(at + sizeof mark - 1, r->from, length) >= 0;
}

/* False when the page is full. */
static bool take_line(struct page_reader *r, const char *line, size_t size)
{
    struct log_page *page = r->page;
    if (size == 0 || !wanted(r, line, size)) {
        return true;
    }
    if (r->skip > 0) {
        r->skip--;
        return true;
    }
    if (r->used > 0 && r->used + size + 1 > r->most) {
        page->more = true;
        return false;
    }
    memcpy(page->lines + r->used, line, size);
    r->used += size;
    page->lines[r->used++] = '\n';
    page->lines[r->used] = '\0';
    return true;
}

/* The lines of one file; one that is not there has none. */
static bool take_file(struct page_reader *r, const struct files *files, const char *name)
{
    char *bytes = NULL;
    size_t size = 0;
    if (r->page->more) {
        return true;
    }
    if (!whole_take(files, name, LOG_SIZE_MAX, &bytes, &size)) {
        return errno == ENOENT;
    }
    char *at = bytes;
    char *end = bytes + size;
    while (at < end) {
        char *newline = memchr(at, '\n', (size_t)(end - at));
        if (!newline ||
            (newline - at < LOG_LINE_MAX && !take_line(r, at, (size_t)(newline - at)))) {
            break;
        }
        at = newline + 1;
    }
    free(bytes);
    return true;
}

bool log_read_page(const struct files *files, const char *from, size_t skip, size_t most,
                   struct log_page *page)
{
    struct page_reader reader = {.from = from, .skip = skip, .most = most, .page = page};
    *page = (struct log_page){.lines = calloc(1, most + LOG_LINE_MAX + 1)};
    if (page->lines && take_file(&reader, files, LOG_NAME_OLDER) &&
        take_file(&reader, files, LOG_NAME)) {
        return true;
    }
    int error = page->lines ? errno : ENOMEM;
    free(page->lines);
    page->lines = NULL;
    errno = error;
    return false;
}
