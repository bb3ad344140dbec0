/* SPDX-License-Identifier: MIT */
/*
 * A daemon that is not one: it listens on a socket of the test's loop, answers the greeting as
 * protocol/LOCAL.md has it, writes down what else it is asked, and says what a test makes it say.
 *
 * Include it in one file of a program.
 */
#ifndef REGLET_TESTS_UNIT_PEDAL_DAEMON_H
#define REGLET_TESTS_UNIT_PEDAL_DAEMON_H

#include <check.h>
#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <uv.h>

#define DAEMON_HELLO                                                                               \
    "{\"major\":1,\"minor\":1,\"version\":\"0\",\"practice\":true,\"may\":\"command\"}"
#define DAEMON_STILL                                                                               \
    "{\"practice\":true,\"activity\":\"still\",\"reference\":\"sure\",\"table_zero\":\"sure\","    \
    "\"height\":\"0mm\",\"height_nm\":0,\"new\":[{}]}"

enum { DAEMON_HEARD = 16384 };

struct daemon_fake {
    uv_loop_t *loop;
    const char *path;
    uv_pipe_t listener;
    uv_pipe_t session;
    bool listening;
    bool connected;
    int connections;
    const char *hello;  /* what it answers */
    bool hello_refused; /* as an error */
    const char *watch;
    bool mute;   /* answers nothing */
    bool renews; /* answers renewals */
    double last_id;
    char last_method[32];
    char heard[DAEMON_HEARD]; /* "method params" a line, greetings left out */
    char line[DAEMON_HEARD];
    size_t used;
};

static inline void daemon_closed(uv_handle_t *handle)
{
    *(bool *)handle->data = false;
}

static inline void daemon_written(uv_write_t *write, int status)
{
    (void)status; /* the other end may be gone by intent */
    free(write->data);
    free(write);
}

/* One line, as it stands. */
static inline void daemon_say(struct daemon_fake *daemon, const char *text)
{
    uv_write_t *write = malloc(sizeof *write);
    ck_assert_ptr_nonnull(write);
    write->data = strdup(text);
    ck_assert_ptr_nonnull(write->data);
    static char newline[] = "\n";
    uv_buf_t parts[2] = {uv_buf_init(write->data, (unsigned)strlen(text)), uv_buf_init(newline, 1)};
    ck_assert_int_eq(uv_write(write, (uv_stream_t *)&daemon->session, parts, 2, daemon_written), 0);
}

/* Answers the request of this id: member is "result" or "error". */
static inline void daemon_answer(struct daemon_fake *daemon, double id, const char *member,
                                 const char *value)
{
    char text[4096];
    (void)snprintf(text, sizeof text, "{\"jsonrpc\":\"2.0\",\"id\":%.0f,\"%s\":%s}", id, member,
                   value);
    daemon_say(daemon, text);
}

static inline void daemon_refuse(struct daemon_fake *daemon, double id, const char *reason,
                                 const char *sentence)
{
    char text[1024];
    (void)snprintf(text, sizeof text,
                   "{\"code\":1,\"message\":\"%s\",\"data\":{\"reason\":\"%s\"}}", sentence,
                   reason);
    daemon_answer(daemon, id, "error", text);
}

static inline void daemon_take(struct daemon_fake *daemon, const char *line)
{
    cJSON *request = cJSON_Parse(line);
    ck_assert_msg(request != NULL, "no JSON: %s", line);
    const cJSON *method = cJSON_GetObjectItemCaseSensitive(request, "method");
    const cJSON *params = cJSON_GetObjectItemCaseSensitive(request, "params");
    const cJSON *id = cJSON_GetObjectItemCaseSensitive(request, "id");
    ck_assert(cJSON_IsString(method) && cJSON_IsNumber(id));
    char *text = params ? cJSON_PrintUnformatted(params) : NULL;
    bool hello = strcmp(method->valuestring, "hello") == 0;
    bool watch = strcmp(method->valuestring, "watch") == 0;
    if (hello && !daemon->mute) {
        ck_assert_str_eq(text ? text : "", "{\"client\":\"reglet-pedal\"}");
        daemon_answer(daemon, id->valuedouble, daemon->hello_refused ? "error" : "result",
                      daemon->hello);
    } else if (watch && !daemon->mute) {
        daemon_answer(daemon, id->valuedouble, "result", daemon->watch);
    } else if (!hello && !watch) {
        daemon->last_id = id->valuedouble;
        (void)snprintf(daemon->last_method, sizeof daemon->last_method, "%s", method->valuestring);
        size_t used = strlen(daemon->heard);
        ck_assert_uint_lt(used + strlen(line) + 2, sizeof daemon->heard);
        (void)sprintf(daemon->heard + used, "%s%s%s\n", method->valuestring, text ? " " : "",
                      text ? text : "");
        if (strcmp(method->valuestring, "renew") == 0 && daemon->renews) {
            daemon_answer(daemon, daemon->last_id, "result", "{\"activity\":\"moving\"}");
        }
    }
    cJSON_free(text);
    cJSON_Delete(request);
}

