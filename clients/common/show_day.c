/* SPDX-License-Identifier: MIT */
#include "clients/common/show_day.h"

#include <string.h>

static bool is_true(const cJSON *status, const char *name)
{
    return cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(status, name));
}

static const char *word_of(const cJSON *status, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(status, name);
    return cJSON_IsString(item) ? item->valuestring : "";
}

static bool number_of(const cJSON *status, const char *name, int64_t *value)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(status, name);
    *value = cJSON_IsNumber(item) ? (int64_t)item->valuedouble : 0;
    return cJSON_IsNumber(item);
}

/* Is `word` in the array of that name? */
static bool lists(const cJSON *status, const char *name, const char *word)
{
    const cJSON *item;
    cJSON_ArrayForEach(item, cJSON_GetObjectItemCaseSensitive(status, name))
    {
        if (cJSON_IsString(item) && strcmp(item->valuestring, word) == 0) {
            return true;
        }
    }
    return false;
}

void show_day_read(const cJSON *status, struct show_lift *lift)
{
    lift->bit = word_of(status, "bit");
    lift->stage = word_of(status, "stage");
    lift->riding_known = number_of(status, "riding_nm", &lift->riding_nm);
    lift->zero_moved_known = number_of(status, "zero_moved_nm", &lift->zero_moved_nm);
    lift->corrected_known = number_of(status, "corrected_nm", &lift->corrected_nm);
    lift->asks_bit = lists(status, "asks", "bit");
    lift->asks_riding = lists(status, "asks", "riding");
    lift->router_turning = is_true(status, "router_turning");
    lift->carriage_locked =
        lists(status, "inputs", "carriage-lock") && !lists(status, "outputs", "carriage-lock");
    lift->dust_on = lists(status, "outputs", "dust");
    lift->plate_closed = lists(status, "inputs", "touch-plate");
    lift->readout_checks = is_true(cJSON_GetObjectItemCaseSensitive(status, "readout"), "checks");
    lift->readout = word_of(cJSON_GetObjectItemCaseSensitive(status, "readout"), "state");
}

/* A height that is lost cannot be compared: the touch-off answers that question. */
static bool asks_bit(const struct show_lift *lift)
{
    return lift->asks_bit && lift->height_known;
}

/* Silent, frozen, garbled, or a word of a later daemon. */
static bool readout_fails(const struct show_lift *lift)
{
    return lift->readout[0] != '\0' && strcmp(lift->readout, "reads") != 0 &&
           strcmp(lift->readout, "waits") != 0;
}

bool show_day_is_plain(const struct show_lift *lift)
{
    return !readout_fails(lift) && lift->stage[0] == '\0' && !asks_bit(lift) &&
           !lift->asks_riding && !lift->router_turning && !lift->carriage_locked &&
           !lift->plate_closed;
}

static void add_stage(struct say *say, const char *stage)
{
    if (strcmp(stage, "changing") == 0) {
        say_wrap(say, "Bit:", SAY_INDENT, "%s",
                 "IT IS BEING CHANGED: hands at the collet, nothing "
                 "moves");
    } else if (strcmp(stage, "fitted") == 0) {
        say_wrap(say, "Bit:", SAY_INDENT, "%s",
                 "JUST FITTED: nobody knows how high it stands, and "
                 "only a held key moves it");
    } else if (stage[0] != '\0') {
        say_wrap(say, "Bit:", SAY_INDENT, "'%.40s', a word that this reglet does not know yet",
                 stage);
    }
}

static void add_asks(struct say *say, const struct show_lift *lift, enum length_style style)
{
    const char *name = lift->practice ? "reglet -p" : "reglet";
    char text[LENGTH_TEXT_SIZE + 2];
    if (asks_bit(lift)) {
        say_wrap(say, "Asks:", SAY_INDENT,
                 "is it the same bit still, untouched? Unplug the router and compare it: '%s "
                 "confirm' if it is, else touch off",
                 name);
    }
    if (lift->asks_riding) {
        say_length(lift->riding_nm, style, text, sizeof text);
        say_wrap(say, "Asks:", SAY_INDENT,
                 "does %s still lie on the table? '%s riding %s' if it does, '%s riding 0' if not",
                 text, name, text, name);
    }
}

void show_day_notes(struct say *say, const struct show_lift *lift, enum length_style style)
{
    add_stage(say, lift->stage);
    if (lift->router_turning) {
        say_wrap(say, "Router:", SAY_INDENT, "%s",
                 "IT TURNS, or may still: switch it off, and let it run down");
    }
    if (lift->carriage_locked) {
        say_wrap(say, "Clamp:", SAY_INDENT, "%s",
                 "THE CARRIAGE IS LOCKED: loosen its clamp before the lift is to move");
    }
    if (lift->plate_closed) {
        say_wrap(say, "Plate:", SAY_INDENT, "%s",
                 "THE TOUCH PLATE IS CLOSED: something touches it, or its wires touch");
    }
    if (lift->readout[0] != '\0' && !readout_fails(lift) && !lift->readout_checks) {
        say_wrap(
            say, "Readout:", SAY_INDENT,
            "moves are not checked by it yet: the screw was not measured. '%s gauge' does that",
            lift->practice ? "reglet -p" : "reglet");
    }
    if (readout_fails(lift)) {
        say_wrap(say, "Readout:", SAY_INDENT,
                 "IT IS %.40s, and moves are not checked by it: look at the scale, its battery and "
                 "its cable",
                 lift->readout);
    }
    add_asks(say, lift, style);
}

void show_day_next(struct say *say, const struct show_lift *lift, const char *name)
{
    if (strcmp(lift->stage, "changing") == 0) {
        say_wrap(say, "Next:", SAY_INDENT,
                 "with a bit in, the nut tight and the wrenches off: '%s fit', or '%s fit BIT' "
                 "where it is on the list",
                 name, name);
    } else {
        say_wrap(say, "Next:", SAY_INDENT,
                 "router unplugged, looking at the bit: '%s hold down'; then touch off", name);
    }
}

void show_day_riding(struct say *say, const struct show_lift *lift, enum length_style style)
{
    char text[SAY_LENGTH_SIZE];
    if (lift->riding_known) {
        say_both(lift->riding_nm, style, text, sizeof text);
        say_add(say, "  RIDING ON %s: ALL HEIGHTS ARE OVER IT\n", text);
    }
}

void show_day_tail(struct say *say, const struct show_lift *lift, enum length_style style)
{
    char text[LENGTH_TEXT_SIZE + 2];
    if (lift->riding_known) {
        say_length(lift->riding_nm, style, text, sizeof text);
        say_add(say, "   RIDING ON %s", text);
    }
    if (strcmp(lift->activity, "unpowered") == 0) {
        say_add(say, "   UNPOWERED");
    }
    if (lift->stage[0] != '\0') {
        say_add(say, "   BIT ");
        say_harmless(say, lift->stage);
    }
    say_add(say, "%s%s%s%s", lift->router_turning ? "   ROUTER TURNS" : "",
            lift->carriage_locked ? "   CARRIAGE LOCKED" : "",
            lift->plate_closed ? "   PLATE CLOSED" : "",
            asks_bit(lift) || lift->asks_riding ? "   ASKS" : "");
}
