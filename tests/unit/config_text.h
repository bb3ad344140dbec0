/* SPDX-License-Identifier: MIT */
/* The texts that the tests of a good configuration read: the shortest, and the example. */
#ifndef REGLET_TESTS_UNIT_CONFIG_TEXT_H
#define REGLET_TESTS_UNIT_CONFIG_TEXT_H

#include <stdio.h>

#include "tests/unit/config_read.h"

enum { TEXT_SIZE = 16384 };

#define NM_PER_IN INT64_C(25400000)

static inline bool read_text(const char *text, size_t size, struct config *config,
                             struct config_fault *fault)
{
    return read_config(text, size, "lift.json", config, fault);
}

static inline struct config read_good(const char *text)
{
    struct config config;
    struct config_fault fault;
    if (!read_text(text, strlen(text), &config, &fault)) {
        ck_abort_msg("%s\nof:\n%s", fault.text, text);
    }
    return config;
}

/* As short as it can be, with groups to put in and the screw to choose. */
static inline bool try_short(const char *screw, const char *speeds, const char *more,
                             struct config *config, struct config_fault *fault)
{
    char text[1200];
    (void)snprintf(text, sizeof text,
                   "{\"screw\": {%s, \"full_steps\": 200, \"microsteps\": 16}, \"travel\": "
                   "{\"length\": \"3in\", \"top_margin\": \"0in\"}, \"speeds\": {%s}, \"link\": "
                   "{\"port\": \"/dev/x\"}%s}",
                   screw, speeds, more);
    return read_text(text, strlen(text), config, fault);
}

static inline void example_path(char path[4096])
{
    (void)snprintf(path, 4096, "%s", __FILE__);
    char *slash = strrchr(path, '/');
    size_t folder = slash ? (size_t)(slash - path) + 1 : 0;
    (void)snprintf(path + folder, 4096 - folder, "../../config/reglet.json");
}

static inline size_t read_example(char text[TEXT_SIZE])
{
    char path[4096];
    example_path(path);
    FILE *file = fopen(path, "r");
    ck_assert_ptr_nonnull(file);
    size_t size = fread(text, 1, TEXT_SIZE - 1, file);
    ck_assert_uint_lt(size, TEXT_SIZE - 1);
    text[size] = '\0';
    ck_assert_int_eq(fclose(file), 0);
    return size;
}

#endif
