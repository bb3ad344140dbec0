/* SPDX-License-Identifier: MIT */
/* reglet-readout: the height across the shop. The command line, and the loop that brings together
 * daemon, keys, clock and terminal. */
#include <argp.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <uv.h>

#include "clients/common/client.h"
#include "clients/common/words.h"
#include "clients/readout/screen.h"
#include "clients/readout/talk.h"
#include "protocol/paths.h"
#include "protocol/unit.h"

enum {
    LOOK_MS = 100, /* so often ages are looked at, and the screen painted if they matter */
    SIGNALS = 6,
};

const char *argp_program_version = "reglet-readout " REGLET_VERSION;

struct readout {
    bool practice;
    const char *socket;
    enum length_style style;
    bool unit_said; /* --unit or $REGLET_UNIT: else the shop's counts, which may change */
    char path[PATHS_SIZE];
    struct talk *talk;
    struct grid grid;
    bool changed;
    bool leaving; /* `talk` is not to be used any more */
    enum client_exit code;
    uv_loop_t *loop;
    uv_poll_t keys;
    uv_timer_t look;
    uv_check_t turn;
    uv_signal_t signals[SIGNALS];
};

/* --- The command line --- */

static const struct argp_option option_list[] = {
    {"practice", 'p', 0, 0, "Show the practice lift, never the real one", 0},
    {"socket", 's', "PATH", 0, "Where regletd listens", 0},
    {"unit", 'u', "UNIT", 0,
     "in, mm, 32, 64 or 128: how a height is shown; the numbers are fractions of an inch "
     "(default: $REGLET_UNIT, or the shop's)",
     0},
    {0}};

static error_t take_option(int key, char *argument, struct argp_state *state)
{
    struct readout *readout = state->input;
    switch (key) {
    case 'p':
        readout->practice = true;
        return 0;
    case 's':
        readout->socket = argument;
        return 0;
    case 'u':
        if (!unit_style(argument, &readout->style)) {
            argp_error(state, "the unit '%s' can be in, mm, 32, 64 or 128", argument);
        }
        readout->unit_said = true;
        return 0;
    default:
        return ARGP_ERR_UNKNOWN;
    }
}

static const struct argp line = {
    option_list,
    take_option,
    0,
    "Fills the terminal with the height of the bit, to be read from across the shop.\v"
    "Space or s stops the lift; q or Ctrl-C leaves, and the lift goes on. Figures stand there only "
    "while the height is the present one; those made of question marks are unchecked. The terminal "
    "should have 80 columns and 24 rows; 40 and 10 will do.\n\n"
    "Software is no safety device: keep the stop circuit and the router's own switch and plug at "
    "hand.\n\n"
    "Exit codes:\n"
    "  0  left by q\n"
    "  2  the command line cannot be used, or this is no terminal\n"
    "  3  the terminal has gone, or memory is short\n"
    "  4  left by Ctrl-C or another signal",
    0,
    0,
    0};

static bool style_from_environment(struct readout *readout)
{
    const char *unit = getenv("REGLET_UNIT");
    readout->unit_said = unit && unit[0] != '\0';
    if (!readout->unit_said || unit_style(unit, &readout->style)) {
        return true;
    }
    (void)fprintf(stderr,
                  "reglet-readout: REGLET_UNIT is '%s'; it can be in, mm, 32, 64 or 128. Nothing "
                  "is shown.\n",
                  unit);
    return false;
}

static bool choose_path(struct readout *readout)
{
    int size =
        readout->socket ? snprintf(readout->path, sizeof readout->path, "%s", readout->socket) : 1;
    if (size > 0 && (size_t)size < sizeof readout->path &&
        (readout->socket || paths_socket(readout->practice, readout->path, sizeof readout->path))) {
        return true;
    }
    (void)fprintf(stderr,
                  "reglet-readout: the name of the socket is too long, or empty: at most %d bytes. "
                  "Nothing is shown. Give a shorter path, or a shorter practice folder.\n",
                  PATHS_SIZE - 1);
    return false;
}

/* --- The loop --- */

static void on_changed(void *owner)
{
    struct readout *readout = owner;
    readout->changed = true;
}

static void paint(struct readout *readout)
{
    struct face face = {.style = readout->style, .reversible = screen_reversible()};
    int rows;
    int columns;
    screen_size(&rows, &columns);
    talk_face(readout->talk, &face);
    if (!readout->unit_said && face.link == FACE_TOLD &&
        unit_style(face.lift.unit, &readout->style)) {
        face.style = readout->style;
    }
    grid_clear(&readout->grid, rows, columns);
    face_draw(&readout->grid, &face);
    screen_paint(&readout->grid);
    readout->changed = false;
}

static void close_handle(uv_handle_t *handle, void *unused)
{
    (void)unused;
    if (!uv_is_closing(handle)) {
        uv_close(handle, NULL);
    }
}

