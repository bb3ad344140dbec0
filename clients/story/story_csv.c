/* SPDX-License-Identifier: MIT */
/* A story as CSV (RFC 4180): the first row names the columns, one mark a row. */
#include <string.h>

#include "clients/story/story_parts.h"

static const char *const columns[] = {"height", "bit",    "words", "fence", "part",
                                      "pieces", "router", "dust",  "lock"};

enum { COLUMNS = sizeof columns / sizeof *columns };

/* What is left to read. */
struct csv {
    char *at;
    unsigned line;
    struct story_fault *fault;
    bool row_ended;
};

/* Behind a field: a comma, a line end, or nothing more. */
static bool end_field(struct csv *csv)
{
    if (*csv->at == ',') {
        *csv->at++ = '\0';
        csv->row_ended = false;
        return true;
    }
    csv->row_ended = true;
    if (*csv->at == '\r' && (csv->at[1] == '\n' || csv->at[1] == '\0')) {
        *csv->at++ = '\0';
    }
    if (*csv->at == '\0') {
        return true;
    }
    if (*csv->at == '\n') {
        *csv->at++ = '\0';
        return true;
    }
    return story_refuse(csv->fault, csv->line,
                        "Behind a field in quotes '%.20s' was found; a comma or the end of the "
                        "line would do. A quote inside is written twice.",
                        csv->at);
}

/* A field between quotes, in place. */
static char *quoted(struct csv *csv)
{
    char *start = ++csv->at;
    char *to = start;
    while (*csv->at != '"' || csv->at[1] == '"') {
        if (*csv->at == '\0' || *csv->at == '\n') {
            story_refuse(csv->fault, csv->line,
                         "A quote is opened and not closed on this line. "
                         "Close it; a quote inside is written twice.");
            return NULL;
        }
        csv->at += *csv->at == '"';
        *to++ = *csv->at++;
    }
    csv->at++;
    char *end = to;
    bool good = end_field(csv);
    *end = '\0';
    return good ? start : NULL;
}

/* The next field of the row; NULL, and refused. */
static char *field(struct csv *csv)
{
    if (*csv->at == '"') {
        return quoted(csv);
    }
    char *start = csv->at;
    csv->at += strcspn(csv->at, ",\n");
    if (csv->at > start && csv->at[-1] == '\r' && *csv->at != ',') {
        csv->at--;
    }
    return end_field(csv) ? start : NULL;
}

/* Which column a name means. */
static bool read_column(struct csv *csv, const char *name, int *which)
{
    for (*which = 0; *which < COLUMNS; (*which)++) {
        if (strcmp(name, columns[*which]) == 0) {
            return true;
        }
    }
    return story_refuse(csv->fault, csv->line,
                        "The first row names the columns, and nobody knows '%.60s'%s; height, bit, "
                        "words, fence, part, pieces, router, dust and lock would do.",
                        name,
                        strchr(name, ';') ? ", which is parted by semicolons, not commas" : "");
}

/* -1: refused. */
static int read_head(struct csv *csv, int *which)
{
    int count = 0;
    bool seen[COLUMNS] = {false};
    do {
        char *name = field(csv);
        int column;
        if (!name || !read_column(csv, name, &column)) {
            return -1;
        }
        if (seen[column]) {
            story_refuse(csv->fault, csv->line, "There are two columns '%s'. Leave one out.", name);
            return -1;
        }
        seen[column] = true;
        which[count++] = column;
    } while (!csv->row_ended);
    return count;
}

static bool read_row(struct csv *csv, const int *which, int count, struct story_file *story)
{
    cJSON *mark = cJSON_CreateObject();
    bool good = true;
    int i = 0;
    do {
        char *text = field(csv);
        good = text != NULL;
        if (good && i >= count) {
            good = story_refuse(csv->fault, csv->line,
                                "This row has more fields than the first one names (%d). A field "
                                "with a comma in it stands between quotes.",
                                count);
        }
        good = good && story_add_member(mark, columns[which[i]], text, csv->line, csv->fault);
        i++;
    } while (good && !csv->row_ended);
    if (!good) {
        cJSON_Delete(mark);
        return false;
    }
    return story_add_object(story, mark, csv->line, csv->fault);
}

/* A row with nothing in it. */
static bool blank(struct csv *csv)
{
    size_t size = strspn(csv->at, " \r");
    if (csv->at[size] != '\n' && csv->at[size] != '\0') {
        return false;
    }
    csv->at += size + (csv->at[size] == '\n');
    return true;
}

bool story_read_csv(char *text, struct story_file *story, struct story_fault *fault)
{
    struct csv csv = {text, 1, fault, false};
    int which[COLUMNS];
    if (*text == '\0') {
        return story_refuse(fault, 1,
                            "The file is empty. A first row 'height,bit,words' and a row "
                            "for each mark would do.");
    }
    int count = read_head(&csv, which);
    if (count < 0) {
        return false;
    }
    for (csv.line = 2; *csv.at != '\0'; csv.line++) {
        if (!blank(&csv) && !read_row(&csv, which, count, story)) {
            return false;
        }
    }
    return story->count > 0 ||
           story_refuse(fault, 1,
                        "There is no mark below the first row. One row for each, with its "
                        "height and unit, would do.");
}

/* --- Writing --- */

static void write_cell(FILE *out, const char *text, bool last)
{
    bool plain = !strpbrk(text, ",\"\r\n") && text[0] != ' ';
    (void)fputs(plain ? "" : "\"", out);
    for (; *text != '\0'; text++) {
        (void)fprintf(out, "%s%c", *text == '"' ? "\"" : "", *text);
    }
    (void)fputs(plain ? "" : "\"", out);
    (void)fputs(last ? "\n" : ",", out);
}

void story_write_csv(FILE *out, const struct story_file *story, enum length_style style)
{
    (void)fputs("height,bit,words,fence,part,pieces,router,dust,lock\n", out);
    for (size_t i = 0; i < story->count; i++) {
        const struct story_mark *mark = &story->mark[i];
        char text[LENGTH_TEXT_SIZE + 2] = "";
        if (mark->has_height) {
            story_height_text(mark->height_nm, style, text, sizeof text);
        }
        write_cell(out, text, false);
        write_cell(out, mark->bit, false);
        write_cell(out, mark->words, false);
        write_cell(out, mark->fence, false);
        write_cell(out, mark->part, false);
        (void)snprintf(text, sizeof text, "%d", mark->pieces);
        write_cell(out, mark->pieces > 0 ? text : "", false);
        write_cell(out, story_router_word(mark->router), false);
        write_cell(out, story_dust_word(mark->dust), false);
        write_cell(out, story_lock_word(mark->lock), true);
    }
}
