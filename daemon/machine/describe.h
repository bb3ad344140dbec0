/* SPDX-License-Identifier: MIT */
/* From the owner's configuration to what the lift module needs. */
#ifndef REGLET_DAEMON_MACHINE_H
#define REGLET_DAEMON_MACHINE_H

#include "daemon/config/config.h"
#include "daemon/lift/lift.h"
#include "daemon/machine/calibration.h"

/* `config` is borrowed as long as the lift lives (its port's path); its values are those of
 * calibration_config. What else was measured is copied. */
void machine_describe(const struct config *config, const struct calibration_values *measured,
                      struct lift_config *machine);

#endif
