/* SPDX-License-Identifier: MIT */
/*
 * An error table as JSON, in calibration.json and on the socket alike, its points evenly spaced:
 *
 *     {"from": "-75mm", "to": "0mm", "errors_nm": [0, 120, ...]}
 */
#ifndef REGLET_PROTOCOL_ERROR_TABLE_JSON_H
#define REGLET_PROTOCOL_ERROR_TABLE_JSON_H

#include <cjson/cJSON.h>

#include "protocol/error_table.h"

/* False: it is not of that form, or no valid table. `object` may be NULL, which is none. */
REGLET_MUST_CHECK bool error_table_read(const cJSON *object, struct error_table *table);

/* Adds it to `object` as "table"; without points its list is empty. False: memory is short. */
REGLET_MUST_CHECK bool error_table_add(cJSON *object, const struct error_table *table);

#endif
