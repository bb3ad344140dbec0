/* SPDX-License-Identifier: MIT */
/* A good configuration to be spoilt, and the sentence that is to come of it. */
#ifndef REGLET_TESTS_UNIT_CONFIG_SPOILT_H
#define REGLET_TESTS_UNIT_CONFIG_SPOILT_H

#include <stdio.h>

#include "tests/unit/config_read.h"

/* A good one, which each case spoils in one place. */
/* clang-format off */
static const char good[] =
    "{\n"                                                     /* 1 */
    "  \"screw\": {\n"                                        /* 2 */
    "    \"lead\": \"2mm\",\n"
    "    \"full_steps\": 400,\n"
    "    \"microsteps\": 4\n"
    "  },\n"
    "  \"travel\": {\n"                                       /* 7 */
    "    \"length\": \"3in\",\n"
    "    \"top_margin\": \"1/16in\"\n"
    "  },\n"
    "  \"speeds\": {\n"                                       /* 11 */
    "    \"move\": \"10mm/s\",\n"
    "    \"search\": \"1mm/s\",\n"
    "    \"brake\": \"125mm/s2\"\n"
    "  },\n"
    "  \"lash\": {\n"                                         /* 16 */
    "    \"measured\": \"0.3mm\"\n"
    "  },\n"
    "  \"inputs\": {\n"                                       /* 19 */
    "    \"top_switch\": \"active-low\",\n"
    "    \"stop_circuit\": \"active-high\",\n"
    "    \"motor_supply\": \"absent\",\n"
    "    \"debounce_ms\": 5\n"
    "  },\n"
    "  \"link\": {\n"                                         /* 25 */
    "    \"port\": \"/dev/serial/by-id/board\", // blue cable\n"
    "    \"baud\": 115200,\n"
    "    \"silence_ms\": 100\n"
    "  },\n"
    "  \"folders\": {\n"                                      /* 30 */
    "    \"state\": \"/var/lib/reglet\",\n"
    "    \"socket\": \"/run/reglet/reglet.sock\"\n"
    "  }\n"
    "}\n";                                                    /* 34 */
/* clang-format on */

/* What two programs expect to be told. */
#define BAUDS "115200 or 250000 would do"
#define EXAMPLE "a copy of the annotated example reglet.json, fitted to your lift, would do"

/* One sentence, ASCII, whole: "FILE:LINE: found ...; ...". */
static inline void expect_fault(const struct config_fault *fault, const char *name, unsigned line,
                                const char *found, const char *wanted, const char *what)
{
    char place[160];
    if (line > 0) {
        (void)snprintf(place, sizeof place, "%s:%u: found ", name, line);
    } else {
        (void)snprintf(place, sizeof place, "%s: found ", name);
    }
    const char *semicolon = strchr(fault->text, ';');
    const char *is_found = strstr(fault->text, found);
    if (fault->line != line || strncmp(fault->text, place, strlen(place)) != 0 || !is_found) {
        ck_abort_msg("of '%s' was said (line %u): %s", what, fault->line, fault->text);
    }
    if (*wanted != '\0' && (!semicolon || is_found > semicolon || !strstr(semicolon, wanted))) {
        ck_abort_msg("of '%s' was said (line %u): %s", what, fault->line, fault->text);
    }
    for (const char *letter = fault->text; *letter != '\0'; letter++) {
        if ((unsigned char)*letter < 0x20 || (unsigned char)*letter > 0x7e) {
            ck_abort_msg("byte %02x in: %s", (unsigned char)*letter, fault->text);
        }
    }
    if (strlen(fault->text) > CONFIG_SENTENCE - 2) {
        ck_abort_msg("may be cut: %s", fault->text);
    }
}

/* The good one with one stretch exchanged; the caller frees it. */
static inline char *spoil(const char *was, const char *is)
{
    const char *at = strstr(good, was);
    if (at == NULL || strstr(at + 1, was) != NULL) {
        ck_abort_msg("'%s' does not stand once in the good one", was);
    }
    size_t room = sizeof good + strlen(is);
    char *text = malloc(room);
    ck_assert_ptr_nonnull(text);
    (void)snprintf(text, room, "%.*s%s%s", (int)(at - good), good, is, at + strlen(was));
    return text;
}

#endif
