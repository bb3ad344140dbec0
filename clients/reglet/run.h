/* SPDX-License-Identifier: MIT */
/* One run of reglet: what its options said, and the connection that its subcommand uses. */
#ifndef REGLET_CLIENTS_RUN_H
#define REGLET_CLIENTS_RUN_H

#include <stdbool.h>

#include "clients/common/client.h"
#include "clients/common/say.h"
#include "clients/common/show.h"
#include "protocol/attributes.h"
#include "protocol/length.h"
#include "protocol/paths.h"

struct argp_option;
struct command;

/* Keys of the options that only some subcommands have. */
enum {
    RUN_YES = 'y',
    RUN_REPLACE = 256, /* no letter for the others */
    RUN_TOP,
    RUN_MEASURED,
    RUN_WANTED,
    RUN_ONE,
    RUN_SLOPE,
    RUN_MOST,
    RUN_TIMEOUT,
    RUN_APPLY,
    RUN_KEEP,
    RUN_LOAD,
    RUN_DRAW,
    RUN_LAST,
    RUN_FROM,
    RUN_BIT,
    RUN_PIECES,
    RUN_FORGET,
    RUN_WITH_OTHERS,
    RUN_RENAME,
};

struct run {
    const struct command *command;
    bool practice; /* --practice */
    bool json;
    enum length_style style;
    bool unit_said;     /* --unit or $REGLET_UNIT: else the shop's counts */
    const char *socket; /* --socket, or NULL */
    bool yes;           /* --yes, --replace, --top: of the subcommands that have them */
    bool replace;
    bool top;
    bool one;       /* --one */
    bool apply;     /* --apply */
    char *measured; /* --measured, --wanted, --slope, --most, --timeout: as typed, NULL where not
                       given */
    char *wanted;
    char *slope;
    char *most;
    char *timeout;
    bool load; /* --load, --keep, --draw, --last, --from, --bit, --pieces: of plans; the same */
    char *keep;
    char *draw;
    char *last;
    char *from;
    char *bit;
    char *pieces;
    bool forget; /* of the shop's lists */
    bool with_others;
    char *rename;
    int count; /* words behind the subcommand's */
    char **word;
    char path[PATHS_SIZE]; /* of the socket, once connected to */
    bool practice_lift;    /* the daemon says that it drives one */
    enum client_asked asked;
    struct client client;
    bool greeted;             /* run_learn_unit has connected, or tried to */
    enum client_end greeting; /* how that went */
    struct client_answer hello;
};

/* A subcommand. Its words are all in run->word; `carry_out` checks them before it connects. */
struct command {
    const char *word;
    const char *arguments; /* as the help writes them, or NULL: it takes none */
    const char *does;      /* half a line */
    const char *more;      /* paragraphs for `reglet WORD --help`, or NULL */
    enum client_exit (*carry_out)(struct run *run);
    const struct argp_option *options; /* its own, or NULL; their keys are RUN_... */
};

/* What bare `reglet` is, and the others with headings between them, which have no word and only say
 * in `does` what follows; ends at NULL. */
extern const struct command command_status;
extern const struct command *const command_table[];

/* Says what was wrong with the words, and where help is. Returns CLIENT_USAGE. */
enum client_exit run_usage(const struct run *run, const char *why);

/* Before words are read: connects and asks for the shop's unit, and heeds it where the person has
 * said none. What goes wrong is told by run_connect, if the subcommand comes to that. */
void run_learn_unit(struct run *run);

/* Ends the connection. */
void run_close(struct run *run);

/* Connects and greets. CLIENT_DONE, or the trouble was told and this is the exit code. */
REGLET_MUST_CHECK enum client_exit run_connect(struct run *run);

/* Connects, asks, and waits for the answer (the caller frees it). An error, too, is an answer. */
REGLET_MUST_CHECK enum client_exit run_ask(struct run *run, const char *method, cJSON *params,
                                           struct client_answer *answer);

/* The same over the connection that there is; not for motions, which see motion.h. */
REGLET_MUST_CHECK enum client_exit run_call(struct run *run, const char *method, cJSON *params,
                                            struct client_answer *answer);

/* To stderr, behind what stands on stdout. */
void run_complain(const struct say *say);

/* The same, one paragraph: what the operator is to know, or why nothing was done. */
void run_say(const char *text);

/* To stderr: why there is no answer. Returns the exit code. */
enum client_exit run_trouble(const struct run *run, enum client_end end);

/* The answer as it came, for --json; or the error in sentences, to stderr. Returns the exit code
 * of the answer. */
enum client_exit run_tell(const struct run *run, const struct client_answer *answer);

/* For where hands come near the bit. */
extern const char run_caution[];

/* How the operator would call it again, once connected: with -p for the practice lift. */
const char *run_name(const struct run *run);

/* To stdout, and out at once: it is to be read before the lift moves. */
void run_print(const struct say *say);

typedef void run_show(struct say *say, const struct show_lift *lift, enum length_style style);

/* A subcommand whose answer is a status: connects, asks, and shows it by `show`. */
REGLET_MUST_CHECK enum client_exit run_status(struct run *run, const char *method, cJSON *params,
                                              run_show *show);

/* The same over the connection that there is. */
REGLET_MUST_CHECK enum client_exit run_call_status(struct run *run, const char *method,
                                                   cJSON *params, run_show *show);

#endif
