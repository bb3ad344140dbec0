/* SPDX-License-Identifier: MIT */
#include "clients/reglet/draw.h"

#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

enum { COLUMNS_MAX = 120 };

static size_t columns(void)
{
    struct winsize size;
    bool known = ioctl(STDERR_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 1;
    size_t most = known ? size.ws_col - 1u : SAY_COLUMNS;
    return most < COLUMNS_MAX ? most : COLUMNS_MAX;
}

/* Blanks behind it. An interrupted or full terminal may lose a line; the next one comes. */
static void draw_over(struct draw *draw, const char *line)
{
    size_t size = strlen(line);
    int behind = draw->drawn > size ? (int)(draw->drawn - size) : 0;
    (void)fprintf(stderr, "\r%s%*s", line, behind, "");
    (void)fflush(stderr);
    draw->drawn = size;
}

void draw_progress(struct draw *draw, const struct show_lift *lift, enum length_style style)
{
    char line[SHOW_LINE_SIZE];
    show_progress(lift, style, columns(), line, sizeof line);
    draw_over(draw, line);
}

void draw_wipe(struct draw *draw, size_t more)
{
    if (draw->drawn > 0) {
        draw->drawn += more;
        draw_over(draw, "");
        (void)fputs("\r", stderr);
        (void)fflush(stderr);
    }
}
