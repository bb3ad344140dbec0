/* SPDX-License-Identifier: MIT */
/*
 * The unit tests of what the microcontroller compiles, on the microcontroller: the same files,
 * built by avr-gcc (tests/rig/avr_unit), each an image of its own that runs on simavr, an
 * ATmega328P at 16 MHz. The host's program of the same name says how many tests there have to be.
 * Random numbers are the host's for the same seed, but fewer (tests/rig/avr_unit/chip.h).
 */
#include <avr_eeprom.h>
#include <avr_uart.h>
#include <check.h>
#include <sim_avr.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/seed.h"
#include "tests/suite.h"

enum {
    FLASH_SIZE = 0x8000,
    CLOCK_HZ = 16000000,
    TEXT_SIZE = 8192,
    STACK_LEAST = 64, /* bytes never touched; there are no interrupts, so what is seen is all */
};

/* Twice as many as the longest needs. */
static const uint64_t CYCLES_MAX = UINT64_C(1000000000);

static const char *const NAMES[] = {AVR_UNIT_NAMES};

/* What an image has said. */
struct report {
    uint64_t cycles;
    int state; /* simavr's, at the end */
    char text[TEXT_SIZE];
    size_t size;
    bool ended; /* with the line behind which nothing comes */
};

struct totals {
    unsigned tests;
    unsigned failures;
    unsigned long asserts;
    unsigned stack;
};

static void no_log(struct avr_t *avr, const int level, const char *format, va_list arguments)
{
    (void)avr;
    (void)level;
    (void)format;
    (void)arguments;
}

static const char *last_line(const struct report *report)
{
    const char *line = report->text;
    for (const char *c = line; *c != '\0'; c++)
        line = c[0] == '\n' && c[1] != '\0' ? c + 1 : line;
    return line;
}

static void hear(struct avr_irq_t *irq, uint32_t value, void *owner)
{
    struct report *report = owner;
    (void)irq;
    if (report->size < sizeof report->text - 1)
        report->text[report->size++] = (char)value;
    if (value == '\n')
        report->ended = strncmp(last_line(report), "end ", 4) == 0;
}

static void load(avr_t *avr, const char *name)
{
    char path[4096];
    static uint8_t flash[FLASH_SIZE + 1];
    (void)snprintf(path, sizeof path, "%s/%s.bin", AVR_UNIT_FOLDER, name);
    FILE *file = fopen(path, "rb");
    ck_assert_msg(file != NULL, "there is no image %s", path);
    size_t size = fread(flash, 1, sizeof flash, file);
    (void)fclose(file);
    ck_assert_msg(size <= FLASH_SIZE, "%s is too large for the flash", path);
    avr_loadcode(avr, flash, (uint32_t)size, 0);
    avr->codeend = (avr_flashaddr_t)size;
}

/* The image's read_seed takes it from there, less 16 bits as from any other source. */
static void leave_seed(avr_t *avr)
{
    uint8_t bytes[8];
    uint8_t back[8] = {0};
    for (unsigned i = 0; i < sizeof bytes; i++)
        bytes[i] = (uint8_t)(base_seed << 16 >> (8 * i));
    avr_eeprom_desc_t at = {.ee = bytes, .offset = 0, .size = sizeof bytes};
    (void)avr_ioctl(avr, AVR_IOCTL_EEPROM_SET, &at); /* its result says nothing */
    at.ee = back;
    (void)avr_ioctl(avr, AVR_IOCTL_EEPROM_GET, &at);
    ck_assert_mem_eq(back, bytes, sizeof bytes);
}

/* Until the last line, or until there can be none any more. */
static void run_image(const char *name, struct report *report)
{
    uint32_t no_echo = 0;
    avr_global_logger_set(no_log);
    avr_t *avr = avr_make_mcu_by_name("atmega328p");
    ck_assert(avr != NULL && avr_init(avr) == 0);
    avr->frequency = CLOCK_HZ;
    load(avr, name);
    leave_seed(avr);
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &no_echo);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), hear,
                            report);
    report->state = cpu_Running;
    while (!report->ended && report->state == cpu_Running && avr->cycle < CYCLES_MAX)
        report->state = avr_run(avr);
    report->cycles = avr->cycle;
    avr_terminate(avr);
    free(avr);
}

/* How many tests the host's program runs; it must pass them itself. */
static unsigned host_tests(const char *name)
{
    char command[4096];
    char line[1024];
    unsigned tests = 0;
    unsigned failures = 0;
    unsigned errors = 0;
    bool found = false;
    (void)snprintf(command, sizeof command, "REGLET_SEED=%" PRIu64 " '%s/%s' 2>&1", base_seed,
                   AVR_UNIT_HOST, name);
    FILE *program = popen(command, "r");
    ck_assert_ptr_nonnull(program);
    while (fgets(line, sizeof line, program) != NULL)
        found = found || sscanf(line, "%*u%%: Checks: %u, Failures: %u, Errors: %u", &tests,
                                &failures, &errors) == 3;
    ck_assert_msg(pclose(program) == 0 && found && failures + errors == 0,
                  "%s fails on the host already", name);
    return tests;
}

static struct totals totals_of(const char *name, const struct report *report)
{
    struct totals totals;
    char more;
    ck_assert_msg(report->ended,
                  "%s came to no end in %" PRIu64 " cycles (state %d of simavr's); it said:\n%s",
                  name, report->cycles, report->state, report->text);
    ck_assert_msg(sscanf(last_line(report), "end %u %u %lu %u%c", &totals.tests, &totals.failures,
                         &totals.asserts, &totals.stack, &more) == 5 &&
                      more == '\n',
                  "%s ended otherwise than it should:\n%s", name, report->text);
    return totals;
}

static unsigned passed_lines(const struct report *report)
{
    unsigned passed = 0;
    for (const char *line = report->text; line != NULL; line = strchr(line, '\n')) {
        line += *line == '\n';
        passed += strncmp(line, "passed ", 7) == 0;
    }
    return passed;
}

START_TEST(what_holds_on_the_host_holds_on_the_microcontroller)
{
    static struct report report;
    const char *name = NAMES[_i];
    run_image(name, &report);
    struct totals totals = totals_of(name, &report);
    ck_assert_msg(totals.failures == 0, "%s:\n%s", name, report.text);
    ck_assert_uint_eq(passed_lines(&report), totals.tests);
    ck_assert_uint_gt(totals.asserts, 0);
    ck_assert_msg(totals.stack >= STACK_LEAST, "%s: %u bytes of RAM are left", name, totals.stack);
    unsigned expected = host_tests(name);
    ck_assert_uint_gt(expected, 0);
    ck_assert_msg(totals.tests == expected, "%s: %u tests, but %u on the host", name, totals.tests,
                  expected);
    printf("%s: %u tests, %lu asserts, %" PRIu64 " cycles, %u bytes of RAM never used\n", name,
           totals.tests, totals.asserts, report.cycles, totals.stack);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("unit tests on the microcontroller");
    TCase *all = tcase_create("images");
    tcase_set_timeout(all, 120);
    tcase_add_loop_test(all, what_holds_on_the_host_holds_on_the_microcontroller, 0,
                        (int)(sizeof NAMES / sizeof *NAMES));
    suite_add_tcase(suite, all);
    return run_suite(suite);
}

/* simavr 1.6 keeps what it has allocated for the pins of its parts. Whoever looks for leaks asks
 * here what is not ours. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
    return "leak:libsimavr";
}
