/* SPDX-License-Identifier: MIT */
#include "clients/bench/joint_job.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/bench/passes.h"
#include "clients/common/words.h"

/* --- Words and their values --- */

struct reader {
    int count;
    char *const *word;
    int at;
    enum length_bare bare;
    const struct joint_shelf *shelf;
    struct joint_job *job;
    char *why;
};

static const struct joint_kind_words *find_kind(const char *word)
{
    const struct joint_kind_words *kind = joint_kinds;
    while (kind->word && strcmp(kind->word, word) != 0) {
        kind++;
    }
    return kind->word ? kind : NULL;
}

static bool is_travel(const char *word)
{
    return strcmp(word, "lowest") == 0 || strcmp(word, "highest") == 0;
}

static const struct joint_field *find_field(const struct joint_kind_words *kind, const char *word)
{
    const struct joint_field *field = kind->field;
    while (field->word && strcmp(field->word, word) != 0) {
        field++;
    }
    return field->word ? field : NULL;
}

static bool is_keyword(const struct joint_kind_words *kind, const char *word)
{
    return is_travel(word) || find_field(kind, word);
}

/* How many words the value that begins at `at` has: one at least, and up to the next keyword. */
static int value_words(const struct joint_kind_words *kind, int count, char *const *word, int at)
{
    int used = at < count;
    while (at + used < count && !is_keyword(kind, word[at + used])) {
        used++;
    }
    return used;
}

/* --- Values --- */

static void *member(struct joint_job *job, size_t offset)
{
    return (char *)&job->in + offset;
}

static bool read_length(struct reader *reader, int words, const char *what, int64_t *nm)
{
    char *const *value = reader->word + reader->at;
    char why[WORDS_WHY];
    if (words == 1 && !words_is_height(value[0])) {
        return reader->shelf->stock(reader->shelf->owner, value[0], nm, reader->why);
    }
    if (words_length(words, value, reader->bare, what, nm, why)) {
        return true;
    }
    (void)snprintf(reader->why, JOINT_JOB_WHY, "%s %s", what, why);
    return false;
}

static bool read_number(struct reader *reader, int words, const char *what, double most,
                        double *number)
{
    char *end = NULL;
    const char *text = reader->word[reader->at];
    *number = words == 1 ? strtod(text, &end) : -1;
    if (words == 1 && end != text && *end == '\0' && *number >= 0 && *number <= most) {
        return true;
    }
    (void)snprintf(reader->why, JOINT_JOB_WHY, "'%s %.60s': expected a number up to %g", what,
                   words > 0 ? text : "", most);
    return false;
}

static bool is_second(const struct reader *reader, const struct joint_field *field)
{
    return reader->job->kind->second_cutter != 0 &&
           field->offset == reader->job->kind->second_cutter;
}

static bool read_bit(struct reader *reader, int words, const struct joint_field *field)
{
    struct joint_job *job = reader->job;
    const char *value = reader->word[reader->at];
    bool second = is_second(reader, field);
    struct joint_cutter *cutter = member(job, field->offset);
    enum joint_kind wanted = second ? job->kind->second : job->kind->wanted;
    job->bit_said = job->bit_said || !second;
    job->second_said = job->second_said || second;
    if (words == 1 && !words_is_height(value)) {
        (void)snprintf(second ? job->second : job->bit, JOINT_NAME_SIZE, "%s", value);
        return reader->shelf->bit(reader->shelf->owner, value, wanted, cutter, NULL, reader->why);
    }
    *cutter = (struct joint_cutter){.kind = wanted, .reference = JOINT_TOP, .plunging = true};
    return read_length(reader, words, field->word,
                       wanted == JOINT_SLOT ? &cutter->kerf_nm : &cutter->width_nm);
}

