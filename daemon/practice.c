/* SPDX-License-Identifier: MIT */
#include "daemon/practice.h"

#include <errno.h>
#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

extern char **environ;

static bool runs(const char *folder)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    int size = snprintf(address.sun_path, sizeof address.sun_path, "%s/lift.sock", folder);
    int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    bool answers = fd >= 0 && size > 0 && (size_t)size < sizeof address.sun_path &&
                   connect(fd, (struct sockaddr *)&address, sizeof address) == 0;
    if (fd >= 0) {
        close(fd);
    }
    return answers;
}

/* The program lies beside our own. */
static bool program_path(char *path, size_t size)
{
    ssize_t length = readlink("/proc/self/exe", path, size - 1);
    if (length <= 0) {
        return false;
    }
    path[length] = '\0';
    char *slash = strrchr(path, '/');
    size_t room = size - (size_t)(slash + 1 - path);
    return (size_t)snprintf(slash + 1, room, "reglet-practice") < room;
}

/* With a session of its own, its output to a pipe of ours. */
static bool spawn(char *program, char *folder, int output)
{
    posix_spawn_file_actions_t actions;
    posix_spawnattr_t attributes;
    pid_t child;
    char *words[] = {program, folder, NULL};
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, output, STDOUT_FILENO);
    posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    posix_spawnattr_init(&attributes);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSID);
    int failed = posix_spawn(&child, program, &actions, &attributes, words, environ);
    posix_spawnattr_destroy(&attributes);
    posix_spawn_file_actions_destroy(&actions);
    errno = failed;
    return failed == 0;
}

bool practice_start(const char *folder, char *why, size_t why_size)
{
    char program[512];
    char folder_word[256];
    int output[2];
    char word[8];
    if (runs(folder)) {
        return true;
    }
    snprintf(folder_word, sizeof folder_word, "%s", folder);
    if (!program_path(program, sizeof program) || pipe2(output, O_CLOEXEC) != 0) {
        snprintf(why, why_size, "the practice lift could not be started: %s", strerror(errno));
        return false;
    }
    bool started = spawn(program, folder_word, output[1]);
    close(output[1]);
    /* It says that it is ready, or ends and leaves the pipe empty. */
    bool ready = started && read(output[0], word, sizeof word) > 0;
    close(output[0]);
    if (!ready) {
        snprintf(why, why_size, "the practice lift (%s) did not start%s%s", program,
                 started ? "" : ": ", started ? "" : strerror(errno));
    }
    return ready;
}

size_t practice_config(char *text, size_t size)
{
    static const char config[] =
        "{\n"
        "  \"screw\": {\"lead\": \"2mm\", \"full_steps\": 200, \"microsteps\": 8},\n"
        "  \"travel\": {\"length\": \"77mm\", \"top_margin\": \"1mm\"},\n"
        "  \"speeds\": {\"move\": \"10mm/s\", \"search\": \"5mm/s\", \"brake\": \"125mm/s2\"},\n"
        "  \"lash\": {\"measured\": \"0.20mm\"},\n"
        "  \"inputs\": {\"top_switch\": \"active-high\", \"stop_circuit\": \"active-high\",\n"
        "             \"motor_supply\": \"active-high\", \"touch_plate\": \"active-high\",\n"
        "             \"router\": \"active-high\", \"carriage_lock\": \"active-high\"},\n"
        "  \"outputs\": {\"dust\": \"output-1\"},\n"
        "  \"link\": {\"port\": \"/dev/null\"}\n"
        "}\n";
    return (size_t)snprintf(text, size, "%s", config);
}
