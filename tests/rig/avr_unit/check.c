/* SPDX-License-Identifier: MIT */
#include <check.h>

#include <avr/io.h>
#include <setjmp.h>

enum { BAUD_115200 = 16, UNTOUCHED = 0xc5 };

extern const uint8_t __heap_start; /* behind all variables; the linker's */

static jmp_buf failed_here;
static uint16_t failed_line;
static uint16_t tests;
static uint16_t failures;
static uint32_t asserts;

/* Before any variable has its value and anything is on the stack: all that is free is marked. */
__attribute__((naked, used, section(".init3"))) static void mark_stack(void)
{
    __asm__ volatile("ldi r30, lo8(__heap_start)\n\t"
                     "ldi r31, hi8(__heap_start)\n\t"
                     "ldi r24, %0\n\t"
                     "ldi r25, hi8(%1)\n"
                     "1:\tst Z+, r24\n\t"
                     "cpi r30, lo8(%1)\n\t"
                     "cpc r31, r25\n\t"
                     "brlo 1b"
                     :
                     : "M"(UNTOUCHED), "i"(RAMEND + 1));
}

static uint16_t stack_left(void)
{
    const uint8_t *at = &__heap_start;
    while (at <= (const uint8_t *)RAMEND && *at == UNTOUCHED) {
        at++;
    }
    return (uint16_t)(at - &__heap_start);
}

static void put(char c)
{
    while (!(UCSR0A & 1 << UDRE0)) {
    }
    UDR0 = (uint8_t)c;
}

static void put_text(const char *in_flash)
{
    char c;
    while ((c = (char)pgm_read_byte(in_flash++)) != '\0') {
        put(c);
    }
}

static void put_number(const char *before_in_flash, uint32_t value)
{
    char digits[10];
    uint8_t count = 0;
    put_text(before_in_flash);
    do {
        digits[count++] = (char)('0' + value % 10);
        value /= 10;
    } while (value != 0);
    while (count > 0) {
        put(digits[--count]);
    }
}

void avr_unit_assert(bool holds, uint16_t line)
{
    asserts++;
    if (!holds) {
        failed_line = line;
        longjmp(failed_here, 1);
    }
}

static void run_one(const char *name, void (*test)(int), int index)
{
    uint32_t before = asserts;
    tests++;
    bool held = setjmp(failed_here) == 0;
    if (held) {
        test(index);
    }
    put_text(held ? PSTR("passed ") : PSTR("failed "));
    put_text(name);
    put_number(PSTR(" "), (uint32_t)index);
    if (held) {
        put_number(PSTR(" "), asserts - before);
    } else {
        failures++;
        put_number(failed_line & AVR_UNIT_HEADER ? PSTR(" header line ") : PSTR(" line "),
                   failed_line & (uint16_t)~AVR_UNIT_HEADER);
    }
    put('\n');
}

void avr_unit_run(const char *name, void (*test)(int), int from, int to)
{
    UBRR0L = BAUD_115200;
    UCSR0A = 1 << U2X0;
    UCSR0B = 1 << TXEN0;
    for (int index = from; index < to; index++) {
        run_one(name, test, index);
    }
}

int avr_unit_failures(void)
{
    return (int)failures;
}

void avr_unit_end(void)
{
    put_number(PSTR("end "), tests);
    put_number(PSTR(" "), failures);
    put_number(PSTR(" "), asserts);
    put_number(PSTR(" "), stack_left());
    put('\n');
}
