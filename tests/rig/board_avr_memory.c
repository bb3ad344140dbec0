/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "contrib/stepgen/atmega328p/memory.h"
#include "protocol/link.h"
#include "tests/rig/board_avr_parts.h"

enum { WRITE_CYCLES = 54400, NUMBERS = 8 }; /* 3.4 ms; the bytes of id and boot */

static uint16_t crc_of(const uint8_t *slot)
{
    uint16_t crc = LINK_CRC_START;
    for (int i = 0; i < NUMBERS; i++) {
        crc = link_crc(crc, slot[i]);
    }
    return crc;
}

static uint32_t number(const uint8_t *at)
{
    return at[0] | (uint32_t)at[1] << 8 | (uint32_t)at[2] << 16 | (uint32_t)at[3] << 24;
}

static void put(uint8_t *at, uint32_t value, int bytes)
{
    for (int i = 0; i < bytes; i++) {
        at[i] = (uint8_t)(value >> 8 * i);
    }
}

/* As after the start before; the first start of all finds it erased but for the identity. */
void memory_write(struct board *b, uint32_t id, uint32_t boot)
{
    uint8_t *slot = b->memory.eeprom->eeprom;
    memset(slot, 0xff, BOARD_AVR_EEPROM);
    put(slot, id, 4);
    put(slot + 4, boot - 1, 4);
    put(slot + NUMBERS, crc_of(slot), 2);
}

uint32_t memory_next_boot(const struct board *b)
{
    uint32_t boot = 0;
    bool found = false;
    for (int i = 0; i < MEMORY_SLOTS; i++) {
        const uint8_t *slot = b->memory.eeprom->eeprom + (size_t)i * MEMORY_SLOT_SIZE;
        bool good = (slot[NUMBERS] | slot[NUMBERS + 1] << 8) == crc_of(slot);
        if (good && (!found || (int32_t)(number(slot + 4) - boot) > 0)) {
            boot = number(slot + 4);
            found = true;
        }
    }
    return boot + 1;
}

void memory_follow(struct board *b, bool armed)
{
    struct memory *m = &b->memory;
    uint8_t *data = b->avr->data;
    if (armed && !(data[AT_EECR] & EECR_EEMPE)) { /* simavr has written, and cleared both bits */
        m->address = (uint16_t)(data[AT_EEARL] | data[AT_EEARL + 1] << 8) % BOARD_AVR_EEPROM;
        m->busy_until = b->avr->cycle + WRITE_CYCLES;
    }
    if (b->avr->cycle < m->busy_until) {
        data[AT_EECR] |= EECR_EEPE;
    } else {
        data[AT_EECR] &= (uint8_t)~EECR_EEPE;
    }
}

uint64_t memory_due(const struct board *b)
{
    return b->avr->cycle < b->memory.busy_until ? b->memory.busy_until : BOARD_AVR_NEVER;
}

void memory_cut(struct board *b)
{
    struct memory *m = &b->memory;
    if (b->avr->cycle < m->busy_until) {
        b->chance = b->chance * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        m->eeprom->eeprom[m->address] = (uint8_t)(b->chance >> 56);
    }
    m->busy_until = 0;
}

uint8_t board_avr_eeprom_get(const struct board *b, uint16_t address)
{
    return b->memory.eeprom->eeprom[address % BOARD_AVR_EEPROM];
}

void board_avr_eeprom_set(struct board *b, uint16_t address, uint8_t byte)
{
    b->memory.eeprom->eeprom[address % BOARD_AVR_EEPROM] = byte;
}

bool board_avr_eeprom_busy(const struct board *b)
{
    return b->avr->cycle < b->memory.busy_until;
}
