/* SPDX-License-Identifier: MIT */
/*
 * The real reglet-readout in a terminal that can be looked at: a tmux server of the test's own, in
 * a folder of its own, that ends when the test does. All paths are relative to that folder, so that
 * none is on a screen.
 */
#ifndef REGLET_TESTS_RIG_READOUT_PANE_H
#define REGLET_TESTS_RIG_READOUT_PANE_H

#include <check.h>
#include <fcntl.h>
#include <ftw.h>
#include <signal.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum {
    PANE_TEXT = 64 * 1024,
    PANE_COMMAND = 1024,
    PANE_TURN_MS = 20,
    PANE_TURNS = 60 * 1000 / PANE_TURN_MS, /* patience, not a measure */
};

struct pane {
    char folder[64];
    char program[400]; /* reglet-readout */
    pid_t server;
    /* Called again and again while something is waited for; NULL: nothing is. */
    void (*meanwhile)(void *owner);
    void *owner;
    char text[PANE_TEXT]; /* as last seen */
};

static inline void pane_pause(void)
{
    struct timespec time = {.tv_nsec = PANE_TURN_MS * 1000000L};
    nanosleep(&time, NULL);
}

/* The program of that name beside this one; false: there is none that can be run. */
static inline bool pane_find(const char *name, char *path, size_t size)
{
    char self[300];
    ssize_t used = readlink("/proc/self/exe", self, sizeof self - 1);
    if (used <= 0) {
        return false;
    }
    self[used] = '\0';
    *strrchr(self, '/') = '\0';
    int length = snprintf(path, size, "%s/%s", self, name);
    return length > 0 && (size_t)length < size && access(path, X_OK) == 0;
}

/* Runs one line of shell in the folder; its output, and its exit status in *status. */
__attribute__((format(printf, 4, 5))) static inline void
pane_shell(char *out, size_t size, int *status, const char *format, ...)
{
    char command[PANE_COMMAND];
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(command, sizeof command, format, arguments);
    va_end(arguments);
    ck_assert_int_lt(length, (int)sizeof command);
    FILE *pipe = popen(command, "re");
    ck_assert_ptr_nonnull(pipe);
    size_t used = fread(out, 1, size - 1, pipe);
    out[used] = '\0';
    *status = pclose(pipe);
}

/* One tmux command, which must succeed. */
__attribute__((format(printf, 2, 3))) static inline void pane_tmux(struct pane *pane,
                                                                   const char *format, ...)
{
    char command[PANE_COMMAND];
    int status;
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(command, sizeof command, format, arguments);
    va_end(arguments);
    ck_assert_int_lt(length, (int)sizeof command);
    pane_shell(pane->text, sizeof pane->text, &status, "tmux -N -L pane %s 2>&1", command);
    ck_assert_msg(status == 0, "tmux %s: %s", command, pane->text);
}

/* --- What stands on the screen --- */

/* Behind a control sequence that begins at `at`; follows what it says of reversing. */
static inline const char *pane_sequence(const char *at, bool *reversed)
{
    const char *word = at + 2;
    const char *end = word + strspn(word, "0123456789;");
    while (*end == 'm') {
        char *next;
        long number = strtol(word, &next, 10);
        *reversed = number == 7 || (*reversed && number != 0 && number != 27);
        if (*next != ';') {
            break;
        }
        word = next + 1;
    }
    return *end != '\0' ? end + 1 : end;
}

/* Reversed blanks become '#', reversed question marks '%'; plain blanks at the ends go. */
static inline void pane_read(struct pane *pane, const char *raw)
{
    bool reversed = false;
    size_t used = 0;
    size_t end = 0;
    while (*raw != '\0' && used < sizeof pane->text - 1) {
        char c = *raw;
        if (c == '\033') {
            raw = pane_sequence(raw, &reversed);
            continue;
        }
        raw++;
        used = c == '\n' ? end : used;
        pane->text[used++] = reversed && c == ' ' ? '#' : reversed && c == '?' ? '%' : c;
        end = c == ' ' && !reversed ? end : used;
    }
    pane->text[used] = '\0';
}

static inline void pane_look(struct pane *pane)
{
    static char raw[PANE_TEXT];
    int status;
    pane_shell(raw, sizeof raw, &status, "tmux -N -L pane capture-pane -p -e -N");
    ck_assert_int_eq(status, 0);
    pane_read(pane, raw);
}

static inline void pane_turn(struct pane *pane)
{
    pane_pause();
    if (pane->meanwhile) {
        pane->meanwhile(pane->owner);
    }
}

/* Waits until the screen has the text. */
static inline void pane_expect_words(struct pane *pane, const char *words)
{
    for (int turn = 0; turn < PANE_TURNS; turn++) {
        pane_look(pane);
        if (strstr(pane->text, words) != NULL) {
            return;
        }
        pane_turn(pane);
    }
    ck_abort_msg("no '%s' in\n%s", words, pane->text);
}

