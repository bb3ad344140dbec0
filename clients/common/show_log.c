/* SPDX-License-Identifier: MIT */
#include "clients/common/show_log.h"

#include <stdio.h>
#include <string.h>

enum { NEAR_S = 120, TIME_COLUMNS = 9, CLOCK_SIZE = 16 };

bool show_log_time(const char *text, time_t *time)
{
    struct tm parts = {0};
    const char *end = strptime(text, "%Y-%m-%dT%H:%M:%SZ", &parts);
    *time = end && *end == '\0' ? timegm(&parts) : -1;
    return *time >= 0;
}

static const char *text_of(const cJSON *line, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(line, name);
    return cJSON_IsString(item) ? item->valuestring : NULL;
}

static bool nm_of(const cJSON *line, const char *name, int64_t *nm)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(line, name);
    *nm = cJSON_IsNumber(item) ? (int64_t)item->valuedouble : 0;
    return cJSON_IsNumber(item);
}

static void add_height(struct say *say, const cJSON *line, enum length_style style,
                       const char *before)
{
    int64_t nm;
    char text[SAY_LENGTH_SIZE];
    if (nm_of(line, "height_nm", &nm)) {
        say_both(nm, style, text, sizeof text);
        say_add(say, "%s%s", before, text);
    }
}

/* "(by reglet-pedal)", where it was not this program. */
static void add_who(struct say *say, const cJSON *line)
{
    const char *who = text_of(line, "who");
    if (who && strcmp(who, "reglet") != 0) {
        say_add(say, " (by ");
        say_harmless(say, who);
        say_add(say, ")");
    }
}

/* "its zero .002in higher than before" */
static void add_moved(struct say *say, const cJSON *line, enum length_style style)
{
    int64_t nm;
    char text[LENGTH_TEXT_SIZE + 2];
    if (!nm_of(line, "moved_nm", &nm)) {
        return;
    }
    say_length(nm < 0 ? -nm : nm, say_small_style(style), text, sizeof text);
    say_add(say, say_is_zero(nm) ? "; its zero is where it was" : "; its zero is %s %s than before",
            text, nm < 0 ? "lower" : "higher");
}

static void say_touched(struct say *say, const cJSON *line, enum length_style style)
{
    const char *bit = text_of(line, "bit");
    say_add(say, "Touched off");
    if (bit) {
        say_add(say, " '");
        say_harmless(say, bit);
        say_add(say, "'");
    }
    add_height(say, line, style, ": it stood at ");
    add_moved(say, line, style);
    say_add(say, ".");
}

static void say_fitted(struct say *say, const cJSON *line)
{
    const char *bit = text_of(line, "bit");
    say_add(say, "Fitted ");
    say_harmless(say, bit ? bit : "a bit without a name");
    say_add(say, ".");
}

static void say_riding(struct say *say, const cJSON *line, enum length_style style)
{
    int64_t nm;
    char text[SAY_LENGTH_SIZE];
    if (nm_of(line, "riding_nm", &nm)) {
        say_both(nm, style, text, sizeof text);
        say_add(say, "The work rides on %s from here on.", text);
    } else {
        say_add(say, "The work lies on the table itself from here on.");
    }
}

static void say_corrected(struct say *say, const cJSON *line, enum length_style style)
{
    int64_t by_nm;
    int64_t height_nm;
    char text[SAY_LENGTH_SIZE];
    (void)nm_of(line, "by_nm", &by_nm);
    say_length(by_nm < 0 ? -by_nm : by_nm, say_small_style(style), text, sizeof text);
    say_add(say, "Corrected by a test cut: the bit %s %s", text, by_nm < 0 ? "lower" : "higher");
    if (nm_of(line, "height_nm", &height_nm)) {
        /* The line was written when the zero had moved and the bit had not. */
        say_both(height_nm + by_nm, style, text, sizeof text);
        say_add(say, ", and still called %s", text);
    }
    say_add(say, ".");
}

/* Events that one sentence says. */
static const char *plain(const char *event)
{
    static const char *const sentences[][2] = {
        {"correction-undone", "Took the correction back."},
        {"top-found", "Found the top."},
        {"calibrated", "What was measured of the screw was taken over."},
        {"all-clear", "All clear: it may move again."},
        {"power-lost", "The step generator lost its supply."},
    };
    for (size_t i = 0; i < sizeof sentences / sizeof *sentences; i++) {
        if (strcmp(event, sentences[i][0]) == 0) {
            return sentences[i][1];
        }
    }
    return NULL;
}