static bool read_kerf(struct reader *reader, int words, const struct joint_field *field)
{
    struct joint_cutter *cutter = member(reader->job, field->offset);
    reader->job->bit_said = true;
    if (cutter->kind != JOINT_SLOT) { /* else it corrects what the list says of a named one */
        *cutter = (struct joint_cutter){.kind = JOINT_SLOT, .reference = JOINT_TOP};
    }
    return read_length(reader, words, field->word, &cutter->kerf_nm);
}

static bool read_value(struct reader *reader, int words, const struct joint_field *field)
{
    double number;
    switch (field->type) {
    case JOINT_FIELD_BIT:
        return read_bit(reader, words, field);
    case JOINT_FIELD_KERF:
        return read_kerf(reader, words, field);
    case JOINT_FIELD_COUNT:
        if (!read_number(reader, words, field->word, JOINT_PIECES_MAX, &number)) {
            return false;
        }
        *(int *)member(reader->job, field->offset) = (int)number;
        return true;
    case JOINT_FIELD_SLOPE:
        if (!read_number(reader, words, field->word, 90, &number)) {
            return false;
        }
        *(int32_t *)member(reader->job, field->offset) = (int32_t)lround(number * 1000);
        return true;
    default:
        return read_length(reader, words, field->word, member(reader->job, field->offset));
    }
}

/* --- One word after the other --- */

static bool set_travel(struct reader *reader, const char *word, int words)
{
    struct joint_job *job = reader->job;
    job->travel_said = true;
    return read_length(reader, words, word, word[0] == 'l' ? &job->lowest_nm : &job->highest_nm);
}

/* All members that this word sets. */
static bool set_fields(struct reader *reader, const char *word, int words)
{
    const struct joint_field *field = reader->job->kind->field;
    for (int i = 0; field[i].word; i++) {
        if (strcmp(field[i].word, word) != 0) {
            continue;
        }
        if (!read_value(reader, words, &field[i])) {
            return false;
        }
    }
    return true;
}

/* What is said of the cutter itself comes behind the cutter, in whatever order it was typed. */
static bool is_of_cutter(const struct joint_kind_words *kind, const char *word)
{
    const struct joint_field *field = find_field(kind, word);
    return field && field->type != JOINT_FIELD_BIT && field->offset > kind->cutter &&
           field->offset < kind->cutter + sizeof(struct joint_cutter);
}

static bool is_kerf(const struct joint_kind_words *kind, const char *word)
{
    const struct joint_field *field = find_field(kind, word);
    return field && field->type == JOINT_FIELD_KERF;
}

/* Turn 0: all but what is said of the cutter; 1: its kerf, over what the list says; 2: the rest. */
static int turn_of(const struct joint_kind_words *kind, const char *word)
{
    return is_kerf(kind, word) ? 1 : is_of_cutter(kind, word) ? 2 : 0;
}

static bool unknown(struct reader *reader, const char *word)
{
    const struct joint_kind_words *kind = reader->job->kind;
    int used = snprintf(reader->why, JOINT_JOB_WHY, "'%.60s' is no word of '%s'; it takes", word,
                        kind->word);
    for (const struct joint_field *field = kind->field; field->word; field++) {
        bool again = field > kind->field && strcmp(field[-1].word, field->word) == 0;
        if (!again && used > 0 && used < JOINT_JOB_WHY) {
            used += snprintf(reader->why + used, JOINT_JOB_WHY - (size_t)used, "%s %s",
                             field > kind->field ? "," : "", field->word);
        }
    }
    return false;
}

static void mark_said(struct joint_job *job, const char *word)
{
    for (int i = 0; job->kind->field[i].word; i++) {
        job->said[i] = job->said[i] || strcmp(job->kind->field[i].word, word) == 0;
    }
}

/* A value of several words is one length: what does not belong to one is a word of its own. */
static bool belongs(const char *word)
{
    static const char *const parts[] = {"+", "-", "in", "mm", "\""};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (strcmp(word, parts[i]) == 0) {
            return true;
        }
    }
    return words_is_height(word);
}