/* Waits until the screen is that of readout-golden/NAME.txt. */
static inline void pane_expect(struct pane *pane, const char *name)
{
    static char golden[PANE_TEXT];
    char path[PANE_COMMAND];
    const char *slash = strrchr(__FILE__, '/');
    int folder = slash ? (int)(slash - __FILE__) : 0;
    (void)snprintf(path, sizeof path, "%.*s/readout-golden/%s.txt", folder, __FILE__, name);
    FILE *file = fopen(path, "re");
    ck_assert_msg(file != NULL, "cannot read %s", path);
    golden[fread(golden, 1, sizeof golden - 1, file)] = '\0';
    fclose(file);
    for (int turn = 0; turn < PANE_TURNS; turn++) {
        pane_look(pane);
        if (strcmp(pane->text, golden) == 0) {
            return;
        }
        pane_turn(pane);
    }
    ck_abort_msg("%s is not\n%s", name, pane->text);
}

/* --- Beginning and end --- */

/* Why these tests cannot be run here; NULL: they can. */
static inline const char *pane_missing(void)
{
    char path[400];
    return !pane_find("reglet-readout", path, sizeof path) ? "reglet-readout was not built"
           : system("tmux -V >/dev/null 2>&1") != 0        ? "there is no tmux"
           : system("tic -V >/dev/null 2>&1") != 0         ? "there is no tic"
                                                           : NULL;
}

static inline void pane_write(const char *name, const char *text)
{
    FILE *file = fopen(name, "we");
    ck_assert_ptr_nonnull(file);
    ck_assert_int_ge(fputs(text, file), 0);
    ck_assert_int_eq(fclose(file), 0);
}

/* The server in the foreground, as a child that dies with us and takes the readout with it. */
static inline pid_t pane_serve(void)
{
    pid_t parent = getpid();
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        (void)prctl(PR_SET_PDEATHSIG, SIGTERM);
        int null = open("/dev/null", O_RDWR);
        if (getppid() == parent && null >= 0 && dup2(null, 0) == 0 && dup2(null, 1) == 1 &&
            dup2(null, 2) == 2) {
            execlp("tmux", "tmux", "-L", "pane", "-f", "config", "-D", (char *)NULL);
        }
        _exit(127);
    }
    return child;
}

/* Goes into a new folder. Nothing is shown yet. */
static inline void pane_open(struct pane *pane)
{
    *pane = (struct pane){.folder = "/tmp/reglet-readout-XXXXXX"};
    ck_assert_ptr_nonnull(mkdtemp(pane->folder));
    ck_assert_int_eq(chdir(pane->folder), 0);
    ck_assert(pane_find("reglet-readout", pane->program, sizeof pane->program));
    setenv("TMUX_TMPDIR", pane->folder, 1);
    setenv("SHELL", "/bin/sh", 1);
    unsetenv("TMUX");
    unsetenv("REGLET_UNIT");
    unsetenv("REGLET_SOCKET");
    pane_write("config", "set -g status off\nset -g default-terminal screen\n");
    pane->server = pane_serve();
}

/* Starts the readout with these words at 80 by 24. When it ends, its exit code is written, and so
 * are the terminal's settings. */
static inline void pane_show(struct pane *pane, const char *before, const char *words)
{
    char script[PANE_COMMAND];
    int status = 1;
    (void)snprintf(script, sizeof script,
                   "trap : INT QUIT\nulimit -c 0\nstty -g >before\n%s sh -c 'echo $$ >pid; exec "
                   "\"$0\" \"$@\"' %s "
                   "%s 2>said\nleft=$?\nstty -g >after\necho left $left\nexec cat\n",
                   before, pane->program, words);
    pane_write("script", script);
    for (int turn = 0; turn < PANE_TURNS && status != 0; turn++) { /* the server comes up */
        pane_shell(pane->text, sizeof pane->text, &status,
                   "tmux -N -L pane new-session -d -x 80 -y 24 'exec sh script' 2>&1");
        if (status != 0) {
            pane_pause();
        }
    }
    ck_assert_msg(status == 0, "%s", pane->text);
}

/* The readout has ended with that code, wiped its screen, and left the terminal as it was. */
static inline void pane_expect_end(struct pane *pane, int code)
{
    char words[40];
    int status;
    (void)snprintf(words, sizeof words, "left %d\n", code);
    pane_expect_words(pane, words);
    bool wiped = !strpbrk(pane->text, "#%") && !strstr(pane->text, "sure");
    ck_assert_msg(wiped, "left behind:\n%s", pane->text);
    pane_shell(pane->text, sizeof pane->text, &status, "cmp before after 2>&1");
    ck_assert_msg(status == 0, "%s", pane->text);
}

static inline int pane_unlink(const char *path, const struct stat *status, int kind,
                              struct FTW *place)
{
    (void)status;
    (void)kind;
    (void)place;
    return remove(path);
}

static inline void pane_close(struct pane *pane)
{
    ck_assert_int_eq(kill(pane->server, SIGTERM), 0);
    ck_assert_int_eq(waitpid(pane->server, NULL, 0), pane->server);
    ck_assert_int_eq(chdir("/"), 0);
    ck_assert_int_eq(nftw(pane->folder, pane_unlink, 16, FTW_DEPTH | FTW_PHYS), 0);
}

#endif
