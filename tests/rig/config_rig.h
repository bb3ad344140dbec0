/* SPDX-License-Identifier: MIT */
/* A configuration of a test's own: the practice lift's screw, travel and speeds, and more. */
#ifndef REGLET_TESTS_RIG_CONFIG_RIG_H
#define REGLET_TESTS_RIG_CONFIG_RIG_H

#include <check.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>

#include "protocol/attributes.h"
#include "tests/rig/harness.h"

/* Ends the daemon and starts it anew with the groups in `format`, each with a comma behind it. */
REGLET_PRINTF(2, 3) static inline void configure(struct rig *rig, const char *format, ...)
{
    static char path[128]; /* as long as the rig: each test is a process */
    va_list groups;
    snprintf(path, sizeof path, "%s/lift.json", rig->folder);
    FILE *file = fopen(path, "we");
    ck_assert_ptr_nonnull(file);
    fputs("{\"screw\": {\"lead\": \"2mm\", \"full_steps\": 200, \"microsteps\": 8},\n"
          "\"travel\": {\"length\": \"77mm\", \"top_margin\": \"1mm\"},\n"
          "\"speeds\": {\"move\": \"10mm/s\", \"search\": \"5mm/s\", \"brake\": \"125mm/s2\"},\n",
          file);
    va_start(groups, format);
    ck_assert_int_ge(vfprintf(file, format, groups), 0);
    va_end(groups);
    fputs("\"link\": {\"port\": \"/dev/null\"}}\n", file);
    ck_assert_int_eq(fclose(file), 0);
    rig_end_daemon(rig, SIGTERM);
    rig->config = path;
    rig_start_daemon(rig);
    rig_run(rig, 1000);
}

#endif
