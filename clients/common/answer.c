/* SPDX-License-Identifier: MIT */
/* The half of client.h that does no I/O. */
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/client.h"
#include "protocol/json.h"
#include "protocol/json_walk.h"

void client_answer_free(struct client_answer *answer)
{
    cJSON_Delete(answer->document);
    free(answer->text);
    *answer = (struct client_answer){0};
}

bool client_answers(const struct client_answer *answer, double id)
{
    return answer->has_id ? answer->id == id : answer->error != NULL;
}

static bool has_version(const cJSON *document)
{
    const cJSON *version = cJSON_GetObjectItemCaseSensitive(document, "jsonrpc");
    return cJSON_IsString(version) && strcmp(version->valuestring, "2.0") == 0;
}

/* Section 4.1: a notification is a request without an id. CLIENT_SILENT for anything else: not
 * asked for, not ours. */
static enum client_end take_told(struct client_answer *answer, const cJSON *id)
{
    const cJSON *method = cJSON_GetObjectItemCaseSensitive(answer->document, "method");
    answer->params = cJSON_GetObjectItemCaseSensitive(answer->document, "params");
    answer->method = cJSON_IsString(method) ? method->valuestring : NULL;
    answer->result = NULL;
    answer->error = NULL;
    return answer->method && !id ? CLIENT_TOLD : CLIENT_SILENT;
}

/* JSON-RPC 2.0 section 5: just one of result and error; section 5.1: an error has a code and a
 * message. */
static enum client_end take_apart(struct client_answer *answer)
{
    const cJSON *id = cJSON_GetObjectItemCaseSensitive(answer->document, "id");
    answer->result = cJSON_GetObjectItemCaseSensitive(answer->document, "result");
    answer->error = cJSON_GetObjectItemCaseSensitive(answer->document, "error");
    answer->has_id = cJSON_IsNumber(id);
    answer->id = answer->has_id ? id->valuedouble : 0;
    if (!has_version(answer->document)) {
        return CLIENT_GARBLED;
    }
    if (cJSON_GetObjectItemCaseSensitive(answer->document, "method")) {
        return take_told(answer, id);
    }
    bool one = !answer->result != !answer->error;
    bool told = cJSON_IsNumber(cJSON_GetObjectItemCaseSensitive(answer->error, "code")) &&
                cJSON_IsString(cJSON_GetObjectItemCaseSensitive(answer->error, "message"));
    return one && id && (answer->result || told) ? CLIENT_ANSWERED : CLIENT_GARBLED;
}

enum client_end client_answer_read(const char *line, size_t size, struct client_answer *answer)
{
    enum client_end end = client_message_read(line, size, answer);
    if (end == CLIENT_TOLD) {
        client_answer_free(answer);
        return CLIENT_SILENT;
    }
    return end;
}

enum client_end client_message_read(const char *line, size_t size, struct client_answer *answer)
{
    struct json_fault fault;
    *answer = (struct client_answer){0};
    if (!json_scan(line, size, &fault)) {
        return CLIENT_GARBLED;
    }
    answer->document = json_parse(line, size, &fault);
    answer->text = strndup(line, size);
    enum client_end end = answer->document && answer->text ? take_apart(answer) : CLIENT_NO_MEMORY;
    if (end != CLIENT_ANSWERED && end != CLIENT_TOLD) {
        client_answer_free(answer);
    }
    return end;
}

bool client_value(const struct client_answer *answer, const char **value, size_t *size)
{
    const char *wanted = answer->method ? "\"params\"" : answer->error ? "\"error\"" : "\"result\"";
    const char *at = json_past_space(json_past_space(answer->text) + 1);
    while (*at == '"') {
        const char *name = at;
        size_t name_size = (size_t)(json_past_string(at) - name);
        at = json_past_space(json_past_space(json_past_string(at)) + 1); /* over the colon */
        *value = at;
        at = json_past_value(at);
        *size = (size_t)(at - *value);
        if (name_size == strlen(wanted) && memcmp(name, wanted, name_size) == 0) {
            return true;
        }
        at = json_past_space(at);
        at = *at == ',' ? json_past_space(at + 1) : at;
    }
    return false; /* its name is written with escapes */
}

enum client_exit client_exit_of_end(enum client_end end)
{
    return end == CLIENT_ANSWERED      ? CLIENT_DONE
           : end == CLIENT_INTERRUPTED ? CLIENT_BROKEN_OFF
                                       : CLIENT_UNREACHABLE;
}

static int code_of(const cJSON *error)
{
    const cJSON *code = cJSON_GetObjectItemCaseSensitive(error, "code");
    bool fits = cJSON_IsNumber(code) && fabs(code->valuedouble) <= 1e9;
    return fits ? (int)code->valuedouble : LOCAL_INTERNAL_ERROR;
}

enum client_exit client_exit_of_answer(const struct client_answer *answer)
{
    if (!answer->error) {
        return CLIENT_DONE;
    }
    return code_of(answer->error) == LOCAL_INVALID_PARAMS ? CLIENT_USAGE : CLIENT_REFUSED;
}

bool client_refused_for(const struct client_answer *answer, enum reason reason)
{
    const cJSON *data = cJSON_GetObjectItemCaseSensitive(answer->error, "data");
    const cJSON *word = cJSON_GetObjectItemCaseSensitive(data, "reason");
    return cJSON_IsString(word) && strcmp(word->valuestring, reason_word(reason)) == 0;
}

bool client_error_height(const struct client_answer *answer, int64_t *nm)
{
    const cJSON *data = cJSON_GetObjectItemCaseSensitive(answer->error, "data");
    const cJSON *height = cJSON_GetObjectItemCaseSensitive(data, "height_nm");
    *nm = cJSON_IsNumber(height) ? (int64_t)height->valuedouble : 0; /* json_scan saw its range */
    return cJSON_IsNumber(height);
}

bool client_ended_early(const struct client_answer *answer)
{
    static const enum reason ends[] = {
        REASON_STOPPED,   REASON_LINK_FAULT,    REASON_TOP_NOT_FOUND, REASON_UNPLUGGED,
        REASON_UNPOWERED, REASON_READOUT_APART, REASON_READOUT_FROZEN};
    for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
        if (client_refused_for(answer, ends[i])) {
            return true;
        }
    }
    return false;
}

void client_say_error(struct say *say, const cJSON *error)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(error, "message");
    const char *message = cJSON_IsString(item) ? item->valuestring : "";
    int code = code_of(error);
    if (code == LOCAL_REFUSED) {
        say_paragraph(say, "", 0, message);
    } else if (code == LOCAL_METHOD_NOT_FOUND) {
        say_wrap(say, "", 0, "%s",
                 "regletd does not know that request: it is older than this reglet. Nothing has "
                 "moved. Install both from one release, and start regletd again.");
    } else if (code == LOCAL_INVALID_PARAMS) {
        say_wrap(say, "", 0, "regletd could not use what was asked: %.400s", message);
        say_wrap(say, "", 0, "%s", "Nothing has moved. Say it another way.");
    } else {
        say_wrap(say, "", 0, "regletd could not carry that out (%d): %.400s", code, message);
        say_wrap(say, "", 0, "%s",
                 "Look where the bit stands, and what regletd's log says, before you ask again.");
    }
}
