/* SPDX-License-Identifier: MIT */
/* What the files of board_avr share. */
#ifndef REGLET_TESTS_RIG_BOARD_AVR_PARTS_H
#define REGLET_TESTS_RIG_BOARD_AVR_PARTS_H

#include <avr_eeprom.h>
#include <avr_timer.h>
#include <avr_uart.h>
#include <sim_avr.h>

#include "tests/rig/board_avr.h"

enum {
    /* Addresses in data space: DS40002061B, section 35. */
    AT_DDRB = 0x24,
    AT_PORTB = 0x25,
    AT_PINC = 0x26,
    AT_PIND = 0x29,
    AT_PORTD = 0x2b,
    AT_EIFR = 0x3c,
    AT_EECR = 0x3f,
    AT_EEARL = 0x41,
    AT_SPL = 0x5d,
    AT_TIMSK1 = 0x6f,
    AT_TCCR1A = 0x80,
    AT_TCCR1C = 0x82,
    AT_OCR1AL = 0x88,
    AT_UCSR0A = 0xc0,
    AT_UBRR0L = 0xc4,
    AT_RAM = 0x100,
    /* Vector numbers: table 12-1, less one. */
    VECTOR_INT0 = 1,
    VECTOR_INT1 = 2,
    VECTOR_TIMER1_COMPA = 11,
    EXTERNAL_INTERRUPTS = 2,
    FRAMES = 8,
    EECR_EEMPE = 1 << 2,
    EECR_EEPE = 1 << 1,
    TIMSK1_OCIE1A = 1 << 1,
};

#define BOARD_AVR_NEVER UINT64_MAX

struct image_symbol {
    char *name;
    uint32_t address;
    uint32_t size;
};

/* The firmware's file, read. */
struct image {
    uint8_t *flash;
    uint32_t flash_size;
    uint32_t ram_used;
    struct image_symbol *symbol;
    size_t symbols;
};

/* An interrupt that is being served. */
struct frame {
    int vector;
    int handler;    /* -1: none of the named */
    uint64_t match; /* what asked for it, or BOARD_AVR_NEVER: the timer's alone */
    uint64_t start;
    uint64_t inner; /* cycles in interrupts of this interrupt */
    bool open;      /* it has let others in */
};

/* Timer1's compare A and its pin. Times are cycles; BOARD_AVR_NEVER: none yet. */
struct edges {
    uint64_t seen;    /* matches before this are dealt with */
    uint16_t armed;   /* OCR1A as it counts */
    uint16_t written; /* OCR1A since its low byte was written */
    uint8_t mode;     /* COM1A1:0 */
    bool latch;       /* what the compare unit drives the pin with */
    bool high;        /* the pin */
    bool down;        /* the direction pin */
    bool rested;      /* the edge's interrupt has been shut since the last rise */
    uint64_t rise;
    uint64_t fall;
    uint64_t turned; /* when the direction pin last changed */
    uint64_t match;  /* the one that asked for the interrupt that is still to come */
    uint64_t first_edge;
};

enum { RECEIVER_ROOM = 3 }; /* two bytes and the shift register */

struct serial {
    avr_uart_t *uart;
    uint64_t shift_free; /* when the shift register has sent what it holds */
    uint64_t room;       /* when the transmitter's buffer goes over into it */
    bool sending;        /* TXC is still to come */
    uint16_t read_at;    /* of the receiver, as it was last seen */
    uint64_t came[RECEIVER_ROOM + 1];
};

struct memory {
    avr_eeprom_t *eeprom;
    uint64_t busy_until;
    uint16_t address; /* of the byte that is being written */
};

struct board {
    avr_t *avr;
    avr_timer_t *timer;
    avr_run_t usual_run; /* the watchdog puts another one in its place */
    avr_int_vector_t *external[EXTERNAL_INTERRUPTS];
    struct board_events events;
    struct image image;
    struct edges edges;
    struct serial serial;
    struct memory memory;
    struct board_avr_figures figures;
    uint32_t handler_at[BOARD_AVR_HANDLERS];
    size_t handlers;
    uint32_t pass_at;
    uint64_t pass_cycles; /* of the present pass, without interrupts */
    struct frame frame[FRAMES];
    int frames;
    bool torn; /* the stack pointer is half written */
    uint32_t id;
    uint32_t boot;
    int32_t count; /* edges made since the start, upward */
    uint16_t levels;
    bool scale_clock;
    bool scale_data;
    bool powered;
    bool stopped;
    uint64_t due;    /* nothing changes around the processor before this, of itself */
    uint64_t chance; /* seed of what is in a RAM without power */
    char complaints[1000];
};

/* board_avr_image.c */
REGLET_MUST_CHECK bool image_read(struct image *image, const char *path);
void image_free(struct image *image);

/* board_avr.c */
/* Raises an interrupt for as long as its cause stands, where simavr does it once. */
void board_avr_level(struct board *board, avr_int_vector_t *vector, bool high);

/* board_avr_edges.c */
void edges_open(struct board *board);
void edges_reset(struct board *board);
/* Deals with all matches before the present cycle, by the settings from before the instruction that
 * has just run, then takes over what that has written. */
void edges_follow(struct board *board);
/* The cycle at which the next match is to be dealt with. */
uint64_t edges_due(const struct board *board);

/* board_avr_serial.c */
void serial_open(struct board *board);
void serial_reset(struct board *board);
void serial_follow(struct board *board);
uint64_t serial_due(const struct board *board);

/* board_avr_memory.c: the EEPROM. */
void memory_write(struct board *board, uint32_t id, uint32_t boot);
/* The boot number that the next start will have. */
uint32_t memory_next_boot(const struct board *board);
/* After an instruction; `armed`: EEMPE was set before it. */
void memory_follow(struct board *board, bool armed);
/* When a write that goes on is done. */
uint64_t memory_due(const struct board *board);
void memory_cut(struct board *board);

/* board_avr_figures.c */
/* An instruction at `pc` has run since `start`. */
void figures_ran(struct board *board, uint32_t pc, uint16_t opcode, uint64_t start);
/* An interrupt was entered, which began at `start`. */
void figures_entered(struct board *board, int vector, uint64_t start);

#endif
