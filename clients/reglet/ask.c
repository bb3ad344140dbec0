/* SPDX-License-Identifier: MIT */
#include "clients/reglet/ask.h"

#include <errno.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <termios.h>
#include <unistd.h>

#include "clients/common/interrupt.h"
#include "clients/common/words.h"

enum { REPLY_SIZE = 64 };

bool ask_possible(const struct run *run)
{
    return !run->json && isatty(STDIN_FILENO) == 1 && isatty(STDERR_FILENO) == 1;
}

/* One line of the terminal, without its newline; "" when it was closed. False: a signal came. */
static bool read_reply(const struct run *run, char *reply, size_t size, bool *ended)
{
    struct pollfd look[2] = {{.fd = STDIN_FILENO, .events = POLLIN},
                             {.fd = run->client.interrupt_fd, .events = POLLIN}};
    reply[0] = '\0';
    while (poll(look, 2, -1) < 0 && errno == EINTR && !interrupt_came()) {
    }
    if (interrupt_came()) {
        return false;
    }
    ssize_t got = read(STDIN_FILENO, reply, size - 1);
    if (got < 0) {
        return errno != EINTR;
    }
    reply[got] = '\0';
    *ended = got == 0;
    if (!strchr(reply, '\n')) {
        (void)tcflush(STDIN_FILENO, TCIFLUSH); /* else the shell would take the rest of the line */
    }
    (void)fputs(got == 0 ? "\n" : "", stderr); /* where the end of the input left the cursor */
    reply[strcspn(reply, "\r\n")] = '\0';
    return true;
}

static bool is_yes(const char *reply)
{
    return strcasecmp(reply, "y") == 0 || strcasecmp(reply, "yes") == 0;
}

enum client_exit ask_line(struct run *run, const char *question, char *reply, size_t size,
                          bool *ended)
{
    *ended = false;
    run->asked = CLIENT_ASKED_NOTHING;
    (void)tcflush(STDIN_FILENO, TCIFLUSH); /* a key pressed before is no answer to this */
    (void)fprintf(stderr, "%s ", question);
    (void)fflush(stderr);
    if (!read_reply(run, reply, size, ended)) {
        (void)fputs("\n", stderr);
        return run_trouble(run, CLIENT_INTERRUPTED);
    }
    return CLIENT_DONE;
}

enum client_exit ask_yes(struct run *run, const char *question, const char *otherwise)
{
    char reply[REPLY_SIZE];
    char line[2 * WORDS_WHY];
    bool ended;
    (void)snprintf(line, sizeof line, "%s [y/N]", question);
    enum client_exit code = ask_line(run, line, reply, sizeof reply, &ended);
    if (code != CLIENT_DONE) {
        return code;
    }
    if (is_yes(reply)) {
        return CLIENT_DONE;
    }
    run_say(otherwise);
    return CLIENT_REFUSED;
}
