/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/atmega328p/memory.h"

#include <avr/eeprom.h>
#include <stddef.h>

#include "protocol/link.h"

struct slot {
    uint32_t id;
    uint32_t boot;
    uint16_t crc;
};

_Static_assert(sizeof(struct slot) == MEMORY_BYTES, "a slot is as the tests write it");

static void *address(uint8_t number)
{
    return (void *)((uintptr_t)number * MEMORY_SLOT_SIZE);
}

static uint16_t crc_of(const struct slot *slot)
{
    uint16_t crc = LINK_CRC_START;
    for (uint8_t i = 0; i < offsetof(struct slot, crc); i++) {
        crc = link_crc(crc, ((const uint8_t *)slot)[i]);
    }
    return crc;
}

void memory_start(uint32_t (*chance)(void), uint32_t *id, uint32_t *boot)
{
    struct slot newest = {0, 0, 0};
    uint8_t found = 0; /* slots, and which comes next */
    uint8_t next = 0;
    for (uint8_t number = 0; number < MEMORY_SLOTS; number++) {
        struct slot slot;
        eeprom_read_block(&slot, address(number), sizeof slot);
        if (slot.crc != crc_of(&slot)) {
            continue;
        }
        if (found++ == 0 || (int32_t)(slot.boot - newest.boot) > 0) {
            newest = slot;
            next = number ^ 1;
        }
    }
    if (found == 0) {
        newest.id = chance();
    }
    newest.boot++;
    newest.crc = crc_of(&newest);
    eeprom_update_block(&newest, address(next), sizeof newest);
    *id = newest.id;
    *boot = newest.boot;
}
