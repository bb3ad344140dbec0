/* SPDX-License-Identifier: MIT */
/* A daemon of a real lift, without one: started as a service manager starts it. */
#ifndef REGLET_TESTS_RIG_SERVICE_H
#define REGLET_TESTS_RIG_SERVICE_H

#include <check.h>
#include <errno.h>
#include <fcntl.h>
#include <grp.h>
#include <poll.h>
#include <signal.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/rig/harness.h"

enum {
    NOBODY = 65534,
    PASSED_FD = 3,
    HIGH_FD = 20,
    DRAWN = 6,
    PATIENCE_MS = 60000,
    PATH_SIZE = 160
};

#define NO_PORT "/dev/serial/by-id/nothing-is-plugged-in-here"

struct bench {
    char folder[64];
    struct rig rig; /* its folder is that of the socket; only its connections are used */
    char config[PATH_SIZE];
    pid_t daemon;
};

/* How a daemon is started. */
struct start {
    const char *notify; /* NOTIFY_SOCKET; NULL: unset */
    const char *socket; /* REGLET_SOCKET; NULL: unset */
    int passed;         /* becomes descriptor 3; 0: nothing is passed */
    const char *count;  /* LISTEN_FDS */
    bool for_another;   /* LISTEN_PID names somebody else */
    bool practice;
    mode_t mask;
    uid_t user; /* 0: ours */
};

static inline void write_config(struct bench *b, const char *port, const char *socket_path)
{
    FILE *file = fopen(b->config, "we");
    ck_assert_ptr_nonnull(file);
    fprintf(file,
            "{\"screw\": {\"lead\": \"2mm\", \"full_steps\": 200, \"microsteps\": 8},\n"
            "\"travel\": {\"length\": \"77mm\", \"top_margin\": \"1mm\"},\n"
            "\"speeds\": {\"move\": \"10mm/s\", \"search\": \"5mm/s\", \"brake\": \"125mm/s2\"},\n"
            "\"link\": {\"port\": \"%s\"},\n"
            "\"folders\": {\"state\": \"%s/state\", \"socket\": \"%s\"}}\n",
            port, b->folder, socket_path);
    ck_assert_int_eq(fclose(file), 0);
}

static inline void bench_open(struct bench *b)
{
    char path[PATH_SIZE];
    *b = (struct bench){.daemon = 0};
    signal(SIGPIPE, SIG_IGN);
    int size = snprintf(b->folder, sizeof b->folder, "/tmp/reglet-service-");
    memset(b->folder + size, 'X', DRAWN);
    b->folder[size + DRAWN] = '\0';
    ck_assert_ptr_nonnull(mkdtemp(b->folder));
    ck_assert_int_eq(chmod(b->folder, 0755), 0);
    snprintf(b->rig.folder, sizeof b->rig.folder, "%.40s/run", b->folder);
    snprintf(b->config, sizeof b->config, "%s/reglet.json", b->folder);
    snprintf(path, sizeof path, "%s/reglet.sock", b->rig.folder);
    write_config(b, NO_PORT, path);
}

static inline void bench_close(struct bench *b)
{
    char command[96];
    ck_assert_int_eq(b->daemon, 0);
    snprintf(command, sizeof command, "rm -r %s", b->folder);
    ck_assert_int_eq(system(command), 0);
}

/* --- Starting and ending --- */

/* The path of a program that lies beside this one. */
static inline void own_program(const char *name, char *path, size_t size)
{
    ssize_t length = readlink("/proc/self/exe", path, size - 1);
    ck_assert_int_gt(length, 0);
    path[length] = '\0';
    char *behind = strrchr(path, '/') + 1;
    snprintf(behind, size - (size_t)(behind - path), "%s", name);
}

static inline int open_program(void)
{
    char path[512];
    own_program("regletd", path, sizeof path);
    int low = open(path, O_RDONLY | O_CLOEXEC);
    ck_assert_msg(low >= 0, "cannot open %s: %s", path, strerror(errno));
    int fd = fcntl(low, F_DUPFD_CLOEXEC, HIGH_FD);
    ck_assert_int_ge(fd, HIGH_FD);
    close(low);
    return fd;
}

static inline void set_environment(const struct bench *b, const struct start *start)
{
    char text[PATH_SIZE];
    snprintf(text, sizeof text, "%s/practice", b->folder);
    setenv("REGLET_PRACTICE", text, 1);
    unsetenv("REGLET_SOCKET");
    if (start->socket) {
        setenv("REGLET_SOCKET", start->socket, 1);
    }
    if (start->notify) {
        setenv("NOTIFY_SOCKET", start->notify, 1);
    }
    if (start->passed > 0) {
        snprintf(text, sizeof text, "%d", (int)getpid() + (start->for_another ? 1 : 0));
        setenv("LISTEN_PID", text, 1);
        setenv("LISTEN_FDS", start->count ? start->count : "1", 1);
        setenv("LISTEN_FDNAMES", "reglet.socket", 1);
        dup2(start->passed, PASSED_FD);
    }
}

