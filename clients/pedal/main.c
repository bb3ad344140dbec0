/* SPDX-License-Identifier: MIT */
/* reglet-pedal: keys of pedals and keypads become requests. The command line only. */
#include <argp.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "clients/common/words.h"
#include "clients/pedal/learn.h"
#include "clients/pedal/pedal.h"
#include "protocol/paths.h"
#include "protocol/unit.h"

const char *argp_program_version = "reglet-pedal " REGLET_VERSION;

static const char folder[] = "/dev/input";

struct options {
    bool practice;
    bool learn;
    bool check;
    bool has_style;
    enum length_style style;
    const char *socket;
    const char *config;
};

static const struct argp_option option_list[] = {
    {"practice", 'p', 0, 0, "Speak to the practice lift, never to the real one", 0},
    {"socket", 's', "PATH", 0, "Where regletd listens", 0},
    {"config", 'c', "FILE", 0, "The mapping file (default: /etc/reglet-pedal.json)", 0},
    {"unit", 'u', "UNIT", 0,
     "in, mm, 32, 64 or 128: how a bare decimal that is typed on a keypad is read, and a height is "
     "shown (default: what the file says, or $REGLET_UNIT, or the shop's)",
     0},
    {"learn", 'l', 0, 0,
     "Say for each key that is pressed what to write into the file; nothing is asked of a lift", 0},
    {"check", 'k', 0, 0, "Read the file, say what is wrong with it, and end", 0},
    {0}};

static const char doc[] =
    "Foot pedals and keypads for the lift: each of their keys asks for what the mapping file says, "
    "and for nothing else. They are taken from all other programs while this one runs.\v"
    "First say 'reglet-pedal --learn', tread and press, and end it with Ctrl-C. Put the lines that "
    "it prints into a copy of the example pedal.json, and give each key its action:\n"
    "  hold-up-slow, hold-up-fast, hold-down-slow, hold-down-fast\n"
    "                     the lift moves while the key is down\n"
    "  nudge up LENGTH    a small move, such as 'nudge up 1/64in'; or down\n"
    "  to HEIGHT          such as 'to 3/8in'\n"
    "  recall NAME        to a preset\n"
    "  next               to the next mark of a story, when the key is let go;\n"
    "                     it must have been down for 0.08 s, and the lift at\n"
    "                     rest for 0.7 s; while the router turns, as long as\n"
    "                     the key is down, if the lift's configuration lets it\n"
    "  stop               stops the lift\n"
    "  keypad             the key types a height: digits, point or comma,\n"
    "                     minus, slash; Enter sends it, and what is typed is\n"
    "                     cleared after 10 s\n\n"
    "'reglet-pedal --check' reads the file and says what is wrong with it.\n\n"
    "Any key that is pressed while the lift moves stops it, whatever it is for, and begins "
    "nothing; so does a second key while one is down. Then let go, and press anew. A typed height "
    "that is more than 1/2in above the bit is gone to only while Enter is held down. Every height "
    "is reached from below, so nothing may lie on or over the bit.\n\n"
    "A pedal can neither touch off nor say all-clear; that is done at a screen. It is no emergency "
    "stop: keep the stop circuit and the router's own switch and plug at hand, and the pedal where "
    "nobody treads on it by accident.\n\n"
    "This user must be allowed to read the devices (mostly: be a member of the group 'input') and "
    "to ask regletd to move (be a member of its group).\n\n"
    "Exit codes:\n"
    "  0  told to end, while nothing moved for a key; or the file is good\n"
    "  2  the command line or the file cannot be used; nothing was asked\n"
    "  3  it could not begin, or nothing can be printed\n"
    "  4  told to end by a signal, and what moved for a key was stopped";

static error_t take_option(int key, char *argument, struct argp_state *state)
{
    struct options *options = state->input;
    switch (key) {
    case 'p':
        options->practice = true;
        return 0;
    case 's':
        options->socket = argument;
        return 0;
    case 'c':
        options->config = argument;
        return 0;
    case 'l':
        options->learn = true;
        return 0;
    case 'k':
        options->check = true;
        return 0;
    case 'u':
        if (!unit_style(argument, &options->style)) {
            argp_error(state, "the unit '%s' can be in, mm, 32, 64 or 128", argument);
        }
        options->has_style = true;
        return 0;
    case ARGP_KEY_ARG:
        argp_error(state, "it takes no words, and '%s' is one; nothing was asked of the lift",
                   argument);
        return 0;
    default:
        return ARGP_ERR_UNKNOWN;
    }
}

