/* SPDX-License-Identifier: MIT */
/* CRC-32/ISO-HDLC: polynomial 04c11db7 reflected, initial value and final exclusive-or ffffffff
 * (ISO/IEC 13239; the same as in RFC 1952 section 8). Check value of "123456789": cbf43926. */
#ifndef REGLET_DAEMON_STORE_CRC32_H
#define REGLET_DAEMON_STORE_CRC32_H

#include <stddef.h>
#include <stdint.h>

uint32_t crc32_of(const void *bytes, size_t size);

#endif
