/* SPDX-License-Identifier: MIT */
/* A connection on which all that is answered and told is held against protocol/LOCAL.md. */
#ifndef REGLET_TESTS_RIG_PAGE_READER_H
#define REGLET_TESTS_RIG_PAGE_READER_H

#include <check.h>
#include <string.h>

#include "protocol/local.h"
#include "tests/rig/harness.h"
#include "tests/rig/page.h"
#include "tests/rig/page_lists.h"

enum { ROUNDS = 600 };

/* A connection that watches or not, and the page that all it hears is held against. */
struct reader {
    struct rig *rig;
    FILE *client;
    const char *page;
    struct table status;
    struct table place;
    int changes;
    int places;
};

/* What the page says of "position": `activity`, and what there is of some of the status' members,
 * as the status has them. */
static inline void read_place(struct reader *r)
{
    static struct table told;
    char name[NAMES_MAX][NAME_SIZE];
    int index = 0;
    ck_assert(page_table(page_section(r->page, "### watch"), "notification", &told));
    const struct row *row = page_row(&told, "position", &index);
    ck_assert_ptr_nonnull(row);
    const char *cell = row->cell[1];
    int names = page_words(cell, cell + strlen(cell), name, NAMES_MAX);
    ck_assert_int_ge(names, 8);
    for (int i = 0; i < names; i++) {
        const struct row *of_status = page_row(&r->status, name[i], &index);
        ck_assert_msg(of_status != NULL, "the status has no %s", name[i]);
        struct row *own = &r->place.row[r->place.rows++];
        *own = *of_status;
        own->names = 1;
        memcpy(own->name[0], name[i], NAME_SIZE);
        snprintf(own->cell[0], CELL_SIZE, "%s", i == 0 ? "yes" : "if there is one");
    }
}

static inline void reader_open(struct reader *r, struct rig *rig)
{
    *r = (struct reader){.rig = rig, .page = page_read()};
    r->client = rig_connect(rig);
    ck_assert(page_table(page_section(r->page, "### status"), "member", &r->status));
    read_place(r);
}

static inline void reader_close(struct reader *r)
{
    fclose(r->client);
}

/* --- What comes --- */

/* The status, and the story in it. */
static inline void check_status(struct reader *r, const cJSON *status, const char *what)
{
    page_check(status, &r->status, true, what);
    page_check_story(r->page, cJSON_GetObjectItem(status, "story"), &r->status);
}

static inline void check_told(struct reader *r, const cJSON *message)
{
    const char *method = cJSON_GetObjectItem(message, "method")->valuestring;
    const cJSON *params = cJSON_GetObjectItem(message, "params");
    bool place = strcmp(method, "position") == 0;
    ck_assert_msg(place || strcmp(method, "changed") == 0, "told of '%s'", method);
    if (place) {
        page_check(params, &r->place, true, method);
    } else {
        check_status(r, params, method);
    }
    r->places += place ? 1 : 0;
    r->changes += place ? 0 : 1;
}

/* Who answers with what, where the section has no table of it. All others: the status. */
static const struct shape {
    const char *method;
    enum shape_kind {
        SHAPE_PLACE,
        SHAPE_AS,
        SHAPE_LIST,
        SHAPE_ONE,
        SHAPE_ANY_ONE,
        SHAPE_WORDS
    } kind;
    const char *words; /* names of members, or of the method that answers alike */
} shapes[] = {
    {"renew", SHAPE_PLACE, NULL},
    {"calibrate", SHAPE_AS, "calibration"},
    {"presets", SHAPE_LIST, "presets"},
    {"bits", SHAPE_LIST, "bits"},
    {"rings", SHAPE_LIST, "rings"},
    {"stock", SHAPE_LIST, "stock"},
    {"pairs", SHAPE_LIST, "pairs"},
    {"keep", SHAPE_ONE, "presets"},
    {"keep-bit", SHAPE_ONE, "bits"},
    {"ground", SHAPE_ONE, "bits"},
    {"keep-ring", SHAPE_ONE, "rings"},
    {"keep-stock", SHAPE_ONE, "stock"},
    {"keep-pair", SHAPE_ONE, "pairs"},
    {"rename", SHAPE_ANY_ONE, NULL},
    {"forget", SHAPE_WORDS, "forgotten"},
    {"forget-bit", SHAPE_WORDS, "forgotten"},
    {"forget-ring", SHAPE_WORDS, "forgotten"},
    {"forget-stock", SHAPE_WORDS, "forgotten"},
    {"forget-pair", SHAPE_WORDS, "forgotten"},
    {"forget-story", SHAPE_WORDS, "forgotten"},
    {"stories", SHAPE_WORDS, "stories"},
    {"marks", SHAPE_WORDS, "list name marks from more"},
    {"keep-story", SHAPE_WORDS, "name marks"},
};

