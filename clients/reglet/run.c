/* SPDX-License-Identifier: MIT */
#include "clients/reglet/run.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/interrupt.h"
#include "clients/common/words.h"
#include "protocol/unit.h"

const char run_caution[] = "Caution: unplug the router before your hands go near the bit, as its "
                           "maker's manual tells you.";

void run_print(const struct say *say)
{
    (void)fputs(say->text, stdout); /* main looks at ferror */
    (void)fflush(stdout);
}

void run_complain(const struct say *say)
{
    (void)fflush(stdout);
    (void)fputs(say->text, stderr);
}

const char *run_name(const struct run *run)
{
    return run->practice_lift ? "reglet -p" : "reglet";
}

void run_say(const char *text)
{
    struct say say = {0};
    say_paragraph(&say, "", 0, text);
    run_complain(&say);
}

enum client_exit run_usage(const struct run *run, const char *why)
{
    struct say say = {0};
    say_wrap(&say, "", 0, "reglet %s: %s.", run->command->word, why);
    say_wrap(&say, "", 0, "Nothing was asked of the lift. 'reglet %s --help' says more.",
             run->command->word);
    run_complain(&say);
    return CLIENT_USAGE;
}

enum client_exit run_trouble(const struct run *run, enum client_end end)
{
    struct say say = {0};
    client_say_trouble(&say, &(struct client_trouble){.end = end,
                                                      .error = run->client.error,
                                                      .path = run->path,
                                                      .practice = run->practice,
                                                      .asked = run->asked});
    run_complain(&say);
    return client_exit_of_end(end);
}

static bool choose_path(struct run *run)
{
    if (run->socket) {
        int size = snprintf(run->path, sizeof run->path, "%s", run->socket);
        return size > 0 && (size_t)size < sizeof run->path;
    }
    return paths_socket(run->practice, run->path, sizeof run->path);
}

/* The daemon's greeting: the protocol must be ours, and --practice must mean what it says. */
static enum client_exit check_greeting(struct run *run, const cJSON *hello)
{
    struct say say = {0};
    const cJSON *major = cJSON_GetObjectItemCaseSensitive(hello, "major");
    run->practice_lift = cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(hello, "practice"));
    if (!cJSON_IsNumber(major) || major->valuedouble != LOCAL_MAJOR) {
        say_wrap(&say, "", 0,
                 "regletd at %s speaks another version of the protocol than this reglet (%d). "
                 "Nothing was asked of the lift. Install both from one release, and start regletd "
                 "again.",
                 run->path, LOCAL_MAJOR);
    } else if (run->practice && !run->practice_lift) {
        say_wrap(&say, "", 0,
                 "regletd at %s drives a real lift, and you said --practice. Nothing was asked of "
                 "the lift. Leave --practice out, or start 'regletd --practice'.",
                 run->path);
    } else {
        return CLIENT_DONE;
    }
    run_complain(&say);
    return CLIENT_UNREACHABLE;
}

static enum client_end greet(struct run *run)
{
    enum client_end end = client_open(&run->client, run->path);
    run->greeted = true;
    return end == CLIENT_ANSWERED ? client_call(&run->client, "hello",
                                                words_params_text("client", "reglet"), &run->hello)
                                  : end;
}

void run_learn_unit(struct run *run)
{
    if (!choose_path(run)) {
        return;
    }
    run->greeting = greet(run);
    const cJSON *unit = cJSON_GetObjectItemCaseSensitive(run->hello.result, "unit");
    if (!run->unit_said && cJSON_IsString(unit)) {
        (void)!unit_style(unit->valuestring, &run->style); /* a newer one is not known here */
    }
}

void run_close(struct run *run)
{
    client_answer_free(&run->hello);
    client_close(&run->client);
}

enum client_exit run_connect(struct run *run)
{
    struct say say = {0};
    if (!choose_path(run)) {
        say_wrap(&say, "", 0,
                 "The name of the socket is too long, or empty: at most %d bytes. Nothing was "
                 "asked of the lift. Give a shorter path, or a shorter practice folder.",
                 PATHS_SIZE - 1);
        run_complain(&say);
        return CLIENT_USAGE;
    }
    if (!interrupt_watch(&run->client.interrupt_fd)) {
        say_wrap(&say, "", 0, "Ctrl-C could not be watched for: %s. Nothing was asked of the lift.",
                 strerror(errno));
        run_complain(&say);
        return CLIENT_UNREACHABLE;
    }
    enum client_end end = run->greeted ? run->greeting : greet(run);
    if (end != CLIENT_ANSWERED) {
        return run_trouble(run, end);
    }
    if (run->hello.error) {
        (void)run_tell(run, &run->hello);
        return CLIENT_UNREACHABLE;
    }
    return check_greeting(run, run->hello.result);
}

static enum client_asked kind_of(const char *method)
{
    static const char *const questions[] = {"status", "presets", "log",   "surface", "bits",
                                            "rings",  "stock",   "pairs", "stories", "marks"};
    for (size_t i = 0; i < sizeof questions / sizeof *questions; i++) {
        if (strcmp(method, questions[i]) == 0) {
            return CLIENT_ASKED_NOTHING;
        }
    }
    /* What moves still when 'stop' is not answered, moves. */
    return strcmp(method, "stop") == 0 ? CLIENT_ASKED_MOTION : CLIENT_ASKED_CHANGE;
}

enum client_exit run_call(struct run *run, const char *method, cJSON *params,
                          struct client_answer *answer)
{
    run->asked = kind_of(method);
    enum client_end end = client_call(&run->client, method, params, answer);
    return end == CLIENT_ANSWERED ? CLIENT_DONE : run_trouble(run, end);
}

enum client_exit run_ask(struct run *run, const char *method, cJSON *params,
                         struct client_answer *answer)
{
    enum client_exit code = run_connect(run);
    if (code != CLIENT_DONE) {
        cJSON_Delete(params);
        return code;
    }
    return run_call(run, method, params, answer);
}

enum client_exit run_tell(const struct run *run, const struct client_answer *answer)
{
    struct say say = {0};
    const char *value;
    size_t size;
    if (run->json && client_value(answer, &value, &size)) {
        (void)fwrite(value, 1, size, stdout);
        (void)fputs("\n", stdout);
    } else if (answer->error) {
        client_say_error(&say, answer->error);
        run_complain(&say);
    }
    return client_exit_of_answer(answer);
}

static enum client_exit show_answer(const struct run *run, const struct client_answer *answer,
                                    run_show *show)
{
    struct say say = {0};
    struct show_lift lift;
    if (run->json || answer->error) {
        return run_tell(run, answer);
    }
    if (!show_read(answer->result, &lift)) {
        return run_trouble(run, CLIENT_GARBLED);
    }
    show(&say, &lift, run->style);
    run_print(&say);
    return CLIENT_DONE;
}

enum client_exit run_call_status(struct run *run, const char *method, cJSON *params, run_show *show)
{
    struct client_answer answer = {0};
    enum client_exit code = run_call(run, method, params, &answer);
    if (code == CLIENT_DONE) {
        code = show_answer(run, &answer, show);
    }
    client_answer_free(&answer);
    return code;
}

enum client_exit run_status(struct run *run, const char *method, cJSON *params, run_show *show)
{
    enum client_exit code = run_connect(run);
    if (code != CLIENT_DONE) {
        cJSON_Delete(params);
        return code;
    }
    return run_call_status(run, method, params, show);
}
