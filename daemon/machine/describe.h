/* SPDX-License-Identifier: MIT */
/* From the owner's configuration to what the lift module needs. */
#ifndef REGLET_DAEMON_MACHINE_H
#define REGLET_DAEMON_MACHINE_H

#include "daemon/config/config.h"
#include "daemon/lift/lift.h"

/* `config` is borrowed as long as the lift lives (its port's path); the table is copied. */
void machine_describe(const struct config *config, const struct error_table *table,
                      struct lift_config *machine);

#endif
