/* SPDX-License-Identifier: MIT */
#include "protocol/json_walk.h"

#include <string.h>

const char *json_past_space(const char *at)
{
    return at + strspn(at, " \t\r\n");
}

const char *json_past_string(const char *at)
{
    for (at++; *at != '"'; at++) {
        at += *at == '\\';
    }
    return at + 1;
}

const char *json_past_value(const char *at)
{
    int depth = 0;
    do {
        if (*at == '"') {
            at = json_past_string(at);
            continue;
        }
        depth += *at == '{' || *at == '[';
        depth -= *at == '}' || *at == ']';
        at++;
    } while (depth > 0 || (*at != '\0' && !strchr(",}] \t\r\n", *at)));
    return at;
}
