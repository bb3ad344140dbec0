/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/atmega328p/memory.h"

#include <avr/eeprom.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#include "protocol/link.h"

struct slot {
    uint32_t id;
    uint32_t boot;
    uint16_t crc;
    uint8_t unused[MEMORY_SLOT_SIZE - MEMORY_BYTES];
};

_Static_assert(sizeof(struct slot) == MEMORY_SLOT_SIZE && offsetof(struct slot, crc) == 8,
               "a slot is as the tests write it");

static uint16_t crc_of(const struct slot *slot)
{
    return link_crc_of(slot, offsetof(struct slot, crc));
}

_Static_assert(offsetof(struct generator_board, boot) == offsetof(struct slot, boot) &&
                   offsetof(struct generator_board, id) == offsetof(struct slot, id),
               "a board begins with what a slot begins with");

void memory_start(uint32_t (*chance)(void), struct generator_board *board)
{
    struct slot slots[MEMORY_SLOTS];
    eeprom_read_block(slots, 0, sizeof slots);
    bool first = slots[0].crc == crc_of(&slots[0]);
    bool second = slots[1].crc == crc_of(&slots[1]);
    if (first && second) { /* they are one apart */
        second = (int8_t)((uint8_t)slots[1].boot - (uint8_t)slots[0].boot) > 0;
    }
    struct slot *newest = &slots[second];
    if (!first && !second) {
        newest->id = chance();
        newest->boot = 0;
    }
    newest->boot++;
    newest->crc = crc_of(newest);
    memcpy(board, newest, offsetof(struct slot, crc));
    eeprom_update_block(newest, (uint8_t *)0 + (second ? 0 : MEMORY_SLOT_SIZE), MEMORY_BYTES);
}
