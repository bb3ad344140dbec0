/* SPDX-License-Identifier: MIT */
/* Lines of the log, and where the table's surface was found, in plain sentences. No I/O. */
#ifndef REGLET_CLIENTS_SHOW_LOG_H
#define REGLET_CLIENTS_SHOW_LOG_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <time.h>

#include "clients/common/say.h"
#include "protocol/attributes.h"

/* What is carried from one line to the next; begins as {0}. */
struct show_log {
    enum length_style style;
    int year;           /* of the day that its heading stands already; 0: none */
    int day;            /* of that year */
    int moves;          /* one behind the other, not shown yet */
    time_t moved;       /* the last of them */
    struct say pending; /* and its sentence */
};

/* RFC 3339 in UTC, as the log has it. False when it is none. */
REGLET_MUST_CHECK bool show_log_time(const char *text, time_t *time);

/* One line of the daemon's answer, in the local time of day. Moves close behind one another become
 * one sentence, which show_log_end lets out. What cannot be read is passed over. */
void show_log_line(struct say *say, struct show_log *log, const cJSON *line);
void show_log_end(struct say *say, struct show_log *log);

/* The answer of `surface`: each point, and by how much the table lies higher or lower than at the
 * first one. */
void show_log_surface(struct say *say, const cJSON *points, enum length_style style);

#endif
