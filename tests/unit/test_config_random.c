/* SPDX-License-Identifier: MIT */
/*
 * Configurations drawn at random: what is possible is read as it is, what is told would do does,
 * and a damaged one is refused in a sentence or harmless. 1 in = 25.4 mm: NIST SP 811 appendix B.
 */
#include <check.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/config/config.h"
#include "daemon/config/table.h"
#include "daemon/motion/encode.h"
#include "protocol/json.h"
#include "protocol/length.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/config_text.h"

enum { NM_PER_64TH = 396875, ROUNDS = 3000, MUTATIONS = 12000 };

static const char fast[] = "\"move\": \"%s/s\", \"search\": \"1mm/s\", \"brake\": \"300mm/s2\"";

static int64_t some_length(int64_t least, int64_t most)
{
    int64_t nm = between(least, most < LENGTH_NM_MAX ? most : LENGTH_NM_MAX);
    int64_t even = nm / NM_PER_64TH * NM_PER_64TH;
    return between(0, 4) == 0 && even >= least ? even : nm;
}

/* A value for each key, of a path its length; lengths in nanometres. */
static void draw(int64_t number[TABLE_KEYS], bool given[TABLE_KEYS], struct screw *screw)
{
    for (size_t i = 0; i < TABLE_KEYS; i++) {
        const struct table_entry *entry = &table_entries[i];
        given[i] = entry->omission == TABLE_REQUIRED || between(0, 1) == 0;
        number[i] = entry->kind == TABLE_IS_LENGTH   ? some_length(entry->least, entry->most)
                    : entry->kind == TABLE_IS_WORD   ? between(1, 3)
                    : entry->kind == TABLE_IS_CHOICE ? entry->choices[between(0, 1)]
                    : entry->kind == TABLE_IS_PATH   ? between(2, entry->most)
                                                     : between(entry->least, entry->most);
    }
    /* One output switches one thing; holds has only two words. */
    number[TABLE_LOCK] = number[TABLE_LOCK] == number[TABLE_DUST] ? 1 : number[TABLE_LOCK];
    number[TABLE_LOCK_HOLDS] = between(1, 2);
    given[TABLE_LEAD] = !given[TABLE_THREADS];
    *screw = (struct screw){number[TABLE_FULL_STEPS] * number[TABLE_MICROSTEPS],
                            given[TABLE_LEAD] ? number[TABLE_LEAD] : NM_PER_IN,
                            given[TABLE_LEAD] ? 1 : number[TABLE_THREADS]};
    int64_t scale = screw->steps_per_turn * screw->lead_den;
    int64_t least_nm = screw_step_nm(screw);
    number[TABLE_MOVE] = some_length(least_nm, 60000 * screw->lead_num_nm / scale);
    number[TABLE_SEARCH] = some_length(least_nm, number[TABLE_MOVE]);
    number[TABLE_HOLD_FAST] = some_length(least_nm, number[TABLE_MOVE]);
    number[TABLE_HOLD_SLOW] = some_length(least_nm, number[TABLE_HOLD_FAST]);
    /* v^2 = 2as within 65 535 steps. */
    double move_hz = (double)number[TABLE_MOVE] * (double)scale / (double)screw->lead_num_nm;
    double way_nm = move_hz * move_hz / 131070 * (double)screw->lead_num_nm / (double)scale;
    int64_t brake_nm = (int64_t)way_nm + 2;
    number[TABLE_BRAKE] = some_length(brake_nm > 2 * least_nm ? brake_nm : 2 * least_nm,
                                      4000000 * screw->lead_num_nm / scale);
    /* Two full steps are more than the tolerance, which is no less than the resolution. */
    int64_t full_den = screw->lead_den * number[TABLE_FULL_STEPS];
    int64_t below_nm = (2 * screw->lead_num_nm - 1) / full_den;
    int64_t unit_nm = given[TABLE_RESOLUTION] ? 100 : 10000;
    if (below_nm < unit_nm) {
        number[TABLE_TWO_WIRE] = 1;
    } else {
        number[TABLE_RESOLUTION] = some_length(100, below_nm < 254000 ? below_nm : 254000);
        unit_nm = given[TABLE_RESOLUTION] ? number[TABLE_RESOLUTION] : 10000;
        number[TABLE_TOLERANCE] = some_length(unit_nm, below_nm < 793750 ? below_nm : 793750);
    }
    number[TABLE_TOP_MARGIN] = some_length(0, number[TABLE_LENGTH] / 20);
    number[TABLE_CHANGE] = some_length(number[TABLE_TOP_MARGIN], number[TABLE_LENGTH]);
}

