/* SPDX-License-Identifier: MIT */
#include "clients/pedal/action.h"

#include <linux/input-event-codes.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "protocol/length.h"

static const struct {
    unsigned code;
    char types;
} types_table[] = {
    {KEY_0, '0'},
    {KEY_1, '1'},
    {KEY_2, '2'},
    {KEY_3, '3'},
    {KEY_4, '4'},
    {KEY_5, '5'},
    {KEY_6, '6'},
    {KEY_7, '7'},
    {KEY_8, '8'},
    {KEY_9, '9'},
    {KEY_KP0, '0'},
    {KEY_KP1, '1'},
    {KEY_KP2, '2'},
    {KEY_KP3, '3'},
    {KEY_KP4, '4'},
    {KEY_KP5, '5'},
    {KEY_KP6, '6'},
    {KEY_KP7, '7'},
    {KEY_KP8, '8'},
    {KEY_KP9, '9'},
    {KEY_KPDOT, '.'},
    {KEY_DOT, '.'},
    {KEY_COMMA, '.'},
    {KEY_KPCOMMA, '.'},
    {KEY_MINUS, '-'},
    {KEY_KPMINUS, '-'},
    {KEY_SLASH, '/'},
    {KEY_KPSLASH, '/'},
    {KEY_ENTER, ACTION_ENTER},
    {KEY_KPENTER, ACTION_ENTER},
    {KEY_BACKSPACE, ACTION_CLEAR},
    {KEY_DELETE, ACTION_CLEAR},
    {KEY_ESC, ACTION_CLEAR},
    {KEY_CLEAR, ACTION_CLEAR},
};

char action_types(unsigned code)
{
    for (size_t i = 0; i < sizeof types_table / sizeof *types_table; i++) {
        if (types_table[i].code == code) {
            return types_table[i].types;
        }
    }
    return '\0';
}

static bool refuse(char *why, const char *text)
{
    (void)snprintf(why, ACTION_WHY, "%s", text);
    return false;
}

static bool read_length(const char *text, int64_t *nm, char *why)
{
    struct length_fault fault;
    if (length_parse(text, LENGTH_BARE_REFUSED, nm, &fault)) {
        return true;
    }
    (void)snprintf(why, ACTION_WHY, "found the length '%.64s': %s", text, fault.text);
    return false;
}

static bool read_nudge(const char *text, struct action *action, char *why)
{
    bool up = strncmp(text, "up ", 3) == 0;
    if (!up && strncmp(text, "down ", 5) != 0) {
        return refuse(why, "a nudge needs its way and its length; \"nudge up 1/64in\" or \"nudge "
                           "down .002in\" would do");
    }
    int64_t nm;
    if (!read_length(text + (up ? 3 : 5), &nm, why)) {
        return false;
    }
    if (nm <= 0) {
        return refuse(why, "a nudge's length is above zero, as 'up' and 'down' say the way; "
                           "\"nudge down .002in\" would do");
    }
    action->kind = ACTION_NUDGE;
    action->nm = up ? nm : -nm;
    return true;
}

static bool read_recall(const char *name, struct action *action, char *why)
{
    char wrong[WORDS_WHY];
    char copy[sizeof action->name];
    if (strlen(name) >= sizeof copy) {
        return refuse(why, "a preset's name is at most 63 bytes long");
    }
    (void)snprintf(copy, sizeof copy, "%s", name);
    char *word = copy;
    const char *only = words_only_name(1, &word, wrong);
    if (!only) {
        (void)snprintf(why, ACTION_WHY, "found no name to recall: %s", wrong);
        return false;
    }
    action->kind = ACTION_RECALL;
    (void)snprintf(action->name, sizeof action->name, "%s", only);
    return true;
}

static bool read_keypad(unsigned code, struct action *action, char *why)
{
    action->kind = ACTION_KEYPAD;
    action->types = action_types(code);
    return action->types != '\0' ||
           refuse(why, "this key types nothing that a height is written with; the digits, the "
                       "point or comma, minus, slash, enter, backspace, delete and escape would "
                       "do, of the keypad or of the main keys");
}

/* Words that people will try, and that a foot must not be able to say. */
static const struct {
    const char *word;
    const char *why;
} never[] = {
    {"all-clear", "all-clear is not for a pedal: whoever says it has looked at the lift and has "
                  "put right what barred it. Say 'reglet all-clear' at a screen"},
    {"find-top", "find-top is not for a pedal: the bit comes up all the way, so somebody has to "
                 "look first. Say 'reglet find-top' at a screen"},
    {"touch", "touch is not for a pedal: the table zero is set at a screen, by 'reglet touch'"},
    {"confirm", "confirm is not for a pedal: it is said by who has compared the height, with "
                "'reglet confirm' at a screen"},
};

static bool refuse_unknown(const char *words, char *why)
{
    size_t size = strcspn(words, " ");
    for (size_t i = 0; i < sizeof never / sizeof *never; i++) {
        if (strlen(never[i].word) == size && strncmp(never[i].word, words, size) == 0) {
            return refuse(why, never[i].why);
        }
    }
    (void)snprintf(why, ACTION_WHY,
                   "found the unknown action '%.64s'; hold-up-slow, hold-up-fast, hold-down-slow, "
                   "hold-down-fast, nudge up LENGTH, nudge down LENGTH, to HEIGHT, recall NAME, "
                   "next, stop or keypad would do",
                   words);
    return false;
}

bool action_read(const char *words, unsigned code, struct action *action, char *why)
{
    static const struct {
        const char *words;
        struct action action;
    } fixed[] = {
        {"hold-up-slow", {.kind = ACTION_HOLD, .up = true}},
        {"hold-up-fast", {.kind = ACTION_HOLD, .up = true, .fast = true}},
        {"hold-down-slow", {.kind = ACTION_HOLD}},
        {"hold-down-fast", {.kind = ACTION_HOLD, .fast = true}},
        {"next", {.kind = ACTION_NEXT}},
        {"stop", {.kind = ACTION_STOP}},
    };
    for (size_t i = 0; i < sizeof fixed / sizeof *fixed; i++) {
        if (strcmp(words, fixed[i].words) == 0) {
            *action = fixed[i].action;
            return true;
        }
    }
    *action = (struct action){0};
    if (strcmp(words, "keypad") == 0) {
        return read_keypad(code, action, why);
    }
    if (strncmp(words, "nudge ", 6) == 0) {
        return read_nudge(words + 6, action, why);
    }
    if (strncmp(words, "recall ", 7) == 0) {
        return read_recall(words + 7, action, why);
    }
    action->kind = ACTION_TO;
    return strncmp(words, "to ", 3) == 0 ? read_length(words + 3, &action->nm, why)
                                         : refuse_unknown(words, why);
}
