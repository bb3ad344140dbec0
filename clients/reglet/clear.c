/* SPDX-License-Identifier: MIT */
#include "clients/reglet/clear.h"

#include "clients/reglet/ask.h"

const struct argp_option clear_options[] = {
    {"yes", RUN_YES, 0, 0, "I have looked, and all is clear: do not ask", 0}, {0}};

enum client_exit clear_possible(const struct run *run)
{
    return run->yes || ask_possible(run)
               ? CLIENT_DONE
               : run_usage(run, "nobody can be asked whether all is clear; look, then say --yes");
}

enum client_exit clear_ask(struct run *run, const char *method, cJSON *params)
{
    struct say say = {0};
    struct client_answer answer = {0};
    if (run->yes) {
        cJSON_Delete(params);
        return CLIENT_DONE;
    }
    enum client_exit code = run_call(run, method, params, &answer);
    if (code == CLIENT_DONE && client_refused_for(&answer, REASON_SAY_CLEAR)) {
        client_say_error(&say, answer.error);
        run_complain(&say);
        code = ask_yes(run, "Have you looked, and is it so?",
                       "Nothing has been done. Say it again when all is clear.");
    } else if (code == CLIENT_DONE) {
        code = run_tell(run, &answer);
        code = code == CLIENT_DONE ? run_trouble(run, CLIENT_GARBLED) : code; /* it did not ask */
    }
    client_answer_free(&answer);
    return code;
}

cJSON *clear_params(cJSON *params)
{
    cJSON *all = params ? params : cJSON_CreateObject();
    if (!cJSON_AddTrueToObject(all, "clear")) {
        cJSON_Delete(all);
        return NULL;
    }
    return all;
}
