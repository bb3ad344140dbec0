/* SPDX-License-Identifier: MIT */
/* The real reglet against the rig: a child whose words are caught, while simulated time goes on. */
#ifndef REGLET_TESTS_RIG_REGLET_RUN_H
#define REGLET_TESTS_RIG_REGLET_RUN_H

#include <check.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "tests/rig/harness.h"

enum {
    REGLET_STEP_MS = 20,      /* of simulated time between two looks at the child */
    REGLET_STEPS_MAX = 20000, /* more is a child that hangs */
    REGLET_WORDS_MAX = 64,
    REGLET_SAID_MAX = 32768,
};

/* One run of it. */
struct reglet {
    struct rig *rig;
    pid_t child;
    bool paced;   /* simulated time is not to outrun the child's own */
    int terminal; /* the other end of its terminal, or -1 */
    int code;     /* once it has ended: the exit code, or -1 */
    char out[REGLET_SAID_MAX];
    char err[REGLET_SAID_MAX]; /* with a terminal: what it said there, out as well */
};

/* Beside this test. */
static inline void reglet_path(char *path, size_t size)
{
    ssize_t used = readlink("/proc/self/exe", path, size - 1);
    ck_assert_int_gt(used, 0);
    path[used] = '\0';
    char *slash = strrchr(path, '/');
    ck_assert_ptr_nonnull(slash);
    snprintf(slash + 1, size - (size_t)(slash + 1 - path), "reglet");
}

/* Cut at blanks; a '~' stands for a blank inside a word. */
static inline void reglet_cut(char *line, char **word)
{
    static char program[] = "reglet";
    int count = 0;
    char *rest;
    static char practice[] = "--practice";
    word[count++] = program;
    word[count++] = practice;
    for (char *at = strtok_r(line, " ", &rest); at; at = strtok_r(NULL, " ", &rest)) {
        ck_assert_int_lt(count, REGLET_WORDS_MAX - 1);
        for (char *c = at; *c; c++) {
            *c = *c == '~' ? ' ' : *c;
        }
        word[count++] = at;
    }
    word[count] = NULL;
}

static inline void reglet_redirect(const struct rig *rig, const char *name, int to)
{
    char path[128];
    snprintf(path, sizeof path, "%s/%s", rig->folder, name);
    dup2(open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600), to);
}

static inline void reglet_exec(const struct reglet *run, const char *text, const char *terminal)
{
    char path[512];
    char line[1024];
    char *word[REGLET_WORDS_MAX];
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    reglet_path(path, sizeof path);
    snprintf(line, sizeof line, "%s", text);
    reglet_cut(line, word);
    if (terminal) {
        setsid(); /* the terminal that is opened next becomes its own: Ctrl-C and all */
        int fd = open(terminal, O_RDWR);
        for (int to = STDIN_FILENO; to <= STDERR_FILENO; to++) {
            dup2(fd, to);
        }
    } else {
        dup2(open("/dev/null", O_RDONLY), STDIN_FILENO);
        reglet_redirect(run->rig, "out", STDOUT_FILENO);
        reglet_redirect(run->rig, "err", STDERR_FILENO);
    }
    setenv("REGLET_PRACTICE", run->rig->folder, 1);
    unsetenv("REGLET_UNIT");
    execv(path, word);
    _exit(127);
}

/* Starts `reglet LINE`; on a terminal of its own when `terminal` says so. */
static inline void reglet_start(struct reglet *run, struct rig *rig, const char *line,
                                bool terminal)
{
    char name[64];
    memset(run, 0, sizeof *run);
    run->rig = rig;
    run->code = -1;
    run->terminal = -1;
    if (terminal) {
        run->terminal = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
        ck_assert_int_ge(run->terminal, 0);
        ck_assert_int_eq(grantpt(run->terminal), 0);
        ck_assert_int_eq(unlockpt(run->terminal), 0);
        ck_assert_int_eq(ptsname_r(run->terminal, name, sizeof name), 0);
    }
    run->child = fork();
    ck_assert_int_ge(run->child, 0);
    if (run->child == 0) {
        reglet_exec(run, line, terminal ? name : NULL);
    }
}

static inline void reglet_read_file(const struct rig *rig, const char *name, char *text)
{
    char path[128];
    snprintf(path, sizeof path, "%s/%s", rig->folder, name);
    FILE *file = fopen(path, "re");
    if (!file) { /* the child is not so far yet */
        text[0] = '\0';
        return;
    }
    text[fread(text, 1, REGLET_SAID_MAX - 1, file)] = '\0';
    fclose(file);
}

/* Takes what it has said up to now. */
static inline void reglet_listen(struct reglet *run)
{
    if (run->terminal < 0) {
        reglet_read_file(run->rig, "out", run->out);
        reglet_read_file(run->rig, "err", run->err);
        return;
    }
    size_t used = strlen(run->err);
    ssize_t got = read(run->terminal, run->err + used, sizeof run->err - 1 - used);
    run->err[used + (got > 0 ? (size_t)got : 0)] = '\0';
}

/* Lets a little time go by, simulated and real. True while it runs. */
static inline bool reglet_goes_on(struct reglet *run)
{
    int status;
    rig_run(run->rig, REGLET_STEP_MS);
    pid_t ended = waitpid(run->child, &status, WNOHANG);
    if (run->terminal >= 0) {
        reglet_listen(run);
    }
    if (ended == 0) {
        long ms = run->paced ? REGLET_STEP_MS : 2;
        nanosleep(&(struct timespec){.tv_nsec = ms * 1000000}, NULL);
        return true;
    }
    ck_assert_int_eq(ended, run->child);
    run->code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    return false;
}

/* Until it says that, or for ever when NULL: until it has ended. */
static inline void reglet_await(struct reglet *run, const char *text)
{
    for (int i = 0; i < REGLET_STEPS_MAX; i++) {
        bool runs = reglet_goes_on(run);
        if (text) {
            reglet_listen(run);
            if (strstr(run->err, text) || strstr(run->out, text)) {
                return;
            }
        }
        if (!runs) {
            reglet_listen(run);
            ck_assert_msg(!text, "it ended (%d) without '%s':\n%s%s", run->code, text, run->out,
                          run->err);
            return;
        }
    }
    kill(run->child, SIGKILL);
    ck_abort_msg("it hangs; it said:\n%s%s", run->out, run->err);
}

static inline void reglet_close(struct reglet *run)
{
    if (run->terminal >= 0) {
        close(run->terminal);
    }
}

static inline void reglet_type(const struct reglet *run, const char *text)
{
    ck_assert_int_eq(write(run->terminal, text, strlen(text)), (ssize_t)strlen(text));
}

/* Runs it to its end; exit code, and what must be in what it says ("" for anything). */
static inline void reglet_expect(struct rig *rig, const char *line, int code, const char *said)
{
    static struct reglet run;
    reglet_start(&run, rig, line, false);
    reglet_await(&run, NULL);
    ck_assert_msg(run.code == code, "reglet %s: %d, not %d\n%s%s", line, run.code, code, run.out,
                  run.err);
    ck_assert_msg(strstr(run.out, said) || strstr(run.err, said), "reglet %s: no '%s' in\n%s%s",
                  line, said, run.out, run.err);
    /* Success is told on stdout, a refusal on stderr. */
    ck_assert_msg(code == 0 ? run.err[0] == '\0' : run.err[0] != '\0' || strstr(line, "--json"),
                  "reglet %s:\n%s%s", line, run.out, run.err);
}

#endif
