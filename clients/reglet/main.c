/* SPDX-License-Identifier: MIT */
/* reglet: the command line. It finds the subcommand, reads the options on both sides of it, and
 * hands over. */
#include <argp.h>
#include <ctype.h>
#include <errno.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/run.h"
#include "protocol/unit.h"

enum { NAME_SIZE = 32, HELP_SIZE = 96, HELP_INDENT = 29 };

const char *argp_program_version = "reglet " REGLET_VERSION;

static const struct argp_option option_list[] = {
    {"practice", 'p', 0, 0, "Speak to the practice lift, never to the real one", 0},
    {"socket", 's', "PATH", 0, "Where regletd listens", 0},
    {"unit", 'u', "UNIT", 0,
     "in, mm, 32, 64 or 128: how a bare decimal is read and a height is shown; the numbers are "
     "fractions of an inch, their bare decimals inches (default: $REGLET_UNIT, or the shop's, see "
     "'unit')",
     0},
    {"json", 'j', 0, 0, "Print the result, or the error object, as it came: one line", 0},
    {0}};

/* Options mean the same before and behind the word. */
static error_t take_option(int key, char *argument, struct argp_state *state)
{
    struct run *run = state->input;
    switch (key) {
    case 'p':
        run->practice = true;
        return 0;
    case 's':
        run->socket = argument;
        return 0;
    case 'j':
        run->json = true;
        return 0;
    case 'u':
        if (!unit_style(argument, &run->style)) {
            argp_error(state, "the unit '%s' can be in, mm, 32, 64 or 128", argument);
        }
        run->unit_said = true;
        return 0;
    default:
        return ARGP_ERR_UNKNOWN;
    }
}

/* --- The subcommand: the rest of the line --- */

/* Of the words that make plans. */
static error_t take_plan(struct run *run, int key, char *argument)
{
    switch (key) {
    case RUN_LOAD:
        run->load = true;
        return 0;
    case RUN_KEEP:
        run->keep = argument;
        return 0;
    case RUN_DRAW:
        run->draw = argument;
        return 0;
    case RUN_LAST:
        run->last = argument;
        return 0;
    case RUN_FROM:
        run->from = argument;
        return 0;
    case RUN_BIT:
        run->bit = argument;
        return 0;
    case RUN_PIECES:
        run->pieces = argument;
        return 0;
    default:
        return ARGP_ERR_UNKNOWN;
    }
}

/* These come only where the subcommand has them. */
static error_t take_own(struct run *run, int key, char *argument)
{
    switch (key) {
    case RUN_YES:
        run->yes = true;
        return 0;
    case RUN_REPLACE:
        run->replace = true;
        return 0;
    case RUN_TOP:
        run->top = true;
        return 0;
    case RUN_APPLY:
        run->apply = true;
        return 0;
    case RUN_ONE:
        run->one = true;
        return 0;
    case RUN_MEASURED:
        run->measured = argument;
        return 0;
    case RUN_WANTED:
        run->wanted = argument;
        return 0;
    case RUN_SLOPE:
        run->slope = argument;
        return 0;
    case RUN_MOST:
        run->most = argument;
        return 0;
    case RUN_FORGET:
        run->forget = true;
        return 0;
    case RUN_WITH_OTHERS:
        run->with_others = true;
        return 0;
    case RUN_RENAME:
        run->rename = argument;
        return 0;
    case RUN_BIT:
        run->bit = argument;
        return 0;
    case RUN_TIMEOUT:
        run->timeout = argument;
        return 0;
    default:
        return take_plan(run, key, argument);
    }
}

static error_t take_word(int key, char *argument, struct argp_state *state)
{
    struct run *run = state->input;
    switch (key) {
    case ARGP_KEY_INIT:
        state->child_inputs[0] = run;
        return 0;
    case ARGP_KEY_ARG:
        if (!run->command->arguments) {
            argp_error(state, "'%s' takes no words, and '%s' is one; nothing was asked of the lift",
                       run->command->word, argument);
        }
        run->word[run->count++] = argument; /* has room for every argument */
        return 0;
    default:
        return take_own(run, key, argument);
    }
}

static void parse_subcommand(struct run *run, int count, char **word)
{
    static const struct argp common = {option_list, take_option, 0, 0, 0, 0, 0};
    static const struct argp_child children[] = {{&common, 0, "For every word:", 1}, {0}};
    const struct command *command = run->command;
    struct say doc = {0};
    char name[NAME_SIZE];
    (void)snprintf(name, sizeof name, "reglet %s", command->word);
    say_add(&doc, "%s\v%s", command->does, command->more ? command->more : "");
    doc.text[0] = (char)toupper((unsigned char)doc.text[0]);
    struct argp line = {command->options, take_word, command->arguments, doc.text, children, 0, 0};
    word[0] = name;
    argp_parse(&line, count, word, 0, NULL, run);
}

/* --- The line up to the subcommand --- */

static const struct command *find(const char *word)
{
    for (const struct command *const *command = command_table; *command; command++) {
        if ((*command)->word && strcmp((*command)->word, word) == 0) {
            return *command;
        }
    }
    return NULL;
}

static void no_such(const char *word)
{
    struct say say = {0};
    if (words_is_height(word)) {
        word += strspn(word, " ");
        say_wrap(&say, "", 0,
                 "reglet: '%s' is a height. Say 'reglet to %s' to move the bit there, or 'reglet "
                 "touch %s' when it stands there. Nothing has moved.",
                 word, word, word);
    } else {
        say_wrap(&say, "", 0,
                 "reglet: '%s' is no word of reglet's. Nothing was asked of the lift. 'reglet "
                 "--help' lists the words.",
                 word);
    }
    (void)fputs(say.text, stderr);
    exit(CLIENT_USAGE);
}