static inline void become(const struct bench *b, const struct start *start, pid_t parent)
{
    char path[PATH_SIZE];
    snprintf(path, sizeof path, "%s/said", b->folder);
    int log = open(path, O_WRONLY | O_CREAT | O_APPEND, 0644);
    dup2(log, STDOUT_FILENO);
    dup2(log, STDERR_FILENO);
    if (log > STDERR_FILENO) {
        close(log);
    }
    set_environment(b, start);
    umask(start->mask);
    if (start->user != 0 &&
        (setgroups(0, NULL) != 0 || setgid(start->user) != 0 || setuid(start->user) != 0)) {
        _exit(125);
    }
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    if (getppid() != parent) {
        _exit(126);
    }
}

static inline void begin(struct bench *b, const struct start *start)
{
    extern char **environ;
    char name[] = "regletd";
    char practice[] = "--practice";
    char config[] = "--config";
    char *const real[] = {name, config, b->config, NULL};
    char *const practising[] = {name, practice, NULL};
    int program = open_program();
    pid_t parent = getpid();
    b->daemon = fork();
    ck_assert_int_ge(b->daemon, 0);
    if (b->daemon == 0) {
        become(b, start, parent);
        fexecve(program, start->practice ? practising : real, environ);
        _exit(127);
    }
    close(program);
}

static inline int exit_code(struct bench *b)
{
    int status;
    pid_t ended = 0;
    for (int turn = 0; turn < PATIENCE_MS / 10 && ended == 0; turn++) {
        ended = waitpid(b->daemon, &status, WNOHANG);
        rig_run(&b->rig, ended == 0 ? 10 : 0);
    }
    ck_assert_msg(ended == b->daemon, "it does not end");
    b->daemon = 0;
    return WIFEXITED(status) ? WEXITSTATUS(status) : 1000 + WTERMSIG(status);
}

static inline void end(struct bench *b)
{
    ck_assert_int_eq(kill(b->daemon, SIGTERM), 0);
    ck_assert_int_eq(exit_code(b), 0);
}

static inline bool said(const struct bench *b, const char *words)
{
    struct rig log = {.folder = ""};
    snprintf(log.folder, sizeof log.folder, "%.60s", b->folder);
    return rig_log_has(&log, words);
}

static inline unsigned mode_of(const char *folder, const char *name)
{
    struct stat status;
    char path[512];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    ck_assert_msg(lstat(path, &status) == 0, "there is no %s", path);
    return status.st_mode & 07777u;
}

/* --- Sockets of the test's own --- */

static inline int bind_unix(const char *name, int type)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    size_t size = strlen(name);
    int fd = socket(AF_UNIX, type | SOCK_CLOEXEC, 0);
    ck_assert_int_ge(fd, 0);
    ck_assert_uint_lt(size, sizeof address.sun_path);
    memcpy(address.sun_path, name, size);
    if (name[0] == '@') {
        address.sun_path[0] = '\0';
    }
    socklen_t length = (socklen_t)(offsetof(struct sockaddr_un, sun_path) + size);
    ck_assert_msg(bind(fd, (struct sockaddr *)&address, length) == 0, "cannot bind %s: %s", name,
                  strerror(errno));
    return fd;
}

/* The next datagram, "" when none comes within so long. */
static inline const char *told(int fd, int most_ms)
{
    static char text[256];
    struct pollfd wanted = {.fd = fd, .events = POLLIN};
    ssize_t size = poll(&wanted, 1, most_ms) == 1 ? recv(fd, text, sizeof text - 1, 0) : 0;
    ck_assert_int_ge(size, 0);
    text[size] = '\0';
    return text;
}

/* One try, no patience. */
static inline bool accepts(const struct bench *b)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    snprintf(address.sun_path, sizeof address.sun_path, "%s/reglet.sock", b->rig.folder);
    bool done = connect(fd, (struct sockaddr *)&address, sizeof address) == 0;
    close(fd);
    return done;
}

static inline void expect_greeting(struct bench *b, FILE *client)
{
    cJSON *answer = rig_answer(client, rig_send(&b->rig, client, "hello", NULL));
    const cJSON *result = cJSON_GetObjectItem(answer, "result");
    ck_assert(cJSON_IsFalse(cJSON_GetObjectItem(result, "practice")));
    ck_assert_str_eq(cJSON_GetObjectItem(result, "may")->valuestring, "command");
    cJSON_Delete(answer);
}

#endif
