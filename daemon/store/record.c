/* SPDX-License-Identifier: MIT */
#include "daemon/store/record.h"

#include <errno.h>
#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "protocol/json.h"

#define NM_MAX INT64_C(9007199254740991) /* 2^53 - 1: what a JSON number carries exactly */

enum kind { STEPS, NM, WORD16, WORD32, FLAG, TRUST, TEXT };

struct range {
    int64_t low;
    int64_t high;
};

static const struct range ranges[] = {
    [STEPS] = {INT32_MIN, INT32_MAX}, [NM] = {-NM_MAX, NM_MAX}, [WORD16] = {0, UINT16_MAX},
    [WORD32] = {0, UINT32_MAX},       [FLAG] = {false, true},   [TRUST] = {TRUST_SURE, TRUST_LOST},
};

static const char *const trust_words[] = {
    [TRUST_SURE] = "sure", [TRUST_UNCHECKED] = "unchecked", [TRUST_LOST] = "lost"};

struct member {
    const char *name;
    enum kind kind;
    size_t at;       /* in the record */
    size_t known_at; /* of the flag without which it is null, or ALWAYS */
    int since;       /* the version that it came with */
};

#define AT(member) offsetof(struct journal_record, member)
#define ALWAYS SIZE_MAX

/* Members that share a flag stand side by side: record_parse compares neighbours. */
static const struct member members[] = {
    {"count", STEPS, AT(count), AT(count_known), 1},
    {"leg_end", STEPS, AT(leg_end), AT(leg_under_way), 1},
    {"origin", STEPS, AT(origin), ALWAYS, 1},
    {"slack_steps", STEPS, AT(slack_steps), AT(play_known), 1},
    {"risen_steps", STEPS, AT(risen_steps), AT(play_known), 1},
    {"reference", TRUST, AT(reference), ALWAYS, 1},
    {"table_zero", TRUST, AT(table_zero), ALWAYS, 1},
    {"zero_known", FLAG, AT(zero_known), ALWAYS, 1},
    {"zero_in_frame", FLAG, AT(zero_in_frame), ALWAYS, 1},
    {"zero_nm", NM, AT(zero_nm), ALWAYS, 1},
    {"wanted_nm", NM, AT(wanted_nm), AT(wanted_known), 1},
    {"preset", WORD32, AT(preset), ALWAYS, 1},
    {"board", WORD32, AT(board), AT(board_known), 1},
    {"boot", WORD32, AT(boot), AT(board_known), 1},
    {"epoch", WORD16, AT(epoch), ALWAYS, 1},
    {"screw_digest", WORD32, AT(screw_digest), ALWAYS, 1},
    {"barred", FLAG, AT(barred), ALWAYS, 1},
    {"bit", TEXT, AT(bit), ALWAYS, 1},
    {"riding_nm", NM, AT(riding_nm), ALWAYS, 1},
    {"stage", WORD16, AT(stage), ALWAYS, 2},
    {"asks", WORD16, AT(asks), ALWAYS, 2},
    {"corrected_nm", NM, AT(corrected_nm), AT(corrected_known), 2},
    {"router_on", FLAG, AT(router_on), ALWAYS, 2},
    {"story", WORD32, AT(story), ALWAYS, 2},
    {"mark", WORD16, AT(mark), ALWAYS, 2},
    {"cut", WORD16, AT(cut), ALWAYS, 2},
    {"before_bit", WORD32, AT(before_bit), ALWAYS, 3},
    {"before_nm", NM, AT(before_nm), ALWAYS, 3},
    {"readout_offset_nm", NM, AT(readout_offset_nm), AT(readout_matched), 3},
    {"readout_corrections_nm", NM, AT(readout_corrections_nm), AT(readout_matched), 3},
};

enum { MEMBER_COUNT = sizeof members / sizeof *members };

static int64_t get(const struct journal_record *record, const struct member *member)
{
    const char *at = (const char *)record + member->at;
    switch (member->kind) {
    case STEPS:
        return *(const int32_t *)(const void *)at;
    case NM:
        return *(const int64_t *)(const void *)at;
    case WORD16:
        return *(const uint16_t *)(const void *)at;
    case WORD32:
        return *(const uint32_t *)(const void *)at;
    case FLAG:
        return *(const bool *)(const void *)at;
    case TRUST:
        return *(const enum trust *)(const void *)at;
    case TEXT:
        break;
    }
    return 0;
}

static void set(struct journal_record *record, const struct member *member, int64_t value)
{
    void *at = (char *)record + member->at;
    switch (member->kind) {
    case STEPS:
        *(int32_t *)at = (int32_t)value;
        break;
    case NM:
        *(int64_t *)at = value;
        break;
    case WORD16:
        *(uint16_t *)at = (uint16_t)value;
        break;
    case WORD32:
        *(uint32_t *)at = (uint32_t)value;
        break;
    case FLAG:
        *(bool *)at = value != 0;
        break;
    case TRUST:
        *(enum trust *)at = (enum trust)value;
        break;
    case TEXT:
        break;
    }
}

struct printer {
    char *text;
    size_t size;
    size_t used;
    int error; /* 0 so far */
};

REGLET_PRINTF(2, 3)
static void put(struct printer *printer, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char piece[64];
    int length = vsnprintf(piece, sizeof piece, format, arguments);
    va_end(arguments);
    if (length < 0 || (size_t)length >= sizeof piece ||
        (size_t)length > printer->size - printer->used) {
        printer->error = EMSGSIZE;
        return;
    }
    memcpy(printer->text + printer->used, piece, (size_t)length);
    printer->used += (size_t)length;
}

