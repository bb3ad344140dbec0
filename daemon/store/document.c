/* SPDX-License-Identifier: MIT */
#include "daemon/store/document.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/whole.h"
#include "protocol/json.h"

/* The names of a document. */
struct names {
    const char *name;
    char fresh[FILES_NAME_SIZE];   /* NAME.new */
    char good[FILES_NAME_SIZE];    /* NAME.good */
    char damaged[FILES_NAME_SIZE]; /* NAME.damaged */
};

enum state { ABSENT = 1, WHOLE, DAMAGED, NEWER, UNREADABLE };

/* One of the copies, read and judged. */
struct copy {
    const char *name;
    enum state state;
    cJSON *document;             /* WHOLE */
    char what[160];              /* a clause: what is wrong with it, unless ABSENT or WHOLE */
    char aside[FILES_NAME_SIZE]; /* where it was moved, or "" */
};

static bool fill_names(struct names *names, const char *name)
{
    names->name = name;
    return whole_name(names->fresh, name, ".new") && whole_name(names->good, name, ".good") &&
           whole_name(names->damaged, name, ".damaged");
}

REGLET_PRINTF(3, 4)
static void judge(struct copy *copy, enum state state, const char *format, ...)
{
    copy->state = state;
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(copy->what, sizeof copy->what, format, arguments);
    va_end(arguments);
}

static void judge_document(struct copy *copy, const cJSON *document, int version,
                           document_check *check)
{
    const cJSON *number = cJSON_GetObjectItemCaseSensitive(document, "version");
    char fault[sizeof copy->what] = "its content is wrong";
    if (!cJSON_IsObject(document)) {
        judge(copy, DAMAGED, "it is no object");
    } else if (!cJSON_IsNumber(number) || number->valuedouble < 1 ||
               number->valuedouble != (double)(long long)number->valuedouble) {
        judge(copy, DAMAGED, "it has no member \"version\" with a whole number");
    } else if (number->valuedouble > version) {
        judge(copy, NEWER, "it is of version %.0f, and this regletd reads versions up to %d",
              number->valuedouble, version);
    } else if (check != NULL && !check(document, fault, sizeof fault)) {
        judge(copy, DAMAGED, "%s", fault);
    } else {
        judge(copy, WHOLE, "%s", "");
    }
}

static void judge_text(struct copy *copy, const char *text, size_t size, int version,
                       document_check *check)
{
    struct json_fault fault;
    if (!json_scan(text, size, &fault)) {
        judge(copy, DAMAGED, "line %u: %s", fault.line, fault.text);
        return;
    }
    copy->document = json_parse(text, size, &fault);
    if (copy->document == NULL) {
        judge(copy, UNREADABLE, "%s", strerror(ENOMEM));
        return;
    }
    judge_document(copy, copy->document, version, check);
    if (copy->state != WHOLE) {
        cJSON_Delete(copy->document);
        copy->document = NULL;
    }
}

static void read_copy(const struct files *files, struct copy *copy, int version,
                      document_check *check)
{
    char *text;
    size_t size;
    if (whole_take(files, copy->name, DOCUMENT_SIZE_MAX, &text, &size)) {
        judge_text(copy, text, size, version, check);
        free(text);
    } else if (errno == EFBIG) {
        judge(copy, DAMAGED, "it is longer than %d bytes", DOCUMENT_SIZE_MAX);
    } else {
        judge(copy, errno == ENOENT ? ABSENT : UNREADABLE, "%s", strerror(errno));
    }
}

/* What has been decided, and the sentences for it. */
struct verdict {
    enum document_found found;
    char *why;
    size_t why_size;
};

REGLET_PRINTF(3, 4)
static void decide(struct verdict *verdict, enum document_found found, const char *format, ...)
{
    verdict->found = found;
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(verdict->why, verdict->why_size, format, arguments);
    va_end(arguments);
}

static void decide_refused(struct verdict *verdict, const struct copy *copy)
{
    if (copy->state == NEWER) {
        decide(verdict, DOCUMENT_NEWER,
               "%s was written by a newer regletd: %s. It was left as it is; start the newer one, "
               "or move the file out of the folder to begin without it.",
               copy->name, copy->what);
    } else {
        decide(verdict, DOCUMENT_UNREADABLE,
               "%s could not be read (%s). It was left as it is; see to the disk and start again.",
               copy->name, copy->what);
    }
}

/* "NAME was damaged (...) and is now NAME.damaged" or "NAME is not there" */
static void say_copy(const struct copy *copy, char *clause, size_t size)
{
    if (copy->state == DAMAGED) {
        (void)snprintf(clause, size, "%s was damaged (%s) and is now %s", copy->name, copy->what,
                       copy->aside);
    } else {
        (void)snprintf(clause, size, "%s is not there", copy->name);
    }
}

static void decide_recovered(struct verdict *verdict, const struct names *names,
                             const struct copy *present, const struct copy *good)
{
    enum { CLAUSE = 480 };
    char one[CLAUSE];
    char other[CLAUSE];
    say_copy(present, one, sizeof one);
    say_copy(good, other, sizeof other);
    if (good->state == WHOLE) {
        decide(verdict, DOCUMENT_LAST_GOOD,
               "%s. The one saved before it, %s, was taken: look whether what was changed last is "
               "missing, and change it again.",
               one, good->name);
    } else if (present->state == ABSENT && good->state == ABSENT) {
        decide(verdict, DOCUMENT_LOST,
               "%s was damaged and lies aside as %s; no good one is left, and nothing was saved "
               "since. Put a kept copy in its place while regletd is stopped, or enter it anew.",
               names->name, names->damaged);
    } else {
        decide(verdict, DOCUMENT_LOST,
               "%s; %s. Nothing was read: put a kept copy in its place while regletd is stopped, "
               "or enter it anew.",
               one, other);
    }
}

