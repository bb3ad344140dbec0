/* SPDX-License-Identifier: MIT */
#include "daemon/config/locate.h"

#include <string.h>

static size_t past_space(const char *text, size_t at)
{
    while (text[at] == ' ' || text[at] == '\t' || text[at] == '\r' || text[at] == '\n') {
        at++;
    }
    return at;
}

/* From the opening quote on. */
static size_t past_string(const char *text, size_t at)
{
    for (at++; text[at] != '"'; at++) {
        at += text[at] == '\\';
    }
    return at + 1;
}

/* From the opening bracket on. Which bracket closes which was settled by the scan. */
static size_t past_container(const char *text, size_t at)
{
    unsigned depth = 0;
    do {
        if (text[at] == '"') {
            at = past_string(text, at);
            continue;
        }
        depth += text[at] == '{' || text[at] == '[';
        depth -= text[at] == '}' || text[at] == ']';
        at++;
    } while (depth > 0);
    return at;
}

static size_t past_value(const char *text, size_t at)
{
    if (text[at] == '"') {
        return past_string(text, at);
    }
    if (text[at] == '{' || text[at] == '[') {
        return past_container(text, at);
    }
    while (strchr(",}] \t\r\n", text[at]) == NULL) {
        at++;
    }
    return at;
}

size_t locate_root(const char *text)
{
    return past_space(text, 0);
}

bool locate_next(const char *text, size_t *at, struct locate_member *member)
{
    /* Here stands the opening brace, the comma behind a member, or the closing brace. */
    size_t here = text[*at] == '}' ? *at : past_space(text, *at + 1);
    if (text[here] == '}') {
        *at = here;
        return false;
    }
    size_t end = past_string(text, here);
    member->name = (struct locate_span){here, end - here};
    size_t colon = past_space(text, end);
    here = past_space(text, colon + 1);
    end = past_value(text, here);
    member->value = (struct locate_span){here, end - here};
    *at = past_space(text, end);
    return true;
}