static enum client_exit could_not_begin(int error)
{
    char sentence[MAP_FAULT_SIZE];
    (void)snprintf(sentence, sizeof sentence,
                   "It could not begin: %s. Nothing was asked of the lift.", uv_strerror(error));
    pedal_say(stderr, sentence);
    return CLIENT_UNREACHABLE;
}

/* What could not be written was not told. */
static enum client_exit check_output(enum client_exit code)
{
    if (fflush(stdout) == 0 && !ferror(stdout)) {
        return code;
    }
    (void)fprintf(stderr, "reglet-pedal: what was to be shown could not be written: %s\n",
                  strerror(errno));
    return code == CLIENT_DONE ? CLIENT_UNREACHABLE : code;
}

/* --- What it does --- */

static enum client_exit learn(void)
{
    static struct learn learn;
    pedal_say(stderr, "Press the keys that you want to use, one after the other; Ctrl-C ends. They "
                      "still do what they did before.");
    int error = learn_start(&learn, uv_default_loop(), folder, stdout, stderr);
    if (error != 0) {
        return could_not_begin(error);
    }
    (void)uv_run(uv_default_loop(), UV_RUN_DEFAULT);
    return CLIENT_DONE;
}

static enum client_exit check(const struct options *options, const struct map *map)
{
    struct say say = {0};
    say_add(&say, "%s is good: %zu device%s.\n", options->config, map->devices,
            map->devices == 1 ? "" : "s");
    for (size_t i = 0; i < map->devices; i++) {
        const struct map_device *device = &map->device[i];
        say_add(&say, "  %zu keys of ", device->keys);
        say_harmless(&say, device->label);
        say_add(&say, "\n");
    }
    (void)fputs(say.text, stdout);
    return CLIENT_DONE;
}

/* The command line, the file, the environment, in this order; else the shop's, once it is known. */
static bool choose_style(const struct options *options, const struct map *map,
                         enum length_style *style, bool *follows)
{
    const char *unit = getenv("REGLET_UNIT");
    *follows = !options->has_style && !map->has_style && (!unit || unit[0] == '\0');
    *style = options->has_style ? options->style : map->has_style ? map->style : LENGTH_STYLE_64;
    if (options->has_style || map->has_style || *follows || unit_style(unit, style)) {
        return true;
    }
    pedal_say(stderr, "REGLET_UNIT is no unit; it can be in, mm, 32, 64 or 128. Nothing was asked "
                      "of the lift.");
    return false;
}

static bool choose_socket(const struct options *options, char *path)
{
    int size = options->socket ? snprintf(path, PATHS_SIZE, "%s", options->socket) : 1;
    if (size > 0 && size < PATHS_SIZE &&
        (options->socket || paths_socket(options->practice, path, PATHS_SIZE))) {
        return true;
    }
    pedal_say(stderr, "The name of the socket is too long, or empty. Nothing was asked of the "
                      "lift. Give a shorter path.");
    return false;
}

static enum client_exit run(const struct options *options, const struct map *map)
{
    static struct pedal pedal;
    char path[PATHS_SIZE];
    struct pedal_setup setup = {.map = map,
                                .folder = folder,
                                .socket = path,
                                .practice = options->practice,
                                .large = isatty(STDOUT_FILENO) == 1,
                                .shows = stdout,
                                .says = stderr};
    if (!choose_style(options, map, &setup.style, &setup.follows) ||
        !choose_socket(options, path)) {
        return CLIENT_USAGE;
    }
    int error = pedal_start(&pedal, uv_default_loop(), &setup);
    if (error != 0) {
        return could_not_begin(error);
    }
    (void)uv_run(uv_default_loop(), UV_RUN_DEFAULT);
    return pedal_exit(&pedal);
}

static enum client_exit with_map(const struct options *options)
{
    static struct map map;
    char fault[MAP_FAULT_SIZE];
    if (!map_load(options->config, &map, fault)) {
        pedal_say(stderr, fault);
        return CLIENT_USAGE;
    }
    return options->check ? check(options, &map) : run(options, &map);
}

int main(int count, char **word)
{
    static const struct argp line = {option_list, take_option, 0, doc, 0, 0, 0};
    struct options options = {.config = "/etc/reglet-pedal.json"};
    argp_err_exit_status = CLIENT_USAGE;
    (void)setenv("ARGP_HELP_FMT", "no-dup-args-note", 0); /* longer than what it explains */
    argp_parse(&line, count, word, 0, NULL, &options);
    return (int)check_output(options.learn ? learn() : with_map(&options));
}
