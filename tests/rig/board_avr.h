/* SPDX-License-Identifier: MIT */
/*
 * The microcontroller's own firmware behind the seam of contrib/practice/board.h, instruction by
 * instruction on simavr 1.6 (an ATmega328P at 16 MHz; a tick is a cycle). What is beyond the seam
 * is here: its EEPROM, a cut of its power, and figures that no board can tell of itself.
 *
 * The firmware's ELF file is named by the environment's REGLET_FIRMWARE, or else built in.
 *
 * What is not simavr's here, because simavr 1.6 does it otherwise than the data sheet (Microchip
 * DS40002061B) says:
 * - Edges. Its OC1A pin also changes at an overflow, FOC1A is unknown to it, and a match between an
 *   overflow and the end of the instruction in which that happens is lost. So its compare A of
 *   Timer1 is put out of use; matches, OCF1A and the pin are worked out here from Timer1's count,
 *   OCR1A and COM1A, to the cycle (sections 16.7 to 16.8). Only normal mode at the processor's
 *   clock is known here. A match is one of the cycle in which the count equals OCR1A; OCF1A is up
 *   from the next one on. What an instruction writes counts from its end.
 * - An interrupt is entered in no time, and after RETI or SEI two instructions run, not one. Here
 *   it takes 4 cycles, 8 from sleep (section 7.7), after one instruction.
 * - A flag that was raised while its interrupt was shut is forgotten when that is opened. Here it
 *   is raised then, for all interrupts that the firmware uses.
 * - A flag of an external interrupt cannot be cleared by writing it.
 * - The serial line. It counts 11 bits a byte, hears a byte one byte too late, and has neither the
 *   transmitter's buffer nor the receiver's limit of three bytes (section 20.6 to 20.8). All of
 *   that is done here; only the registers are simavr's.
 * - EEPE is cleared at once; here it stays for the 3.4 ms that a write takes (table 8-2), and a cut
 *   of power before that leaves anything in the byte.
 * - A pin with a pull-up that is pulled low from outside would turn high when its port is written.
 *   Every input is told to it as pulled from outside.
 * - It would run over to its own next event when asleep. Here sleep ends at whatever comes first.
 * An external interrupt by level is one by a falling edge. Sleep of any depth is taken for idle.
 * 16-bit registers have no TEMP: that is for review.
 */
#ifndef REGLET_TESTS_RIG_BOARD_AVR_H
#define REGLET_TESTS_RIG_BOARD_AVR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "contrib/practice/board.h"
#include "protocol/attributes.h"

enum { BOARD_AVR_HANDLERS = 8, BOARD_AVR_EEPROM = 1024, BOARD_AVR_RAM_END = 0x8ff };

/* Cycles. It looks for a byte, at its clock, and for something to say. */
enum { BOARD_AVR_IDLE_PASS = 90 };

/* The edge's interrupt when it went through one of the named places. */
struct board_avr_handler {
    const char *name;  /* of a symbol */
    uint64_t count;    /* how often */
    uint32_t worst;    /* cycles, the 4 of the entry included, to after RETI or until it lets others
                          in by SEI */
    uint64_t worst_at; /* the tick at which that began */
    uint32_t done_worst; /* cycles from the match that asked for it to the same */
};

/* Figures since the last board_avr_clear. */
struct board_avr_figures {
    uint64_t cycles; /* all of them, of a powered board */
    uint64_t asleep;
    uint64_t in_interrupts;
    uint64_t in_edges;      /* in the interrupt of Timer1's compare A alone */
    uint32_t latency_worst; /* cycles from the match that asks for it to the first instruction of
                               that interrupt */
    uint16_t stack_low;     /* the lowest stack pointer: what lies above has been used */
    uint64_t rises;         /* edges at the step pin */
    uint32_t high_min;      /* cycles from a rise to the fall; UINT32_MAX without any */
    uint32_t low_min;       /* from a fall to the rise */
    uint32_t setup_min;     /* from a change of the direction pin to the next rise */
    uint32_t hold_min;      /* from a rise to the next change of the direction pin */
    uint32_t heard;         /* bytes */
    uint32_t overruns;      /* bytes that the receiver had no room for */
    uint32_t overwritten;   /* bytes written to a transmitter that was full */
    uint32_t waited_most;   /* cycles that a byte waited in the receiver */
    uint64_t idle;   /* of the main loop, in passes (from the symbol main_pass to the next) too
                        short to have done anything: BOARD_AVR_IDLE_PASS at the most */
    uint32_t resets; /* by the watchdog */
    bool crashed;    /* stuck: an unknown instruction, or asleep with interrupts shut */
    struct board_avr_handler handler[BOARD_AVR_HANDLERS];
    struct board_avr_handler other; /* the edge's interrupt through none of them */
};

/* Names of places, in the order of their weight: an interrupt that goes through several counts for
 * the last one in the list. False when the firmware has no such symbol. Clears the figures. */
REGLET_MUST_CHECK bool board_avr_handlers(struct board *board, const char *const *name,
                                          size_t names);
void board_avr_clear(struct board *board);
const struct board_avr_figures *board_avr_figures(const struct board *board);

/* A symbol of the firmware: its address (in RAM less 0x800000, in flash in bytes) and size. */
REGLET_MUST_CHECK bool board_avr_symbol(const struct board *board, const char *name,
                                        uint32_t *address, uint32_t *size);

/* Registers, input and output, RAM: what the firmware sees at an address. */
uint8_t board_avr_peek(const struct board *board, uint16_t address);

/* Bytes of flash and of RAM that the firmware takes up (without its stack). */
uint32_t board_avr_flash_used(const struct board *board);
uint32_t board_avr_ram_used(const struct board *board);

uint8_t board_avr_eeprom_get(const struct board *board, uint16_t address);
void board_avr_eeprom_set(struct board *board, uint16_t address, uint8_t byte);

/* Is a byte of the EEPROM being written? board_power(board, false) then spoils it. */
bool board_avr_eeprom_busy(const struct board *board);

/* The levels at the pins of a two-wire scale from now on; both are high at first, as without one.
 */
void board_avr_scale(struct board *board, bool clock, bool data);

/* What the simulator has complained of since the start: empty, or lines. */
const char *board_avr_complaints(const struct board *board);

#endif
