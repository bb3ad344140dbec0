/* SPDX-License-Identifier: MIT */
#include "daemon/machine/calibration.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/document.h"
#include "protocol/error_table_json.h"
#include "protocol/length.h"

#define CALIBRATION_FILE "calibration.json"

static const struct calibration_values nothing_measured;

/* What the document holds. */
struct content {
    uint32_t screw_digest; /* of the configured screw */
    struct calibration_values now;
    bool has_before;
    struct calibration_values before;
};

struct calibration {
    struct keeper *keeper;
    struct config config;
    struct content content;
    struct content next; /* on its way to the disk */
    bool changing;
    calibration_done *done;
    void *owner;
};

static const cJSON *member(const cJSON *object, const char *name)
{
    return cJSON_GetObjectItemCaseSensitive(object, name);
}

/* An optional length from 0 to `most_nm`. */
static bool read_length(const cJSON *object, const char *name, int64_t most_nm, bool *known,
                        int64_t *nm)
{
    const cJSON *item = member(object, name);
    *known = item != NULL;
    return !item || (cJSON_IsString(item) &&
                     length_parse(item->valuestring, LENGTH_BARE_REFUSED, nm, NULL) && *nm >= 0 &&
                     *nm <= most_nm);
}

static bool read_values(const cJSON *object, struct calibration_values *values)
{
    const cJSON *table = member(object, "table");
    *values = nothing_measured;
    if (table && !error_table_read(table, &values->table)) {
        return false;
    }
    return cJSON_IsObject(object) &&
           read_length(object, "lead", LENGTH_NM_PER_IN * 2, &values->lead_known,
                       &values->lead_nm) &&
           (!values->lead_known || values->lead_nm > 0) &&
           read_length(object, "lash", CALIBRATION_LASH_MOST_NM, &values->lash_known,
                       &values->lash_nm);
}

static bool read_content(const cJSON *document, struct content *content, char *why, size_t size)
{
    const cJSON *digest = member(document, "screw");
    const cJSON *before = member(document, "before");
    *content = (struct content){.has_before = before != NULL};
    if (!cJSON_IsNumber(digest) || digest->valuedouble < 0 || digest->valuedouble > UINT32_MAX) {
        snprintf(why, size, "it does not say for which screw it was measured");
        return false;
    }
    content->screw_digest = (uint32_t)digest->valuedouble;
    if (!read_values(member(document, "now"), &content->now) ||
        (before && !read_values(before, &content->before))) {
        snprintf(why, size, "its lead or lash is no length that can be, or its table none");
        return false;
    }
    return true;
}

static bool check(const cJSON *document, char *why, size_t size)
{
    static struct content content; /* large; of one thread */
    return read_content(document, &content, why, size);
}

static uint32_t configured_digest(const struct calibration *c)
{
    return config_screw_digest(&c->config.screw);
}

static bool in_use(const struct calibration *c)
{
    return c->content.screw_digest == configured_digest(c);
}

static void take(struct calibration *c, const cJSON *document)
{
    char why[DOCUMENT_WHY_SIZE];
    if (!document || !read_content(document, &c->next, why, sizeof why)) {
        return; /* nothing measured yet; what is there was checked */
    }
    c->content = c->next;
    const struct calibration_values *now = &c->content.now;
    if (!in_use(c) && (now->lead_known || now->lash_known || now->table.count > 0)) {
        fprintf(stderr,
                "regletd: %s was measured with other screw settings than those of the "
                "configuration, and is not used. The lift goes by the configuration; "
                "measure again, or put the settings back\n",
                CALIBRATION_FILE);
    }
}

struct calibration *calibration_open(struct keeper *keeper, const struct config *config, char *why,
                                     size_t why_size)
{
    cJSON *document = NULL;
    struct calibration *c = calloc(1, sizeof *c);
    if (!c) {
        snprintf(why, why_size, "there is no memory for the calibration");
        return NULL;
    }
    c->keeper = keeper;
    c->config = *config;
    c->content.screw_digest = configured_digest(c);
    enum document_found found = document_load(keeper_files(keeper), CALIBRATION_FILE,
                                              CALIBRATION_VERSION, check, &document, why, why_size);
    if (found == DOCUMENT_NEWER || found == DOCUMENT_UNREADABLE) {
        free(c);
        return NULL;
    }
    if (found == DOCUMENT_LAST_GOOD || found == DOCUMENT_LOST) {
        fprintf(stderr, "regletd: %s\n", why);
    }
    take(c, document);
    cJSON_Delete(document);
    return c;
}

void calibration_free(struct calibration *calibration)
{
    free(calibration);
}

const struct calibration_values *calibration_now(const struct calibration *c)
{
    return in_use(c) ? &c->content.now : &nothing_measured;
}

const struct calibration_values *calibration_before(const struct calibration *c)
{
    return in_use(c) && c->content.has_before ? &c->content.before : NULL;
}