static inline void daemon_buffer(uv_handle_t *handle, size_t suggested, uv_buf_t *buffer)
{
    struct daemon_fake *daemon = handle->loop->data;
    (void)suggested;
    *buffer = uv_buf_init(daemon->line + daemon->used,
                          (unsigned)(sizeof daemon->line - 1 - daemon->used));
}

static inline void daemon_read(uv_stream_t *stream, ssize_t got, const uv_buf_t *buffer)
{
    struct daemon_fake *daemon = stream->loop->data;
    char *newline;
    (void)buffer;
    if (got < 0) {
        uv_close((uv_handle_t *)stream, daemon_closed);
        return;
    }
    daemon->used += (size_t)got;
    daemon->line[daemon->used] = '\0';
    while ((newline = strchr(daemon->line, '\n'))) {
        *newline = '\0';
        daemon_take(daemon, daemon->line);
        daemon->used -= (size_t)(newline + 1 - daemon->line);
        memmove(daemon->line, newline + 1, daemon->used + 1);
    }
}

static inline void daemon_accept(uv_stream_t *listener, int status)
{
    struct daemon_fake *daemon = listener->loop->data;
    ck_assert_int_eq(status, 0);
    ck_assert(!daemon->connected);
    ck_assert_int_eq(uv_pipe_init(daemon->loop, &daemon->session, 0), 0);
    daemon->session.data = &daemon->connected;
    daemon->used = 0;
    daemon->connected = true;
    daemon->connections++;
    ck_assert_int_eq(uv_accept(listener, (uv_stream_t *)&daemon->session), 0);
    ck_assert_int_eq(uv_read_start((uv_stream_t *)&daemon->session, daemon_buffer, daemon_read), 0);
}

/* The loop's data is the daemon from now on. */
static inline void daemon_listen(struct daemon_fake *daemon, uv_loop_t *loop, const char *path)
{
    loop->data = daemon;
    daemon->loop = loop;
    daemon->path = path;
    daemon->hello = daemon->hello ? daemon->hello : DAEMON_HELLO;
    daemon->watch = daemon->watch ? daemon->watch : DAEMON_STILL;
    ck_assert_int_eq(uv_pipe_init(loop, &daemon->listener, 0), 0);
    daemon->listener.data = &daemon->listening;
    ck_assert_int_eq(uv_pipe_bind(&daemon->listener, path), 0);
    ck_assert_int_eq(uv_listen((uv_stream_t *)&daemon->listener, 8, daemon_accept), 0);
    daemon->listening = true;
}

static inline void daemon_hang_up(struct daemon_fake *daemon)
{
    if (daemon->connected && !uv_is_closing((uv_handle_t *)&daemon->session)) {
        uv_close((uv_handle_t *)&daemon->session, daemon_closed);
    }
}

/* As a daemon that was killed; it can listen anew. */
static inline void daemon_end(struct daemon_fake *daemon)
{
    daemon_hang_up(daemon);
    if (daemon->listening) {
        uv_close((uv_handle_t *)&daemon->listener, daemon_closed);
    }
    while (daemon->listening || daemon->connected) {
        (void)uv_run(daemon->loop, UV_RUN_NOWAIT);
    }
}

#endif
