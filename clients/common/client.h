/* SPDX-License-Identifier: MIT */
/*
 * A connection to the daemon that blocks: requests go out, answers come in, one a line. Every wait
 * is bounded, and ends when the caller's interrupt descriptor becomes readable.
 *
 * Closing the connection brakes a motion that was asked for over it.
 */
#ifndef REGLET_CLIENTS_CLIENT_H
#define REGLET_CLIENTS_CLIENT_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "clients/common/say.h"
#include "protocol/attributes.h"
#include "protocol/local.h"
#include "protocol/reason.h"

enum {
    CLIENT_WAIT_MS = 5000, /* for an answer that needs no motion to end */
};

/* How a wait ended. */
enum client_end {
    CLIENT_ANSWERED = 1,
    CLIENT_ABSENT,  /* nobody could be connected to; client->error is the errno */
    CLIENT_SILENT,  /* connected, but no answer in time */
    CLIENT_CLOSED,  /* the connection ended; client->error is the errno, or 0 */
    CLIENT_GARBLED, /* no JSON-RPC, or an over-long line */
    CLIENT_INTERRUPTED,
    CLIENT_NO_MEMORY,
    CLIENT_TOLD, /* client_hear alone: a notification came, and no answer */
};

/* Exit codes of every client program. */
enum client_exit {
    CLIENT_DONE = 0,
    CLIENT_REFUSED = 1, /* by the lift; or a motion that ended early */
    CLIENT_USAGE = 2,
    CLIENT_UNREACHABLE = 3,
    CLIENT_BROKEN_OFF = 4, /* by a signal */
};

/* Zeroed and with fd -1 before client_open. */
struct client {
    int fd;
    int interrupt_fd; /* the caller's; -1 is none */
    int error;
    double last_id;
    size_t used;
    char line[LOCAL_LINE_MAX];
};

/* One answer, or one notification. Begins as {0}; client_answer_free releases it. */
struct client_answer {
    cJSON *document;
    char *text;  /* the line as it came */
    bool has_id; /* false: the daemon could not tell what it answers */
    double id;
    const cJSON *result; /* of an answer one of the two; borrowed from the document */
    const cJSON *error;
    const char *method;  /* of a notification; borrowed as well */
    const cJSON *params; /* its params, or NULL */
};

/* CLIENT_ANSWERED when connected. */
REGLET_MUST_CHECK enum client_end client_open(struct client *client, const char *path);
void client_close(struct client *client);

/* `params` (may be NULL) is taken over. *id is what the answer will name. */
REGLET_MUST_CHECK enum client_end client_send(struct client *client, const char *method,
                                              cJSON *params, double *id);

/* The next answer, whatever it answers; messages that are none are passed over. A timeout below 0
 * counts as 0. */
REGLET_MUST_CHECK enum client_end client_read(struct client *client, int64_t timeout_ms,
                                              struct client_answer *answer);

/* The same, and notifications too: CLIENT_TOLD, with the method and the params in *answer. */
REGLET_MUST_CHECK enum client_end client_hear(struct client *client, int64_t timeout_ms,
                                              struct client_answer *answer);

/* Sends and waits for that one's answer, CLIENT_WAIT_MS at the most; others are dropped. */
REGLET_MUST_CHECK enum client_end client_call(struct client *client, const char *method,
                                              cJSON *params, struct client_answer *answer);

/* Milliseconds of a clock that only goes forward. */
int64_t client_now_ms(void);

/* Is this what answers request `id`? An error that names no request is taken for it. */
bool client_answers(const struct client_answer *answer, double id);
void client_answer_free(struct client_answer *answer);

/* --- Without I/O --- */

/* Takes one line (without its newline) apart. CLIENT_ANSWERED, or CLIENT_SILENT for a message that
 * is no answer, CLIENT_GARBLED, CLIENT_NO_MEMORY. */
REGLET_MUST_CHECK enum client_end client_answer_read(const char *line, size_t size,
                                                     struct client_answer *answer);

/* The same for client_hear: CLIENT_TOLD for a notification. */
REGLET_MUST_CHECK enum client_end client_message_read(const char *line, size_t size,
                                                      struct client_answer *answer);

/* Where the value of the answer's result or error member, or the notification's params, stands in
 * its line: what --json prints. */
REGLET_MUST_CHECK bool client_value(const struct client_answer *answer, const char **value,
                                    size_t *size);

enum client_exit client_exit_of_end(enum client_end end);
enum client_exit client_exit_of_answer(const struct client_answer *answer);

/* Is it the lift's refusal for this reason? */
bool client_refused_for(const struct client_answer *answer, enum reason reason);

/* Where the bit stood when this error was made; false: it is not said. */
REGLET_MUST_CHECK bool client_error_height(const struct client_answer *answer, int64_t *nm);

/* Is it an error that a motion under way can end with? The lift then stands elsewhere than before,
 * or that is not known. */
bool client_ended_early(const struct client_answer *answer);

/* The error of an answer, in sentences. */
void client_say_error(struct say *say, const cJSON *error);

/* What had been asked for that may have been done although no answer came. */
enum client_asked {
    CLIENT_ASKED_NOTHING,
    CLIENT_ASKED_CHANGE, /* of what the daemon knows or keeps: nothing moves by it */
    CLIENT_ASKED_MOTION,
};

/* What is known where a wait failed. */
struct client_trouble {
    enum client_end end;
    int error;
    const char *path;
    bool practice; /* --practice was said */
    enum client_asked asked;
};

/* What happened, what it means for the lift, what to do next. */
void client_say_trouble(struct say *say, const struct client_trouble *trouble);

#endif
