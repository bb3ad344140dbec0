/* SPDX-License-Identifier: MIT */
/* What one value means for another: what was left out, the screw, and the speeds that it allows. */
#ifndef REGLET_DAEMON_CONFIG_CHECK_H
#define REGLET_DAEMON_CONFIG_CHECK_H

#include "daemon/config/config.h"
#include "daemon/config/value.h"

/* All that was read, by enum table_key and enum table_group. */
struct check_values {
    struct value value[TABLE_KEYS];
    size_t group_at[TABLE_GROUPS]; /* SENTENCE_WHOLE_FILE: it is not there */
};

/* Puts in the defaults, checks the values against each other and fills the configuration. False
 * when something was refused. */
REGLET_MUST_CHECK bool check_all(const struct sentence_source *source, struct check_values *values,
                                 struct config *config);

#endif
