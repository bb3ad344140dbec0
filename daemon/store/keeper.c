/* SPDX-License-Identifier: MIT */
#include "daemon/store/keeper.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/document.h"
#include "daemon/store/worker.h"

struct keeper {
    struct files files;
    struct clock *clock;
    struct worker *worker;
    struct journal journal;
    struct log log;
    unsigned waiting; /* tasks that are not done */
    bool log_failed;  /* said once, not again with every line */
    void (*closed)(void *owner);
    void *closed_owner;
};

enum task_kind { TASK_RECORD = 1, TASK_DOCUMENT, TASK_LOG, TASK_PAGE };

struct task {
    struct worker_job job; /* first: the job is the task */
    struct keeper *keeper;
    enum task_kind kind;
    struct journal_record record;
    const char *name; /* of the document */
    const char *step; /* at which it failed */
    char *text;
    keeper_done *done;
    void *owner;
    size_t skip; /* of a page of the log */
    size_t most;
    struct log_page page;
    keeper_page *paged;
};

static bool work(struct worker_job *job)
{
    struct task *task = (struct task *)job;
    switch (task->kind) {
    case TASK_RECORD:
        task->step = "the journal";
        return journal_write(&task->keeper->journal, &task->record);
    case TASK_DOCUMENT:
        return document_save(&task->keeper->files, task->name, task->text, &task->step);
    case TASK_PAGE:
        task->step = "the log";
        return log_read_page(&task->keeper->files, task->text, task->skip, task->most, &task->page);
    default:
        task->step = "the log";
        return log_write(&task->keeper->log, task->text);
    }
}

static void complain(struct task *task, const char *why)
{
    struct keeper *keeper = task->keeper;
    if (task->kind != TASK_LOG || !keeper->log_failed) {
        fprintf(stderr, "regletd: %s\n", why);
    }
    keeper->log_failed = task->kind == TASK_LOG;
}

static void done(struct worker_job *job, bool worked, int error)
{
    struct task *task = (struct task *)job;
    struct keeper *keeper = task->keeper;
    char why[200] = "";
    if (!worked) {
        snprintf(why, sizeof why, "%s%s%s could not be %s: %s",
                 task->kind == TASK_DOCUMENT ? task->name : "",
                 task->kind == TASK_DOCUMENT ? ", at the step " : "", task->step ? task->step : "?",
                 task->kind == TASK_PAGE ? "read" : "written", strerror(error));
        complain(task, why);
    }
    if (task->done) {
        task->done(task->owner, worked, why);
    }
    if (task->paged) {
        task->paged(task->owner, worked ? &task->page : NULL, why);
    }
    free(task->page.lines);
    cJSON_free(task->text);
    free(task);
    if (--keeper->waiting == 0 && keeper->closed) {
        keeper->closed(keeper->closed_owner);
    }
}

static void submit(struct keeper *keeper, const struct task *wanted)
{
    struct task *task = malloc(sizeof *task);
    if (!task) {
        cJSON_free(wanted->text);
        if (wanted->done) {
            wanted->done(wanted->owner, false, "there is no memory left");
        }
        if (wanted->paged) {
            wanted->paged(wanted->owner, NULL, "there is no memory left");
        }
        return;
    }
    *task = *wanted;
    task->keeper = keeper;
    task->job = (struct worker_job){.work = work, .done = done};
    keeper->waiting++;
    worker_do(keeper->worker, &task->job);
}

static bool open_journal(struct keeper *keeper, struct journal_record *record,
                         enum journal_found *found, char *why, size_t size)
{
    *record = (struct journal_record){.sequence = 0};
    *found = journal_open(&keeper->journal, &keeper->files, record);
    switch (*found) {
    case JOURNAL_NEWER:
        snprintf(why, size,
                 "the journal was written by a newer version of Reglet, and is left as "
                 "it is. Start that version again, or move the file journal away and "
                 "find the top and touch off anew");
        return false;
    case JOURNAL_UNREADABLE:
        snprintf(why, size,
                 "the journal cannot be read: %s. Nothing was changed; see to the disk "
                 "and the rights of the state folder",
                 strerror(errno));
        return false;
    case JOURNAL_DAMAGED:
        if (!journal_begin_anew(&keeper->journal)) {
            snprintf(why, size,
                     "both copies in the journal are damaged, and it cannot be moved "
                     "aside: %s. Nothing was changed; see to the disk",
                     strerror(errno));
            return false;
        }
        fprintf(stderr, "regletd: both copies in the journal are damaged. It was moved aside to "
                        "journal.damaged. Position and zero are lost: find the top, and touch "
                        "off\n");
        *record = (struct journal_record){.sequence = 0};
        return true;
    default:
        return true;
    }
}

struct keeper *keeper_open(uv_loop_t *loop, struct clock *clock, const struct files *files,
                           struct journal_record *record, enum journal_found *found, char *why,
                           size_t why_size)
{
    struct keeper *keeper = calloc(1, sizeof *keeper);
    if (!keeper || !(keeper->worker = worker_create(loop, clock))) {
        snprintf(why, why_size, "there is no memory for the store");
        free(keeper);
        return NULL;
    }
    keeper->files = *files;
    keeper->clock = clock;
    if (!open_journal(keeper, record, found, why, why_size)) {
        worker_free(keeper->worker);
        free(keeper);
        return NULL;
    }
    if (!log_open(&keeper->log, files)) {
        fprintf(stderr, "regletd: the log cannot be opened (%s); the lift works without it\n",
                strerror(errno));
        keeper->log_failed = true;
    }
    return keeper;
}

const struct files *keeper_files(const struct keeper *keeper)
{
    return &keeper->files;
}

void keeper_record(struct keeper *keeper, const struct journal_record *record, keeper_done *then,
                   void *owner)
{
    struct task task = {.kind = TASK_RECORD, .record = *record, .done = then, .owner = owner};
    submit(keeper, &task);
}

void keeper_document(struct keeper *keeper, const char *name, char *text, keeper_done *then,
                     void *owner)
{
    struct task task = {
        .kind = TASK_DOCUMENT, .name = name, .text = text, .done = then, .owner = owner};
    submit(keeper, &task);
}

void keeper_read_log(struct keeper *keeper, const char *from, size_t skip, size_t most,
                     keeper_page *then, void *owner)
{
    size_t size = strlen(from) + 1;
    char *copy = cJSON_malloc(size);
    struct task task = {
        .kind = TASK_PAGE, .text = copy, .skip = skip, .most = most, .paged = then, .owner = owner};
    if (!copy) {
        then(owner, NULL, "there is no memory left");
        return;
    }
    memcpy(copy, from, size);
    submit(keeper, &task);
}

void keeper_time(const struct keeper *keeper, char *text, size_t size)
{
    clock_wall_time(keeper->clock, text, size);
}

void keeper_log(struct keeper *keeper, cJSON *line)
{
    char time[40];
    clock_wall_time(keeper->clock, time, sizeof time);
    cJSON_AddStringToObject(line, "time", time);
    struct task task = {.kind = TASK_LOG, .text = cJSON_PrintUnformatted(line)};
    cJSON_Delete(line);
    if (task.text) {
        submit(keeper, &task);
    }
}

void keeper_close(struct keeper *keeper, void (*closed)(void *owner), void *owner)
{
    keeper->closed = closed;
    keeper->closed_owner = owner;
    if (keeper->waiting == 0) {
        closed(owner);
    }
}

void keeper_free(struct keeper *keeper)
{
    if (keeper) {
        journal_close(&keeper->journal);
        log_close(&keeper->log);
        worker_free(keeper->worker);
        free(keeper);
    }
}
