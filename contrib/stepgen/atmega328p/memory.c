/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/atmega328p/memory.h"

#include <avr/eeprom.h>
#include <stdbool.h>
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

static bool read(uint8_t number, struct slot *slot)
{
    eeprom_read_block(slot, address(number), sizeof *slot);
    return slot->crc == crc_of(slot);
}

/* The number of the slot that counts, or MEMORY_SLOTS. */
static uint8_t newest(struct slot *slot)
{
    struct slot other;
    bool first = read(0, slot);
    if (read(1, &other) && (!first || (int32_t)(other.boot - slot->boot) > 0)) {
        *slot = other;
        return 1;
    }
    return first ? 0 : MEMORY_SLOTS;
}

bool memory_known(void)
{
    struct slot slot;
    return newest(&slot) != MEMORY_SLOTS;
}

void memory_start(uint32_t chance, uint32_t *id, uint32_t *boot)
{
    struct slot slot;
    uint8_t number = newest(&slot);
    if (number == MEMORY_SLOTS) {
        slot.id = chance;
        slot.boot = 0;
    }
    slot.boot++;
    slot.crc = crc_of(&slot);
    eeprom_update_block(&slot, address(number == 0 ? 1 : 0), sizeof slot);
    *id = slot.id;
    *boot = slot.boot;
}
