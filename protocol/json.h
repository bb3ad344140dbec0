/* SPDX-License-Identifier: MIT */
/*
 * One strict scan of a JSON text before cJSON parses it.
 *
 * cJSON accepts duplicate member names, a byte-order mark, 01, bad UTF-8 and 1e999, cuts strings
 * at \u0000 and numbers at their 63rd byte. The scan refuses all of these, so that what cJSON then
 * reads means what it says:
 * - the grammar of RFC 8259, and nothing behind the value but white space;
 * - valid UTF-8 (RFC 3629) without a byte-order mark; noncharacters such as U+FFFF pass;
 * - no NUL, raw or escaped; no surrogate escape without its partner;
 * - no name twice in one object, compared after unescaping (RFC 7493 section 2.3);
 * - every number within +-(2^53 - 1) by its exact value, however it is written: 1e3 and 1000.0 are
 *   the number 1000, and 1e16 is refused as 10000000000000000 is (RFC 7493 section 2.2). Doubles
 *   beyond are all whole, and no longer stand for one integer each. So 1e999 is refused too and
 *   every number is finite; one too small for a double, such as 1e-999, is read as 0;
 * - depth at most JSON_DEPTH_MAX: a value that is no container has depth 0, [] and {} have 1.
 *
 * The scan needs about 9 KiB of stack, allocates nothing, and does not depend on the locale. Time
 * grows with the length of the text, and with the square of the number of names in one object by
 * comparisons of their hashes (131 000 at most).
 */
#ifndef REGLET_PROTOCOL_JSON_H
#define REGLET_PROTOCOL_JSON_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>

#include "protocol/attributes.h"

enum {
    JSON_DEPTH_MAX = 16,
    JSON_MEMBERS_MAX = 512, /* names in all objects open at one time; more is refused */
    JSON_NUMBER_MAX = 63,   /* bytes of one number; cJSON would cut a longer one */
};

/* What was refused, and where. Lines end at \n. The text is one sentence in ASCII without control
 * characters, whatever was found: what that was, and what would do. It does not repeat the place;
 * whoever shows it puts that in front. */
struct json_fault {
    size_t at;      /* byte offset */
    unsigned line;  /* from 1 */
    char text[120]; /* NUL-terminated */
};

/* True when text[0..size) is one JSON value as above, white space around it allowed. After false,
 * *fault tells the first thing that was wrong; after true it is untouched. The text needs no NUL
 * at its end. */
REGLET_MUST_CHECK bool json_scan(const char *text, size_t size, struct json_fault *fault);

/* Scans, then parses. NULL (and *fault) when the scan refuses or memory is short. The caller owns
 * the result (cJSON_Delete). */
REGLET_MUST_CHECK cJSON *json_parse(const char *text, size_t size, struct json_fault *fault);

/* Configuration only: overwrites // comments (outside strings) with spaces, in place, keeping
 * newlines, so that offsets and lines stay true. A string that is not closed ends with its line,
 * as the scan refuses it there. */
void json_blank_comments(char *text, size_t size);

#endif
