/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "clients/common/show_log.h"
#include "clients/common/words.h"
#include "clients/reglet/run.h"

enum { STAMP_SIZE = 24, WEEK_DAYS = 7 };

/* What is wanted of the log. */
struct span {
    char from[STAMP_SIZE]; /* as the daemon takes it */
    time_t end;            /* not from here on; 0: to the end */
};

/* Local midnight, `days` from that of `time`. */
static time_t midnight(time_t time, int days)
{
    struct tm parts;
    if (!localtime_r(&time, &parts)) {
        return time;
    }
    parts.tm_hour = parts.tm_min = parts.tm_sec = 0;
    parts.tm_mday += days;
    parts.tm_isdst = -1;
    return mktime(&parts);
}

static void from_time(struct span *span, time_t from)
{
    struct tm parts;
    if (!gmtime_r(&from, &parts) ||
        strftime(span->from, sizeof span->from, "%Y-%m-%dT%H:%M:%SZ", &parts) == 0) {
        span->from[0] = '\0';
    }
}

/* A day as it is written: 2026-01-31. */
static bool read_day(const char *word, time_t *day)
{
    struct tm parts = {.tm_isdst = -1};
    const char *end = strptime(word, "%Y-%m-%d", &parts);
    *day = end && *end == '\0' ? mktime(&parts) : -1;
    return *day != -1;
}

static bool read_span(const struct run *run, struct span *span)
{
    time_t day = time(NULL);
    const char *word = run->count > 0 ? run->word[0] : "today";
    *span = (struct span){.end = 0};
    if (run->count > 1) {
        return false;
    }
    if (strcmp(word, "all") == 0) {
        return true;
    }
    if (strcmp(word, "today") == 0 || strcmp(word, "week") == 0) {
        from_time(span, midnight(day, word[0] == 'w' ? 1 - WEEK_DAYS : 0));
        return true;
    }
    if (strcmp(word, "yesterday") == 0) {
        day = midnight(day, -1);
    } else if (!read_day(word, &day)) {
        return false;
    }
    from_time(span, midnight(day, 0));
    span->end = midnight(day, 1);
    return true;
}

static bool is_past(const cJSON *line, time_t end)
{
    time_t when;
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(line, "time");
    return end != 0 && cJSON_IsString(item) && show_log_time(item->valuestring, &when) &&
           when >= end;
}

/* Line by line: together they may be longer than one text. *more turns false past the end. */
static void show_lines(const struct span *span, const cJSON *lines, struct show_log *log, bool *any,
                       bool *more)
{
    const cJSON *line;
    cJSON_ArrayForEach(line, lines)
    {
        struct say say = {0};
        if (is_past(line, span->end)) {
            *more = false;
            return;
        }
        show_log_line(&say, log, line);
        *any = *any || cJSON_GetArraySize(line) > 0;
        run_print(&say);
    }
}

static cJSON *page_params(const struct span *span, int skip)
{
    cJSON *params = words_params_text("from", span->from);
    if (params && !cJSON_AddNumberToObject(params, "skip", skip)) {
        cJSON_Delete(params);
        return NULL;
    }
    return params;
}

static enum client_exit show_page(struct run *run, const struct span *span, int *skip,
                                  struct show_log *log, bool *any, bool *more)
{
    struct client_answer answer = {0};
    cJSON *params = page_params(span, *skip);
    enum client_exit code =
        params ? run_call(run, "log", params, &answer) : run_trouble(run, CLIENT_NO_MEMORY);
    *more = false;
    if (code == CLIENT_DONE && (run->json || answer.error)) {
        code = run_tell(run, &answer);
    }
    if (code == CLIENT_DONE && answer.result) {
        const cJSON *lines = cJSON_GetObjectItemCaseSensitive(answer.result, "lines");
        *more = cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(answer.result, "more"));
        *skip += cJSON_GetArraySize(lines);
        if (!run->json) {
            show_lines(span, lines, log, any, more);
        }
    }
    client_answer_free(&answer);
    return code;
}

static enum client_exit show_span(struct run *run, const struct span *span)
{
    static struct show_log log;
    struct say say = {0};
    int skip = 0;
    bool any = false;
    bool more = true;
    log.style = run->style;
    enum client_exit code = run_connect(run);
    while (code == CLIENT_DONE && more) {
        code = show_page(run, span, &skip, &log, &any, &more);
    }
    if (code == CLIENT_DONE && !run->json) {
        show_log_end(&say, &log);
        say_add(&say, "%s", any ? "" : "Nothing is in the log of that time.\n");
        run_print(&say);
    }
    return code;
}

static enum client_exit show_surface(struct run *run)
{
    struct say say = {0};
    struct client_answer answer = {0};
    enum client_exit code = run_ask(run, "surface", NULL, &answer);
    if (code == CLIENT_DONE && (run->json || answer.error)) {
        code = run_tell(run, &answer);
    } else if (code == CLIENT_DONE) {
        const cJSON *points = cJSON_GetObjectItemCaseSensitive(answer.result, "points");
        if (cJSON_GetArraySize(points) == 0) {
            say_wrap(&say, "", 0,
                     "Nothing is known of the table's surface through the seasons yet. Keep a "
                     "plain pin as a bit of the kind pin, put it in to the same shoulder each "
                     "time, and touch it off with the top found.");
        } else {
            say_add(&say, "The table's surface, by touch-offs with a plain pin:\n");
            show_log_surface(&say, points, run->style);
        }
        run_print(&say);
    }
    client_answer_free(&answer);
    return code;
}

static enum client_exit carry_out(struct run *run)
{
    struct span span;
    if (run->count == 1 && strcmp(run->word[0], "surface") == 0) {
        return show_surface(run);
    }
    if (!read_span(run, &span)) {
        return run_usage(run, "log can be of today, yesterday, week, all, or a day such as "
                              "2026-01-31; or surface");
    }
    return show_span(run, &span);
}

const struct command command_log = {
    "log",
    "[today|yesterday|week|all|DAY|surface]",
    "tell what happened",
    "Without a word: today. A DAY is written as 2026-01-31. 'surface': how the table's surface "
    "moved through the seasons, by touch-offs with a plain pin: a bit of the kind pin, put in to "
    "the same shoulder each time, touched off while the top is known.",
    carry_out,
    NULL};
