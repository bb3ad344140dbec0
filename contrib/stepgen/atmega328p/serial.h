/* SPDX-License-Identifier: MIT */
/* The serial line. What comes is put aside by an interrupt, which obeys a brake byte at once. */
#ifndef REGLET_CONTRIB_STEPGEN_SERIAL_H
#define REGLET_CONTRIB_STEPGEN_SERIAL_H

#include <stdbool.h>
#include <stdint.h>

void serial_init(void);

/* The oldest byte that has come, or -1. */
int serial_take(void);

bool serial_may_send(void);
void serial_send(uint8_t byte);

#endif