static void say_event(struct say *say, const cJSON *line, const char *event,
                      enum length_style style)
{
    const char *what = text_of(line, "what");
    if (strcmp(event, "touched-off") == 0) {
        say_touched(say, line, style);
    } else if (strcmp(event, "fitted") == 0) {
        say_fitted(say, line);
    } else if (strcmp(event, "riding") == 0) {
        say_riding(say, line, style);
    } else if (strcmp(event, "corrected") == 0) {
        say_corrected(say, line, style);
    } else if (strcmp(event, "confirmed") == 0) {
        say_add(say, "Compared and confirmed");
        add_height(say, line, style, ": ");
        say_add(say, ".");
    } else if (plain(event)) {
        say_add(say, "%s", plain(event));
    } else {
        bool refused = strcmp(event, "refused") == 0;
        say_add(say, refused ? "Refused: " : "");
        say_harmless(say, what ? what : event);
    }
    add_who(say, line);
}

static void say_move(struct say *say, const cJSON *line, enum length_style style)
{
    const char *preset = text_of(line, "preset");
    add_height(say, line, style, " to ");
    if (preset) {
        say_add(say, ", ");
        say_harmless(say, preset);
    }
    say_add(say, ".");
    add_who(say, line);
}

/* The day, once; in local time. */
static void head_day(struct say *say, struct show_log *log, time_t time)
{
    char text[48];
    struct tm parts;
    if (!localtime_r(&time, &parts) ||
        (log->year == parts.tm_year + 1900 && log->day == parts.tm_yday)) {
        return;
    }
    log->year = parts.tm_year + 1900;
    log->day = parts.tm_yday;
    if (strftime(text, sizeof text, "%A, %Y-%m-%d", &parts) > 0) {
        say_add(say, "%s\n", text);
    }
}

static void put(struct say *say, struct show_log *log, time_t time, const char *sentence)
{
    char clock[CLOCK_SIZE];
    struct tm parts;
    head_day(say, log, time);
    if (!localtime_r(&time, &parts) || strftime(clock, sizeof clock, "  %H:%M", &parts) == 0) {
        clock[0] = '\0';
    }
    say_paragraph(say, clock, TIME_COLUMNS, sentence);
}

void show_log_end(struct say *say, struct show_log *log)
{
    struct say sentence = {0};
    if (log->moves == 0) {
        return;
    }
    if (log->moves == 1) {
        say_add(&sentence, "Moved%s", log->pending.text);
    } else {
        bool somewhere = strncmp(log->pending.text, " to ", 4) == 0;
        say_add(&sentence, "Moved %d times%s%s", log->moves, somewhere ? ", at last" : "",
                log->pending.text);
    }
    log->moves = 0;
    put(say, log, log->moved, sentence.text);
}

void show_log_line(struct say *say, struct show_log *log, const cJSON *line)
{
    time_t time;
    struct say sentence = {0};
    const char *event = text_of(line, "event");
    const char *text = text_of(line, "time");
    if (!event || !text || !show_log_time(text, &time)) {
        return;
    }
    if (strcmp(event, "reached") == 0) {
        if (log->moves > 0 && time - log->moved > NEAR_S) {
            show_log_end(say, log);
        }
        say_move(&sentence, line, log->style);
        log->pending = sentence;
        log->moved = time;
        log->moves++;
        return;
    }
    show_log_end(say, log);
    say_event(&sentence, line, event, log->style);
    put(say, log, time, sentence.text);
}

void show_log_surface(struct say *say, const cJSON *points, enum length_style style)
{
    const cJSON *item;
    int64_t first_nm = 0;
    bool any = false;
    cJSON_ArrayForEach(item, points)
    {
        int64_t nm;
        time_t time;
        char day[CLOCK_SIZE];
        char text[LENGTH_TEXT_SIZE + 2];
        struct tm parts;
        const char *when = text_of(item, "time");
        const char *pin = text_of(item, "pin");
        if (!when || !pin || !nm_of(item, "position_nm", &nm) || !show_log_time(when, &time) ||
            !localtime_r(&time, &parts) || strftime(day, sizeof day, "%Y-%m-%d", &parts) == 0) {
            continue;
        }
        first_nm = any ? first_nm : nm;
        say_length(nm < first_nm ? first_nm - nm : nm - first_nm, say_small_style(style), text,
                   sizeof text);
        say_add(say, "  %s   ", day);
        say_harmless(say, pin);
        if (!any) {
            say_add(say, "   the first: what the others are compared with\n");
        } else if (say_is_zero(nm - first_nm)) {
            say_add(say, "   where it was\n");
        } else {
            say_add(say, "   %s %s\n", text, nm < first_nm ? "lower" : "higher");
        }
        any = true;
    }
}
