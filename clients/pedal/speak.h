/* SPDX-License-Identifier: MIT */
/* The gate's requests and what the daemon says, to and from the lines of the socket. No I/O. */
#ifndef REGLET_CLIENTS_PEDAL_SPEAK_H
#define REGLET_CLIENTS_PEDAL_SPEAK_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>

#include "clients/common/client.h"
#include "clients/pedal/gate.h"
#include "protocol/attributes.h"

/* One line, newline and NUL included, to be freed with cJSON_free; `size` does not count the NUL.
 * NULL when memory is short. */
REGLET_MUST_CHECK char *speak_request(const struct gate_request *request, size_t *size);

/* The same for a greeting, which is answered by its id. `params` is taken over. */
REGLET_MUST_CHECK char *speak_line(double id, const char *method, cJSON *params, size_t *size);

/* A status, or the params of a notification. False when it tells nothing of the lift. */
REGLET_MUST_CHECK bool speak_lift(const cJSON *told, struct gate_lift *lift);

/* The sentence goes into `sentence` (of GATE_WHY_SIZE bytes), one line. What `out` points to lives
 * as long as the answer and the sentence do. */
void speak_answer(const struct client_answer *answer, char *sentence, struct gate_answer *out);

/* Is the line a notification that tells of the lift? Fills `lift` then. */
REGLET_MUST_CHECK bool speak_notification(const char *line, size_t size, struct gate_lift *lift);

#endif
