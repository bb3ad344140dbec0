/* SPDX-License-Identifier: MIT */
/* A configuration read from a text, for the tests of daemon/config. */
#ifndef REGLET_TESTS_UNIT_CONFIG_READ_H
#define REGLET_TESTS_UNIT_CONFIG_READ_H

#include <check.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/config/config.h"

/* From memory that ends where the text ends, so that the sanitizer sees a byte read too far. */
static inline bool read_config(const char *text, size_t size, const char *name,
                               struct config *config, struct config_fault *fault)
{
    char *copy = malloc(size + (size == 0));
    ck_assert_ptr_nonnull(copy);
    memcpy(copy, text, size);
    *fault = (struct config_fault){.line = 4711};
    bool good = config_read(copy, size, name, config, fault);
    free(copy);
    return good;
}

#endif
