/* SPDX-License-Identifier: MIT */
#include "clients/reglet/motion.h"

#include <unistd.h>

#include "clients/common/interrupt.h"
#include "clients/common/words.h"
#include "clients/reglet/draw.h"

enum {
    FIRST_LOOK_MS = 400, /* a nudge is over before */
    LOOK_MS = 150,       /* on a terminal */
    LIFE_MS = 1000,      /* elsewhere: only whether the daemon still answers */
};

/* A motion under way. Ids are 0 where nothing is awaited. */
struct wait {
    struct run *run;
    run_show *show;
    double motion_id;
    double look_id;
    bool terminal;
    bool stopping;       /* a signal came, and stop was sent */
    int64_t look_ms;     /* when to ask for the status again */
    int64_t deadline_ms; /* by when something must have been heard */
    struct draw draw;
    struct client_answer answer; /* of the motion */
};

static void look_at(struct wait *wait, const struct client_answer *answer)
{
    struct show_lift lift;
    if (wait->terminal && show_read(answer->result, &lift) && show_in_motion(&lift)) {
        draw_progress(&wait->draw, &lift, wait->run->style);
    }
    wait->look_id = 0;
    wait->look_ms = client_now_ms() + (wait->terminal ? LOOK_MS : LIFE_MS);
}

static enum client_end ask_to_look(struct wait *wait)
{
    return client_send(&wait->run->client, "status", NULL, &wait->look_id);
}

/* The signal: brake, and give the lift CLIENT_WAIT_MS from now to come to rest. */
static enum client_end ask_to_stop(struct wait *wait)
{
    double id;
    wait->stopping = true;
    enum client_end end = client_send(&wait->run->client, "stop", NULL, &id);
    wait->deadline_ms = client_now_ms() + CLIENT_WAIT_MS;
    return end;
}

/* Takes one answer. True when it was the motion's, which is then kept. */
static bool take(struct wait *wait, struct client_answer *answer)
{
    if (!wait->stopping) {
        wait->deadline_ms = client_now_ms() + CLIENT_WAIT_MS;
    }
    if (client_answers(answer, wait->motion_id)) {
        wait->answer = *answer;
        return true;
    }
    if (client_answers(answer, wait->look_id)) {
        look_at(wait, answer);
    }
    client_answer_free(answer);
    return false;
}

/* CLIENT_ANSWERED: the motion's answer is there. */
static enum client_end wait_for_rest(struct wait *wait)
{
    enum client_end end = CLIENT_ANSWERED;
    while (end == CLIENT_ANSWERED) {
        struct client_answer answer = {0};
        int64_t now_ms = client_now_ms();
        bool looking = wait->look_id > 0;
        int64_t next_ms =
            looking || wait->deadline_ms < wait->look_ms ? wait->deadline_ms : wait->look_ms;
        end = client_read(&wait->run->client, next_ms - now_ms, &answer);
        if (end == CLIENT_ANSWERED && take(wait, &answer)) {
            return CLIENT_ANSWERED;
        }
        if (end == CLIENT_INTERRUPTED) {
            end = ask_to_stop(wait);
        } else if (end == CLIENT_SILENT && client_now_ms() < wait->deadline_ms) {
            end = looking ? CLIENT_ANSWERED : ask_to_look(wait);
        }
    }
    return end;
}

void motion_show_where(struct run *run)
{
    struct say say = {0};
    struct show_lift lift;
    struct client_answer answer = {0};
    enum client_end end = client_call(&run->client, "status", NULL, &answer);
    if (end != CLIENT_ANSWERED || !show_read(answer.result, &lift)) {
        (void)run_trouble(run, end == CLIENT_ANSWERED ? CLIENT_GARBLED : end);
    } else {
        show_rest(&say, &lift, run->style);
        run_print(&say);
    }
    client_answer_free(&answer);
}

