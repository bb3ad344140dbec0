/* SPDX-License-Identifier: MIT */
#include "clients/common/client.h"

#include <errno.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>
#include <time.h>
#include <unistd.h>

#include "protocol/json.h"

int64_t client_now_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static enum client_end fail(struct client *client, enum client_end end, int error)
{
    client->error = error;
    return end;
}

/* A daemon that hangs must not hang us: connect and send wait no longer than an answer may. */
static bool bound_waits(int fd)
{
    struct timeval most = {.tv_sec = CLIENT_WAIT_MS / 1000};
    return setsockopt(fd, SOL_SOCKET, SO_SNDTIMEO, &most, sizeof most) == 0;
}

enum client_end client_open(struct client *client, const char *path)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    if (strlen(path) >= sizeof address.sun_path) {
        return fail(client, CLIENT_ABSENT, ENAMETOOLONG);
    }
    memcpy(address.sun_path, path, strlen(path) + 1);
    client->fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (client->fd >= 0 && bound_waits(client->fd) &&
        connect(client->fd, (const struct sockaddr *)&address, sizeof address) == 0) {
        return CLIENT_ANSWERED;
    }
    enum client_end end = errno == EINTR    ? CLIENT_INTERRUPTED
                          : errno == EAGAIN ? CLIENT_SILENT
                                            : CLIENT_ABSENT;
    client->error = errno;
    client_close(client);
    return end;
}

void client_close(struct client *client)
{
    if (client->fd >= 0) {
        close(client->fd);
        client->fd = -1;
    }
    client->used = 0;
}

static enum client_end send_all(struct client *client, const char *text, size_t size)
{
    while (size > 0) {
        ssize_t sent = send(client->fd, text, size, MSG_NOSIGNAL);
        if (sent < 0 && errno == EINTR) {
            continue; /* half a request is none; the interrupt is seen at the next read */
        }
        if (sent < 0) {
            return fail(client, errno == EAGAIN ? CLIENT_SILENT : CLIENT_CLOSED, errno);
        }
        text += sent;
        size -= (size_t)sent;
    }
    return CLIENT_ANSWERED;
}

enum client_end client_send(struct client *client, const char *method, cJSON *params, double *id)
{
    size_t size;
    *id = client->last_id += 1;
    cJSON *request = local_request_new(*id, method, params);
    char *text = local_print(request, &size);
    cJSON_Delete(request);
    if (!text) {
        return CLIENT_NO_MEMORY;
    }
    enum client_end end = send_all(client, text, size);
    cJSON_free(text);
    return end;
}

/* Takes the first whole line out of the buffer. CLIENT_SILENT: there is none. */
static enum client_end take_line(struct client *client, struct client_answer *answer)
{
    char *newline = memchr(client->line, '\n', client->used);
    if (!newline) {
        return client->used < sizeof client->line ? CLIENT_SILENT : CLIENT_GARBLED;
    }
    size_t size = (size_t)(newline - client->line);
    enum client_end end = client_message_read(client->line, size, answer);
    client->used -= size + 1;
    memmove(client->line, newline + 1, client->used);
    return end;
}

static enum client_end receive(struct client *client)
{
    ssize_t got = recv(client->fd, client->line + client->used, sizeof client->line - client->used,
                       MSG_DONTWAIT);
    if (got < 0 && (errno == EINTR || errno == EAGAIN)) {
        return CLIENT_ANSWERED; /* nothing yet after all */
    }
    if (got <= 0) {
        return fail(client, CLIENT_CLOSED, got < 0 ? errno : 0);
    }
    client->used += (size_t)got;
    return CLIENT_ANSWERED;
}

static bool was_interrupted(const struct client *client)
{
    uint64_t times;
    return read(client->interrupt_fd, &times, sizeof times) > 0;
}

/* Waits for bytes, the interrupt or the time. CLIENT_ANSWERED: look again. */
static enum client_end wait_for_bytes(struct client *client, int64_t timeout_ms)
{
    struct pollfd look[2] = {{.fd = client->fd, .events = POLLIN},
                             {.fd = client->interrupt_fd, .events = POLLIN}};
    int ready = poll(look, 2, timeout_ms > 0 ? (int)timeout_ms : 0);
    if (ready < 0) {
        return errno == EINTR ? CLIENT_ANSWERED : fail(client, CLIENT_CLOSED, errno);
    }
    if (look[1].revents & POLLIN && was_interrupted(client)) {
        return CLIENT_INTERRUPTED;
    }
    return look[0].revents ? receive(client) : CLIENT_ANSWERED;
}

enum client_end client_hear(struct client *client, int64_t timeout_ms, struct client_answer *answer)
{
    int64_t deadline_ms = client_now_ms() + timeout_ms;
    enum client_end end;
    for (;;) {
        do {
            end = take_line(client, answer);
        } while (end == CLIENT_SILENT && memchr(client->line, '\n', client->used));
        int64_t left_ms = deadline_ms - client_now_ms();
        if (end != CLIENT_SILENT) {
            return end;
        }
        end = wait_for_bytes(client, left_ms);
        if (end != CLIENT_ANSWERED) {
            return end;
        }
        if (left_ms <= 0 && !memchr(client->line, '\n', client->used)) {
            return CLIENT_SILENT;
        }
    }
}

enum client_end client_read(struct client *client, int64_t timeout_ms, struct client_answer *answer)
{
    int64_t deadline_ms = client_now_ms() + timeout_ms;
    enum client_end end;
    while ((end = client_hear(client, deadline_ms - client_now_ms(), answer)) == CLIENT_TOLD) {
        client_answer_free(answer);
    }
    return end;
}

enum client_end client_call(struct client *client, const char *method, cJSON *params,
                            struct client_answer *answer)
{
    double id;
    int64_t deadline_ms = client_now_ms() + CLIENT_WAIT_MS;
    enum client_end end = client_send(client, method, params, &id);
    while (end == CLIENT_ANSWERED) {
        end = client_read(client, deadline_ms - client_now_ms(), answer);
        if (end != CLIENT_ANSWERED || client_answers(answer, id)) {
            break;
        }
        client_answer_free(answer);
    }
    return end;
}
