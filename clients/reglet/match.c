/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/motion.h"
#include "clients/reglet/shop.h"

/* What is to be matched, as far as the lists and the status tell it. */
struct match {
    const char *name;
    bool other_known; /* the other bit's height, said or remembered */
    int64_t other_nm;
    bool fits; /* a bit of the pair is in the collet */
    bool second;
};

static const char *text_of(const cJSON *object, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    return cJSON_IsString(item) ? item->valuestring : "";
}

static bool nm_of(const cJSON *object, const char *name, int64_t *nm)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    *nm = cJSON_IsNumber(item) ? (int64_t)item->valuedouble : 0;
    return cJSON_IsNumber(item);
}

static void read_status(struct match *match, const cJSON *status, const cJSON *pair)
{
    const cJSON *before = cJSON_GetObjectItemCaseSensitive(status, "before");
    const char *bit = text_of(status, "bit");
    match->second = strcmp(bit, text_of(pair, "second")) == 0;
    match->fits = bit[0] != '\0' && (match->second || strcmp(bit, text_of(pair, "first")) == 0);
    if (!match->other_known &&
        strcmp(text_of(before, "bit"), text_of(pair, match->second ? "first" : "second")) == 0) {
        match->other_known = nm_of(before, "height_nm", &match->other_nm);
    }
}

/* "match door: cope to 3/8in, 1/8in higher than stick stood at 1/4in; ..." */
static void show_understood(const struct run *run, const struct match *match, const cJSON *pair)
{
    struct say say = {0};
    char height[SAY_LENGTH_SIZE];
    char other[SAY_LENGTH_SIZE];
    char by[SAY_LENGTH_SIZE];
    int64_t difference_nm;
    if (!nm_of(pair, "difference_nm", &difference_nm)) {
        return;
    }
    int64_t higher_nm = match->second ? difference_nm : -difference_nm;
    say_exact(match->other_nm + higher_nm, run->style, height, sizeof height);
    say_exact(match->other_nm, run->style, other, sizeof other);
    say_exact(higher_nm < 0 ? -higher_nm : higher_nm, run->style, by, sizeof by);
    say_wrap(&say, "", 0,
             "match %.63s: %.63s to %s, %s %s than %.63s stood, which was %s; no work on or over "
             "the bit",
             match->name, text_of(pair, match->second ? "second" : "first"), height, by,
             higher_nm < 0 ? "lower" : "higher", text_of(pair, match->second ? "first" : "second"),
             other);
    run_print(&say);
}

/* What it will do is shown where all is known; else the daemon says what is wrong. */
static enum client_exit look(struct run *run, struct match *match)
{
    cJSON *pairs;
    struct client_answer answer = {0};
    enum client_exit code = shop_all(run, &shop_items[SHOP_PAIRS], &pairs);
    if (code != CLIENT_DONE) {
        return code;
    }
    code = run_call(run, "status", NULL, &answer);
    const cJSON *pair = shop_named(pairs, match->name);
    if (code == CLIENT_DONE && pair) {
        read_status(match, answer.result, pair);
        if (match->fits && match->other_known && !run->json) {
            show_understood(run, match, pair);
        }
    }
    client_answer_free(&answer);
    cJSON_Delete(pairs);
    return code;
}

static enum client_exit go(struct run *run, const struct match *match)
{
    cJSON *params = words_params_text("name", match->name);
    if (!params || (match->other_known && !words_add_length(params, "other", match->other_nm))) {
        cJSON_Delete(params);
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    return motion_go(run, "match", params, show_rest);
}

static enum client_exit carry_out(struct run *run)
{
    char why[WORDS_WHY];
    struct match match = {.name = run->count > 0 ? run->word[0] : NULL,
                          .other_known = run->count > 1};
    if (!match.name) {
        return run_usage(run, "expected the name of a pair; 'reglet pairs' lists them");
    }
    if (match.other_known &&
        !words_length(run->count - 1, run->word + 1, words_bare(run->style),
                      "the height at which the other bit of the pair cut, such as 1/4in",
                      &match.other_nm, why)) {
        return run_usage(run, why);
    }
    enum client_exit code = run_connect(run);
    if (code == CLIENT_DONE) {
        code = look(run, &match);
    }
    return code == CLIENT_DONE ? go(run, &match) : code;
}

const struct command command_match = {
    "match",
    "PAIR [HEIGHT]",
    "set one bit of a pair from where the other cut",
    "After the first bit's cuts: 'change', 'fit' the second, touch off, and 'match door' goes to "
    "where what the two cut fits. It counts from the height at which the first bit stood when it "
    "was taken out, or from HEIGHT, if it was moved after its cut: match door 1/4. Either bit of "
    "the pair may be the one that cut first. It shows the height, then goes there as 'to' does: "
    "router off and run down, no work on or over the bit, hands away. 'pairs' keeps a pair and "
    "its difference; cut a test piece of both, and fit them, before you trust it.",
    carry_out,
    NULL};
