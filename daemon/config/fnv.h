/* SPDX-License-Identifier: MIT */
/* FNV-1a, 32 bits: G. Fowler, L. C. Noll, K.-P. Vo and others, "The FNV Non-Cryptographic Hash
 * Algorithm" (Internet-Draft draft-eastlake-fnv). */
#ifndef REGLET_DAEMON_CONFIG_FNV_H
#define REGLET_DAEMON_CONFIG_FNV_H

#include <stddef.h>
#include <stdint.h>

static inline uint32_t fnv1a_32(const unsigned char *bytes, size_t size)
{
    uint32_t hash = 0x811c9dc5;
    for (size_t i = 0; i < size; i++) {
        hash = (hash ^ bytes[i]) * 0x01000193u;
    }
    return hash;
}

#endif
