/* SPDX-License-Identifier: MIT */
/* The step generator on an ATmega328P at 16 MHz: the portable core with its pins. README.md in the
 * folder above tells how to build it and bring it onto a board, WIRING.md how to wire that. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/wdt.h>

#include "contrib/stepgen/atmega328p/edge.h"
#include "contrib/stepgen/atmega328p/memory.h"
#include "contrib/stepgen/atmega328p/pins.h"
#include "contrib/stepgen/atmega328p/serial.h"

enum {
    INPUTS_C = 1 << PIN_TOP_SWITCH | 1 << PIN_BOTTOM_SWITCH | 1 << PIN_TOUCH_PLATE |
               1 << PIN_ROUTER | 1 << PIN_CARRIAGE_LOCK | 1 << PIN_MOTOR_SUPPLY,
    PULLED_UP_D = 1 << PIN_STOP_CIRCUIT | 1 << PIN_SCALE_CLOCK | 1 << PIN_SCALE_DATA | 1,
    OUTPUTS_D = 1 << PIN_OUTPUT_1 | 1 << PIN_OUTPUT_2,
    CLOCK_EIGHTHS_PER_MS = 125, /* Timer2 counts 15 625 a second: 15 5/8 a millisecond */
};

struct generator the_generator;

/* After a reset by the watchdog it still runs, with its shortest time. */
void forget_watchdog(void) __attribute__((naked, used, section(".init3")));
void forget_watchdog(void)
{
    MCUSR = 0;
    wdt_disable();
}

static void pins_init(void)
{
    PORTB = 1 << PIN_ENABLE; /* not energised */
    DDRB = 1 << PIN_ENABLE;
    PORTC = INPUTS_C;
    PORTD = PULLED_UP_D;
    DDRD = OUTPUTS_D;
}

/* Port C's first three are inputs 0 to 2, the others 4 to 6: the stop circuit stands between. */
static uint8_t levels(void)
{
    _Static_assert(PIN_TOUCH_PLATE == (int)LINK_INPUT_TOUCH_PLATE &&
                       PIN_ROUTER + 1 == (int)LINK_INPUT_ROUTER &&
                       PIN_MOTOR_SUPPLY + 1 == (int)LINK_INPUT_MOTOR_SUPPLY,
                   "the pins are in the order of the inputs");
    enum { LOW = (1 << PIN_ROUTER) - 1 };
    uint8_t c = PINC & INPUTS_C;
    uint8_t all = (uint8_t)((c & LOW) | (c & ~LOW) << 1);
    return PIND & 1 << PIN_STOP_CIRCUIT ? all | 1 << LINK_INPUT_STOP_CIRCUIT : all;
}

/* The stop circuit acts at once. Its interrupt is let in once a millisecond: contacts that chatter
 * must not take the processor from the edges. */
ISR(INT0_vect, ISR_NAKED)
{
    __asm__ volatile("cbi %0, %1\n\t"
                     "sei\n\t"
                     "jmp __vector_stop"
                     :
                     : "I"(_SFR_IO_ADDR(EIMSK)), "I"(INT0));
}

void __vector_stop(void) __attribute__((signal, used, externally_visible));
void __vector_stop(void)
{
    generator_stop_circuit(&the_generator, PIND & 1 << PIN_STOP_CIRCUIT);
}

/* At rest only: no edge waits for a scale. What it sends meanwhile is not heard. */
ISR(INT1_vect)
{
    generator_scale_bit(&the_generator, PIND & 1 << PIN_SCALE_DATA);
}

static void listen_to_scale(void)
{
    if (!generator_moving(&the_generator) && !(EIMSK & 1 << INT1)) {
        EIFR = 1 << INTF1; /* of a clock that has passed */
        EIMSK |= 1 << INT1;
    }
}

static void millisecond(void)
{
    listen_to_scale();
    EIMSK |= 1 << INT0; /* what has changed while it was shut is seen now */
    generator_millisecond(&the_generator, levels());
}

static void pass_time(void)
{
    static uint8_t seen;
    static uint8_t eighths;
    uint8_t now = TCNT2;
    uint8_t counts = (uint8_t)(now - seen);
    while (counts >= 16) {
        /* 15 5/8: every one of them short of its sixteenth by three eighths. */
        counts = (uint8_t)(counts - 15);
        seen = (uint8_t)(seen + 15);
        eighths = (uint8_t)(eighths + 5);
        if (eighths >= 8) {
            eighths = (uint8_t)(eighths - 8);
            seen++;
            counts--;
        }
        millisecond();
    }
}

static void set_outputs(void)
{
    const struct generator *g = &the_generator;
    _Static_assert(PIN_OUTPUT_2 == PIN_OUTPUT_1 + 1, "the pins are in the order of the outputs");
    uint8_t on = (uint8_t)(g->outputs << PIN_OUTPUT_1 & OUTPUTS_D);
    PORTD = (uint8_t)((PORTD & ~OUTPUTS_D) | on);
    if (g->count_set) {
        PORTB &= (uint8_t) ~(1 << PIN_ENABLE); /* from the first sync on: it holds the lift */
    }
}

/* Nothing in the processor is drawn by lot. The moment at which the first byte comes is. */
static uint32_t chance(void)
{
    uint16_t wait = 1;
    while (serial_take() < 0) {
        wait++;
        wdt_reset();
    }
    return (uint32_t)wait << 16 | TCNT1;
}

static void timers_init(void)
{
    TCCR2B = 1 << CS22 | 1 << CS21 | 1 << CS20;   /* f/1024 */
    EICRA = 1 << ISC00 | 1 << ISC11 | 1 << ISC10; /* INT0: either edge; INT1: a rising one */
}

int main(void)
{
    struct generator_board *board = &the_generator.board;
    pins_init();
    timers_init();
    serial_init();
    edge_init();
    wdt_enable(WDTO_500MS);
    sei();
    generator_init(&the_generator);
    board->tick_hz = F_CPU;
    board->inputs_present = (1 << LINK_INPUTS) - 1;
    memory_start(chance, board);
    for (;;) {
        __asm__ volatile(".global main_pass\nmain_pass:"); /* for whoever measures */
        wdt_reset();
        int byte = serial_take();
        if (byte >= 0) {
            generator_byte(&the_generator, (uint8_t)byte);
            edge_start();
            set_outputs();
        }
        pass_time();
        if (serial_may_send() && (byte = generator_send(&the_generator)) >= 0) {
            serial_send((uint8_t)byte);
        }
    }
}
