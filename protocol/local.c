/* SPDX-License-Identifier: MIT */
#include "protocol/local.h"

#include <inttypes.h>
#include <locale.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double integer_max = 9007199254740991.0; /* 2^53 - 1 */

bool local_line_open(struct local_line *line, const char *text, size_t size)
{
    *line = (struct local_line){.document = NULL};
    line->document = json_parse(text, size, &line->fault);
    if (line->document == NULL) {
        return false;
    }
    int count = cJSON_IsArray(line->document) ? cJSON_GetArraySize(line->document) : 0;
    line->batch = count > 0 && count <= LOCAL_BATCH_MAX;
    line->count = line->batch ? (size_t)count : 1;
    return true;
}

void local_line_close(struct local_line *line)
{
    cJSON_Delete(line->document);
    line->document = NULL;
    line->count = 0;
}

static bool is_id(const cJSON *item)
{
    return cJSON_IsString(item) || cJSON_IsNumber(item) || cJSON_IsNull(item);
}

static bool is_structured(const cJSON *item)
{
    return cJSON_IsObject(item) || cJSON_IsArray(item);
}

/* The four members of a request object, NULL where absent. */
struct members {
    const cJSON *jsonrpc;
    const cJSON *method;
    const cJSON *params;
    const cJSON *id;
};

/* False when there is another member. A name stands once: json_scan saw to that. */
static bool find_members(const cJSON *object, struct members *members)
{
    bool known = true;
    const cJSON *member;
    cJSON_ArrayForEach(member, object)
    {
        if (strcmp(member->string, "jsonrpc") == 0) {
            members->jsonrpc = member;
        } else if (strcmp(member->string, "method") == 0) {
            members->method = member;
        } else if (strcmp(member->string, "params") == 0) {
            members->params = member;
        } else if (strcmp(member->string, "id") == 0) {
            members->id = member;
        } else {
            known = false;
        }
    }
    return known;
}

/* What keeps these members from being a request; NULL when nothing does. */
static const char *members_fault(const struct members *members)
{
    const char *version = cJSON_GetStringValue(members->jsonrpc);
    if (version == NULL || strcmp(version, "2.0") != 0) {
        return "\"jsonrpc\" must be there and exactly \"2.0\"";
    }
    if (!cJSON_IsString(members->method)) {
        return "\"method\" must be there and a string";
    }
    if (members->params != NULL && !is_structured(members->params)) {
        return "\"params\" must be an object or an array, or left out";
    }
    if (members->id != NULL && !is_id(members->id)) {
        return "\"id\" must be a string, a number or null, or left out";
    }
    return NULL;
}

void local_line_request(const struct local_line *line, size_t index, struct local_request *request)
{
    *request = (struct local_request){.valid = false};
    const cJSON *item = line->document;
    if (line->batch) {
        item = cJSON_GetArrayItem(item, (int)index);
    } else if (cJSON_IsArray(item)) {
        _Static_assert(LOCAL_BATCH_MAX == 64, "the sentence says so");
        request->why = "a batch must hold at least 1 request and at most 64";
        return;
    }
    if (!cJSON_IsObject(item)) {
        request->why = "a request must be an object";
        return;
    }
    struct members members = {.id = NULL};
    bool known = find_members(item, &members);
    request->id = is_id(members.id) ? members.id : NULL;
    request->why = members_fault(&members);
    if (request->why == NULL && !known) {
        request->why = "a request can have the members jsonrpc, method, params and id, and no more";
    }
    request->valid = request->why == NULL;
    if (request->valid) {
        request->notification = members.id == NULL;
        request->method = cJSON_GetStringValue(members.method);
        request->params = members.params;
    }
}

/* Adds `item` under a name that outlives the object. Takes item over whatever comes of it; false
 * when either is NULL, so that one check at the end serves for a whole message. */
static bool put(cJSON *object, const char *name, cJSON *item)
{
    if (cJSON_AddItemToObjectCS(object, name, item)) {
        return true;
    }
    cJSON_Delete(item);
    return false;
}

static cJSON *finish(cJSON *message, bool complete)
{
    if (complete) {
        return message;
    }
    cJSON_Delete(message);
    return NULL;
}

cJSON *local_integer(int64_t value)
{
    char text[24];
    (void)snprintf(text, sizeof text, "%" PRId64, value);
    return cJSON_CreateRaw(text);
}

/* The shortest digits that read back as the same number; cJSON settles for one unit in the last
 * place less. */
