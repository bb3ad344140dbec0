/* SPDX-License-Identifier: MIT */
#include "clients/reglet/holding.h"

#include <errno.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "clients/common/words.h"
#include "clients/reglet/motion.h"

enum { RENEW_LEAST_MS = 10 };

static void end_with(struct holding *holding, enum client_exit code)
{
    holding->over = true;
    holding->code = code;
}

/* It broke: the connection that closes brakes the lift. */
static void end_in_trouble(struct holding *holding, enum client_end end)
{
    draw_wipe(&holding->draw, 0);
    end_with(holding, run_trouble(holding->run, end));
}

static cJSON *token_params(const struct holding *holding)
{
    return words_params_text("token", holding->token);
}

static const char anew[] = "Let go for a second, and press anew; q ends.";

/* The hold is over, or was refused: its sentence, and where the lift is. A fresh press is needed.
 */
static void say_over(struct holding *holding, const struct client_answer *answer)
{
    draw_wipe(&holding->draw, 0);
    holding->token[0] = '\0';
    holding->renew_id = 0;
    held_over(&holding->held, client_now_ms());
    (void)run_tell(holding->run, answer);
    keys_drop();
    if (!holding->run->json) {
        motion_show_where(holding->run);
        run_say(anew);
    }
}

static void take_begun(struct holding *holding, const cJSON *result)
{
    const cJSON *token = cJSON_GetObjectItemCaseSensitive(result, "token");
    const cJSON *renew = cJSON_GetObjectItemCaseSensitive(result, "renew_ms");
    bool fits = cJSON_IsString(token) && strlen(token->valuestring) < HOLDING_TOKEN_SIZE &&
                cJSON_IsNumber(renew) && renew->valuedouble >= RENEW_LEAST_MS &&
                renew->valuedouble < HELD_END_MS;
    if (!fits) {
        end_in_trouble(holding, CLIENT_GARBLED);
        return;
    }
    memcpy(holding->token, token->valuestring, strlen(token->valuestring) + 1);
    holding->renew_every_ms = (int64_t)renew->valuedouble;
    holding->renew_ms = client_now_ms() + holding->renew_every_ms;
}

static void begin(struct holding *holding)
{
    struct run *run = holding->run;
    struct client_answer answer = {0};
    cJSON *params = words_params_text("direction", holding->direction);
    if (!cJSON_AddStringToObject(params, "speed", holding->speed)) {
        cJSON_Delete(params);
        end_in_trouble(holding, CLIENT_NO_MEMORY);
        return;
    }
    run->asked = CLIENT_ASKED_MOTION;
    enum client_end end = client_call(&run->client, "hold", params, &answer);
    keys_drop(); /* they queued while nobody looked */
    if (end != CLIENT_ANSWERED) {
        end_in_trouble(holding, end);
    } else if (answer.error) {
        end_with(holding, run_tell(run, &answer));
    } else {
        take_begun(holding, answer.result);
    }
    client_answer_free(&answer);
}

bool holding_keep_status(struct holding *holding, struct client_answer *answer)
{
    if (!show_read(answer->result, &holding->lift)) {
        return false;
    }
    client_answer_free(&holding->status);
    holding->status = *answer;
    *answer = (struct client_answer){0};
    return true;
}

/* Without a height, how far it has come is all that can be said. */
static void add_way(struct say *say, const struct holding *holding)
{
    char text[SAY_LENGTH_SIZE];
    const struct show_lift *lift = &holding->lift;
    int64_t nm = lift->position_nm - holding->from_nm;
    bool known = lift->position_known && holding->from_known;
    if (!lift->height_known && known && !say_is_zero(nm)) {
        say_both(nm < 0 ? -nm : nm, holding->run->style, text, sizeof text);
        say_wrap(say, "", 2, "%s %s than when you began", text, nm < 0 ? "lower" : "higher");
    }
}

/* The answer to 'release': where it rests. */
static void say_rest(struct holding *holding, struct client_answer *answer)
{
    struct say say = {0};
    if (answer->error) {
        say_over(holding, answer);
    } else if (holding->run->json) {
        (void)run_tell(holding->run, answer);
    } else if (holding_keep_status(holding, answer)) {
        show_head(&say, &holding->lift, holding->run->style);
        add_way(&say, holding);
        run_print(&say);
    } else {
        end_in_trouble(holding, CLIENT_GARBLED);
    }
}

static void release(struct holding *holding)
{
    struct run *run = holding->run;
    struct client_answer answer = {0};
    if (holding->token[0] == '\0') {
        return;
    }
    cJSON *params = token_params(holding);
    if (!params) {
        end_in_trouble(holding, CLIENT_NO_MEMORY);
        return;
    }
    holding->token[0] = '\0';
    holding->renew_id = 0;
    enum client_end end = client_call(&run->client, "release", params, &answer);
    draw_wipe(&holding->draw, 0);
    if (end == CLIENT_ANSWERED) {
        say_rest(holding, &answer);
    } else {
        end_in_trouble(holding, end);
    }
    client_answer_free(&answer);
    keys_drop();
}