static inline void check_result(struct reader *r, const char *method, const cJSON *result)
{
    static struct table own;
    const struct shape *shape = NULL;
    for (size_t i = 0; i < sizeof shapes / sizeof *shapes; i++) {
        shape = strcmp(shapes[i].method, method) == 0 ? &shapes[i] : shape;
    }
    if (!shape && (strcmp(method, "status") == 0 ||
                   !page_table(page_method(r->page, method), "member", &own))) {
        check_status(r, result, method);
    } else if (!shape || shape->kind == SHAPE_AS) {
        ck_assert(page_table(page_method(r->page, shape ? shape->words : method), "member", &own));
        page_check(result, &own, true, method);
    } else if (shape->kind == SHAPE_PLACE) {
        page_check(result, &r->place, true, method);
    } else if (shape->kind == SHAPE_WORDS) {
        page_check_words(r->page, result, shape->words, method);
    } else {
        const char *list = shape->kind == SHAPE_ANY_ONE ? result->child->string : shape->words;
        page_check_list(r->page, result, list, shape->kind != SHAPE_LIST);
    }
}

/* A refusal's reason is on the page's closed list. */
static inline void check_refusal(struct reader *r, const char *method, const cJSON *error)
{
    static struct table reasons;
    int index = 0;
    const cJSON *data = cJSON_GetObjectItem(error, "data");
    const cJSON *reason = cJSON_GetObjectItem(data, "reason");
    const cJSON *message = cJSON_GetObjectItem(error, "message");
    ck_assert_msg(cJSON_GetObjectItem(error, "code")->valueint == LOCAL_REFUSED,
                  "%s was answered by: %s", method, message->valuestring);
    ck_assert(cJSON_IsString(message) && message->valuestring[0] != '\0');
    ck_assert(page_table(page_section(r->page, "## Errors"), "reason", &reasons));
    ck_assert(cJSON_IsString(reason));
    ck_assert_msg(page_row(&reasons, reason->valuestring, &index) != NULL,
                  "'%s' is not on the list of reasons", reason->valuestring);
    const cJSON *height = cJSON_GetObjectItem(data, "height_nm");
    ck_assert(!height || page_is_whole(height));
    ck_assert_int_eq(cJSON_GetArraySize(data), height ? 2 : 1);
}

static inline cJSON *next_message(struct reader *r)
{
    static char line[2 * LOCAL_LINE_MAX];
    ck_assert_msg(fgets(line, sizeof line, r->client) != NULL, "the daemon hung up");
    cJSON *message = cJSON_Parse(line);
    ck_assert_msg(message != NULL, "no JSON: %s", line);
    ck_assert_str_eq(cJSON_GetObjectItem(message, "jsonrpc")->valuestring, "2.0");
    return message;
}

/* The answer, if it has come without time going on; what is told meanwhile is checked. */
static inline cJSON *answer_so_far(struct reader *r, int id)
{
    cJSON *answer = NULL;
    (void)dprintf(fileno(r->client), "{\"jsonrpc\":\"2.0\",\"id\":\"so far\",\"method\":"
                                     "\"hello\"}\n");
    for (;;) {
        cJSON *message = next_message(r);
        const cJSON *answered = cJSON_GetObjectItem(message, "id");
        if (cJSON_IsNumber(answered) && answered->valueint == id) {
            ck_assert_ptr_null(answer);
            answer = message;
            continue;
        }
        bool last = cJSON_IsString(answered);
        ck_assert_msg(last || !answered, "an answer that nobody waits for");
        if (!answered) {
            check_told(r, message);
        }
        cJSON_Delete(message);
        if (last) {
            return answer;
        }
    }
}

/* Sends one request's line, lets time go on as far as needed, and checks the answer against the
 * page. The caller deletes it. */
static inline cJSON *ask(struct reader *r, const char *line)
{
    cJSON *request = cJSON_Parse(line);
    ck_assert_ptr_nonnull(request);
    const char *method = cJSON_GetObjectItem(request, "method")->valuestring;
    int id = cJSON_GetObjectItem(request, "id")->valueint;
    ck_assert_int_gt(dprintf(fileno(r->client), "%s\n", line), 0);
    cJSON *answer = answer_so_far(r, id);
    for (int round = 0; round < ROUNDS && !answer; round++) {
        rig_tell(r->rig, "run-rest 200");
        answer = answer_so_far(r, id);
    }
    ck_assert_msg(answer != NULL, "%s is not answered", method);
    const cJSON *result = cJSON_GetObjectItem(answer, "result");
    const cJSON *error = cJSON_GetObjectItem(answer, "error");
    ck_assert_int_eq(cJSON_GetArraySize(answer), 3);
    ck_assert((result != NULL) != (error != NULL));
    if (result) {
        check_result(r, method, result);
    } else {
        check_refusal(r, method, error);
    }
    cJSON_Delete(request);
    return answer;
}

static inline void ask_done(struct reader *r, const char *method, const char *params)
{
    char line[512];
    snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"id\":%d,\"method\":\"%s\",\"params\":%s}",
             ++r->rig->next_id, method, params);
    cJSON *answer = ask(r, line);
    ck_assert_msg(rig_done(answer), "%s was refused: %s", line, rig_reason(answer));
    cJSON_Delete(answer);
}

#endif