static bool is_value(struct reader *reader, const char *word, int words)
{
    if (words == 0) {
        (void)snprintf(reader->why, JOINT_JOB_WHY, "nothing stands behind '%.60s'", word);
        return false;
    }
    for (int i = 1; i < words; i++) {
        if (!belongs(reader->word[reader->at + i])) {
            return unknown(reader, reader->word[reader->at + i]);
        }
    }
    return true;
}

static bool read_turn(struct reader *reader, int turn)
{
    const struct joint_kind_words *kind = reader->job->kind;
    int next;
    for (int i = 1; i < reader->count; i = next) {
        const char *word = reader->word[i];
        if (!is_keyword(kind, word)) {
            return unknown(reader, word);
        }
        reader->at = i + 1;
        int words = value_words(kind, reader->count, reader->word, i + 1);
        next = i + 1 + words;
        if (!is_value(reader, word, words)) {
            return false;
        }
        mark_said(reader->job, word);
        if (turn_of(kind, word) != turn) {
            continue;
        }
        if (is_travel(word) ? !set_travel(reader, word, words) : !set_fields(reader, word, words)) {
            return false;
        }
    }
    return true;
}

/* --- What was not said --- */

static void set_usual(struct joint_job *job)
{
    for (const struct joint_field *field = job->kind->field; field->word; field++) {
        if (field->type == JOINT_FIELD_COUNT) {
            *(int *)member(job, field->offset) = (int)field->usual;
        } else if (field->type == JOINT_FIELD_LENGTH) {
            *(int64_t *)member(job, field->offset) = field->usual;
        }
    }
}

static bool was_said(const struct joint_job *job, size_t offset)
{
    for (int i = 0; job->kind->field[i].word; i++) {
        if (job->said[i] && job->kind->field[i].offset == offset) {
            return true;
        }
    }
    return false;
}

static bool all_needed(struct reader *reader)
{
    for (const struct joint_field *field = reader->job->kind->field; field->word; field++) {
        if (field->needed && !was_said(reader->job, field->offset)) {
            (void)snprintf(reader->why, JOINT_JOB_WHY,
                           "'%s' is missing: %s. Say it, as in 'joint %s %s %s'", field->word,
                           field->means, reader->job->kind->word, field->word,
                           field->type == JOINT_FIELD_SLOPE ? "14" : "1/2");
            return false;
        }
    }
    return true;
}

/* The bit that the passes are for: the second one, where there is one. */
static void set_most(struct joint_job *job)
{
    const struct joint_cutter *cutter =
        joint_job_cutter(job, job->second_said ? JOINT_SECOND_BIT : JOINT_BIT);
    for (int i = 0; job->kind->field[i].word; i++) {
        const struct joint_field *field = &job->kind->field[i];
        if (field->type == JOINT_FIELD_MOST && !job->said[i] && cutter->kind != JOINT_SLOT) {
            *(int64_t *)member(job, field->offset) =
                passes_most_nm(cutter->width_nm, cutter->shank_nm);
        }
    }
}

static bool take_fitted(struct reader *reader)
{
    struct joint_job *job = reader->job;
    job->bit_fitted = true;
    return reader->shelf->bit(reader->shelf->owner, NULL, job->kind->wanted,
                              member(job, job->kind->cutter), job->bit, reader->why);
}

/* Does any word say which cutter it is? */
static bool says_bit(int count, char *const *word)
{
    for (int i = 1; i < count; i++) {
        if (strcmp(word[i], "bit") == 0 || strcmp(word[i], "kerf") == 0) {
            return true;
        }
    }
    return false;
}