static const char *path_of(int64_t size)
{
    static char path[CONFIG_PATH_SIZE];
    (void)snprintf(path, sizeof path, "/%0*d", (int)size - 1, 7);
    return path;
}

/* A fraction of an inch where that is exact, else millimetres to the nanometre. */
static void write_value(const struct table_entry *entry, int64_t number, char *out, size_t size)
{
    char length[LENGTH_TEXT_SIZE];
    (void)length_print_exact(number, length, sizeof length);
    if (number % NM_PER_64TH == 0) {
        (void)snprintf(length, sizeof length, "%" PRId64 "/64in", number / NM_PER_64TH);
    }
    if (entry->kind == TABLE_IS_WHOLE || entry->kind == TABLE_IS_CHOICE) {
        (void)snprintf(out, size, "%" PRId64, number);
    } else if (entry->kind == TABLE_IS_PATH || entry->kind == TABLE_IS_WORD) {
        (void)snprintf(out, size, "\"%s\"",
                       entry->kind == TABLE_IS_PATH ? path_of(number) : entry->words[number - 1]);
    } else {
        (void)snprintf(out, size, "\"%s%s\"", length,
                       entry->kind == TABLE_IS_SPEED          ? "/s"
                       : entry->kind == TABLE_IS_ACCELERATION ? "/s2"
                                                              : "");
    }
}

/* Groups and keys in an order that begins anywhere, with something between them. */
static void write_text(const int64_t number[TABLE_KEYS], const bool given[TABLE_KEYS], FILE *out)
{
    static const char *const gaps[] = {"", " ", "\n", "// \"{\n", "\t\r\n"};
    _Static_assert(TABLE_KEYS % 5 != 0, "steps of five reach every key");
    char value[CONFIG_PATH_SIZE + 4];
    int64_t first = between(0, TABLE_GROUPS - 1);
    for (size_t g = 0; g < TABLE_GROUPS; g++) {
        size_t group = (g + (size_t)first) % TABLE_GROUPS;
        const char *comma = "";
        (void)fprintf(out, "%s%s\"%s\":{", g == 0 ? "{" : ",", gaps[between(0, 4)],
                      table_headings[group].name);
        for (size_t k = 0; k < TABLE_KEYS; k++) {
            size_t key = (k * 5 + (size_t)first) % TABLE_KEYS;
            if (table_entries[key].group == group && given[key]) {
                write_value(&table_entries[key], number[key], value, sizeof value);
                (void)fprintf(out, "%s\"%s\"%s:%s%s", comma, table_entries[key].name,
                              gaps[between(0, 4)], value, gaps[between(0, 4)]);
                comma = ",";
            }
        }
        (void)fprintf(out, "}");
    }
    (void)fprintf(out, "}");
}

static bool near(double rate, int64_t nm, const struct screw *screw)
{
    long double exact = (long double)nm * (long double)screw->steps_per_turn *
                        (long double)screw->lead_den / (long double)screw->lead_num_nm;
    return fabsl((long double)rate - exact) <= exact * 1e-15L;
}