/* Where the subcommand stands, for main. */
struct head {
    struct run *run;
    int at; /* 0: none */
};

static error_t take_head(int key, char *argument, struct argp_state *state)
{
    struct head *head = state->input;
    if (key == ARGP_KEY_INIT) {
        state->child_inputs[0] = head->run;
        return 0;
    }
    if (key != ARGP_KEY_ARG) {
        return ARGP_ERR_UNKNOWN;
    }
    head->run->command = find(argument);
    if (!head->run->command) {
        no_such(argument);
    }
    head->at = state->next - 1;
    state->next = state->argc; /* the rest is the subcommand's */
    return 0;
}

static void put_command(FILE *out, const struct command *command)
{
    struct say say = {0};
    char word[HELP_SIZE];
    if (!command->word) {
        (void)fprintf(out, "\n%s\n", command->does);
        return;
    }
    int size = snprintf(word, sizeof word, "  %s %s", command->word,
                        command->arguments ? command->arguments : "");
    bool fits = size < HELP_INDENT; /* else it has a line of its own */
    say_add(&say, "%s%s", fits ? "" : word, fits ? "" : "\n");
    say_wrap(&say, fits ? word : "", HELP_INDENT, "%s", command->does);
    (void)fputs(say.text, out);
}

/* Puts the table of subcommands before the options. argp frees what it gets; NULL leaves it out. */
static char *filter_help(int key, const char *text, void *input)
{
    char *list = NULL;
    size_t size;
    (void)input;
    if (key != ARGP_KEY_HELP_PRE_DOC) {
        return (char *)(uintptr_t)text;
    }
    FILE *out = open_memstream(&list, &size);
    if (!out) {
        return NULL;
    }
    (void)fprintf(out, "%s\n", text);
    for (const struct command *const *command = command_table; *command; command++) {
        put_command(out, *command);
    }
    if (fclose(out) != 0) {
        free(list);
        return NULL;
    }
    return list;
}

static void parse(struct run *run, int count, char **word)
{
    static const struct argp common = {option_list, take_option, 0, 0, 0, 0, 0};
    static const struct argp_child children[] = {{&common, 0, 0, 0}, {0}};
    static const struct argp line = {
        0,
        take_head,
        "[WORD ...]",
        "Where the router bit is, and how to move it. Without a word: says where the bit is.\v"
        "'reglet WORD --help' says more of one. A height may be typed with its sign and in "
        "several words: to -3/8, to 1 7/16, to 23/64 + .003.\n\n"
        "Ctrl-C stops the lift, waits for its rest and says where that is; a second one leaves at "
        "once, and the lift brakes when the connection ends. Software is no safety device: keep "
        "the stop circuit and the router's own switch and plug at hand.\n\n"
        "Exit codes:\n"
        "  0  done\n"
        "  1  refused by the lift or by your own answer, ended early, or out of time\n"
        "  2  the command line cannot be used; nothing was asked\n"
        "  3  regletd cannot be reached or is silent, or nothing can be printed\n"
        "  4  interrupted by a signal; what it had asked to move was stopped",
        children,
        filter_help,
        0};
    struct head head = {run, 0};
    argp_parse(&line, count, word, ARGP_IN_ORDER, NULL, &head);
    if (head.at > 0) {
        parse_subcommand(run, count - head.at, word + head.at);
    }
}

static bool style_from_environment(struct run *run)
{
    const char *unit = getenv("REGLET_UNIT");
    run->unit_said = unit && unit[0] != '\0';
    if (!run->unit_said || unit_style(unit, &run->style)) {
        return true;
    }
    (void)fprintf(stderr,
                  "reglet: REGLET_UNIT is '%s'; it can be in, mm, 32, 64 or 128. Nothing was asked "
                  "of the lift.\n",
                  unit);
    return false;
}

/* What could not be written was not told, whatever the lift did. */
static enum client_exit check_output(enum client_exit code)
{
    if (fflush(stdout) == 0 && !ferror(stdout)) {
        return code;
    }
    (void)fprintf(stderr, "reglet: the answer could not be written: %s\n", strerror(errno));
    return code == CLIENT_DONE ? CLIENT_UNREACHABLE : code;
}

int main(int count, char **word)
{
    static struct run run = {.command = &command_status,
                             .style = LENGTH_STYLE_64,
                             .client = {.fd = -1, .interrupt_fd = -1}};
    char **shielded = words_shield(count, word);
    run.word = calloc((size_t)count + 1, sizeof *run.word);
    if (!shielded || !run.word || count < 1) {
        (void)fputs("reglet: not enough memory; nothing was asked of the lift\n", stderr);
        return CLIENT_UNREACHABLE;
    }
    argp_err_exit_status = CLIENT_USAGE;
    (void)setenv("ARGP_HELP_FMT", "no-dup-args-note", 0); /* longer than what it explains */
    if (!style_from_environment(&run)) {
        return CLIENT_USAGE;
    }
    parse(&run, count, shielded);
    if (!run.unit_said) {
        run_learn_unit(&run);
    }
    enum client_exit code = run.command->carry_out(&run);
    run_close(&run);
    free(run.word);
    free(shielded);
    return (int)check_output(code);
}
