/* SPDX-License-Identifier: MIT */
#include "clients/common/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "protocol/json.h"

enum length_bare words_bare(enum length_style style)
{
    return style == LENGTH_STYLE_MM ? LENGTH_BARE_MM : LENGTH_BARE_IN;
}

static bool begins_number(const char *text)
{
    return *text == '.' || (*text >= '0' && *text <= '9');
}

static const char *past_blanks(const char *word)
{
    return word + strspn(word, " ");
}

bool words_is_height(const char *word)
{
    word = past_blanks(word);
    return begins_number(*word == '-' || *word == '+' ? word + 1 : word);
}

static bool needs_shield(const char *word)
{
    return word[0] == '-' && begins_number(word + 1);
}

char **words_shield(int count, char *const *word)
{
    size_t table = ((size_t)count + 1) * sizeof *word;
    size_t size = table;
    for (int i = 0; i < count; i++) {
        size += needs_shield(word[i]) ? strlen(word[i]) + 2 : 0;
    }
    char **shielded = malloc(size);
    if (!shielded) {
        return NULL;
    }
    char *room = (char *)shielded + table;
    for (int i = 0; i < count; i++) {
        shielded[i] = word[i];
        if (needs_shield(word[i])) {
            size_t length = strlen(word[i]) + 1;
            shielded[i] = room;
            room[0] = ' ';
            memcpy(room + 1, word[i], length);
            room += length + 1;
        }
    }
    shielded[count] = NULL;
    return shielded;
}

bool words_join(int count, char *const *word, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';
    for (int i = 0; i < count; i++) {
        int added =
            snprintf(text + used, size - used, "%s%s", i > 0 ? " " : "", past_blanks(word[i]));
        used += added > 0 ? (size_t)added : 0;
        if (added < 0 || used >= size) {
            text[0] = '\0';
            return false;
        }
    }
    return true;
}

bool words_length(int count, char *const *word, enum length_bare bare, const char *what,
                  int64_t *nm, char *why)
{
    char text[WORDS_SIZE];
    struct length_fault fault;
    if (count == 0) {
        (void)snprintf(why, WORDS_WHY, "expected %s", what);
        return false;
    }
    if (!words_join(count, word, text, sizeof text)) {
        (void)snprintf(why, WORDS_WHY, "expected %s; no length is as long as this text", what);
        return false;
    }
    if (!length_parse(text, bare, nm, &fault)) {
        (void)snprintf(why, WORDS_WHY, "'%s': %s", text, fault.text);
        return false;
    }
    return true;
}

bool words_nudge(int count, char *const *word, enum length_bare bare, int64_t *nm, char *why)
{
    if (count == 0) {
        *nm = WORDS_NUDGE_NM;
        return true;
    }
    if (!words_length(count, word, bare, "a distance, such as 1/64", nm, why)) {
        return false;
    }
    if (*nm <= 0) {
        (void)snprintf(why, WORDS_WHY,
                       "expected a distance above zero; 'up' and 'down' say the way, and 'by' "
                       "takes either sign");
        return false;
    }
    return true;
}

static const char words_no_name[] = "expected the name of a preset, such as drawer-groove";

/* Between quotes it is a JSON string, and those are scanned for UTF-8. */
static bool is_utf8(const char *name, size_t size)
{
    char quoted[WORDS_NAME + 2];
    struct json_fault fault;
    quoted[0] = quoted[size + 1] = '"';
    for (size_t i = 0; i < size; i++) {
        quoted[i + 1] = name[i] == '"' || name[i] == '\\' ? 'x' : name[i];
    }
    return json_scan(quoted, size + 2, &fault);
}

static bool has_control(const char *name)
{
    for (; *name != '\0'; name++) {
        if ((unsigned char)*name < ' ' || *name == 0x7f) {
            return true;
        }
    }
    return false;
}

/* The rules of protocol/LOCAL.md: what breaks one need not be asked of the daemon. */
static const char *check_name(const char *name, char *why)
{
    size_t size = strlen(name);
    const char *wrong = size == 0               ? words_no_name
                        : size > WORDS_NAME     ? "a name is at most 63 bytes long"
                        : has_control(name)     ? "a name has no control characters"
                        : name[size - 1] == ' ' ? "a name has no blank at its end"
                        : !is_utf8(name, size)  ? "a name is written in UTF-8"
                                                : NULL;
    if (wrong) {
        (void)snprintf(why, WORDS_WHY, "%s", wrong);
    }
    return wrong ? NULL : name;
}

const char *words_only_name(int count, char *const *word, char *why)
{
    if (count <= 1) {
        return check_name(count == 1 ? past_blanks(word[0]) : "", why);
    }
    (void)snprintf(why, WORDS_WHY,
                   "expected one name, and '%.64s' is another word; put a name of several words "
                   "between quotes",
                   word[1]);
    return NULL;
}

const char *words_new_name(int count, char *const *word, char *why)
{
    int64_t nm;
    const char *name = count > 0 ? past_blanks(word[0]) : "";
    if (length_parse(name, LENGTH_BARE_IN, &nm, NULL)) {
        (void)snprintf(why, WORDS_WHY,
                       "'%.64s' is a height; expected a name before it, such as drawer-groove",
                       name);
        return NULL;
    }
    return check_name(name, why);
}

static bool touch_word(int count, char *const *word, const char *wanted)
{
    return count > 0 && strcmp(word[0], wanted) == 0;
}

static bool touch_alone(int count, char *const *word, char *why)
{
    if (count > 1) {
        (void)snprintf(why, WORDS_WHY, "'%s' stands alone, and '%.64s' is another word", word[0],
                       word[1]);
    }
    return count == 1;
}

bool words_touch(int count, char *const *word, enum length_bare bare, struct words_touch *touch,
                 char *why)
{
    *touch = (struct words_touch){.by = WORDS_TOUCH_HEIGHT};
    if (touch_word(count, word, "flush")) {
        return touch_alone(count, word, why);
    }
    if (touch_word(count, word, "plate")) {
        touch->by = WORDS_TOUCH_PLATE;
        return touch_alone(count, word, why);
    }
    if (touch_word(count, word, "readout")) {
        touch->by = WORDS_TOUCH_READOUT;
        return touch_alone(count, word, why);
    }
    if (touch_word(count, word, "block")) {
        touch->by = WORDS_TOUCH_BLOCK;
        return words_length(count - 1, word + 1, bare,
                            "the thickness of the block, such as block 1/4", &touch->nm, why);
    }
    if (count > 0 && !words_is_height(word[0])) {
        touch->by = WORDS_TOUCH_PRESET;
        touch->name = words_only_name(count, word, why);
        return touch->name != NULL;
    }
    return words_length(
        count, word, bare,
        "flush, block, plate, readout, the name of a preset, or the height at which the bit "
        "stands now, such as 1/4",
        &touch->nm, why);
}

bool words_add_length(cJSON *params, const char *name, int64_t nm)
{
    char text[LENGTH_TEXT_SIZE];
    (void)length_print_exact(nm, text, sizeof text);
    return cJSON_AddStringToObject(params, name, text) != NULL;
}

cJSON *words_params(const char *name, int64_t nm)
{
    char text[LENGTH_TEXT_SIZE];
    (void)length_print_exact(nm, text, sizeof text);
    return words_params_text(name, text);
}

cJSON *words_params_text(const char *name, const char *text)
{
    cJSON *params = cJSON_CreateObject();
    if (!cJSON_AddStringToObject(params, name, text)) {
        cJSON_Delete(params);
        return NULL;
    }
    return params;
}
