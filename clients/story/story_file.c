/* SPDX-License-Identifier: MIT */
#include "clients/story/story_file.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/story/story_parts.h"
#include "protocol/json.h"

bool story_refuse(struct story_fault *fault, unsigned line, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(fault->text, sizeof fault->text, format, arguments);
    va_end(arguments);
    fault->line = line;
    return false;
}

static bool ends_in(const char *path, const char *ending)
{
    size_t size = path ? strlen(path) : 0;
    return size > strlen(ending) && strcmp(path + size - strlen(ending), ending) == 0;
}

enum story_form story_file_form(const char *path, const char *text)
{
    if (ends_in(path, ".json")) {
        return STORY_FORM_JSON;
    }
    if (ends_in(path, ".csv")) {
        return STORY_FORM_CSV;
    }
    bool json = text[strspn(text, " \t\r\n")] == '{' && !ends_in(path, ".txt");
    return json ? STORY_FORM_JSON : STORY_FORM_TEXT;
}

/* --- What the head of a story may be --- */

bool story_set_name(struct story_file *story, const char *name, unsigned line,
                    struct story_fault *fault)
{
    char why[WORDS_WHY] = "expected a name, such as drawer-sides";
    char word[STORY_NAME_SIZE + 1];
    char *words[] = {word};
    (void)snprintf(word, sizeof word, "%s", name);
    if (name[0] == '\0' || name[0] == ' ' || strlen(name) >= sizeof story->name ||
        !words_only_name(1, words, why)) {
        const char *what = name[0] == ' '                       ? "a name begins with no blank"
                           : strlen(name) >= sizeof story->name ? "a name is at most 63 bytes long"
                                                                : why;
        return story_refuse(fault, line, "The name of the story is '%.80s'; %s.", name, what);
    }
    (void)snprintf(story->name, sizeof story->name, "%s", name);
    return true;
}

bool story_set_made_by(struct story_file *story, const char *text, unsigned line,
                       struct story_fault *fault)
{
    if (strlen(text) >= sizeof story->made_by || strpbrk(text, "\r\n\t")) {
        return story_refuse(fault, line,
                            "What the story was made by is no text of one line; at most %zu bytes "
                            "would do.",
                            sizeof story->made_by - 1);
    }
    (void)snprintf(story->made_by, sizeof story->made_by, "%s", text);
    return true;
}

bool story_set_version(const char *text, unsigned line, struct story_fault *fault)
{
    return strcmp(text, "1") == 0 ||
           story_refuse(fault, line,
                        "The version is '%.40s'; this reglet reads version %d of stories. A later "
                        "reglet may read it.",
                        text, STORY_VERSION);
}

bool story_room(const struct story_file *story, unsigned line, struct story_fault *fault)
{
    return story->count < STORY_MARKS_MAX ||
           story_refuse(fault, line,
                        "That is mark %zu, and a story has %d at the most. Make two stories of "
                        "it.",
                        story->count + 1, STORY_MARKS_MAX);
}

/* --- Marks out of lines --- */

/* cJSON takes any bytes; what goes to the daemon is UTF-8. */
static bool is_utf8(const cJSON *object)
{
    struct json_fault fault;
    char *text = cJSON_PrintUnformatted(object);
    bool good = text && json_scan(text, strlen(text), &fault);
    cJSON_free(text);
    return good;
}

bool story_add_object(struct story_file *story, cJSON *object, unsigned line,
                      struct story_fault *fault)
{
    char why[STORY_WHY_SIZE];
    bool good = story_room(story, line, fault);
    if (good && !object) {
        good = story_refuse(fault, line, "There is not enough memory.");
    } else if (good && !is_utf8(object)) {
        good = story_refuse(fault, line, "This line is not UTF-8. Save the file as UTF-8.");
    } else if (good && !story_mark_read(object, story->count + 1, &story->mark[story->count], why,
                                        sizeof why)) {
        good = story_refuse(fault, line, "%s", why);
    }
    cJSON_Delete(object);
    story->count += good;
    return good;
}

static bool is_number(const char *text)
{
    return text[0] != '\0' && strspn(text, "0123456789") == strlen(text) && strlen(text) < 9;
}

bool story_add_member(cJSON *object, const char *name, const char *text, unsigned line,
                      struct story_fault *fault)
{
    if (text[0] == '\0') {
        return true;
    }
    if (cJSON_GetObjectItemCaseSensitive(object, name)) {
        return story_refuse(fault, line, "This line gives '%.40s' twice. Leave one of them out.",
                            name);
    }
    bool number = strcmp(name, "pieces") == 0 && is_number(text);
    return (number ? cJSON_AddNumberToObject(object, name, atoi(text)) != NULL
                   : cJSON_AddStringToObject(object, name, text) != NULL) ||
           story_refuse(fault, line, "There is not enough memory.");
}

/* --- Whole files --- */

static bool read_lines(const char *text, size_t size, enum story_form form,
                       struct story_file *story, struct story_fault *fault)
{
    static const char mark[] = "\xef\xbb\xbf"; /* spreadsheets begin UTF-8 so */
    size_t skip = strncmp(text, mark, 3) == 0 ? 3 : 0;
    char *copy = strndup(text + skip, size - skip);
    bool good = copy && (form == STORY_FORM_CSV ? story_read_csv(copy, story, fault)
                                                : story_read_text(copy, story, fault));
    if (!copy) {
        return story_refuse(fault, 1, "There is not enough memory.");
    }
    free(copy);
    return good;
}

bool story_file_read(const char *text, size_t size, enum story_form form, struct story_file *story,
                     struct story_fault *fault)
{
    memset(story, 0, sizeof *story);
    if (size > STORY_FILE_SIZE_MAX) {
        return story_refuse(fault, 1,
                            "The file is longer than %d KiB, and no story is. Is it another file?",
                            STORY_FILE_SIZE_MAX / 1024);
    }
    if (form != STORY_FORM_JSON && memchr(text, '\0', size)) {
        return story_refuse(fault, 1,
                            "There is a NUL in the file: it is no text. Save it as "
                            "UTF-8.");
    }
    return form == STORY_FORM_JSON ? story_read_json(text, size, story, fault)
                                   : read_lines(text, size, form, story, fault);
}

char *story_file_print(const struct story_file *story, enum story_form form,
                       enum length_style style)
{
    char *text = NULL;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    if (!out) {
        return NULL;
    }
    if (form == STORY_FORM_JSON) {
        story_write_json(out, story, style);
    } else if (form == STORY_FORM_CSV) {
        story_write_csv(out, story, style);
    } else {
        story_write_text(out, story, style);
    }
    bool good = !ferror(out);
    if (fclose(out) != 0 || !good) {
        free(text);
        return NULL;
    }
    return text;
}

void story_height_text(int64_t nm, enum length_style style, char *out, size_t size)
{
    static const enum length_style styles[] = {LENGTH_STYLE_64, LENGTH_STYLE_IN};
    int64_t back;
    for (size_t i = 0; i < 2 && style != LENGTH_STYLE_MM; i++) {
        size_t used = length_print(nm, styles[i], out, size);
        bool bare = used > 0 && out[used - 1] != 'n' && !strpbrk(out, "+ ");
        if (bare && used + 3 <= size) {
            strcpy(out + used, "in");
        }
        if (length_parse(out, LENGTH_BARE_REFUSED, &back, NULL) && back == nm) {
            return;
        }
    }
    (void)length_print_exact(nm, out, size);
}
