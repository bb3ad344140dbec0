/* SPDX-License-Identifier: MIT */
/* reglet-practice: the practice lift. See README.md beside this file. */
#include "contrib/practice/practice.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <time.h>
#include <unistd.h>

static volatile sig_atomic_t told_to_end;

static void on_signal(int number)
{
    (void)number;
    told_to_end = 1;
}

static int64_t real_ns(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

static int complain(const char *what, const char *path)
{
    fprintf(stderr, "reglet-practice: %s %s: %s\n", what, path, strerror(errno));
    return 1;
}

static bool socket_address(struct sockaddr_un *address, const char *folder, const char *name)
{
    memset(address, 0, sizeof *address);
    address->sun_family = AF_UNIX;
    int size = snprintf(address->sun_path, sizeof address->sun_path, "%s/%s", folder, name);
    return size > 0 && (size_t)size < sizeof address->sun_path;
}

/* The folder's lock is held, so a socket that lies there is a dead one's. */
static int listen_at(const char *folder, const char *name)
{
    struct sockaddr_un address;
    if (!socket_address(&address, folder, name)) {
        errno = ENAMETOOLONG;
        return -1;
    }
    int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    unlink(address.sun_path);
    mode_t mask = umask(0177);
    bool bound = fd >= 0 && bind(fd, (struct sockaddr *)&address, sizeof address) == 0 &&
                 listen(fd, PRACTICE_SPEAKERS) == 0;
    umask(mask);
    if (!bound && fd >= 0) {
        close(fd);
        fd = -1;
    }
    return fd;
}

static void accept_speaker(struct practice *p)
{
    int fd = accept4(p->control_fd, NULL, NULL, SOCK_CLOEXEC);
    if (fd < 0) {
        return;
    }
    for (int i = 0; i < PRACTICE_SPEAKERS; i++) {
        if (p->speaker[i].fd < 0) {
            p->speaker[i] = (struct speaker){.fd = fd};
            return;
        }
    }
    close(fd);
}

static void hang_up(struct speaker *s)
{
    close(s->fd);
    *s = (struct speaker){.fd = -1};
}

static void tell(struct speaker *s, const char *answer)
{
    char line[1024];
    int size = snprintf(line, sizeof line, "%s\n", answer);
    if (send(s->fd, line, (size_t)size, MSG_NOSIGNAL) != size) {
        hang_up(s);
    }
}

static void take_commands(struct practice *p, struct speaker *s)
{
    char *newline;
    while (s->fd >= 0 && !s->awaits_run && (newline = memchr(s->text, '\n', s->size)) != NULL) {
        char text[PRACTICE_COMMAND_SIZE];
        char answer[1000];
        size_t length = (size_t)(newline - s->text);
        memcpy(text, s->text, length);
        text[length] = '\0';
        s->size -= length + 1;
        memmove(s->text, newline + 1, s->size);
        control_command(p, s, text, answer, sizeof answer);
        if (!s->awaits_run) {
            tell(s, answer);
        }
    }
}

static void hear_speaker(struct practice *p, struct speaker *s)
{
    if (s->size == sizeof s->text) {
        hang_up(s); /* no command is so long */
        return;
    }
    ssize_t size = recv(s->fd, s->text + s->size, sizeof s->text - s->size, MSG_DONTWAIT);
    if (size == 0 || (size < 0 && errno != EAGAIN && errno != EINTR)) {
        hang_up(s);
        return;
    }
    if (size > 0) {
        s->size += (size_t)size;
        take_commands(p, s);
    }
}

static void answer_runs(struct practice *p)
{
    for (int i = 0; p->lockstep.held && i < PRACTICE_SPEAKERS; i++) {
        struct speaker *s = &p->speaker[i];
        if (s->fd >= 0 && s->awaits_run) {
            char answer[1000];
            s->awaits_run = false;
            control_truth(p, answer, sizeof answer);
            tell(s, answer);
            take_commands(p, s);
        }
    }
}

static int watch(struct pollfd *fd, int number)
{
    *fd = (struct pollfd){.fd = number, .events = POLLIN};
    return number >= 0;
}

/* How long there is nothing to do, in milliseconds. A port that nobody has open is looked at from
 * time to time, since it would wake the poll at once. */
static int patience_ms(const struct practice *p)
{
    if (p->lockstep.listen_fd >= 0) {
        return p->port.connected ? 1000 : 20;
    }
    const struct machine *m = &p->machine;
    bool busy = board_look(m->board).moving || m->to_generator.count > 0 || m->to_host.count > 0;
    return busy ? 1 : 10;
}

static void look_at_port(struct practice *p, short revents)
{
    bool connected = p->port.master_fd >= 0 && !(revents & POLLHUP);
    if (connected && !p->port.connected) {
        wire_clear(&p->machine.to_host); /* said while nobody listened */
    }
    p->port.connected = connected;
    if (p->port.master_fd >= 0 && (revents & POLLIN)) {
        port_hear(p); /* also the last words of a host that has closed it */
    }
}

/* What a real lift's board has for itself is a processor. The time in which this process was not
 * run, though it had something to do, does not pass for the lift: else a busy machine would look
 * like a host that has fallen silent. */
static void leave_out_lateness(struct practice *p, int wait_ms)
{
    enum { LATE_MS = 20 };
    int64_t now_ns = real_ns();
    int64_t late_ns = now_ns - p->turned_ns - (int64_t)wait_ms * 1000000;
    if (late_ns > (int64_t)LATE_MS * 1000000) {
        p->started_ns += late_ns;
    }
    p->turned_ns = now_ns;
}

static void turn(struct practice *p, int wait_ms)
{
    enum { CONTROL, LISTEN, STEP, PORT, FIRST_SPEAKER };
    struct pollfd fd[FIRST_SPEAKER + PRACTICE_SPEAKERS];
    watch(&fd[CONTROL], p->control_fd);
    watch(&fd[LISTEN], p->lockstep.listen_fd);
    watch(&fd[STEP], p->lockstep.fd);
    watch(&fd[PORT], p->port.connected ? p->port.master_fd : -1);
    bool user = p->port.connected;
    for (int i = 0; i < PRACTICE_SPEAKERS; i++) {
        user = watch(&fd[FIRST_SPEAKER + i], p->speaker[i].fd) || user;
    }
    if (user) {
        p->last_user_ns = real_ns();
    }
    int ready = poll(fd, FIRST_SPEAKER + PRACTICE_SPEAKERS, wait_ms);
    if (p->lockstep.listen_fd < 0) {
        leave_out_lateness(p, wait_ms);
        machine_advance(&p->machine, machine_ticks(real_ns() - p->started_ns), false);
        port_tell(p);
    }
    if (!p->port.connected) {
        struct pollfd port = {.fd = p->port.master_fd, .events = POLLIN};
        if (p->port.master_fd >= 0 && poll(&port, 1, 0) >= 0) {
            look_at_port(p, port.revents);
        }
    }
    if (ready <= 0) {
        return;
    }
    if (fd[LISTEN].revents) {
        lockstep_accept(p);
    }
    if (fd[PORT].revents) {
        look_at_port(p, fd[PORT].revents);
    }
    if (fd[STEP].revents && fd[STEP].fd == p->lockstep.fd) {
        lockstep_hear(p);
    }
    if (fd[CONTROL].revents) {
        accept_speaker(p);
    }
    for (int i = 0; i < PRACTICE_SPEAKERS; i++) {
        if (p->speaker[i].fd >= 0 && fd[FIRST_SPEAKER + i].revents) {
            hear_speaker(p, &p->speaker[i]);
        }
    }
}

static void live(struct practice *p)
{
    int wait_ms = 0;
    while (!p->over && !told_to_end) {
        turn(p, wait_ms);
        wait_ms = patience_ms(p);
        if (p->lockstep.listen_fd >= 0 && lockstep_advance(p)) {
            answer_runs(p);
            wait_ms = 0;
        }
        if (real_ns() - p->last_user_ns > (int64_t)PRACTICE_LINGER_MS * 1000000) {
            return; /* whoever started it is gone */
        }
    }
}

static int open_all(struct practice *p, bool in_lockstep, uint32_t latency_ms)
{
    char path[PRACTICE_PATH_SIZE + 16];
    snprintf(path, sizeof path, "%s/lift.lock", p->folder);
    int lock = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (lock < 0) {
        return complain("cannot open", path);
    }
    if (flock(lock, LOCK_EX | LOCK_NB) != 0) {
        fprintf(stderr, "reglet-practice: a practice lift runs in %s already\n", p->folder);
        return 3;
    }
    snprintf(p->board_path, sizeof p->board_path, "%s/board", p->folder);
    if (!memory_load(p, latency_ms)) {
        return complain("cannot keep the board's memory in", p->board_path);
    }
    snprintf(path, sizeof path, "%s/port", p->folder);
    if (!port_open(&p->port, path)) {
        return complain("cannot open a pseudo-terminal at", path);
    }
    if (in_lockstep && (p->lockstep.listen_fd = listen_at(p->folder, "lockstep.sock")) < 0) {
        return complain("cannot listen in", p->folder);
    }
    if ((p->control_fd = listen_at(p->folder, "lift.sock")) < 0) {
        return complain("cannot listen in", p->folder);
    }
    return 0;
}

static int serve(const char *folder, bool in_lockstep, uint32_t latency_ms)
{
    static struct practice practice; /* some 200 KiB */
    struct practice *p = &practice;
    p->control_fd = p->lockstep.fd = p->lockstep.listen_fd = p->port.master_fd = -1;
    p->lockstep.held = in_lockstep;
    p->lockstep.run_until = WIRE_NEVER;
    for (int i = 0; i < PRACTICE_SPEAKERS; i++) {
        p->speaker[i].fd = -1;
    }
    snprintf(p->folder, sizeof p->folder, "%s", folder);
    signal(SIGTERM, on_signal);
    signal(SIGINT, on_signal);
    signal(SIGPIPE, SIG_IGN);
    int failed = open_all(p, in_lockstep, latency_ms);
    if (failed) {
        return failed;
    }
    puts("ready");
    fflush(stdout);
    p->started_ns = p->turned_ns = p->last_user_ns = real_ns();
    live(p);
    bool kept = memory_save(p);
    port_close(&p->port);
    machine_close(&p->machine);
    return kept ? 0 : complain("cannot keep the board's memory in", p->board_path);
}

/* The member NAME of a one-line object, or all of it. */
static void print_member(const char *answer, const char *name)
{
    char key[64];
    snprintf(key, sizeof key, "\"%s\":", name);
    const char *at = strstr(answer, key);
    if (!at) {
        printf("%s", answer);
        return;
    }
    at += strlen(key);
    printf("%.*s\n", (int)strcspn(at, ",}"), at);
}

/* reglet-practice ask FOLDER [-m MEMBER] WORD...: one command, its answer printed. */
static int ask(int words, char **word)
{
    const char *member = NULL;
    char line[PRACTICE_COMMAND_SIZE] = "";
    int first = 1;
    if (words > 2 && strcmp(word[1], "-m") == 0) {
        member = word[2];
        first = 3;
    }
    for (int i = first; i < words; i++) {
        size_t used = strlen(line);
        snprintf(line + used, sizeof line - used, "%s%s", i > first ? " " : "", word[i]);
    }
    struct sockaddr_un address;
    int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (fd < 0 || !socket_address(&address, word[0], "lift.sock") ||
        connect(fd, (struct sockaddr *)&address, sizeof address) != 0) {
        return complain("no practice lift answers in", word[0]);
    }
    FILE *stream = fdopen(fd, "r+");
    char answer[1024];
    if (!stream || fprintf(stream, "%s\n", line) < 0 || fflush(stream) != 0 ||
        !fgets(answer, sizeof answer, stream)) {
        return complain("the practice lift hung up in", word[0]);
    }
    fclose(stream);
    print_member(answer, member ? member : "");
    return strncmp(answer, "{\"wrong\"", 8) == 0 ? 1 : 0;
}

int main(int count, char **word)
{
    uint32_t latency_ms = 1;
    bool in_lockstep = false;
    const char *folder = NULL;
    if (count >= 4 && strcmp(word[1], "ask") == 0) {
        return ask(count - 2, word + 2);
    }
    for (int i = 1; i < count; i++) {
        if (strcmp(word[i], "--lockstep") == 0) {
            in_lockstep = true;
        } else if (strncmp(word[i], "--latency-ms=", 13) == 0) {
            latency_ms = (uint32_t)strtoul(word[i] + 13, NULL, 10);
        } else if (word[i][0] != '-' && !folder) {
            folder = word[i];
        } else {
            folder = NULL;
            break;
        }
    }
    if (!folder) {
        fprintf(stderr, "usage: reglet-practice [--lockstep] [--latency-ms=N] FOLDER\n"
                        "       reglet-practice ask FOLDER [-m MEMBER] COMMAND...\n");
        return 2;
    }
    return serve(folder, in_lockstep, latency_ms);
}