static void leave(struct readout *readout, enum client_exit code)
{
    if (readout->leaving) {
        return;
    }
    readout->leaving = true;
    readout->code = code;
    if (readout->talk) {
        talk_close(readout->talk);
    }
    uv_walk(readout->loop, close_handle, NULL);
}

/* Behind all that came in one turn, so that of several places only the last is seen. */
static void on_turn(uv_check_t *handle)
{
    struct readout *readout = handle->data;
    if (readout->changed && !readout->leaving) {
        paint(readout);
    }
}

static void on_look(uv_timer_t *handle)
{
    on_changed(handle->data);
}

static void take_key(struct readout *readout, char key)
{
    if (key == 'q' || key == 'Q') {
        leave(readout, CLIENT_DONE);
    } else if (key == ' ' || key == 's' || key == 'S') {
        talk_stop(readout->talk);
    }
}

static void on_keys(uv_poll_t *handle, int status, int events)
{
    struct readout *readout = handle->data;
    char keys[64];
    (void)events;
    ssize_t count = status == 0 ? read(STDIN_FILENO, keys, sizeof keys) : -1;
    if (count <= 0) {
        leave(readout, CLIENT_UNREACHABLE); /* nobody can see or stop us any more */
        return;
    }
    /* A key that sends several bytes is none of ours, whatever letters it has. */
    for (ssize_t i = 0; i < count && keys[0] != '\033' && !readout->leaving; i++) {
        take_key(readout, keys[i]);
    }
}

static void on_signal(uv_signal_t *handle, int number)
{
    struct readout *readout = handle->data;
    if (number == SIGWINCH) {
        readout->changed = true;
    } else if (number == SIGTSTP) {
        screen_suspend();
        uv_update_time(readout->loop); /* what was heard before is old now */
        readout->changed = true;
    } else {
        leave(readout, CLIENT_BROKEN_OFF);
    }
}

/* Before the terminal is taken, since curses then leaves these signals to us. */
static bool watch_signals(struct readout *readout)
{
    static const int numbers[SIGNALS] = {SIGINT, SIGTERM, SIGHUP, SIGQUIT, SIGWINCH, SIGTSTP};
    for (size_t i = 0; i < SIGNALS; i++) {
        uv_signal_t *handle = &readout->signals[i];
        handle->data = readout;
        if (uv_signal_init(readout->loop, handle) != 0 ||
            uv_signal_start(handle, on_signal, numbers[i]) != 0) {
            return false;
        }
    }
    return signal(SIGPIPE, SIG_IGN) != SIG_ERR;
}

/* libuv would leave the terminal so that reading never waits; but the shell that we share it with
 * means to wait, and curses to write all. */
static bool keep_waiting(int fd)
{
    int flags = fcntl(fd, F_GETFL);
    return flags >= 0 && fcntl(fd, F_SETFL, flags & ~O_NONBLOCK) == 0;
}

static bool begin(struct readout *readout)
{
    uv_loop_t *loop = readout->loop;
    readout->keys.data = readout;
    readout->look.data = readout;
    readout->turn.data = readout;
    readout->talk = talk_open(loop, readout->path, readout->practice, on_changed, readout);
    readout->changed = true;
    return readout->talk && uv_poll_init(loop, &readout->keys, STDIN_FILENO) == 0 &&
           keep_waiting(STDIN_FILENO) && uv_timer_init(loop, &readout->look) == 0 &&
           uv_check_init(loop, &readout->turn) == 0 &&
           uv_poll_start(&readout->keys, UV_READABLE | UV_DISCONNECT, on_keys) == 0 &&
           uv_timer_start(&readout->look, on_look, 0, LOOK_MS) == 0 &&
           uv_check_start(&readout->turn, on_turn) == 0;
}

static enum client_exit show(struct readout *readout)
{
    char why[256];
    readout->loop = uv_default_loop();
    if (!readout->loop || !watch_signals(readout)) {
        (void)fputs("reglet-readout: not enough memory; nothing is shown\n", stderr);
        return CLIENT_UNREACHABLE;
    }
    if (!screen_open(why, sizeof why)) {
        (void)fprintf(stderr, "reglet-readout: %s\n", why);
        return CLIENT_USAGE;
    }
    if (!begin(readout)) {
        leave(readout, CLIENT_UNREACHABLE);
    }
    (void)uv_run(readout->loop, UV_RUN_DEFAULT);
    screen_close();
    (void)uv_loop_close(readout->loop);
    return readout->code;
}

int main(int count, char **word)
{
    static struct readout readout = {.style = LENGTH_STYLE_64, .code = CLIENT_UNREACHABLE};
    argp_err_exit_status = CLIENT_USAGE;
    (void)setenv("ARGP_HELP_FMT", "no-dup-args-note", 0); /* longer than what it explains */
    if (!style_from_environment(&readout)) {
        return CLIENT_USAGE;
    }
    argp_parse(&line, count, word, 0, NULL, &readout);
    if (!choose_path(&readout)) {
        return CLIENT_USAGE;
    }
    return (int)show(&readout);
}
