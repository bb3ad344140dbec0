/* SPDX-License-Identifier: MIT */
/*
 * For tests/seed.h on the microcontroller: the seed lies at the start of its EEPROM, where
 * whoever starts it has put it. With it what avr-libc has not, or declares and has not.
 */
#ifndef REGLET_TESTS_RIG_AVR_UNIT_SYS_RANDOM_H
#define REGLET_TESTS_RIG_AVR_UNIT_SYS_RANDOM_H

#include <avr/eeprom.h>
#include <stddef.h>
#include <stdint.h>

static inline size_t getrandom(void *bytes, size_t size, unsigned flags)
{
    (void)flags;
    eeprom_read_block(bytes, (const void *)0, size);
    return size;
}

/* There is no environment to give another seed. */
#define getenv(name) ((const char *)NULL)
#define strtoull(text, end, base) ((void)(text), (uint64_t)0)
#define perror(text) ((void)0)

#endif
