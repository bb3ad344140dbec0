/* SPDX-License-Identifier: MIT */
/*
 * Where the members of an object stand in the text, for a fault's line: cJSON keeps their order but
 * forgets their places, so the text and the tree are walked side by side. Only for a text that
 * json_scan has accepted: nothing is checked again, and what the scan knows to be closed is the
 * end.
 */
#ifndef REGLET_DAEMON_CONFIG_LOCATE_H
#define REGLET_DAEMON_CONFIG_LOCATE_H

#include <stdbool.h>
#include <stddef.h>

/* A stretch of the text: of a string its quotes too, of a container its brackets. */
struct locate_span {
    size_t at;
    size_t size;
};

struct locate_member {
    struct locate_span name;
    struct locate_span value;
};

/* The first byte of the value of the whole text. */
size_t locate_root(const char *text);

/* The next member of an object, in the order of the text. *at is the object's opening brace before
 * the first call, and belongs to this function afterwards. False when there is no other. */
bool locate_next(const char *text, size_t *at, struct locate_member *member);

#endif