static bool move_damaged(const struct files *files, const struct names *names, struct copy *copy,
                         struct verdict *verdict)
{
    if (copy->state != DAMAGED || whole_move_aside(files, copy->name, names->name, copy->aside)) {
        return true;
    }
    decide(verdict, DOCUMENT_UNREADABLE,
           "%s is damaged (%s) and could not be moved aside (%s). Nothing was overwritten; see to "
           "the disk and start again.",
           copy->name, copy->what, strerror(errno));
    return false;
}

/* NAME is damaged or not there, and `good` may help. Nothing is moved before all is read, and each
 * step leaves a state from which this comes to the same end. */
static void recover(const struct files *files, const struct names *names, struct copy *present,
                    struct copy *good, struct verdict *verdict)
{
    if (good->state == NEWER || good->state == UNREADABLE) {
        decide_refused(verdict, good);
        return;
    }
    if (present->state == ABSENT && good->state == ABSENT) {
        int aside = whole_exists(files, names->damaged);
        if (aside == 0) {
            decide(verdict, DOCUMENT_FRESH, "%s", "");
            return;
        }
        if (aside < 0) {
            judge(present, UNREADABLE, "%s", strerror(errno));
            decide_refused(verdict, present);
            return;
        }
    }
    if (move_damaged(files, names, present, verdict) && move_damaged(files, names, good, verdict)) {
        decide_recovered(verdict, names, present, good);
    }
}

enum document_found document_load(const struct files *files, const char *name, int version,
                                  document_check *check, cJSON **document, char *why,
                                  size_t why_size)
{
    *document = NULL;
    struct verdict verdict = {.why = why, .why_size = why_size};
    struct names names;
    struct copy present = {.name = name};
    struct copy good = {.name = names.good};
    decide(&verdict, DOCUMENT_WHOLE, "%s", "");
    /* Names left by a daemon that was killed in mid-save may be in the cache alone: what is read
     * now, and acted on, must not be gone after a power cut. */
    if (!fill_names(&names, name) || !whole_sync_folder(files)) {
        judge(&present, UNREADABLE, "%s", strerror(errno));
    } else {
        read_copy(files, &present, version, check);
    }
    if (present.state == NEWER || present.state == UNREADABLE) {
        decide_refused(&verdict, &present);
    } else if (present.state != WHOLE) {
        read_copy(files, &good, version, check);
        recover(files, &names, &present, &good, &verdict);
    }
    if (verdict.found == DOCUMENT_WHOLE) {
        *document = present.document;
    } else if (verdict.found == DOCUMENT_LAST_GOOD) {
        *document = good.document;
    } else {
        cJSON_Delete(good.document);
    }
    return verdict.found;
}

/* Enough to keep torn and foreign bytes from passing as a document; without cJSON, whose parser
 * writes to a variable of the whole process, because the loop may be parsing at the same time. */
static bool well_formed(const char *text, size_t size)
{
    struct json_fault fault;
    return json_scan(text, size, &fault) && text[strspn(text, " \t\r\n")] == '{';
}

static bool put_file(const struct files *files, const struct names *names, const char *to,
                     const char *text, const char **step)
{
    int fd = whole_create(files, names->fresh, text, strlen(text), step);
    if (fd < 0) {
        return false;
    }
    *step = "closing the new file";
    bool put = files->call->close(files->disk, fd) == 0;
    if (put) {
        *step = "putting the new file in its place";
        put = files->call->rename(files->disk, names->fresh, to) == 0;
    }
    if (!put) {
        int error = errno;
        (void)files->call->remove(files->disk, names->fresh); /* of no use; may lie there */
        errno = error;
    }
    return put;
}

/* The present document, copied if it is whole, moved aside if it is not. */
static bool keep_present(const struct files *files, const struct names *names, bool *kept,
                         const char **step)
{
    *kept = false;
    *step = "reading the present document";
    char *text;
    size_t size;
    bool taken = whole_take(files, names->name, DOCUMENT_SIZE_MAX, &text, &size);
    if (!taken && errno != EFBIG) {
        return errno == ENOENT;
    }
    bool done;
    if (taken && well_formed(text, size)) {
        done = *kept = put_file(files, names, names->good, text, step);
        *step = done ? *step : "keeping a copy of the present document";
    } else {
        char aside[FILES_NAME_SIZE];
        *step = "moving the damaged present document aside";
        done = whole_move_aside(files, names->name, names->name, aside);
    }
    int error = errno;
    free(text);
    errno = error;
    return done;
}

bool document_save(const struct files *files, const char *name, const char *text, const char **step)
{
    *step = "checking the new document";
    struct names names;
    size_t size = strlen(text);
    if (size > DOCUMENT_SIZE_MAX || !well_formed(text, size)) {
        errno = size > DOCUMENT_SIZE_MAX ? EFBIG : EINVAL;
        return false;
    }
    bool kept;
    if (!fill_names(&names, name) || !keep_present(files, &names, &kept, step) ||
        !put_file(files, &names, name, text, step)) {
        return false;
    }
    *step = "making the new name durable";
    if (whole_sync_folder(files)) {
        return true;
    }
    int error = errno;
    (void)(kept ? files->call->rename(files->disk, names.good, name)
                : files->call->remove(files->disk, name));
    errno = error;
    return false;
}
