/* SPDX-License-Identifier: MIT */
#include "clients/bench/joint_job.h"

#include <stdio.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/plan.h"

static struct joint_plan plan; /* too large for the stack */
static struct joint_job job;

/* What was taken for what was not said. */
static void show_usual(const struct run *run)
{
    struct say line = {0};
    struct say say = {0};
    for (int i = 0; job.kind->field[i].word; i++) {
        const struct joint_field *field = &job.kind->field[i];
        char text[SAY_LENGTH_SIZE];
        bool taken = !job.said[i] && (field->type == JOINT_FIELD_MOST || field->usual > 1) &&
                     field->type <= JOINT_FIELD_MOST;
        int64_t nm;
        memcpy(&nm, (const char *)&job.in + field->offset, sizeof nm);
        if (taken && nm != 0) {
            say_length(nm, run->style, text, sizeof text);
            say_add(&line, "%s%s %s", line.used > 0 ? ", " : "", field->word, text);
        }
    }
    bool drawn_out = run->draw && strcmp(run->draw, "-") == 0;
    if (line.used > 0 && !run->json && !drawn_out) {
        say_wrap(&say, "Usual:", SAY_INDENT, "%s (not said; say another to change it)", line.text);
        run_print(&say);
    }
}

static void list_kinds(void)
{
    struct say say = {0};
    for (const struct joint_kind_words *kind = joint_kinds; kind->word; kind++) {
        say_add(&say, "  %-12s %s\n", kind->word, kind->title);
    }
    say_wrap(&say, "", 0, "'reglet joint KIND' says which sizes one takes.");
    run_print(&say);
}

/* The words of one kind: for somebody who knows no more than its name. */
static enum client_exit list_words(const struct joint_kind_words *kind)
{
    struct say say = {0};
    say_add(&say, "%s\n", kind->title);
    for (const struct joint_field *field = kind->field; field->word; field++) {
        bool again = field > kind->field && strcmp(field[-1].word, field->word) == 0;
        if (!again) {
            say_add(&say, "  %-15s%s%s\n", field->word, field->means,
                    field->needed ? "" : "   (may be left out)");
        }
    }
    say_wrap(&say, "", 0,
             "A length may be the name of stock in the lift's list. Without 'bit' it is the fitted "
             "one. 'lowest' and 'highest' give another travel than the lift's.");
    run_print(&say);
    return CLIENT_DONE;
}

static const struct joint_kind_words *alone(const struct run *run)
{
    const struct joint_kind_words *kind = joint_kinds;
    while (run->count == 1 && kind->word && strcmp(kind->word, run->word[0]) != 0) {
        kind++;
    }
    return run->count == 1 && kind->word ? kind : NULL;
}

static enum client_exit make(struct run *run, struct plan_shop *shop)
{
    char why[JOINT_JOB_WHY];
    const struct joint_shelf shelf = plan_shop_shelf(shop);
    if (!joint_job_read(run->count, run->word, words_bare(run->style), &shelf, &job, why)) {
        return shop->trouble != CLIENT_DONE ? shop->trouble : run_usage(run, why);
    }
    struct joint_shop travel = plan_shop_travel(shop, job.bit, job.second_said, run->style);
    if (job.travel_said) {
        travel.lowest_nm = job.lowest_nm;
        travel.highest_nm = job.highest_nm;
    }
    return joint_job_plan(&job, &travel, &plan) ? CLIENT_DONE : plan_refused(&plan);
}

static enum client_exit carry_out(struct run *run)
{
    char made_by[STORY_MADE_SIZE];
    struct plan_shop shop = {.run = run};
    enum client_exit code = CLIENT_DONE;
    if (run->count == 0) {
        list_kinds();
        return CLIENT_DONE;
    }
    if (alone(run)) {
        return list_words(alone(run));
    }
    if (joint_job_asks(run->count, run->word) || run->keep) {
        code = plan_shop_open(&shop);
    }
    if (code == CLIENT_DONE) {
        code = make(run, &shop);
    }
    if (code != CLIENT_DONE) {
        return code;
    }
    show_usual(run);
    plan_made_by(run, made_by, sizeof made_by);
    return plan_use(run, &shop,
                    &(struct plan_made){.plan = &plan,
                                        .title = job.kind->title,
                                        .bit = job.bit,
                                        .second = job.second,
                                        .made_by = made_by,
                                        .job = &job});
}

static const struct argp_option options[] = {PLAN_OPTIONS, {0}};

const struct command command_joint = {
    "joint",
    "[KIND [SIZE VALUE ...]]",
    "work out the heights of a joint",
    "Without words: lists the kinds; with KIND alone: its sizes. For example: joint tongue thick "
    ".742 groove 1/4 tongue 1/4 bit slot-5/32; joint stepped width 3/4 thick 1/2 kerf 1/8. It "
    "shows each mark, or says with numbers why it cannot be cut so. A length can be the name of "
    "measured stock. --keep makes a story of it. Nothing moves by it.",
    carry_out,
    options};
