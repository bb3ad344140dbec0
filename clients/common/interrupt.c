/* SPDX-License-Identifier: MIT */
#include "clients/common/interrupt.h"

#include <errno.h>
#include <signal.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include "clients/common/client.h"

/* A signal handler can be handed nothing. */
static volatile sig_atomic_t came;
static int64_t came_ms; /* read and written by the handler alone */
static volatile sig_atomic_t event_fd = -1;
static volatile sig_atomic_t terminal_fd = -1;
static struct termios terminal_settings; /* not touched while terminal_fd is none */

static void on_signal(int number)
{
    static const char words[] = "\nLeft without waiting for rest. The connection that closes "
                                "brakes the lift: look whether it does.\n";
    const uint64_t one = 1;
    int error = errno;
    (void)number;
    if (came && client_now_ms() - came_ms < INTERRUPT_SAME_MS) {
        errno = error;
        return;
    }
    if (came) {
        if (terminal_fd >= 0) {
            (void)tcsetattr(terminal_fd, TCSAFLUSH, &terminal_settings); /* leaves whatever comes */
        }
        if (write(STDERR_FILENO, words, sizeof words - 1) < 0) {
            _exit(CLIENT_BROKEN_OFF); /* nobody to tell */
        }
        _exit(CLIENT_BROKEN_OFF);
    }
    came_ms = client_now_ms(); /* POSIX has clock_gettime among what a handler may call */
    came = 1;
    if (write(event_fd, &one, sizeof one) < 0) {
        _exit(CLIENT_BROKEN_OFF); /* cannot be told to the loop: leaving brakes, too */
    }
    errno = error;
}

bool interrupt_watch(int *fd)
{
    static const int numbers[] = {SIGINT, SIGTERM, SIGTSTP};
    struct sigaction action = {.sa_handler = on_signal}; /* no SA_RESTART: a wait must end */
    struct sigaction before;
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        (void)sigaddset(&action.sa_mask, numbers[i]); /* valid numbers; one handler at a time */
    }
    event_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    if (event_fd < 0) {
        return false;
    }
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        if (sigaction(numbers[i], NULL, &before) != 0 ||
            (before.sa_handler != SIG_IGN && sigaction(numbers[i], &action, NULL) != 0)) {
            return false;
        }
    }
    *fd = event_fd;
    return true;
}

void interrupt_terminal(int fd, const struct termios *settings)
{
    terminal_fd = -1;
    if (settings) {
        terminal_settings = *settings;
        terminal_fd = fd;
    }
}

bool interrupt_came(void)
{
    return came != 0;
}