void calibration_config(const struct calibration *c, struct config *config)
{
    const struct calibration_values *now = calibration_now(c);
    *config = c->config;
    if (now->lead_known) {
        config_set_lead(config, now->lead_nm);
    }
    if (now->lash_known) {
        config_set_lash(config, now->lash_nm);
    }
}

static bool add_values(cJSON *document, const char *name, const struct calibration_values *values)
{
    char text[LENGTH_TEXT_SIZE];
    cJSON *object = cJSON_AddObjectToObject(document, name);
    bool whole = object != NULL;
    if (whole && values->lead_known) {
        length_print_exact(values->lead_nm, text, sizeof text);
        whole = cJSON_AddStringToObject(object, "lead", text) != NULL;
    }
    if (whole && values->lash_known) {
        length_print_exact(values->lash_nm, text, sizeof text);
        whole = cJSON_AddStringToObject(object, "lash", text) != NULL;
    }
    if (whole && values->table.count > 0) {
        whole = error_table_add(object, &values->table);
    }
    return whole;
}

static char *print_content(const struct content *content)
{
    cJSON *document = cJSON_CreateObject();
    bool whole = cJSON_AddNumberToObject(document, "version", CALIBRATION_VERSION) &&
                 cJSON_AddNumberToObject(document, "screw", content->screw_digest) &&
                 add_values(document, "now", &content->now) &&
                 (!content->has_before || add_values(document, "before", &content->before));
    char *text = whole ? cJSON_PrintUnformatted(document) : NULL;
    cJSON_Delete(document);
    return text;
}

static void on_kept(void *owner, bool kept, const char *why)
{
    struct calibration *c = owner;
    char sentence[300] = "";
    c->changing = false;
    if (kept) {
        c->content = c->next;
    } else {
        snprintf(sentence, sizeof sentence,
                 "The calibration is as it was: %s. See to the disk, then say it again.", why);
    }
    if (c->done) {
        c->done(c->owner, kept ? REASON_NONE : REASON_NOT_KEPT, sentence);
    }
}

static void say_off(const struct calibration *c, char *sentence, size_t size)
{
    char lead[LENGTH_TEXT_SIZE];
    length_print(c->config.screw.lead_num_nm / c->config.screw.lead_den, LENGTH_STYLE_MM, lead,
                 sizeof lead);
    snprintf(sentence, size,
             "That is more than a twentieth off the configured rise of %s a turn: no screw is so "
             "wrong. Nothing has changed. Look at the steps of the motor and its driver, and at "
             "the reading.",
             lead);
}

/* A screw is good to a part in a thousand (common practice, no source); far more means that the
 * steps a turn are wrong, or the reading. */
static bool lead_possible(const struct calibration *c, int64_t lead_nm)
{
    int64_t configured = c->config.screw.lead_num_nm / c->config.screw.lead_den;
    int64_t off = lead_nm > configured ? lead_nm - configured : configured - lead_nm;
    return lead_nm > 0 && off <= configured / CALIBRATION_LEAD_PARTS;
}

bool calibration_set(struct calibration *c, const struct calibration_values *values,
                     calibration_done *done, void *owner, enum reason *reason, char *sentence,
                     size_t size)
{
    *reason = REASON_DISAGREES;
    if (values->lead_known && !lead_possible(c, values->lead_nm)) {
        say_off(c, sentence, size);
        return false;
    }
    if (values->lash_known && (values->lash_nm < 0 || values->lash_nm > CALIBRATION_LASH_MOST_NM)) {
        snprintf(sentence, size,
                 "A lash is from nothing to 1/8in. Nothing has changed. Measure it again.");
        return false;
    }
    if (values->table.count > 0 && !error_table_valid(&values->table)) {
        snprintf(sentence, size,
                 "An error table has 2 to %d points, and from one to the next its error changes by "
                 "a twentieth of their distance at the most. Nothing has changed. Gauge again.",
                 ERROR_TABLE_MAX);
        return false;
    }
    if (c->changing) {
        *reason = REASON_BUSY;
        snprintf(sentence, size, "Another calibration is being written. Nothing has changed.");
        return false;
    }
    c->next.before = *calibration_now(c);
    c->next.now = *values; /* which may be those before */
    c->next.has_before = true;
    c->next.screw_digest = configured_digest(c);
    char *text = print_content(&c->next);
    if (!text) {
        *reason = REASON_NOT_KEPT;
        snprintf(sentence, size, "There is no memory left. Nothing has changed.");
        return false;
    }
    c->changing = true;
    c->done = done;
    c->owner = owner;
    keeper_document(c->keeper, CALIBRATION_FILE, text, on_kept, c);
    return true;
}

void calibration_abandon(struct calibration *c, void *owner)
{
    if (c->owner == owner) {
        c->done = NULL;
        c->owner = NULL;
    }
}
