/* SPDX-License-Identifier: MIT */
/*
 * What a status shows, for every combination of its words: properties, whatever the text is.
 */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/show.h"
#include "tests/suite.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* Each ck_assert writes down where it is: with so many combinations that is all they would do. */
#define HOLDS(condition, text)                                                                     \
    do {                                                                                           \
        if (!(condition)) {                                                                        \
            ck_abort_msg("%s does not hold:\n%s", #condition, text);                               \
        }                                                                                          \
    } while (0)

static const char *const activities[] = {"still",  "moving",    "braking", "unpowered",
                                         "barred", "unplugged", "dancing"};
static const char *const trusts[] = {"sure", "unchecked", "lost", "perhaps"};
static const char *const plays[] = {"taken-up", "open", "unknown", ""};
static const int64_t heights[] = {-36115625, 0, 9525000};
static const enum length_style styles[] = {LENGTH_STYLE_32, LENGTH_STYLE_64, LENGTH_STYLE_128,
                                           LENGTH_STYLE_IN, LENGTH_STYLE_MM};

/* What a working day adds, one at a time: nothing, a change of the bit, what rides, what is asked,
 * and all that may be shut or turn. */
enum { DAY_NOTHING, DAY_CHANGE, DAY_RIDES, DAY_ASKS, DAY_SHUT, DAYS };

static void add_day(struct show_lift *lift, size_t day)
{
    lift->bit = day == DAY_NOTHING ? "" : "straight-half";
    lift->readout_checks = true;
    lift->readout = day == DAY_SHUT ? "garbled" : day == DAY_ASKS ? "reads" : "";
    lift->stage = day == DAY_CHANGE ? "changing" : "";
    lift->riding_known = day == DAY_RIDES || day == DAY_ASKS;
    lift->riding_nm = 9204325; /* as long a text as any */
    lift->asks_bit = day == DAY_ASKS;
    lift->asks_riding = day == DAY_ASKS;
    lift->router_turning = lift->carriage_locked = lift->plate_closed = day == DAY_SHUT;
}

/* A mixed number of them all; *of is how many there are. */
static struct show_lift combine(size_t number, size_t days, size_t *of)
{
    const size_t counts[] = {COUNT(activities), COUNT(trusts),        COUNT(plays),
                             COUNT(heights),    2 /* height there */, 2 /* old */,
                             2 /* practice */,  2 /* open */,         2 /* a reason */,
                             2 /* reference */, 2 /* a preset */,     days};
    size_t digit[COUNT(counts)];
    *of = 1;
    for (size_t i = 0; i < COUNT(counts); i++) {
        digit[i] = number / *of % counts[i];
        *of *= counts[i];
    }
    struct show_lift lift = {
        .activity = activities[digit[0]],
        .trust = trusts[digit[1]],
        .play = plays[digit[2]],
        .why = digit[8] ? "a reason that is long enough to be broken over more than just one line"
                        : "",
        .reference = digit[9] ? "lost" : "sure",
        .preset = digit[10] ? "drawer-groove" : "",
        .height_nm = heights[digit[3]],
        .height_known = digit[4] && strcmp(trusts[digit[1]], "lost") != 0,
        .age_ms = digit[5] ? SHOW_OLD_MS + 1 : SHOW_OLD_MS,
        .practice = digit[6],
        .stop_open = digit[7],
        .going_known = digit[4],
        .going_nm = 1234567,
        .left_known = !digit[4],
        .left_nm = -1234567,
    };
    add_day(&lift, digit[11]);
    return lift;
}

static bool is_word_of_now(const struct show_lift *lift)
{
    return lift->age_ms <= SHOW_OLD_MS &&
           (strcmp(lift->activity, "still") == 0 || strcmp(lift->activity, "moving") == 0 ||
            strcmp(lift->activity, "braking") == 0 || strcmp(lift->activity, "unpowered") == 0);
}

static void check_columns(const char *text)
{
    while (*text != '\0') {
        size_t size = strcspn(text, "\n");
        HOLDS(size <= SAY_COLUMNS, text);
        HOLDS(text[size] == '\n', text);
        text += size + 1;
    }
}

static void check_head(const struct show_lift *lift, enum length_style style, const char *text)
{
    char height[LENGTH_TEXT_SIZE + 2];
    char head[SAY_SIZE];
    (void)snprintf(head, sizeof head, "%.*s", (int)strcspn(text, "\n"), text);
    bool old = strstr(head, "last known height ") != NULL;
    bool unknown = strstr(head, "height not known") || strstr(head, "HEIGHT NOT KNOWN");
    bool side = strstr(head, lift->riding_known ? " what rides" : " the table") != NULL;
    bool over = strstr(text, "\n  RIDING ON ") && strstr(text, ": ALL HEIGHTS ARE OVER IT\n");
    say_length(lift->height_nm, style, height, sizeof height);
    HOLDS(unknown == !lift->height_known, text);
    HOLDS(old == (lift->height_known && !is_word_of_now(lift)), text);
    HOLDS(side == (lift->height_known && is_word_of_now(lift) && strcmp(lift->trust, "sure") == 0),
          text);
    if (lift->height_known && !old) {
        HOLDS(strncmp(head, "  ", 2) == 0, head);
        HOLDS(strncmp(head + 2, height, strlen(height)) == 0, head);
    }
    HOLDS(!strstr(head, lift->riding_known ? " the table" : " what rides"), text);
    HOLDS(over == lift->riding_known, text);
    HOLDS((strstr(head, "PRACTICE") != NULL) == lift->practice, text);
}

static bool is_of_now_and_sure(const struct show_lift *lift)
{
    return lift->height_known && is_word_of_now(lift) && strcmp(lift->activity, "still") == 0 &&
           strcmp(lift->trust, "sure") == 0;
}

/* What keeps the lift from moving is said at its rest, too, and on a line of a list. */
static void check_day(const struct show_lift *lift, const char *rest, const char *change)
{
    bool asks = lift->asks_riding || (lift->asks_bit && lift->height_known);
    HOLDS(!strchr(change, '\n'), change);
    HOLDS((strstr(rest, "IT IS BEING CHANGED") != NULL) == (lift->stage[0] != '\0'), rest);
    HOLDS((strstr(change, "BIT changing") != NULL) == (lift->stage[0] != '\0'), change);
    HOLDS((strstr(rest, "IT TURNS") != NULL) == lift->router_turning, rest);
    HOLDS((strstr(change, "ROUTER TURNS") != NULL) == lift->router_turning, change);
    HOLDS((strstr(rest, "CARRIAGE IS LOCKED") != NULL) == lift->carriage_locked, rest);
    HOLDS((strstr(change, "CARRIAGE LOCKED") != NULL) == lift->carriage_locked, change);
    HOLDS((strstr(rest, "IT IS garbled") != NULL) == (strcmp(lift->readout, "garbled") == 0), rest);
    HOLDS((strstr(rest, "TOUCH PLATE IS CLOSED") != NULL) == lift->plate_closed, rest);
    HOLDS((strstr(change, "PLATE CLOSED") != NULL) == lift->plate_closed, change);
    HOLDS((strstr(rest, "Asks:") != NULL) == asks, rest);
    HOLDS((strstr(change, "ASKS") != NULL) == asks, change);
    HOLDS((strstr(change, "RIDING ON ") != NULL) == lift->riding_known, change);
}

/* Where the lift says that it stands at a preset, and where it asks for its travel. */
static void check_extras(const struct show_lift *lift, const char *text)
{
    bool at = strstr(text, "\nAt:      drawer-groove\n") != NULL;
    bool slow = strstr(text, "knows its own travel") != NULL;
    bool wanted = show_is_plain(lift) && strcmp(lift->reference, "lost") == 0;
    HOLDS(at == (lift->preset[0] != '\0' && is_of_now_and_sure(lift)), text);
    HOLDS(slow == wanted, text);
}

START_TEST(no_old_height_is_ever_shown_as_the_present_one)
{
    enum length_style style = styles[_i];
    size_t days = style == LENGTH_STYLE_64 ? DAYS : 1; /* five times as many, once */
    size_t of = 1;
    size_t plain = 0;
    for (size_t number = 0; number < of; number++) {
        struct show_lift lift = combine(number, days, &of);
        struct say all = {0};
        struct say rest = {0};
        struct say change = {0};
        show_status(&all, &lift, style);
        show_rest(&rest, &lift, style);
        show_change(&change, &lift, style);
        check_columns(all.text);
        check_columns(rest.text);
        check_head(&lift, style, all.text);
        check_head(&lift, style, rest.text);
        check_day(&lift, rest.text, change.text);
        check_extras(&lift, all.text);
        HOLDS(show_stands(&lift) == (lift.height_known && is_word_of_now(&lift) &&
                                     strcmp(lift.activity, "still") == 0),
              all.text);
        if (show_is_plain(&lift)) {
            plain++;
            HOLDS(strcmp(lift.trust, "sure") == 0, rest.text);
            HOLDS(strcmp(lift.play, "taken-up") == 0, rest.text);
            HOLDS(strcmp(lift.activity, "still") == 0, rest.text);
            HOLDS(lift.why[0] == '\0', rest.text);
            HOLDS(lift.height_known && lift.age_ms <= SHOW_OLD_MS, rest.text);
            HOLDS(!strstr(rest.text, "Trust:"), rest.text);
        } else {
            HOLDS(strstr(rest.text, "Trust:") || strstr(rest.text, "Next:"), rest.text);
        }
    }
    ck_assert_uint_eq(of, (size_t)7 * 4 * 4 * 3 * 2 * 2 * 2 * 2 * 2 * 2 * 2 * days);
    /* heights, practice, stop_open, reference, preset; nothing of the day, or only what rides */
    ck_assert_uint_eq(plain, (size_t)3 * 2 * 2 * 2 * 2 * (days > 1 ? 2 : 1));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("client_show_all");
    TCase *properties = tcase_create("properties");
    tcase_add_loop_test(properties, no_old_height_is_ever_shown_as_the_present_one, 0,
                        COUNT(styles));
    tcase_set_timeout(properties, 60);
    suite_add_tcase(suite, properties);
    return run_suite(suite);
}
