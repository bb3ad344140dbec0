/* SPDX-License-Identifier: MIT */
/*
 * What a board remembers without power: who it is, and how often it has started. Two slots in the
 * EEPROM are written in turn, so that one cut short leaves the other. The tests' co-simulation
 * reads this file too.
 */
#ifndef REGLET_CONTRIB_STEPGEN_MEMORY_H
#define REGLET_CONTRIB_STEPGEN_MEMORY_H

#include <stdint.h>

#include "contrib/stepgen/core.h"

/* A slot: id and boot, 4 bytes each, lowest first; then the CRC of those (link_crc), 2 bytes. Of
 * two good ones the one with the later boot counts. */
enum { MEMORY_SLOTS = 2, MEMORY_SLOT_SIZE = 16, MEMORY_BYTES = 10 };

/* Reads who the board is, into id and boot, and stores that it has started once more, before it
 * says so to anyone: a start that was cut short while storing was never told of. `chance` draws the
 * identity of a board that has none. */
void memory_start(uint32_t (*chance)(void), struct generator_board *board);

#endif
