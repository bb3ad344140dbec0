/* SPDX-License-Identifier: MIT */
#include "clients/bench/pen.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

void pen_put(struct pen *pen, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    int wrote = vsnprintf(pen->out + pen->used, pen->size - pen->used, format, arguments);
    va_end(arguments);
    bool fits = wrote >= 0 && (size_t)wrote < pen->size - pen->used;
    pen->used = fits ? pen->used + (size_t)wrote : pen->size - 1; /* where nothing more fits */
}

void pen_text(struct pen *pen, const char *text)
{
    for (; *text != '\0'; text++) {
        switch (*text) {
        case '<':
            pen_put(pen, "&lt;");
            break;
        case '&':
            pen_put(pen, "&amp;");
            break;
        case '"':
            pen_put(pen, "&quot;");
            break;
        default:
            pen_put(pen, "%c", (unsigned char)*text < ' ' ? '?' : *text);
        }
    }
}

size_t pen_end(struct pen *pen)
{
    if (pen->used + 1 >= pen->size) {
        pen->out[0] = '\0';
        return 0;
    }
    return pen->used;
}

double pen_step(double most, int ticks)
{
    double rough = most / ticks;
    double power = pow(10, floor(log10(rough)));
    double times = rough / power;
    return power * (times <= 1 ? 1 : times <= 2 ? 2 : times <= 5 ? 5 : 10);
}
