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
static volatile sig_atomic_t event_fd = -1;

static void on_signal(int number)
{
    static const char words[] = "\nLeft without waiting for rest. The connection that closes "
                                "brakes the lift: look whether it does.\n";
    const uint64_t one = 1;
    int error = errno;
    (void)number;
    if (came) {
        if (write(STDERR_FILENO, words, sizeof words - 1) < 0) {
            _exit(CLIENT_BROKEN_OFF); /* nobody to tell */
        }
        _exit(CLIENT_BROKEN_OFF);
    }
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

bool interrupt_came(void)
{
    return came != 0;
}
