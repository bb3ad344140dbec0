/* SPDX-License-Identifier: MIT */
/* The practice lift as `regletd --practice` uses it: started when it does not run yet, and
 * described as a machine. */
#ifndef REGLET_DAEMON_PRACTICE_H
#define REGLET_DAEMON_PRACTICE_H

#include <stdbool.h>
#include <stddef.h>

#include "protocol/attributes.h"

/* Makes sure that a practice lift runs in `folder` and waits until it is ready. It is not our
 * child's fate: it outlives us, as a real lift would. */
REGLET_MUST_CHECK bool practice_start(const char *folder, char *why, size_t why_size);

/* What the practice lift is built like, as a configuration file would say it. The text is changed
 * by reading it, so each call gives a fresh copy, `size` bytes at the most. */
size_t practice_config(char *text, size_t size);

#endif