static bool as_drawn(const struct config *c, const int64_t n[TABLE_KEYS],
                     const bool given[TABLE_KEYS], const struct screw *screw)
{
    bool lash = given[TABLE_MEASURED];
    return memcmp(&c->screw, screw, sizeof *screw) == 0 && c->travel_nm == n[TABLE_LENGTH] &&
           c->top_margin_nm == n[TABLE_TOP_MARGIN] && near(c->move_hz, n[TABLE_MOVE], screw) &&
           near(c->search_hz, n[TABLE_SEARCH], screw) &&
           near(c->brake_hz_s, n[TABLE_BRAKE], screw) &&
           (!given[TABLE_HOLD_SLOW] || near(c->hold_slow_hz, n[TABLE_HOLD_SLOW], screw)) &&
           (!given[TABLE_HOLD_FAST] || near(c->hold_fast_hz, n[TABLE_HOLD_FAST], screw)) &&
           c->hold_slow_hz <= c->move_hz && c->hold_fast_hz <= c->move_hz &&
           c->lash_known == lash && c->lash_nm == (lash ? n[TABLE_MEASURED] : NM_PER_IN / 32) &&
           c->finish == (given[TABLE_FINISH] ? n[TABLE_FINISH] : 1) &&
           c->top_switch == (given[TABLE_TOP_SWITCH] ? n[TABLE_TOP_SWITCH] : 1) &&
           c->bottom_switch == (given[TABLE_BOTTOM_SWITCH] ? n[TABLE_BOTTOM_SWITCH] : 1) &&
           c->stop_circuit == (given[TABLE_STOP_CIRCUIT] ? n[TABLE_STOP_CIRCUIT] : 1) &&
           c->touch_plate == (given[TABLE_TOUCH_PLATE] ? n[TABLE_TOUCH_PLATE] : 1) &&
           c->router == (given[TABLE_ROUTER] ? n[TABLE_ROUTER] : 1) &&
           c->carriage_lock == (given[TABLE_CARRIAGE_LOCK] ? n[TABLE_CARRIAGE_LOCK] : 1) &&
           c->while_running == (given[TABLE_WHILE_RUNNING] ? n[TABLE_WHILE_RUNNING] : 1) &&
           c->run_down_s == (given[TABLE_RUN_DOWN] ? n[TABLE_RUN_DOWN] : 10) &&
           c->plate_height_nm == (given[TABLE_PLATE_HEIGHT] ? n[TABLE_PLATE_HEIGHT] : 0) &&
           c->plate_spread_nm == (given[TABLE_PLATE_SPREAD] ? n[TABLE_PLATE_SPREAD] : 50800) &&
           c->dust == (given[TABLE_DUST] ? n[TABLE_DUST] : 1) &&
           c->dust_run_on_s == (given[TABLE_DUST_RUN_ON] ? n[TABLE_DUST_RUN_ON] : 10) &&
           c->lock == (given[TABLE_LOCK] ? n[TABLE_LOCK] : 1) &&
           c->lock_holds == (given[TABLE_LOCK_HOLDS] ? n[TABLE_LOCK_HOLDS] : 1) &&
           c->lock_wait_ms == (given[TABLE_LOCK_WAIT] ? n[TABLE_LOCK_WAIT] : 500) &&
           c->readout == (given[TABLE_TWO_WIRE] ? n[TABLE_TWO_WIRE] : 1) &&
           c->readout_unit_nm == (given[TABLE_RESOLUTION] ? n[TABLE_RESOLUTION] : 0) &&
           (given[TABLE_TOLERANCE] ? c->readout_tolerance_nm == n[TABLE_TOLERANCE]
                                   : c->readout_tolerance_nm >= c->readout_unit_nm) &&
           c->change_nm == n[given[TABLE_CHANGE] ? TABLE_CHANGE : TABLE_TOP_MARGIN] &&
           c->motor_supply == (given[TABLE_MOTOR_SUPPLY] ? n[TABLE_MOTOR_SUPPLY] : 1) &&
           c->debounce_ms == (given[TABLE_DEBOUNCE] ? n[TABLE_DEBOUNCE] : 5) &&
           c->baud == (given[TABLE_BAUD] ? n[TABLE_BAUD] : 115200) &&
           c->silence_ms == (given[TABLE_SILENCE] ? n[TABLE_SILENCE] : 100) &&
           strcmp(c->port, path_of(n[TABLE_PORT])) == 0 &&
           strcmp(c->state, given[TABLE_STATE] ? path_of(n[TABLE_STATE]) : "/var/lib/reglet") ==
               0 &&
           (!given[TABLE_SOCKET] || strcmp(c->socket, path_of(n[TABLE_SOCKET])) == 0);
}

