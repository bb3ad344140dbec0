/* SPDX-License-Identifier: MIT */
/* What the words for the shop's lists share: asking for pages, and for one item. */
#ifndef REGLET_CLIENTS_SHOP_H
#define REGLET_CLIENTS_SHOP_H

#include <argp.h>

#include "clients/common/shop_items.h"
#include "clients/reglet/run.h"
#include "protocol/attributes.h"

/* --yes, --replace, --forget, --rename; --with-others. */
extern const struct argp_option shop_options[];

/* The word of one list: without words lists it, with a name shows that one, with more keeps it. */
enum client_exit shop_carry_out(struct run *run, const struct shop_items *items);

/* All of a list, over the connection that there is, in one array, which the caller owns. Anything
 * but CLIENT_DONE is the exit code, and was told. */
REGLET_MUST_CHECK enum client_exit shop_all(struct run *run, const struct shop_items *items,
                                            cJSON **array);

/* The item of that name in such an array, or NULL. */
const cJSON *shop_named(const cJSON *array, const char *name);

#endif
