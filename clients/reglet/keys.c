/* SPDX-License-Identifier: MIT */
#include "clients/reglet/keys.h"

#include <errno.h>
#include <poll.h>
#include <unistd.h>

#include "clients/common/client.h"
#include "clients/common/interrupt.h"

enum { QUIET_MS = 150, QUIET_MOST_MS = 2000 };

bool keys_open(struct keys *keys)
{
    if (tcgetattr(STDIN_FILENO, &keys->before) != 0) {
        return false;
    }
    struct termios now = keys->before;
    now.c_lflag &= ~(tcflag_t)(ICANON | ECHO);
    now.c_cc[VMIN] = 1;
    now.c_cc[VTIME] = 0;
    now.c_cc[VQUIT] = _POSIX_VDISABLE; /* it would leave without setting the terminal back */
    interrupt_terminal(STDIN_FILENO, &keys->before);
    keys->open = tcsetattr(STDIN_FILENO, TCSAFLUSH, &now) == 0;
    if (!keys->open) {
        interrupt_terminal(STDIN_FILENO, NULL);
    }
    return keys->open;
}

static void await_quiet(void)
{
    char text[KEYS_READ_MAX];
    struct pollfd look = {.fd = STDIN_FILENO, .events = POLLIN};
    int64_t most_ms = client_now_ms() + QUIET_MOST_MS;
    while (client_now_ms() < most_ms && poll(&look, 1, QUIET_MS) > 0) {
        if (read(STDIN_FILENO, text, sizeof text) <= 0) {
            return;
        }
    }
}

void keys_close(struct keys *keys)
{
    if (keys->open) {
        await_quiet();
        while (tcsetattr(STDIN_FILENO, TCSAFLUSH, &keys->before) != 0 && errno == EINTR) {
        }
        interrupt_terminal(STDIN_FILENO, NULL);
        keys->open = false;
    }
}

void keys_drop(void)
{
    (void)tcflush(STDIN_FILENO, TCIFLUSH); /* what is left is looked at as any key */
}