static cJSON *exact_number(double value)
{
    char text[40];
    bool negative_zero = value == 0 && signbit(value);
    if (value == trunc(value) && fabs(value) <= integer_max && !negative_zero) {
        return local_integer((int64_t)value);
    }
    int digits = 15;
    do {
        (void)snprintf(text, sizeof text, "%.*g", digits, value);
    } while (strtod(text, NULL) != value && ++digits <= 17);
    char *point = strchr(text, *localeconv()->decimal_point);
    if (point != NULL) {
        *point = '.';
    }
    return cJSON_CreateRaw(text);
}

static cJSON *copy_id(const cJSON *id)
{
    if (cJSON_IsNumber(id)) {
        return exact_number(id->valuedouble);
    }
    if (cJSON_IsRaw(id)) { /* the id of a message that was put together here */
        return cJSON_CreateRaw(id->valuestring);
    }
    return cJSON_IsString(id) ? cJSON_CreateString(id->valuestring) : cJSON_CreateNull();
}

static bool put_version(cJSON *message)
{
    return put(message, "jsonrpc", cJSON_CreateStringReference("2.0"));
}

cJSON *local_answer(const cJSON *id, cJSON *result)
{
    cJSON *answer = cJSON_CreateObject();
    bool complete = put_version(answer);
    complete = put(answer, "id", copy_id(id)) && complete;
    complete = put(answer, "result", result) && complete;
    return finish(answer, complete);
}

cJSON *local_error(const cJSON *id, int code, const char *message, cJSON *data)
{
    cJSON *error = cJSON_CreateObject();
    bool complete = put(error, "code", cJSON_CreateNumber(code));
    complete = put(error, "message", cJSON_CreateString(message)) && complete;
    complete = (data == NULL || put(error, "data", data)) && complete;
    cJSON *answer = cJSON_CreateObject();
    complete = put_version(answer) && complete;
    complete = put(answer, "id", copy_id(id)) && complete;
    complete = put(answer, "error", error) && complete;
    return finish(answer, complete);
}

/* `id` is taken over; NULL with `answered` is memory that was short. */
static cJSON *request_new(bool answered, cJSON *id, const char *method, cJSON *params)
{
    cJSON *request = cJSON_CreateObject();
    bool complete = put_version(request);
    complete = (!answered || put(request, "id", id)) && complete;
    complete = put(request, "method", cJSON_CreateString(method)) && complete;
    complete = (params == NULL || put(request, "params", params)) && complete;
    return finish(request, complete);
}

cJSON *local_request_new(double id, const char *method, cJSON *params)
{
    return request_new(true, exact_number(id), method, params);
}

cJSON *local_notification_new(const char *method, cJSON *params)
{
    return request_new(false, NULL, method, params);
}

char *local_print(const cJSON *message, size_t *size)
{
    *size = 0;
    char *text = message == NULL ? NULL : cJSON_PrintBuffered(message, 1024, false);
    if (text == NULL) {
        return NULL;
    }
    size_t length = strlen(text);
    char *line = cJSON_malloc(length + 2);
    if (line != NULL) {
        memcpy(line, text, length + 1);
        line[length] = '\n';
        line[length + 1] = '\0';
        *size = length + 1;
    }
    cJSON_free(text);
    return line;
}

/* Where the next one goes. */
static char *append(char *at, const char *bytes, size_t size)
{
    memcpy(at, bytes, size);
    return at + size;
}

char *local_answer_line(const cJSON *id, const char *result, size_t result_size, size_t *size)
{
    static const char before[] = "{\"jsonrpc\":\"2.0\",\"id\":";
    static const char between[] = ",\"result\":";
    static const char behind[] = "}\n";
    *size = 0;
    cJSON *copy = result ? copy_id(id) : NULL;
    char *printed = cJSON_IsString(copy) ? cJSON_PrintUnformatted(copy) : NULL;
    const char *id_text = cJSON_IsRaw(copy)    ? copy->valuestring
                          : cJSON_IsNull(copy) ? "null"
                                               : printed;
    size_t id_size = id_text ? strlen(id_text) : 0;
    size_t whole = sizeof before + id_size + sizeof between + result_size + sizeof behind - 3;
    char *line = id_text ? cJSON_malloc(whole + 1) : NULL;
    if (line) {
        char *at = append(line, before, sizeof before - 1);
        at = append(at, id_text, id_size);
        at = append(at, between, sizeof between - 1);
        at = append(at, result, result_size);
        append(at, behind, sizeof behind);
        *size = whole;
    }
    cJSON_Delete(copy);
    cJSON_free(printed);
    return line;
}

void local_plain(char *sentence)
{
    for (char *at = sentence; *at != '\0'; at++) {
        *at = *at >= 0x20 && *at < 0x7f ? *at : '?';
    }
}

/* Where a sentence goes; cut at `size` rather than spilt. */
struct sentence {
    char *text;
    size_t size;
};

