/* SPDX-License-Identifier: MIT */
/*
 * The bare peer that the daemon is measured against: libuv and cJSON, and nothing of ours. Each
 * line is parsed, and goes back as the result of an answer. With a line "watch" a connection is
 * told of a small message 40 times a second from then on, as the watchers of a moving lift are.
 *   reglet-bench-echo SOCKET
 */
#include <cjson/cJSON.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <uv.h>

enum { LINE_MAX_BYTES = 16384, WATCH_MS = 25, PEERS_MOST = 256 };

struct peer {
    uv_pipe_t pipe;
    char text[LINE_MAX_BYTES];
    size_t size;
};

struct outgoing {
    uv_write_t request;
    char *text;
};

static uv_loop_t *loop;
static uv_timer_t timer;
static struct peer *watcher[PEERS_MOST];
static int watchers;

static void on_written(uv_write_t *request, int status)
{
    struct outgoing *outgoing = (struct outgoing *)request;
    (void)status;
    cJSON_free(outgoing->text);
    free(outgoing);
}

static void send_text(struct peer *peer, char *text)
{
    struct outgoing *outgoing = malloc(sizeof *outgoing);
    size_t size = text ? strlen(text) : 0;
    if (!outgoing || !text) {
        abort();
    }
    text[size] = '\n'; /* in the place of the NUL: the size goes with it */
    outgoing->text = text;
    uv_buf_t buffer = uv_buf_init(text, (unsigned)size + 1);
    if (uv_write(&outgoing->request, (uv_stream_t *)&peer->pipe, &buffer, 1, on_written) != 0) {
        cJSON_free(text);
        free(outgoing);
    }
}

static void on_timer(uv_timer_t *handle)
{
    static int number;
    (void)handle;
    number++;
    for (int i = 0; i < watchers; i++) {
        cJSON *message = cJSON_CreateObject();
        cJSON_AddStringToObject(message, "jsonrpc", "2.0");
        cJSON_AddStringToObject(message, "method", "position");
        cJSON_AddNumberToObject(message, "params", number);
        send_text(watcher[i], cJSON_PrintUnformatted(message));
        cJSON_Delete(message);
    }
}

static void answer(struct peer *peer, const char *text, size_t size)
{
    cJSON *request = cJSON_ParseWithLength(text, size);
    const cJSON *method = cJSON_GetObjectItemCaseSensitive(request, "method");
    cJSON *message = cJSON_CreateObject();
    cJSON_AddStringToObject(message, "jsonrpc", "2.0");
    cJSON_AddItemToObject(message, "id",
                          cJSON_Duplicate(cJSON_GetObjectItemCaseSensitive(request, "id"), true));
    bool watches = cJSON_IsString(method) && strcmp(method->valuestring, "watch") == 0;
    cJSON_AddItemToObject(message, "result", request);
    send_text(peer, cJSON_PrintUnformatted(message));
    if (watches && watchers < PEERS_MOST) {
        watcher[watchers++] = peer;
        uv_timer_start(&timer, on_timer, WATCH_MS, WATCH_MS);
    }
    cJSON_Delete(message);
}

static void on_closed(uv_handle_t *handle)
{
    free(handle->data);
}

static void drop(struct peer *peer)
{
    for (int i = 0; i < watchers; i++) {
        if (watcher[i] == peer) {
            watcher[i--] = watcher[--watchers];
        }
    }
    if (watchers == 0) {
        uv_timer_stop(&timer);
    }
    uv_close((uv_handle_t *)&peer->pipe, on_closed);
}

static void give_room(uv_handle_t *handle, size_t suggested, uv_buf_t *buffer)
{
    struct peer *peer = handle->data;
    (void)suggested;
    *buffer = uv_buf_init(peer->text + peer->size, (unsigned)(LINE_MAX_BYTES - peer->size));
}

static void on_read(uv_stream_t *stream, ssize_t size, const uv_buf_t *buffer)
{
    struct peer *peer = stream->data;
    char *newline;
    (void)buffer;
    if (size < 0) {
        drop(peer);
        return;
    }
    peer->size += (size_t)size;
    while ((newline = memchr(peer->text, '\n', peer->size)) != NULL) {
        size_t length = (size_t)(newline - peer->text);
        answer(peer, peer->text, length);
        peer->size -= length + 1;
        memmove(peer->text, newline + 1, peer->size);
    }
}

static void on_connection(uv_stream_t *listener, int status)
{
    struct peer *peer = status == 0 ? malloc(sizeof *peer) : NULL;
    if (!peer) {
        return;
    }
    peer->size = 0;
    uv_pipe_init(loop, &peer->pipe, 0);
    peer->pipe.data = peer;
    if (uv_accept(listener, (uv_stream_t *)&peer->pipe) != 0) {
        abort();
    }
    uv_read_start((uv_stream_t *)&peer->pipe, give_room, on_read);
}

int main(int count, char **word)
{
    static uv_pipe_t listener;
    loop = uv_default_loop();
    signal(SIGPIPE, SIG_IGN);
    uv_timer_init(loop, &timer);
    uv_pipe_init(loop, &listener, 0);
    if (count != 2 || uv_pipe_bind(&listener, word[1]) != 0 ||
        uv_listen((uv_stream_t *)&listener, PEERS_MOST, on_connection) != 0) {
        fprintf(stderr, "reglet-bench-echo: it cannot listen\n");
        return EXIT_FAILURE;
    }
    return uv_run(loop, UV_RUN_DEFAULT);
}