/* One renewal at a time: where the daemon is slow, its lease runs out. */
static void renew(struct holding *holding)
{
    int64_t now_ms = client_now_ms();
    bool held = holding->held.state == HELD_RUNNING && holding->token[0] != '\0';
    if (!held || now_ms < holding->renew_ms) {
        return;
    }
    if (holding->renew_id > 0) {
        if (now_ms >= holding->deadline_ms) {
            end_in_trouble(holding, CLIENT_SILENT);
        }
        return;
    }
    holding->renew_ms = now_ms + holding->renew_every_ms;
    holding->deadline_ms = now_ms + CLIENT_WAIT_MS;
    enum client_end end =
        client_send(&holding->run->client, "renew", token_params(holding), &holding->renew_id);
    if (end != CLIENT_ANSWERED) {
        end_in_trouble(holding, end);
    }
}

static void do_as(struct holding *holding, enum held_does does)
{
    if (does == HELD_BEGIN) {
        begin(holding);
    } else if (does == HELD_END) {
        release(holding);
        if (holding->held.state == HELD_SPENT && !holding->over && !holding->run->json) {
            run_say(anew); /* another key came */
        }
    } else if (does == HELD_QUIT) {
        release(holding);
        if (!holding->over) {
            end_with(holding, CLIENT_DONE);
        }
    }
}

static void take_keys(struct holding *holding)
{
    char text[KEYS_READ_MAX];
    ssize_t got = read(STDIN_FILENO, text, sizeof text);
    if (got > 0) {
        do_as(holding, held_keys(&holding->held, client_now_ms(), text, (size_t)got));
    } else if (got == 0 || errno != EINTR) {
        do_as(holding, HELD_QUIT); /* the terminal is gone */
    }
}

/* What the daemon says; only renewals are answered here. */
static void take_answer(struct holding *holding, const struct client_answer *answer)
{
    if (!client_answers(answer, holding->renew_id)) {
        return;
    }
    holding->renew_id = 0;
    if (answer->error) {
        say_over(holding, answer);
    } else {
        show_move(answer->result, &holding->lift);
        if (!holding->run->json) {
            draw_progress(&holding->draw, &holding->lift, holding->run->style);
        }
    }
}

static void take_answers(struct holding *holding)
{
    enum client_end end = CLIENT_ANSWERED;
    while (!holding->over && end == CLIENT_ANSWERED) {
        struct client_answer answer = {0};
        end = client_read(&holding->run->client, 0, &answer);
        if (end == CLIENT_ANSWERED) {
            take_answer(holding, &answer);
        } else if (end == CLIENT_INTERRUPTED) {
            release(holding);
            end_with(holding, CLIENT_BROKEN_OFF);
        } else if (end != CLIENT_SILENT) {
            end_in_trouble(holding, end);
        }
        client_answer_free(&answer);
    }
}

static int next_ms(const struct holding *holding)
{
    int64_t now_ms = client_now_ms();
    int64_t end_ms = held_left_ms(&holding->held, now_ms);
    int64_t renew_ms = holding->token[0] == '\0' ? -1 : holding->renew_ms - now_ms;
    if (holding->renew_id > 0) {
        renew_ms = holding->deadline_ms - now_ms;
    }
    int64_t ms = renew_ms < 0 && holding->token[0] != '\0' ? 0 : renew_ms;
    return (int)(end_ms >= 0 && (ms < 0 || end_ms < ms) ? end_ms : ms);
}

static void loop(struct holding *holding)
{
    struct pollfd look[3] = {{.fd = STDIN_FILENO, .events = POLLIN},
                             {.fd = holding->run->client.fd, .events = POLLIN},
                             {.fd = holding->run->client.interrupt_fd, .events = POLLIN}};
    while (!holding->over) {
        if (poll(look, 3, next_ms(holding)) < 0) {
            if (errno != EINTR) {
                holding->run->client.error = errno;
                end_in_trouble(holding, CLIENT_CLOSED);
            }
            continue;
        }
        if (look[1].revents || look[2].revents) {
            take_answers(holding);
        }
        if (!holding->over && look[0].revents) {
            take_keys(holding);
        }
        if (!holding->over) {
            do_as(holding, held_time(&holding->held, client_now_ms()));
        }
        if (!holding->over) {
            renew(holding);
        }
    }
}

enum client_exit holding_run(struct holding *holding)
{
    if (!keys_open(&holding->keys)) {
        (void)fprintf(stderr, "reglet: the terminal cannot be set: %s. Nothing has moved.\n",
                      strerror(errno));
        return CLIENT_UNREACHABLE;
    }
    loop(holding);
    keys_close(&holding->keys);
    return holding->code;
}