static enum client_exit tell_end(struct wait *wait)
{
    struct say say = {0};
    struct show_lift lift;
    struct run *run = wait->run;
    bool moved = wait->answer.result && !wait->stopping;
    enum client_exit code = run_tell(run, &wait->answer);
    if (!run->json && moved && show_read(wait->answer.result, &lift)) {
        wait->show(&say, &lift, run->style);
        run_print(&say);
    } else if (!run->json && moved) {
        return run_trouble(run, CLIENT_GARBLED);
    } else if (!run->json && (wait->stopping || client_ended_early(&wait->answer))) {
        motion_show_where(run);
    }
    return wait->stopping ? CLIENT_BROKEN_OFF : code;
}

static enum client_exit start(struct wait *wait, const char *method, cJSON *params)
{
    struct run *run = wait->run;
    if (interrupt_came()) { /* behind the greeting: then nothing is to move any more */
        cJSON_Delete(params);
        return run_trouble(run, CLIENT_INTERRUPTED);
    }
    run->asked = CLIENT_ASKED_MOTION;
    enum client_end end = client_send(&run->client, method, params, &wait->motion_id);
    return end == CLIENT_ANSWERED ? CLIENT_DONE : run_trouble(run, end);
}

/* CLIENT_DONE: there is an answer. Else it was told. */
static enum client_exit move(struct wait *wait, const char *method, cJSON *params)
{
    enum client_exit code = start(wait, method, params);
    if (code != CLIENT_DONE) {
        return code;
    }
    wait->look_ms = client_now_ms() + FIRST_LOOK_MS;
    wait->deadline_ms = client_now_ms() + CLIENT_WAIT_MS;
    enum client_end end = wait_for_rest(wait);
    draw_wipe(&wait->draw, wait->stopping ? 2 : 0); /* the terminal's own ^C */
    if (end != CLIENT_ANSWERED) {
        code = run_trouble(wait->run, end);
        return wait->stopping ? CLIENT_BROKEN_OFF : code;
    }
    return CLIENT_DONE;
}

enum client_exit motion_go(struct run *run, const char *method, cJSON *params, run_show *show)
{
    struct wait wait = {.run = run, .show = show, .terminal = isatty(STDERR_FILENO) == 1};
    enum client_exit code = move(&wait, method, params);
    if (code == CLIENT_DONE) {
        code = tell_end(&wait);
    }
    client_answer_free(&wait.answer);
    return code;
}

enum client_exit motion_quietly(struct run *run, const char *method, cJSON *params,
                                struct client_answer *answer)
{
    struct wait wait = {.run = run, .show = show_rest, .terminal = isatty(STDERR_FILENO) == 1};
    enum client_exit code = move(&wait, method, params);
    if (code == CLIENT_DONE && wait.answer.result && !wait.stopping) {
        *answer = wait.answer;
        return CLIENT_DONE;
    }
    if (code == CLIENT_DONE) {
        code = tell_end(&wait);
    }
    client_answer_free(&wait.answer);
    return code;
}

static void show_understood(const struct run *run, const struct motion *motion)
{
    struct say say = {0};
    char text[SAY_LENGTH_SIZE];
    say_exact(motion->shown_nm, run->style, text, sizeof text);
    say_add(&say, "%s %s; no work on or over the bit\n", motion->word, text);
    run_print(&say);
}

enum client_exit motion_run(struct run *run, const struct motion *motion)
{
    if (!run->json) {
        show_understood(run, motion);
    }
    enum client_exit code = run_connect(run);
    if (code != CLIENT_DONE) {
        return code;
    }
    cJSON *params = words_params(motion->name, motion->nm);
    return params ? motion_go(run, motion->method, params, show_rest)
                  : run_trouble(run, CLIENT_NO_MEMORY);
}

enum client_exit motion_nudge(struct run *run, int way)
{
    int64_t nm;
    char why[WORDS_WHY];
    if (!words_nudge(run->count, run->word, words_bare(run->style), &nm, why)) {
        return run_usage(run, why);
    }
    return motion_run(run, &(struct motion){.word = run->command->word,
                                            .method = "by",
                                            .name = "distance",
                                            .nm = way * nm,
                                            .shown_nm = nm});
}
