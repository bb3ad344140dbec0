/* SPDX-License-Identifier: MIT */
#include "tests/rig/board_avr.h"

#include <avr_extint.h>
#include <avr_ioport.h>
#include <sim_core.h>
#include <sim_cycle_timers.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "contrib/stepgen/atmega328p/pins.h"
#include "protocol/link.h"
#include "tests/rig/board_avr_parts.h"

#ifndef BOARD_AVR_FIRMWARE
#define BOARD_AVR_FIRMWARE ""
#endif

enum { ENTRY_CYCLES = 4, WAKE_CYCLES = 4, VECTOR_BYTES = 4 };

/* Where each input is. */
static const struct {
    char port;
    uint8_t bit;
} INPUTS[LINK_INPUTS] = {
    [LINK_INPUT_TOP_SWITCH] = {'C', PIN_TOP_SWITCH},
    [LINK_INPUT_BOTTOM_SWITCH] = {'C', PIN_BOTTOM_SWITCH},
    [LINK_INPUT_TOUCH_PLATE] = {'C', PIN_TOUCH_PLATE},
    [LINK_INPUT_STOP_CIRCUIT] = {'D', PIN_STOP_CIRCUIT},
    [LINK_INPUT_ROUTER] = {'C', PIN_ROUTER},
    [LINK_INPUT_CARRIAGE_LOCK] = {'C', PIN_CARRIAGE_LOCK},
    [LINK_INPUT_MOTOR_SUPPLY] = {'C', PIN_MOTOR_SUPPLY},
};

__attribute__((format(printf, 3, 0))) static void collect(struct avr_t *avr, const int level,
                                                          const char *format, va_list arguments)
{
    if (!avr || !avr->custom.data || level > LOG_WARNING) {
        return;
    }
    struct board *b = avr->custom.data;
    size_t used = strlen(b->complaints);
    vsnprintf(b->complaints + used, sizeof b->complaints - used, format, arguments);
}

void board_avr_level(struct board *b, avr_int_vector_t *vector, bool high)
{
    avr_t *avr = b->avr;
    if (high && (!avr_regbit_get(avr, vector->raised) ||
                 (!vector->pending && avr->sreg[S_I] && avr_regbit_get(avr, vector->enable)))) {
        avr_raise_interrupt(avr, vector);
    }
}

/* The scale's clock and data, beside the inputs. */
static void scale_levels(const struct board *b, avr_ioport_external_t *external)
{
    external->mask |= 1u << PIN_SCALE_CLOCK | 1u << PIN_SCALE_DATA;
    external->value |=
        (b->scale_clock ? 1u << PIN_SCALE_CLOCK : 0) | (b->scale_data ? 1u << PIN_SCALE_DATA : 0);
}

static void port_levels(struct board *b, char port, uint16_t pin_at)
{
    avr_ioport_external_t external = {.name = (unsigned long)port};
    uint8_t *pins = &b->avr->data[pin_at];
    b->due = 0;
    if (port == 'D') {
        scale_levels(b, &external);
    }
    for (int i = 0; i < LINK_INPUTS; i++) {
        uint8_t mask = (uint8_t)(1u << INPUTS[i].bit);
        if (INPUTS[i].port == port) {
            external.mask |= mask;
            external.value |= b->levels >> i & 1 ? mask : 0;
        }
    }
    avr_ioctl(b->avr, AVR_IOCTL_IOPORT_SET_EXTERNAL(port), &external);
    *pins = (uint8_t)((*pins & ~external.mask) | external.value); /* after a reset they are lost */
    for (int i = 0; i < 8; i++) {
        if (external.mask >> i & 1) {
            avr_raise_irq(avr_io_getirq(b->avr, AVR_IOCTL_IOPORT_GETIRQ(port), i),
                          external.value >> i & 1);
        }
    }
}

static void apply_levels(struct board *b)
{
    port_levels(b, 'C', AT_PINC);
    port_levels(b, 'D', AT_PIND);
}

void board_levels(struct board *b, uint16_t levels)
{
    if (levels != b->levels) {
        b->levels = levels;
        if (b->powered) {
            apply_levels(b);
        }
    }
}

void board_scale(struct board *b, bool clock, bool data)
{
    board_avr_scale(b, clock, data);
}

void board_avr_scale(struct board *b, bool clock, bool data)
{
    b->scale_clock = clock;
    b->scale_data = data;
    if (b->powered) {
        port_levels(b, 'D', AT_PIND);
    }
}

/* A flag of EIFR is cleared by writing a 1 (section 13.2.3); simavr keeps what is written. */
static void clear_flags(struct avr_t *avr, avr_io_addr_t address, uint8_t value, void *owner)
{
    (void)owner;
    avr->data[address] &= (uint8_t)~value;
}