bool joint_job_asks(int count, char *const *word)
{
    const struct joint_kind_words *kind = count > 0 ? find_kind(word[0]) : NULL;
    if (!kind) {
        return false;
    }
    for (int i = 1; i < count; i++) {
        const struct joint_field *field = find_field(kind, word[i]);
        bool lengths = !field || field->type <= JOINT_FIELD_MOST || field->type >= JOINT_FIELD_BIT;
        if (is_keyword(kind, word[i]) && i + 1 < count && lengths &&
            !words_is_height(word[i + 1])) {
            return true;
        }
        i += is_keyword(kind, word[i]) ? value_words(kind, count, word, i + 1) : 0;
    }
    return !says_bit(count, word);
}

static bool no_kind(char *why, const char *word)
{
    int used = snprintf(why, JOINT_JOB_WHY, "'%.40s' is no kind of joint; there are", word);
    for (const struct joint_kind_words *kind = joint_kinds; kind->word; kind++) {
        used += used > 0 && used < JOINT_JOB_WHY
                    ? snprintf(why + used, JOINT_JOB_WHY - (size_t)used, "%s %s",
                               kind > joint_kinds ? "," : "", kind->word)
                    : 0;
    }
    return false;
}

bool joint_job_read(int count, char *const *word, enum length_bare bare,
                    const struct joint_shelf *shelf, struct joint_job *job, char *why)
{
    struct reader reader = {count, word, 1, bare, shelf, job, why};
    memset(job, 0, sizeof *job);
    job->lowest_nm = -LENGTH_NM_MAX;
    job->highest_nm = LENGTH_NM_MAX;
    job->kind = count > 0 ? find_kind(word[0]) : NULL;
    if (!job->kind) {
        return no_kind(why, count > 0 ? word[0] : "");
    }
    set_usual(job);
    if (!read_turn(&reader, 0) || !read_turn(&reader, 1) || !all_needed(&reader) ||
        (!job->bit_said && !take_fitted(&reader)) || !read_turn(&reader, 2)) {
        return false;
    }
    if (job->kind->joint == JOINT_IS_TONGUE) {
        job->in.tongue.same_cutter = !job->second_said;
    }
    set_most(job);
    return true;
}

const struct joint_cutter *joint_job_cutter(const struct joint_job *job, enum joint_bit bit)
{
    bool second = bit == JOINT_SECOND_BIT && job->kind->second_cutter != 0;
    size_t offset = second ? job->kind->second_cutter : job->kind->cutter;
    return (const struct joint_cutter *)(const void *)((const char *)&job->in + offset);
}

/* --- The plan --- */

bool joint_job_plan(const struct joint_job *job, const struct joint_shop *shop,
                    struct joint_plan *plan)
{
    const union joint_input *in = &job->in;
    switch (job->kind->joint) {
    case JOINT_IS_UPRIGHT:
        return joint_upright(&in->upright, shop, plan);
    case JOINT_IS_STEPPED:
        return joint_stepped(&in->stepped, shop, plan);
    case JOINT_IS_GROOVE:
        return joint_groove(&in->groove, shop, plan);
    case JOINT_IS_DRAWER:
        return joint_drawer(&in->drawer, shop, plan);
    case JOINT_IS_TONGUE:
        return joint_tongue(&in->tongue, shop, plan);
    case JOINT_IS_TENON:
        return joint_tenon(&in->tenon, shop, plan);
    case JOINT_IS_MORTISE:
        return joint_mortise(&in->mortise, shop, plan);
    case JOINT_IS_LAP:
        return joint_lap(&in->lap, shop, plan);
    case JOINT_IS_RABBET:
        return joint_rabbet(&in->rabbet, shop, plan);
    case JOINT_IS_DADO:
        return joint_dado(&in->dado, shop, plan);
    case JOINT_IS_HALF_BLIND:
        return joint_dovetail(&in->dovetail, shop, plan);
    case JOINT_IS_SLIDING:
        return joint_sliding(&in->sliding, shop, plan);
    case JOINT_IS_PANEL:
        return joint_panel(&in->panel, shop, plan);
    default:
        return joint_centred(&in->centred, shop, plan);
    }
}
