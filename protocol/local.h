/* SPDX-License-Identifier: MIT */
/*
 * The JSON-RPC 2.0 messages of the Unix socket, one a line: taken apart and put together. Shared
 * by the daemon and the clients. No I/O. protocol/LOCAL.md is the specification; section numbers
 * are those of the JSON-RPC 2.0 Specification.
 */
#ifndef REGLET_PROTOCOL_LOCAL_H
#define REGLET_PROTOCOL_LOCAL_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "protocol/attributes.h"
#include "protocol/json.h"

enum {
    LOCAL_MAJOR = 1,
    LOCAL_MINOR = 1,
    LOCAL_LINE_MAX = 16384, /* bytes of one message, newline included; whoever reads keeps it */
    LOCAL_BATCH_MAX = 64,   /* messages in one batch; more is refused as invalid */
};

/* JSON-RPC 2.0 section 5.1, and our one code for what the lift refuses. */
enum local_code {
    LOCAL_PARSE_ERROR = -32700,
    LOCAL_INVALID_REQUEST = -32600,
    LOCAL_METHOD_NOT_FOUND = -32601,
    LOCAL_INVALID_PARAMS = -32602,
    LOCAL_INTERNAL_ERROR = -32603,
    LOCAL_REFUSED = 1, /* outside the range that the standard reserves; data.reason says why */
};

/*
 * One request of a line. All pointers borrow from the line's document, but `why`, which is fixed.
 *
 * Valid means: an object with "jsonrpc" exactly "2.0", "method" a string, "params" absent or an
 * object or array, "id" absent or a string, number or null (a fraction too: the standard only
 * advises against it), and no other member.
 *
 * An invalid request is always answered, LOCAL_INVALID_REQUEST, also when it has no id: it cannot
 * be known to be a notification (section 7, {"foo": "boo"}). Section 5 wants the request's own id
 * in the answer, and null where that could not be detected. So `id` is given wherever the request
 * is an object that has an id of a permitted type, and is NULL (answered as null) elsewhere.
 */
struct local_request {
    bool valid;          /* false: answer LOCAL_INVALID_REQUEST with `id`, and say `why` */
    bool notification;   /* valid and without an id member: no answer, ever */
    const char *method;  /* when valid */
    const cJSON *params; /* when valid: object, array or NULL */
    const cJSON *id;     /* string, number or null value; NULL where there is none */
    const char *why;     /* when invalid: a sentence that says what would do; else NULL */
};

/* One line taken apart. */
struct local_line {
    cJSON *document; /* owned; NULL after a parse error */
    bool batch;      /* the answers go into one array, and into none when there are no answers */
    size_t count;    /* requests in it; 0 after a parse error */
    struct json_fault fault;
};

/* Takes a line (without its newline) apart. After false the answer is LOCAL_PARSE_ERROR with id
 * null and line->fault says why. An empty batch, or one over LOCAL_BATCH_MAX, has batch false,
 * count 1 and request 0 invalid, as the standard wants it answered by a single error. */
REGLET_MUST_CHECK bool local_line_open(struct local_line *line, const char *text, size_t size);

/* Fills *request with request `index` (below line->count), which lives as long as the line. */
void local_line_request(const struct local_line *line, size_t index, struct local_request *request);

/* Releases the document; harmless after a parse error and when repeated. */
void local_line_close(struct local_line *line);

/*
 * Answers, as documents that the caller owns; NULL when memory is short. `id` is copied (NULL
 * becomes null); `result` and `data` are taken over, also when NULL is returned. `data` may be
 * NULL and is then left out. A NULL `result` means that memory was short when it was made; a
 * method with nothing to say answers cJSON_CreateNull().
 *
 * A number as id is echoed exactly: 9007199254740991 as itself, where cJSON would print
 * 9.00719925474099e+15. The member is a raw item for that, so look at the print, not at its type.
 */
REGLET_MUST_CHECK cJSON *local_answer(const cJSON *id, cJSON *result);
REGLET_MUST_CHECK cJSON *local_error(const cJSON *id, int code, const char *message, cJSON *data);

/* An integer as a raw item: to print one as a number cJSON takes it for a fraction, which costs
 * three times as much. NULL when memory is short. */
REGLET_MUST_CHECK cJSON *local_integer(int64_t value);

/* The line of local_answer for a result that is printed already (compact JSON, `result_size` bytes;
 * NULL: memory was short), as local_print gives it. */
REGLET_MUST_CHECK char *local_answer_line(const cJSON *id, const char *result, size_t result_size,
                                          size_t *size);

/* A request with a number as id (a raw item, as above; finite), and a notification. `params` (may
 * be NULL: left out) is taken over, also when memory is short and NULL is returned. */
REGLET_MUST_CHECK cJSON *local_request_new(double id, const char *method, cJSON *params);
REGLET_MUST_CHECK cJSON *local_notification_new(const char *method, cJSON *params);

/* What stands for a message on the wire: compact text and a newline, NUL-terminated; the caller
 * frees it with cJSON_free. `*size` counts the newline and not the NUL, and may be more than
 * LOCAL_LINE_MAX: that is the caller's to keep. NULL when memory is short or `message` is NULL. */
REGLET_MUST_CHECK char *local_print(const cJSON *message, size_t *size);

/* For a sentence that quotes a request, which can hold anything: what is no printable ASCII
 * becomes '?'. */
void local_plain(char *sentence);

/* Names of the members that a method takes, in positional order; ends at a NULL name. */
struct local_param {
    const char *name;
    enum local_type {
        LOCAL_STRING = 1,
        LOCAL_INTEGER, /* a number without a fraction, however written, within +-(2^53 - 1) */
        LOCAL_BOOLEAN,
        LOCAL_ARRAY,  /* of anything: what is in it is the method's to check */
        LOCAL_OBJECT, /* the same */
    } type;
    bool required;
};

/*
 * Checks `params` (NULL, by name, or by position) against `shape` and puts a borrowed pointer for
 * each shape entry (NULL when absent) into found[], which means nothing after false. Unknown names,
 * wrong types, too many positions and missing required ones are refused: false, and a sentence in
 * `why`, in ASCII without control characters whatever the request held. Names are compared with
 * their case. null stands for nothing: it has the wrong type, by name and by position.
 */
REGLET_MUST_CHECK bool local_params(const cJSON *params, const struct local_param *shape,
                                    const cJSON *found[], char *why, size_t why_size);

#endif