START_TEST(whatever_is_possible_is_read_as_it_is)
{
    for (int round = 0; round < ROUNDS; round++) {
        int64_t number[TABLE_KEYS];
        bool given[TABLE_KEYS];
        struct screw screw;
        char *text = NULL;
        size_t size = 0;
        draw(number, given, &screw);
        FILE *out = open_memstream(&text, &size);
        ck_assert_ptr_nonnull(out);
        write_text(number, given, out);
        ck_assert_int_eq(fclose(out), 0);
        struct config config = read_good(text);
        if (!as_drawn(&config, number, given, &screw)) {
            ck_abort_msg("not as it was drawn: %s", text);
        }
        free(text);
    }
}
END_TEST

/* Any screw, a speed far beyond it: what the sentence says would do does, and a grain more not. */
static void expect_limit(int threads, const char *asked, bool in_mm)
{
    char screw[40], speeds[120], most[LENGTH_TEXT_SIZE] = "", over[LENGTH_TEXT_SIZE];
    struct config config;
    struct config_fault fault;
    int64_t nm = 0;
    (void)snprintf(screw, sizeof screw, "\"threads_per_inch\": %d", threads);
    (void)snprintf(speeds, sizeof speeds, fast, asked);
    ck_assert(!try_short(screw, speeds, "", &config, &fault));
    const char *to = strstr(fault.text, " to ");
    const char *end = to ? strstr(to, "/s would do") : NULL;
    ck_assert_msg(end != NULL, "%s", fault.text);
    (void)snprintf(most, sizeof most, "%.*s", (int)(end - to - 4), to + 4);
    ck_assert_msg(length_parse(most, LENGTH_BARE_REFUSED, &nm, NULL), "%s", fault.text);
    (void)snprintf(speeds, sizeof speeds, fast, most);
    if (!try_short(screw, speeds, "", &config, &fault)) {
        ck_abort_msg("told to write %s: %s", most, fault.text);
    }
    nm += in_mm ? 1000 : 2540;
    (void)length_print(nm, in_mm ? LENGTH_STYLE_MM : LENGTH_STYLE_IN, over, sizeof over);
    (void)snprintf(speeds, sizeof speeds, fast, over);
    ck_assert_msg(!try_short(screw, speeds, "", &config, &fault), "%s was read", speeds);
}

START_TEST(a_limit_that_is_told_would_do)
{
    for (int threads = 1; threads <= 80; threads++) {
        expect_limit(threads, "9000mm", true);
        expect_limit(threads, "350in", false);
    }
}
END_TEST

/* Moves as slow as they are allowed to be still have intervals that the generator can make; the
 * acceleration is the one that plans use. With 1.1 steps/s2 they would not. */
static enum encode_result encode_slowest(double brake_hz_s, double steps)
{
    const struct encode_limits limits = {16e6, 4, 215, 330};
    struct profile_request request = {.steps = steps, .rate_hz = 1};
    struct profile profile;
    struct encoder encoder;
    struct stride stride;
    enum encode_result result = ENCODE_STRIDE;
    request.rise_hz_s = request.fall_hz_s = 0.8 * brake_hz_s;
    ck_assert(profile_plan(&profile, &request));
    encoder_init(&encoder, &profile, &limits, false);
    while (result == ENCODE_STRIDE) {
        result = encoder_next(&encoder, &stride);
    }
    return result;
}

START_TEST(the_slowest_can_be_made)
{
    ck_assert_int_eq(table_entries[TABLE_MOVE].least, 1);
    for (int steps = 1; steps < 20; steps++) {
        double least = (double)table_entries[TABLE_BRAKE].least;
        ck_assert_int_eq(encode_slowest(least, steps), ENCODE_DONE);
    }
    ck_assert_int_eq(encode_slowest(1.1, 1), ENCODE_TOO_SLOW);
}
END_TEST

