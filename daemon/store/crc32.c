/* SPDX-License-Identifier: MIT */
#include "daemon/store/crc32.h"

uint32_t crc32_of(const void *bytes, size_t size)
{
    const unsigned char *next = bytes;
    uint32_t crc = 0xffffffffu;
    for (size_t i = 0; i < size; i++) {
        crc ^= next[i];
        for (int bit = 0; bit < 8; bit++) {
            crc = crc >> 1 ^ ((crc & 1) != 0 ? 0xedb88320u : 0);
        }
    }
    return crc ^ 0xffffffffu;
}
