/* SPDX-License-Identifier: MIT */
/* Steps over the text of JSON that has been scanned (json.h) and ends with a NUL: for who must know
 * where a value stands, or have it as it was written. A parser keeps neither. */
#ifndef REGLET_PROTOCOL_JSON_WALK_H
#define REGLET_PROTOCOL_JSON_WALK_H

const char *json_past_space(const char *at);
/* Behind the string that begins at `at`. */
const char *json_past_string(const char *at);
/* Behind the value that begins at `at`. */
const char *json_past_value(const char *at);

#endif
