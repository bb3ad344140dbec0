/* SPDX-License-Identifier: MIT */
/* What the greeting and the answers come to. */
#include <stdio.h>
#include <string.h>

#include "clients/pedal/talk_parts.h"

/* --- The greeting --- */

static void take_hello(struct talk *talk, const struct client_answer *answer)
{
    char why[TALK_WHY_SIZE];
    const cJSON *major = cJSON_GetObjectItemCaseSensitive(answer->result, "major");
    const cJSON *minor = cJSON_GetObjectItemCaseSensitive(answer->result, "minor");
    bool practice = cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(answer->result, "practice"));
    if (!cJSON_IsNumber(major) || major->valuedouble != LOCAL_MAJOR || !cJSON_IsNumber(minor) ||
        minor->valuedouble < 1) { /* 1.0 knew neither a client's name, nor watch, nor hold */
        (void)snprintf(why, sizeof why,
                       "regletd at %s speaks another version of the protocol than this "
                       "reglet-pedal. The keys do nothing. Install both from one release, and "
                       "start regletd again.",
                       talk->path);
        talk_lose(talk, why);
    } else if (talk->practice && !practice) {
        (void)snprintf(why, sizeof why,
                       "regletd at %s drives a real lift, and --practice was said. The keys do "
                       "nothing. Leave --practice out, or start 'regletd --practice'.",
                       talk->path);
        talk_lose(talk, why);
    } else {
        const cJSON *may = cJSON_GetObjectItemCaseSensitive(answer->result, "may");
        if (cJSON_IsString(may) && strcmp(may->valuestring, "look-and-stop") == 0) {
            talk->events.say(talk->events.owner,
                             "This user may look and stop, and no more: every key can only stop "
                             "the lift. Become a member of regletd's group, and start again.");
        }
        talk->state = TALK_WATCHING;
        talk_greet(talk, TALK_ID_WATCH, "watch", NULL);
    }
}

static void take_watch(struct talk *talk, const struct client_answer *answer)
{
    char word[TALK_WHY_SIZE];
    struct gate_lift lift;
    if (answer->error || !speak_lift(answer->result, &lift)) {
        talk_lose(talk,
                  "regletd does not tell what the lift does. The keys do nothing. Install regletd "
                  "and reglet-pedal from one release, and start both again.");
        return;
    }
    talk->state = TALK_READY;
    talk->tries = 0;
    talk->why[0] = '\0';
    (void)snprintf(word, sizeof word, "regletd at %s is there: the keys count.", talk->path);
    talk->events.say(talk->events.owner, word);
    talk->events.ready(talk->events.owner, &lift);
}

/* An error that names no request, or one that was not asked for, is no answer to a greeting. */
static void take_greeting(struct talk *talk, const struct client_answer *answer)
{
    char why[TALK_WHY_SIZE];
    if (answer->error) {
        struct gate_answer out;
        char sentence[GATE_WHY_SIZE];
        speak_answer(answer, sentence, &out);
        (void)snprintf(why, sizeof why, "regletd at %.100s does not take this client: %.240s %s",
                       talk->path, sentence, "The keys do nothing. It is tried again.");
        talk_lose(talk, why);
    } else if (talk->state == TALK_GREETING && answer->id == TALK_ID_HELLO) {
        take_hello(talk, answer);
    } else if (talk->state == TALK_WATCHING && answer->id == TALK_ID_WATCH) {
        take_watch(talk, answer);
    }
}

/* --- Answers and notifications --- */

static void take_answer(struct talk *talk, const struct client_answer *answer)
{
    struct gate_answer out;
    char sentence[GATE_WHY_SIZE];
    if (talk->state != TALK_READY) {
        take_greeting(talk, answer);
        return;
    }
    speak_answer(answer, sentence, &out);
    if (!answer->has_id && answer->error) {
        talk->events.say(talk->events.owner, sentence);
    }
    talk->events.answered(talk->events.owner, &out);
}

void talk_take_line(struct talk *talk, const char *line, size_t size)
{
    struct gate_lift lift;
    struct client_answer answer;
    switch (client_answer_read(line, size, &answer)) {
    case CLIENT_ANSWERED:
        take_answer(talk, &answer);
        client_answer_free(&answer);
        break;
    case CLIENT_SILENT:
        if (talk->state == TALK_READY && speak_notification(line, size, &lift)) {
            talk->events.told(talk->events.owner, &lift);
        }
        break;
    case CLIENT_NO_MEMORY:
        talk_lose_for(talk, UV_ENOMEM);
        break;
    default:
        talk_lose(talk,
                  "What answers does not speak as regletd does. The keys do nothing. See which "
                  "program listens there, or name regletd's own socket with --socket.");
    }
}
