/* SPDX-License-Identifier: MIT */
/* What next, back and again share: they show which mark it will be, then go to it. */
#ifndef REGLET_CLIENTS_STEP_H
#define REGLET_CLIENTS_STEP_H

#include "clients/reglet/run.h"
#include "protocol/attributes.h"

/* The word of the run is the method. The mark is shown before the lift moves where it is known. */
REGLET_MUST_CHECK enum client_exit step_run(struct run *run);

/* What the status says of the mark that `next` would go to is shown only for that word. */
extern const char step_more[];

#endif