/* Whatever has reset it, simavr's registers are as after that now. */
static void begin(struct board *b)
{
    b->frames = 0;
    b->torn = false;
    b->powered = true;
    b->count = 0;
    b->boot = memory_next_boot(b);
    edges_reset(b);
    serial_reset(b);
    for (uint8_t i = 0; i < EXTERNAL_INTERRUPTS; i++) {
        /* By level, as all are after a reset, simavr would look at a low pin in each cycle. */
        avr_extint_set_strict_lvl_trig(b->avr, i, 0);
    }
    apply_levels(b);
}

void board_reset(struct board *b)
{
    if (!b->powered) {
        return; /* a reset of a board without power is none */
    }
    avr_reset(b->avr);
    avr_regbit_set(b->avr, b->avr->reset_flags.extrf);
    begin(b);
}

/* A RAM without power keeps nothing in particular; neither do the registers. */
static void fill_ram(struct board *b)
{
    for (uint32_t i = 0; i <= BOARD_AVR_RAM_END; i = i == 31 ? AT_RAM : i + 1) {
        b->chance = b->chance * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        b->avr->data[i] = (uint8_t)(b->chance >> 56);
    }
}

void board_power(struct board *b, bool on)
{
    memory_cut(b);
    b->powered = on;
    if (on) {
        fill_ram(b);
        avr_reset(b->avr);
        avr_regbit_set(b->avr, b->avr->reset_flags.porf);
        begin(b);
    }
}

/* simavr has the watchdog's reset done by the next run. */
static void let_watchdog(struct board *b)
{
    b->figures.resets++;
    b->avr->run(b->avr);
    begin(b);
}

static void serve(struct board *b, bool was_asleep)
{
    avr_t *avr = b->avr;
    while (avr->interrupt_state != 0 && avr->sreg[S_I]) {
        avr_service_interrupts(avr);
        if (!avr->sreg[S_I]) {
            uint64_t start = avr->cycle;
            avr->cycle += ENTRY_CYCLES + (was_asleep ? WAKE_CYCLES : 0);
            b->due = 0;
            figures_entered(b, (int)(avr->pc / VECTOR_BYTES), start);
            return;
        }
        if (avr->interrupt_state <= 0) {
            return; /* nothing, or not yet: an instruction after SEI and RETI runs first */
        }
    }
}

static uint64_t earlier(uint64_t a, uint64_t b)
{
    return a < b ? a : b;
}

static void sleep_on(struct board *b, uint64_t timers_due, uint64_t until)
{
    avr_t *avr = b->avr;
    uint64_t due = earlier(earlier(timers_due, until), earlier(edges_due(b), serial_due(b)));
    if (!avr->sreg[S_I]) {
        b->figures.crashed = true;
    }
    due = due > avr->cycle ? due : avr->cycle + 1;
    b->figures.asleep += due - avr->cycle;
    b->figures.cycles += due - avr->cycle;
    avr->cycle = due;
}

/* Instructions that touch registers and flags alone, and not the one that lets interrupts in: all
 * below LD, RJMP, LDI, and branches (AVR Instruction Set Manual, DS40002198A). */
static bool is_quiet(uint16_t opcode)
{
    uint8_t kind = (uint8_t)(opcode >> 12);
    return kind < 0x8 || kind == 0xc || kind == 0xe || opcode >> 11 == 0x1e;
}

/* Runs one instruction. True when nothing but time can have changed around the processor. */
static bool run_one(struct board *b, uint64_t start)
{
    avr_t *avr = b->avr;
    uint32_t pc = avr->pc;
    uint16_t opcode = (uint16_t)(avr->flash[pc] | avr->flash[pc + 1] << 8);
    bool armed = avr->data[AT_EECR] & EECR_EEMPE;
    avr->pc = avr_run_one(avr);
    figures_ran(b, pc, opcode, start);
    if (is_quiet(opcode) && avr->state == cpu_Running) {
        return true;
    }
    memory_follow(b, armed);
    return false;
}

/* Brings all that is around the processor up to its cycle. */
static void follow(struct board *b, uint64_t until)
{
    avr_t *avr = b->avr;
    uint64_t timers_due = avr->cycle + avr_cycle_timer_process(avr);
    if (avr->state == cpu_Sleeping) {
        sleep_on(b, timers_due, until);
    } else if (avr->state != cpu_Running) {
        b->figures.crashed = true;
        avr->cycle = until;
    }
    memory_follow(b, false);
    edges_follow(b);
    serial_follow(b);
    for (int i = 0; i < EXTERNAL_INTERRUPTS; i++) {
        board_avr_level(b, b->external[i], avr_regbit_get(avr, b->external[i]->raised));
    }
    avr_int_vector_t *edge = &b->timer->comp[AVR_TIMER_COMPA].interrupt;
    board_avr_level(b, edge, avr_regbit_get(avr, edge->raised));
    b->due = earlier(earlier(timers_due, memory_due(b)), earlier(edges_due(b), serial_due(b)));
}

