/* SPDX-License-Identifier: MIT */
#include "clients/line/line.h"

#include <cjson/cJSON.h>
#include <stdlib.h>
#include <string.h>

struct write {
    uv_write_t request; /* its data is the line */
    char *text;
};

static void end(struct line *line, int error)
{
    if (line->open) {
        line->events.ended(line->events.owner, error);
    }
}

static void on_room(uv_handle_t *handle, size_t suggested, uv_buf_t *buffer)
{
    struct line *line = handle->data;
    (void)suggested;
    *buffer = uv_buf_init(line->text + line->used, (unsigned)(sizeof line->text - line->used));
}

static void on_read(uv_stream_t *stream, ssize_t got, const uv_buf_t *buffer)
{
    struct line *line = stream->data;
    char *newline;
    (void)buffer;
    if (got < 0) {
        end(line, (int)got);
        return;
    }
    line->used += (size_t)got;
    while (line->open && (newline = memchr(line->text, '\n', line->used)) != NULL) {
        size_t size = (size_t)(newline - line->text);
        line->events.said(line->events.owner, line->text, size);
        line->used -= size + 1;
        memmove(line->text, newline + 1, line->used);
    }
    if (line->used == sizeof line->text) {
        end(line, UV_ENOBUFS);
    }
}

static void on_connect(uv_connect_t *connect, int status)
{
    struct line *line = connect->data;
    if (!line->open) {
        return; /* cancelled by line_close */
    }
    if (status == 0) {
        status = uv_read_start((uv_stream_t *)&line->pipe, on_room, on_read);
    }
    if (status != 0) {
        end(line, status);
        return;
    }
    line->events.connected(line->events.owner);
}

int line_open(struct line *line, uv_loop_t *loop, const char *path,
              const struct line_events *events)
{
    int error = uv_pipe_init(loop, &line->pipe, 0);
    if (error == 0) {
        line->events = *events;
        line->pipe.data = line->connect.data = line;
        line->used = 0;
        line->open = true;
        uv_pipe_connect(&line->connect, &line->pipe, path, on_connect);
    }
    return error;
}

static void on_written(uv_write_t *request, int status)
{
    struct write *write = (struct write *)request;
    struct line *line = request->data;
    cJSON_free(write->text);
    free(write);
    if (status != 0 && status != UV_ECANCELED) {
        end(line, status);
    }
}

int line_send(struct line *line, char *text, size_t size)
{
    struct write *write = text ? malloc(sizeof *write) : NULL;
    uv_buf_t buffer = uv_buf_init(text, (unsigned)size);
    size_t backlog = uv_stream_get_write_queue_size((const uv_stream_t *)&line->pipe);
    int error = !write ? UV_ENOMEM : backlog > LINE_BACKLOG_MAX ? UV_ETIMEDOUT : 0;
    if (error == 0) {
        write->text = text;
        write->request.data = line;
        error = uv_write(&write->request, (uv_stream_t *)&line->pipe, &buffer, 1, on_written);
    }
    if (error != 0) {
        free(write);
        cJSON_free(text);
    }
    return error;
}

static void on_closed(uv_handle_t *handle)
{
    struct line *line = handle->data;
    line->events.closed(line->events.owner);
}

void line_close(struct line *line)
{
    if (line->open) {
        line->open = false;
        uv_close((uv_handle_t *)&line->pipe, on_closed);
    }
}
