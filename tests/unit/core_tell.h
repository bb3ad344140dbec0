/* SPDX-License-Identifier: MIT */
/* Lines told to a generator in a test; tell_line is the test's own rig's. */
#ifndef REGLET_TESTS_UNIT_CORE_TELL_H
#define REGLET_TESTS_UNIT_CORE_TELL_H

#include <string.h>

#include "protocol/link.h"

static void tell_line(const struct link_line *line);

static inline void tell_values(uint8_t word, const uint32_t *value)
{
    struct link_line line = {.word = word, .count = link_values(word)};
    memcpy(line.value, value, line.count * sizeof *value);
    tell_line(&line);
}

#define TELL(word, ...) tell_values(word, (uint32_t[LINK_VALUES_MAX]){__VA_ARGS__})

static inline void tell_stride(const struct stride *stride, uint8_t sequence)
{
    struct link_line line;
    link_stride_line(stride, sequence, &line);
    tell_line(&line);
}

#endif