/* --- Damage --- */

/* Without notes and blanks more of the damage hits something. */
static size_t strip(char *text, size_t size)
{
    size_t left = 0;
    json_blank_comments(text, size);
    for (size_t i = 0; i < size; i++) {
        if (text[i] != ' ' && (text[i] != '\n' || between(0, 2) == 0)) {
            text[left++] = text[i];
        }
    }
    return left;
}

static size_t damage(char *text, size_t size)
{
    static const char *const pieces[] = {
        "\"",  "{",        "}",    "[",    ",",       ":",     "//",   "\\",   "\n",
        "0",   "9",        "-",    ".",    "/",       "in",    "mm",   "\xff", "\xef\xbb\xbf",
        "1e9", "\"a\":1,", "true", "null", "\\u0000", "/64in", "00000"};
    for (int64_t change = between(1, 3); change > 0; change--) {
        const char *piece = pieces[between(0, sizeof pieces / sizeof pieces[0] - 1)];
        size_t at = (size_t)between(0, (int64_t)size);
        size_t gone = (size_t)between(0, between(0, 3) == 0 ? (int64_t)(size - at) : 2);
        size_t more = between(0, 2) > 0 ? strlen(piece) : 0;
        gone = gone < size - at ? gone : size - at;
        memmove(text + at + more, text + at + gone, size - at - gone);
        for (size_t i = 0; i < more; i++) {
            text[at + i] = piece[i];
        }
        size = size - gone + more;
        if (size > 0 && between(0, 3) == 0) {
            text[between(0, (int64_t)size - 1)] = (char)between(0, 255);
        }
    }
    return size;
}

static bool possible(const struct config *config)
{
    return screw_valid(&config->screw) && config->move_hz >= 1 && config->move_hz <= 60000 &&
           config->search_hz >= 1 && config->search_hz <= config->move_hz &&
           config->hold_slow_hz > 0 && config->hold_slow_hz <= config->move_hz &&
           config->hold_fast_hz > 0 && config->hold_fast_hz <= config->move_hz &&
           config->brake_hz_s >= 2 && config->brake_hz_s <= 4e6 && config->port[0] == '/' &&
           config->take_up_nm >= config->lash_nm && config->lash_nm >= 0;
}

static bool told(const struct config_fault *fault, const char *text, size_t size)
{
    unsigned lines = 1;
    for (size_t i = 0; i < size; i++) {
        lines += text[i] == '\n';
    }
    for (const char *letter = fault->text; *letter != '\0'; letter++) {
        if ((unsigned char)*letter < 0x20 || (unsigned char)*letter > 0x7e) {
            return false;
        }
    }
    return fault->line <= lines && strncmp(fault->text, "lift.json:", 10) == 0 &&
           strstr(fault->text, ": found ") != NULL && strlen(fault->text) < CONFIG_SENTENCE - 1;
}

START_TEST(damage_is_told_or_harmless)
{
    static char example[TEXT_SIZE], text[TEXT_SIZE + 64];
    size_t example_size = read_example(example);
    int read = 0;
    for (int round = 0; round < MUTATIONS; round++) {
        struct config config;
        struct config_fault fault;
        memcpy(text, example, example_size);
        size_t size = round % 4 == 0 ? example_size : strip(text, example_size);
        size = damage(text, size);
        bool good = read_text(text, size, &config, &fault);
        read += good;
        if (good ? !possible(&config) : !told(&fault, text, size)) {
            ck_abort_msg("%s\nof:\n%.*s", good ? "impossible" : fault.text, (int)size, text);
        }
    }
    printf("%d of %d damaged texts could be read\n", read, MUTATIONS);
    ck_assert(read > MUTATIONS / 50 && read < MUTATIONS / 2);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("config: at random");
    TCase *all = tcase_create("read");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, whatever_is_possible_is_read_as_it_is);
    tcase_add_test(all, a_limit_that_is_told_would_do);
    tcase_add_test(all, the_slowest_can_be_made);
    tcase_add_test(all, damage_is_told_or_harmless);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