static void step(struct board *b, uint64_t until)
{
    avr_t *avr = b->avr;
    bool was_asleep = avr->state == cpu_Sleeping;
    if (avr->run != b->usual_run) {
        let_watchdog(b);
        return;
    }
    bool quiet = avr->state == cpu_Running && run_one(b, avr->cycle);
    if (!quiet || avr->cycle >= b->due) {
        follow(b, until);
    }
    serve(b, was_asleep);
}

uint64_t board_run(struct board *b, uint64_t until)
{
    b->stopped = false;
    if (!b->powered && b->avr->cycle < until) {
        b->avr->cycle = until;
    }
    while (b->avr->cycle < until && !b->stopped) {
        step(b, until);
    }
    return b->avr->cycle;
}

void board_stop(struct board *b)
{
    b->stopped = true;
}

struct board_view board_look(const struct board *b)
{
    const uint8_t *data = b->avr->data;
    struct board_view view = {
        .id = b->id,
        .boot = b->boot,
        .count = b->count,
        .first_edge = b->edges.first_edge,
    };
    if (b->powered) {
        view.moving = data[AT_TIMSK1] & TIMSK1_OCIE1A;
        view.energised = data[AT_DDRB] & ~data[AT_PORTB] & 1 << PIN_ENABLE;
        view.outputs = (uint8_t)((data[AT_PORTD] & 1 << PIN_OUTPUT_1 ? 1 : 0) |
                                 (data[AT_PORTD] & 1 << PIN_OUTPUT_2 ? 2 : 0));
    }
    return view;
}

uint8_t board_avr_peek(const struct board *b, uint16_t address)
{
    return address <= BOARD_AVR_RAM_END ? b->avr->data[address] : 0;
}

const char *board_avr_complaints(const struct board *b)
{
    return b->complaints;
}

static avr_io_t *find_part(avr_t *avr, const char *kind, char name)
{
    for (avr_io_t *part = avr->io_port; part; part = part->next) {
        bool same = strcmp(part->kind, kind) == 0;
        if (same && (strcmp(kind, "timer") != 0 || ((avr_timer_t *)(void *)part)->name == name)) {
            return part;
        }
    }
    return NULL;
}

static avr_int_vector_t *find_vector(avr_t *avr, int number)
{
    for (int i = 0; i < avr->interrupts.vector_count; i++) {
        if (avr->interrupts.vector[i]->vector == number) {
            return avr->interrupts.vector[i];
        }
    }
    return NULL;
}

static bool make_processor(struct board *b)
{
    avr_global_logger_set(collect);
    avr_t *avr = avr_make_mcu_by_name("atmega328p");
    if (!avr || avr_init(avr) != 0) {
        return false;
    }
    b->avr = avr;
    avr->custom.data = b;
    avr->frequency = BOARD_TICK_HZ;
    b->usual_run = avr->run;
    avr_loadcode(avr, b->image.flash, b->image.flash_size, 0);
    avr->codeend = b->image.flash_size;
    b->timer = (avr_timer_t *)(void *)find_part(avr, "timer", '1');
    b->serial.uart = (avr_uart_t *)(void *)find_part(avr, "uart", '0');
    b->memory.eeprom = (avr_eeprom_t *)(void *)find_part(avr, "eeprom", 0);
    b->external[0] = find_vector(avr, VECTOR_INT0);
    b->external[1] = find_vector(avr, VECTOR_INT1);
    avr_register_io_write(avr, AT_EIFR, clear_flags, NULL);
    return b->timer && b->serial.uart && b->memory.eeprom && b->external[0] && b->external[1];
}

struct board *board_open(uint32_t id, uint32_t boot, const struct board_events *events)
{
    const char *given = getenv("REGLET_FIRMWARE");
    struct board *b = calloc(1, sizeof *b);
    if (!b || !image_read(&b->image, given ? given : BOARD_AVR_FIRMWARE) || !make_processor(b)) {
        board_close(b);
        return NULL;
    }
    b->events = *events;
    b->id = id;
    b->chance = (uint64_t)id << 32 | boot;
    b->scale_clock = b->scale_data = true; /* none is there: pull-ups */
    edges_open(b);
    serial_open(b);
    memory_write(b, id, boot);
    uint32_t size;
    if (!board_avr_symbol(b, "main_pass", &b->pass_at, &size)) {
        b->pass_at = UINT32_MAX;
    }
    board_avr_clear(b);
    board_power(b, true);
    return b;
}

/* simavr 1.6 keeps what it has allocated for the pins of its parts. Whoever looks for leaks asks
 * here what is not ours. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
    return "leak:libsimavr";
}

void board_close(struct board *b)
{
    if (!b) {
        return;
    }
    if (b->avr) {
        avr_terminate(b->avr);
        free(b->avr);
    }
    image_free(&b->image);
    free(b);
}
