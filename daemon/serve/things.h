/* SPDX-License-Identifier: MIT */
/* What keep.c and things.c share: the methods of the shop's lists. */
#ifndef REGLET_DAEMON_SERVE_THINGS_H
#define REGLET_DAEMON_SERVE_THINGS_H

#include "daemon/serve/method.h"

/* What keep takes of each kind, from its fields: filled once, by things_prepare. */
extern struct local_param things_params[SHOP_KINDS][CALL_PARAMS_MAX + 1];

/* May a thing of that kind be called so? Else answers. */
REGLET_MUST_CHECK bool things_name_usable(struct call *call, enum shop_kind kind, const char *name);

/* Keeps what the call says. */
void things_keep(struct call *call, enum shop_kind kind);

/* A thing as answers have it: with its lengths twice, and names instead of ids. */
cJSON *things_object(const struct shop *shop, enum shop_kind kind, const void *thing);

/* A shop_done: answers with a list of the thing that call->kind and call->name say, or refuses. */
void things_kept(void *owner, enum reason reason, const char *sentence);

#endif
