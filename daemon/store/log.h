/* SPDX-License-Identifier: MIT */
/*
 * What happened, one JSON object a line: moves, touch-offs, corrections, faults, who asked. At
 * most LOG_SIZE_MAX bytes, then it becomes log.1 (one older is kept) and a new one begins. A line
 * is written whole or not at all; half a line left by a power cut is closed off at the next start.
 *
 * Lines are made durable when the log is turned over and when it is closed, not one by one: the
 * disk's time belongs to the journal. So a power cut can take the lines of the last half minute or
 * so, or leave pieces of them; who reads the log skips a line that is no JSON.
 */
#ifndef REGLET_DAEMON_STORE_LOG_H
#define REGLET_DAEMON_STORE_LOG_H

#include <stdbool.h>

#include "daemon/store/files.h"
#include "protocol/attributes.h"

#define LOG_NAME "log"
#define LOG_NAME_OLDER LOG_NAME ".1"

enum { LOG_SIZE_MAX = 1024 * 1024, LOG_LINE_MAX = 2048 };

struct log {
    struct files files;
    int fd; /* -1: could not be opened; tried again at each line */
    off_t size;
    bool torn;          /* half a line lies behind `size`, and could not be cut off yet */
    unsigned long lost; /* lines that could not be written, since log_open */
};

/* False (errno) when it cannot be opened; the log can be used all the same. */
REGLET_MUST_CHECK bool log_open(struct log *log, const struct files *files);

/* Appends `line` (1 to LOG_LINE_MAX - 1 bytes, without a newline, else EINVAL). False (errno) when
 * it could not be written, and then it is counted as lost; a log that cannot be written never stops
 * the lift. Blocks. */
REGLET_MUST_CHECK bool log_write(struct log *log, const char *line);

void log_close(struct log *log);

/* Some of the lines, oldest first. */
struct log_page {
    char *lines; /* each with its newline, a NUL behind the last; free it */
    bool more;   /* there are others behind them */
};

/* Lines whose "time" is not before `from` ("" takes all), without the first `skip` of them, as many
 * as `most` bytes hold, and one at the least. What has no time is passed over. False (errno) when
 * the disk does not give them; a file that is not there is empty. Blocks. */
REGLET_MUST_CHECK bool log_read_page(const struct files *files, const char *from, size_t skip,
                                     size_t most, struct log_page *page);

#endif
