/* SPDX-License-Identifier: MIT */
/* Questions to the operator, who must be there to read them: on a terminal, and not with --json. */
#ifndef REGLET_CLIENTS_ASK_H
#define REGLET_CLIENTS_ASK_H

#include <stdbool.h>
#include <stddef.h>

#include "clients/reglet/run.h"
#include "protocol/attributes.h"

/* Is there somebody to ask? */
bool ask_possible(const struct run *run);

/* Asks `question` (a line that ends without blank) on stderr and waits; what it is about belongs
 * there as well, for stdout may lead elsewhere. CLIENT_DONE: yes. CLIENT_REFUSED: anything else,
 * and `otherwise` was told. CLIENT_BROKEN_OFF: a signal, told as well. Needs run_connect before,
 * which watches for signals, and nothing asked for that is unanswered. */
REGLET_MUST_CHECK enum client_exit ask_yes(struct run *run, const char *question,
                                           const char *otherwise);

/* Asks for a line of words the same way, into reply[0..size). CLIENT_DONE, or a signal came, and
 * was told. At the end of the input it is empty, and *ended true. */
REGLET_MUST_CHECK enum client_exit ask_line(struct run *run, const char *question, char *reply,
                                            size_t size, bool *ended);

#endif
