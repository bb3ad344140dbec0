/* SPDX-License-Identifier: MIT */
#include "clients/readout/screen.h"

#include <curses.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <term.h>
#include <termios.h>
#include <unistd.h>

#undef columns /* term.h takes this word for itself */

/* A signal handler can be handed nothing. */
static struct {
    bool taken;
    SCREEN *screen;
    struct termios before;
    char wipe[256]; /* what a terminal is sent when we fall */
    size_t wipe_size;
} terminal;

/* --- When we fall --- */

static int add_wipe(int byte)
{
    if (terminal.wipe_size < sizeof terminal.wipe) {
        terminal.wipe[terminal.wipe_size++] = (char)byte;
    }
    return byte;
}

static void prepare_wipe(void)
{
    static const char *const names[] = {"sgr0", "clear", "cnorm", "rmcup"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char name[8];
        (void)snprintf(name, sizeof name, "%s", names[i]);
        const char *text = tigetstr(name);
        if (text && text != (const char *)-1) {
            (void)tputs(text, 1, add_wipe);
        }
    }
}

/* Nothing but what a handler may call. */
static void on_fall(int number)
{
    if (terminal.taken && write(STDOUT_FILENO, terminal.wipe, terminal.wipe_size) >= 0) {
        (void)tcsetattr(STDIN_FILENO, TCSANOW, &terminal.before);
    }
    (void)raise(number); /* its own action again: SA_RESETHAND */
}

static void watch_falls(void)
{
    static const int numbers[] = {SIGABRT, SIGBUS, SIGFPE, SIGILL, SIGSEGV};
    struct sigaction action = {.sa_handler = on_fall, .sa_flags = SA_RESETHAND | SA_NODEFER};
    struct sigaction before;
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        if (sigaction(numbers[i], NULL, &before) == 0 && before.sa_handler == SIG_DFL) {
            (void)sigaction(numbers[i], &action, NULL); /* fails for no signal of these */
        }
    }
}

/* --- Taking and giving back --- */

/* Ctrl-S would leave a height standing for as long as nobody says Ctrl-Q. */
static void keep_flowing(void)
{
    struct termios mode;
    if (tcgetattr(STDIN_FILENO, &mode) == 0) {
        mode.c_iflag &= ~(tcflag_t)(IXON | IXOFF);
        (void)tcsetattr(STDIN_FILENO, TCSANOW, &mode); /* without it all but Ctrl-S is well */
        (void)def_prog_mode();
    }
}

bool screen_open(char *why, size_t why_size)
{
    const char *name = getenv("TERM");
    if (!isatty(STDOUT_FILENO) || !isatty(STDIN_FILENO) ||
        tcgetattr(STDIN_FILENO, &terminal.before) != 0) {
        (void)snprintf(why, why_size,
                       "The readout fills a terminal, and this is none. Start it in one, or ask "
                       "once with a bare 'reglet'.");
        return false;
    }
    (void)use_env(FALSE); /* the size is the terminal's, whatever LINES says */
    use_tioctl(TRUE);
    terminal.screen = newterm(NULL, stdout, stdin);
    if (!terminal.screen || !tigetstr((char[]){"cup"})) {
        if (terminal.screen) {
            (void)endwin();
        }
        (void)snprintf(why, why_size,
                       "The terminal is named '%s' (TERM), and how to write all over that one is "
                       "not known. Name it rightly, or ask once with a bare 'reglet'.",
                       name ? name : "");
        return false;
    }
    terminal.taken = true;
    (void)cbreak();
    (void)noecho();
    (void)curs_set(0); /* not every terminal can hide it */
    keep_flowing();
    prepare_wipe();
    watch_falls();
    return true;
}

static void leave(void)
{
    (void)erase();
    (void)refresh();
    (void)endwin();
    terminal.taken = false;
}

void screen_close(void)
{
    if (terminal.taken) {
        leave();
    }
}

void screen_suspend(void)
{
    leave();
    (void)raise(SIGSTOP);
    terminal.taken = true;
    (void)refresh(); /* takes it again */
    (void)clearok(stdscr, TRUE);
}

/* --- Painting --- */

bool screen_reversible(void)
{
    return (termattrs() & A_REVERSE) != 0;
}

void screen_size(int *rows, int *columns)
{
    struct winsize size = {0};
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_row > 0 && size.ws_col > 0 &&
        is_term_resized(size.ws_row, size.ws_col)) {
        (void)resizeterm(size.ws_row, size.ws_col); /* when memory is short the old size stays */
        (void)clearok(stdscr, TRUE);
    }
    getmaxyx(stdscr, *rows, *columns);
}

static chtype cell_of(struct grid_cell cell)
{
    chtype look = (cell.look & GRID_BOLD ? A_BOLD : 0) | (cell.look & GRID_REVERSE ? A_REVERSE : 0);
    return (chtype)(unsigned char)cell.character | look;
}

void screen_paint(const struct grid *grid)
{
    (void)erase();
    for (int row = 0; row < grid->rows; row++) {
        for (int column = 0; column < grid->columns; column++) {
            /* It fails in the last cell of all, when that is written. */
            (void)mvaddch(row, column, cell_of(grid->cell[row][column]));
        }
    }
    (void)refresh();
}
