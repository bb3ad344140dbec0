/* SPDX-License-Identifier: MIT */
/* Statuses of the shape that regletd answers, and what is shown of them. */
#ifndef REGLET_TESTS_UNIT_CLIENT_SCREEN_H
#define REGLET_TESTS_UNIT_CLIENT_SCREEN_H

#include <check.h>
#include <string.h>

#include "clients/common/show.h"
#include "protocol/json.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* Reads `json`; the caller deletes the document, from which *lift borrows. */
static inline cJSON *read_status(const char *json, struct show_lift *lift)
{
    struct json_fault fault = {0};
    cJSON *status = json_parse(json, strlen(json), &fault);
    ck_assert_msg(status != NULL, "%s: %s", json, fault.text);
    ck_assert_msg(show_read(status, lift), "%s", json);
    return status;
}

#define STILL "\"activity\":\"still\",\"stop_open\":false,\"count\":9261,\"age_ms\":94"
#define SURE "\"table_zero\":\"sure\",\"height\":\"9.525mm\",\"height_nm\":9525000"

/* A status, and what is shown of it. */
struct screen {
    const char *json;
    enum length_style style;
    const char *text;
};

static inline void check_screen(const struct screen *screen,
                                void (*show)(struct say *, const struct show_lift *,
                                             enum length_style))
{
    struct say say = {0};
    struct show_lift lift;
    cJSON *status = read_status(screen->json, &lift);
    show(&say, &lift, screen->style);
    ck_assert_str_eq(say.text, screen->text);
    cJSON_Delete(status);
}

#endif