static void put_text(struct printer *printer, const char *text)
{
    if (memchr(text, '\0', JOURNAL_NAME_SIZE) == NULL) {
        printer->error = EINVAL;
        return;
    }
    put(printer, "\"");
    for (; *text != '\0'; text++) {
        bool plain = (unsigned char)*text >= 0x20 && *text != '"' && *text != '\\';
        put(printer, plain ? "%c" : "\\u%04x", *text);
    }
    put(printer, "\"");
}

static void put_member(struct printer *printer, const struct journal_record *record,
                       const struct member *member)
{
    const char *base = (const char *)record;
    put(printer, ",\"%s\":", member->name);
    if (member->kind == TEXT) {
        put_text(printer, base + member->at);
        return;
    }
    if (member->known_at != ALWAYS && !*(const bool *)(const void *)(base + member->known_at)) {
        put(printer, "null");
        return;
    }
    int64_t value = get(record, member);
    if (value < ranges[member->kind].low || value > ranges[member->kind].high) {
        printer->error = EINVAL;
    } else if (member->kind == TRUST) {
        put(printer, "\"%s\"", trust_words[value]);
    } else if (member->kind == FLAG) {
        put(printer, value != 0 ? "true" : "false");
    } else {
        put(printer, "%" PRId64, value);
    }
}

size_t record_print(const struct journal_record *record, char *text, size_t size)
{
    struct printer printer = {.text = text, .size = size};
    put(&printer, "{\"version\":%d", JOURNAL_VERSION);
    for (size_t i = 0; i < MEMBER_COUNT && printer.error == 0; i++) {
        put_member(&printer, record, &members[i]);
    }
    put(&printer, "}");
    struct json_fault fault;
    if (printer.error == 0 && !json_scan(text, printer.used, &fault)) {
        printer.error = EINVAL; /* only the bit's id can do that */
    }
    if (printer.error != 0) {
        errno = printer.error;
        return 0;
    }
    return printer.used;
}

static bool read_integer(const cJSON *item, struct range range, int64_t *value)
{
    if (!cJSON_IsNumber(item) || item->valuedouble < (double)range.low ||
        item->valuedouble > (double)range.high) {
        return false;
    }
    *value = (int64_t)item->valuedouble;
    return (double)*value == item->valuedouble;
}

static bool read_trust(const cJSON *item, int64_t *value)
{
    for (*value = TRUST_SURE; *value <= TRUST_LOST; ++*value) {
        if (cJSON_IsString(item) && strcmp(item->valuestring, trust_words[*value]) == 0) {
            return true;
        }
    }
    return false;
}

static bool read_text(const cJSON *item, char text[JOURNAL_NAME_SIZE])
{
    if (!cJSON_IsString(item) || strlen(item->valuestring) >= JOURNAL_NAME_SIZE) {
        return false;
    }
    strcpy(text, item->valuestring);
    return true;
}

static bool read_value(const cJSON *item, const struct member *member,
                       struct journal_record *record)
{
    int64_t value = 0;
    bool good;
    switch (member->kind) {
    case TEXT:
        return read_text(item, (char *)record + member->at);
    case TRUST:
        good = read_trust(item, &value);
        break;
    case FLAG:
        good = cJSON_IsBool(item);
        value = cJSON_IsTrue(item);
        break;
    default:
        good = read_integer(item, ranges[member->kind], &value);
        break;
    }
    if (good) {
        set(record, member, value);
    }
    return good;
}

static bool read_member(const cJSON *document, size_t index, struct journal_record *record)
{
    const struct member *member = &members[index];
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(document, member->name);
    if (member->known_at == ALWAYS) {
        return read_value(item, member, record);
    }
    bool *known = (bool *)(void *)((char *)record + member->known_at);
    bool known_now = !cJSON_IsNull(item);
    bool shared = index > 0 && members[index - 1].known_at == member->known_at;
    if (shared && *known != known_now) {
        return false;
    }
    *known = known_now;
    return !known_now || read_value(item, member, record);
}

static enum record_found read_document(const cJSON *document, struct journal_record *record)
{
    int64_t version = 0;
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(document, "version");
    if (!cJSON_IsObject(document) || !read_integer(item, (struct range){1, NM_MAX}, &version)) {
        return RECORD_DAMAGED;
    }
    if (version > JOURNAL_VERSION) {
        return RECORD_NEWER;
    }
    int count = 1; /* the version itself */
    for (size_t i = 0; i < MEMBER_COUNT; i++) {
        if (members[i].since > version) {
            continue; /* it had not come yet */
        }
        count++;
        if (!read_member(document, i, record)) {
            return RECORD_DAMAGED;
        }
    }
    return cJSON_GetArraySize(document) == count ? RECORD_WHOLE : RECORD_DAMAGED;
}

enum record_found record_parse(const char *text, size_t size, struct journal_record *record)
{
    struct json_fault fault;
    if (!json_scan(text, size, &fault)) {
        return RECORD_DAMAGED;
    }
    cJSON *document = json_parse(text, size, &fault);
    if (document == NULL) {
        return RECORD_NO_MEMORY; /* as the scan has let it through */
    }
    struct journal_record read = {0};
    enum record_found found = read_document(document, &read);
    cJSON_Delete(document);
    if (found == RECORD_WHOLE) {
        *record = read;
    }
    return found;
}
