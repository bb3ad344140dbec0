/* SPDX-License-Identifier: MIT */
/* What the tests of the shop's lists share: asking, and the file that they are kept in. */
#ifndef REGLET_TESTS_RIG_SHOP_RIG_H
#define REGLET_TESTS_RIG_SHOP_RIG_H

#include <stdlib.h>
#include <string.h>

#include "tests/rig/expect.h"
#include "tests/rig/harness.h"

/* The result, which must be one; the caller deletes it. */
static inline cJSON *ask(struct rig *rig, const char *method, const char *params)
{
    cJSON *answer = rig_call(rig, method, params);
    char *text = cJSON_PrintUnformatted(answer);
    ck_assert_msg(rig_done(answer), "%s %s: %s", method, params ? params : "", text);
    cJSON_free(text);
    cJSON *result = cJSON_DetachItemFromObject(answer, "result");
    cJSON_Delete(answer);
    return result;
}

/* Refused for its parameters, in a sentence that says `part`. */
static inline void expect_wrong(cJSON *answer, const char *part)
{
    const cJSON *error = cJSON_GetObjectItem(answer, "error");
    ck_assert_ptr_nonnull(error);
    ck_assert_int_eq(cJSON_GetObjectItem(error, "code")->valueint, -32602);
    const char *said = cJSON_GetObjectItem(error, "message")->valuestring;
    ck_assert_msg(strstr(said, part) != NULL, "%s", said);
    cJSON_Delete(answer);
}

/* The same by a reason. */
static inline void expect_said(cJSON *answer, const char *reason, const char *part)
{
    const cJSON *error = cJSON_GetObjectItem(answer, "error");
    ck_assert_str_eq(rig_reason(answer), reason);
    const char *said = cJSON_GetObjectItem(error, "message")->valuestring;
    ck_assert_msg(strstr(said, part) != NULL, "%s", said);
    cJSON_Delete(answer);
}

/* The list as text without blanks, compared as it is. */
static inline void expect_list(struct rig *rig, const char *method, const char *params,
                               const char *items)
{
    cJSON *result = ask(rig, method, params);
    char *text = cJSON_PrintUnformatted(cJSON_GetObjectItem(result, method));
    ck_assert_str_eq(text, items);
    ck_assert(cJSON_IsFalse(cJSON_GetObjectItem(result, "more")));
    cJSON_free(text);
    cJSON_Delete(result);
}

static inline void start_again(struct rig *rig, int signal_number)
{
    rig_end_daemon(rig, signal_number);
    rig_start_daemon(rig);
    rig_run(rig, 1000);
}

static inline void write_shop(const struct rig *rig, const char *text)
{
    char path[200];
    snprintf(path, sizeof path, "%s/shop.json", rig->folder);
    FILE *file = fopen(path, "we");
    ck_assert_ptr_nonnull(file);
    fputs(text, file);
    ck_assert_int_eq(fclose(file), 0);
}

/* The caller frees it; NULL when there is no such file. */
static inline char *read_file(const struct rig *rig, const char *name)
{
    char path[200];
    enum { SIZE = 1 << 20 };
    snprintf(path, sizeof path, "%s/%s", rig->folder, name);
    FILE *file = fopen(path, "re");
    if (!file) {
        return NULL;
    }
    char *text = calloc(1, SIZE);
    ck_assert_ptr_nonnull(text);
    ck_assert_uint_lt(fread(text, 1, SIZE - 1, file), SIZE - 1);
    fclose(file);
    return text;
}

#endif