/* Always false, so that it can be returned. A request can name anything, so what is no printable
 * ASCII becomes '?'. */
REGLET_PRINTF(2, 3)
static bool refuse(struct sentence why, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(why.text, why.size, format, arguments);
    va_end(arguments);
    local_plain(why.text);
    return false;
}

static size_t shape_count(const struct local_param *shape)
{
    size_t count = 0;
    while (shape[count].name != NULL) {
        count++;
    }
    return count;
}

/* "height, wait", or "none". */
struct takes {
    char text[400];
};

static struct takes shape_takes(const struct local_param *shape)
{
    struct takes takes = {.text = "none"};
    size_t used = 0;
    for (size_t i = 0; shape[i].name != NULL && used < sizeof takes.text; i++) {
        int length = snprintf(takes.text + used, sizeof takes.text - used, "%s%s",
                              i == 0 ? "" : ", ", shape[i].name);
        used += length > 0 ? (size_t)length : 0;
    }
    return takes;
}

static const char *type_wanted(enum local_type type)
{
    switch (type) {
    case LOCAL_STRING:
        return "a string";
    case LOCAL_INTEGER:
        return "a whole number within 9007199254740991 either way";
    case LOCAL_ARRAY:
        return "an array";
    case LOCAL_OBJECT:
        return "an object";
    case LOCAL_BOOLEAN:
        break;
    }
    return "true or false";
}

static const char *type_found(const cJSON *item)
{
    return cJSON_IsString(item)   ? "a string"
           : cJSON_IsNumber(item) ? "a number"
           : cJSON_IsBool(item)   ? "true or false"
           : cJSON_IsObject(item) ? "an object"
           : cJSON_IsArray(item)  ? "an array"
                                  : "null";
}

static bool has_type(const cJSON *item, enum local_type type)
{
    switch (type) {
    case LOCAL_STRING:
        return cJSON_IsString(item);
    case LOCAL_INTEGER:
        return cJSON_IsNumber(item) && item->valuedouble == trunc(item->valuedouble) &&
               fabs(item->valuedouble) <= integer_max;
    case LOCAL_ARRAY:
        return cJSON_IsArray(item);
    case LOCAL_OBJECT:
        return cJSON_IsObject(item);
    case LOCAL_BOOLEAN:
        break;
    }
    return cJSON_IsBool(item);
}

static bool find_by_position(const cJSON *params, const struct local_param *shape,
                             const cJSON *found[], struct sentence why)
{
    size_t count = (size_t)cJSON_GetArraySize(params);
    size_t most = shape_count(shape);
    if (count > most && most == 0) {
        return refuse(why, "Found %zu parameters; none would do.", count);
    }
    if (count > most) {
        return refuse(why, "Found %zu parameters; at most %zu would do.", count, most);
    }
    const cJSON *item;
    size_t i = 0;
    cJSON_ArrayForEach(item, params)
    {
        found[i++] = item;
    }
    return true;
}

static bool find_by_name(const cJSON *params, const struct local_param *shape, const cJSON *found[],
                         struct sentence why)
{
    const cJSON *item;
    cJSON_ArrayForEach(item, params)
    {
        size_t i = 0;
        while (shape[i].name != NULL && strcmp(shape[i].name, item->string) != 0) {
            i++;
        }
        if (shape[i].name == NULL) {
            return refuse(why, "Found a parameter '%.32s'; %s would do.", item->string,
                          shape_takes(shape).text);
        }
        found[i] = item;
    }
    return true;
}

bool local_params(const cJSON *params, const struct local_param *shape, const cJSON *found[],
                  char *why, size_t why_size)
{
    struct sentence sentence = {.text = why, .size = why_size};
    for (size_t i = 0; shape[i].name != NULL; i++) {
        found[i] = NULL;
    }
    if (params != NULL && !is_structured(params)) {
        return refuse(
            sentence,
            "Found %s for the parameters; an object with their names, or an array, would do.",
            type_found(params));
    }
    if (cJSON_IsArray(params) ? !find_by_position(params, shape, found, sentence)
                              : !find_by_name(params, shape, found, sentence)) {
        return false;
    }
    for (size_t i = 0; shape[i].name != NULL; i++) {
        if (found[i] == NULL && shape[i].required) {
            return refuse(sentence, "Found no '%s'; %s would do.", shape[i].name,
                          type_wanted(shape[i].type));
        }
        if (found[i] != NULL && !has_type(found[i], shape[i].type)) {
            return refuse(sentence, "Found %s for '%s'; %s would do.", type_found(found[i]),
                          shape[i].name, type_wanted(shape[i].type));
        }
    }
    return true;
}
