/* SPDX-License-Identifier: MIT */
#include "clients/readout/hear.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "protocol/json.h"
#include "protocol/local.h"

static const cJSON *member(const cJSON *object, const char *name)
{
    return cJSON_GetObjectItemCaseSensitive(object, name);
}

static const char *word_of(const cJSON *object, const char *name)
{
    const cJSON *item = member(object, name);
    return cJSON_IsString(item) ? item->valuestring : "";
}

static enum hear_said useless(struct hear *hear, const char *why)
{
    (void)snprintf(hear->why, sizeof hear->why, "%s", why);
    return HEAR_USELESS;
}

/* --- The status --- */

static bool is_status(const cJSON *object)
{
    struct show_lift lift;
    return show_read(object, &lift);
}

static enum hear_said take_status(struct hear *hear, const cJSON *status)
{
    if (!is_status(status)) {
        return useless(hear, "What answers there does not speak as the daemon does.");
    }
    cJSON_Delete(hear->status);
    hear->status = cJSON_Duplicate(status, true);
    return hear->status ? HEAR_LIFT : useless(hear, "There is not enough memory.");
}

/* A place has all that there is of these; what it does not have is not known any more. */
static enum hear_said take_place(struct hear *hear, const cJSON *place)
{
    static const char *const names[] = {
        "activity", "height",      "height_nm", "last_height", "last_height_nm",
        "position", "position_nm", "count",     "age_ms",
    };
    if (!hear->status) {
        return HEAR_OTHER; /* the status is on its way */
    }
    if (word_of(place, "activity")[0] == '\0') {
        return useless(hear, "What answers there does not speak as the daemon does.");
    }
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const cJSON *item = member(place, names[i]);
        cJSON *copy = item ? cJSON_Duplicate(item, true) : NULL;
        cJSON_DeleteItemFromObjectCaseSensitive(hear->status, names[i]);
        if (item && (!copy || !cJSON_AddItemToObject(hear->status, names[i], copy))) {
            cJSON_Delete(copy);
            return useless(hear, "There is not enough memory.");
        }
    }
    return HEAR_LIFT;
}

/* --- Lines --- */

static enum hear_said take_notification(struct hear *hear, const cJSON *message)
{
    const char *method = word_of(message, "method");
    const cJSON *params = member(message, "params");
    if (strcmp(method, "changed") == 0) {
        return take_status(hear, params);
    }
    return strcmp(method, "position") == 0 ? take_place(hear, params) : HEAR_OTHER;
}

static enum hear_said take_hello(struct hear *hear, const cJSON *hello)
{
    const cJSON *major = member(hello, "major");
    if (!cJSON_IsNumber(major) || major->valuedouble != LOCAL_MAJOR) {
        return useless(hear, "The daemon speaks another version of the protocol. Install both from "
                             "one release, and start regletd again.");
    }
    if (hear->practice && !cJSON_IsTrue(member(hello, "practice"))) {
        return useless(hear, "A real lift answers, and you said --practice. Leave --practice out, "
                             "or start 'regletd --practice'.");
    }
    return HEAR_OTHER;
}

static enum hear_said take_error(struct hear *hear, const cJSON *error, int id)
{
    if (id >= HEAR_STOP_ID) {
        hear->stop = FACE_STOP_REFUSED;
        return HEAR_STOP;
    }
    const cJSON *code = member(error, "code");
    bool refused = cJSON_IsNumber(code) && code->valuedouble == LOCAL_REFUSED;
    return useless(hear, refused ? word_of(error, "message")
                                 : "The daemon is older than this readout and cannot be watched. "
                                   "Install both from one release, and start regletd again.");
}

static enum hear_said take_answer(struct hear *hear, const cJSON *message)
{
    const cJSON *number = member(message, "id");
    bool fits = cJSON_IsNumber(number) && number->valuedouble >= 0 && number->valuedouble < 1e9;
    int id = fits ? (int)number->valuedouble : 0;
    const cJSON *error = member(message, "error");
    if (error) {
        bool last = id < HEAR_STOP_ID || id == HEAR_STOP_ID + hear->stops - 1;
        return last ? take_error(hear, error, id) : HEAR_OTHER;
    }
    if (id == HEAR_HELLO_ID) {
        return take_hello(hear, member(message, "result"));
    }
    if (id == HEAR_WATCH_ID) {
        return take_status(hear, member(message, "result"));
    }
    if (id >= HEAR_STOP_ID && id == HEAR_STOP_ID + hear->stops - 1) {
        hear->stop = FACE_STOP_DONE;
        return HEAR_STOP;
    }
    return HEAR_OTHER;
}

enum hear_said hear_line(struct hear *hear, const char *line, size_t size)
{
    struct json_fault fault;
    cJSON *message = json_parse(line, size, &fault);
    bool ours = strcmp(word_of(message, "jsonrpc"), "2.0") == 0;
    enum hear_said said = !ours ? useless(hear, "What answers there does not speak as the "
                                                "daemon does.")
                          : member(message, "method") ? take_notification(hear, message)
                                                      : take_answer(hear, message);
    cJSON_Delete(message);
    return said;
}

/* --- Requests --- */

static char *print_request(int id, const char *method, cJSON *params, size_t *size)
{
    cJSON *request = local_request_new(id, method, params);
    char *text = local_print(request, size);
    cJSON_Delete(request);
    return text;
}

char *hear_greeting(size_t *size)
{
    cJSON *params = cJSON_CreateObject();
    size_t hello_size = 0;
    size_t watch_size = 0;
    char *both = NULL;
    if (!cJSON_AddStringToObject(params, "client", "reglet-readout")) {
        cJSON_Delete(params);
        return NULL;
    }
    char *hello = print_request(HEAR_HELLO_ID, "hello", params, &hello_size);
    char *watch = print_request(HEAR_WATCH_ID, "watch", NULL, &watch_size);
    *size = hello_size + watch_size;
    if (hello && watch && (both = cJSON_malloc(*size + 1)) != NULL) {
        memcpy(both, hello, hello_size);
        memcpy(both + hello_size, watch, watch_size + 1);
    }
    cJSON_free(hello);
    cJSON_free(watch);
    return both;
}

char *hear_stop_request(struct hear *hear, size_t *size)
{
    hear->stop = FACE_STOP_ASKED;
    return print_request(HEAR_STOP_ID + hear->stops++, "stop", NULL, size);
}

/* --- The face --- */

bool hear_lift(const struct hear *hear, struct face *face)
{
    const cJSON *riding = member(hear->status, "riding_nm");
    if (!show_read(hear->status, &face->lift)) {
        return false;
    }
    face->bit = word_of(hear->status, "bit");
    face->riding_known = cJSON_IsNumber(riding);
    face->riding_nm = face->riding_known ? (int64_t)riding->valuedouble : 0;
    return true;
}

void hear_end(struct hear *hear)
{
    cJSON_Delete(hear->status);
    hear->status = NULL;
    hear->stops = 0;
    if (hear->stop == FACE_STOP_ASKED) {
        hear->stop = FACE_STOP_UNANSWERED;
    }
}
