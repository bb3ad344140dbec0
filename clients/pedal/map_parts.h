/* SPDX-License-Identifier: MIT */
/* What the readers of the mapping file share. */
#ifndef REGLET_CLIENTS_PEDAL_MAP_PARTS_H
#define REGLET_CLIENTS_PEDAL_MAP_PARTS_H

#include <cjson/cJSON.h>

#include "clients/pedal/map.h"

/* The file that is read, and whom to tell. */
struct map_source {
    const char *file;
    const char *text;
    cJSON *document;
    char *fault; /* of MAP_FAULT_SIZE bytes */
};

/* "FILE:LINE: words"; without an item the file as a whole is meant. Always false. */
REGLET_PRINTF(3, 4)
bool map_refuse(const struct map_source *source, const cJSON *item, const char *format, ...);

/* One group of "devices". */
REGLET_MUST_CHECK bool map_read_device(const struct map_source *source, const cJSON *group,
                                       struct map_device *device);

#endif
