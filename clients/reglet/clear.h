/* SPDX-License-Identifier: MIT */
/* What the daemon does only once the operator has looked, and said so: `say-clear`. */
#ifndef REGLET_CLIENTS_CLEAR_H
#define REGLET_CLIENTS_CLEAR_H

#include <argp.h>
#include <cjson/cJSON.h>

#include "clients/reglet/run.h"
#include "protocol/attributes.h"

/* The option by which it is said: of the subcommands that need it. */
extern const struct argp_option clear_options[];

/* Can it be said at all? CLIENT_DONE: there is --yes, or somebody to ask. Else CLIENT_USAGE, told.
 */
REGLET_MUST_CHECK enum client_exit clear_possible(const struct run *run);

/* Over the connection that there is: has the daemon say what is to be looked at, shows it, and
 * asks. `params` (may be NULL) is taken over. CLIENT_DONE: the operator has said so, by --yes or by
 * his answer. Anything else is the exit code, and was told. */
REGLET_MUST_CHECK enum client_exit clear_ask(struct run *run, const char *method, cJSON *params);

/* Params with "clear": true. `params` (may be NULL) is taken over; NULL when memory is short. */
REGLET_MUST_CHECK cJSON *clear_params(cJSON *params);

#endif
