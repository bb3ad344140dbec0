/* SPDX-License-Identifier: MIT */
#include "clients/common/show.h"

#include <stdio.h>
#include <string.h>

#include "clients/common/show_day.h"
#include "clients/common/stories.h"

static const char *word_of(const cJSON *status, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(status, name);
    return cJSON_IsString(item) ? item->valuestring : "";
}

static bool is_true(const cJSON *status, const char *name)
{
    return cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(status, name));
}

/* Within +-(2^53 - 1), as json_scan has seen to. */
static bool number_of(const cJSON *status, const char *name, int64_t *value)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(status, name);
    if (!cJSON_IsNumber(item)) {
        return false;
    }
    *value = (int64_t)item->valuedouble;
    return true;
}

static bool does(const struct show_lift *lift, const char *activity)
{
    return strcmp(lift->activity, activity) == 0;
}

bool show_in_motion(const struct show_lift *lift)
{
    return does(lift, "moving") || does(lift, "braking");
}

static bool is_known(const struct show_lift *lift)
{
    static const char *const words[] = {"still", "moving", "braking", "unpowered"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (does(lift, words[i])) {
            return true;
        }
    }
    return false;
}

/* A last height counts only beside an activity with which no height is taken for the present. */
static bool read_height(const cJSON *status, struct show_lift *lift)
{
    bool there = number_of(status, "height_nm", &lift->height_nm) ||
                 (!is_known(lift) && number_of(status, "last_height_nm", &lift->height_nm));
    return there && strcmp(lift->trust, "lost") != 0;
}

bool show_read(const cJSON *status, struct show_lift *lift)
{
    *lift = (struct show_lift){
        .practice = is_true(status, "practice"),
        .activity = word_of(status, "activity"),
        .reference = word_of(status, "reference"),
        .trust = word_of(status, "table_zero"),
        .play = word_of(status, "play"),
        .preset = word_of(status, "preset"),
        .why = word_of(status, "why"),
        .unit = word_of(status, "unit"),
        .stop_open = is_true(status, "stop_open"),
        .story = cJSON_GetObjectItemCaseSensitive(status, "story"),
    };
    show_day_read(status, lift);
    lift->height_known = read_height(status, lift);
    lift->going_known = lift->height_known && number_of(status, "going_to_nm", &lift->going_nm);
    lift->position_known = number_of(status, "position_nm", &lift->position_nm);
    lift->left_known =
        lift->position_known && number_of(status, "going_to_position_nm", &lift->end_nm);
    lift->left_nm = lift->left_known ? lift->end_nm - lift->position_nm : 0;
    (void)number_of(status, "age_ms", &lift->age_ms); /* absent is 0 */
    return lift->activity[0] != '\0' && lift->trust[0] != '\0';
}

/* Words that outlive the message in which they came. */
static const char *kept_word(const char *word)
{
    static const char *const words[] = {"still",     "moving", "braking",
                                        "unpowered", "barred", "unplugged"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (strcmp(words[i], word) == 0) {
            return words[i];
        }
    }
    return "";
}

void show_move(const cJSON *position, struct show_lift *lift)
{
    lift->activity = kept_word(word_of(position, "activity"));
    lift->age_ms = 0;
    (void)number_of(position, "age_ms", &lift->age_ms);
    lift->height_known = read_height(position, lift);
    lift->position_known = number_of(position, "position_nm", &lift->position_nm);
    if (lift->left_known && lift->position_known) {
        lift->left_nm = lift->end_nm - lift->position_nm;
    }
}

/* Why the height is not the present one, or may not be; NULL when it is. */
static const char *not_present(const struct show_lift *lift)
{
    return does(lift, "unplugged")      ? "NO ANSWER"
           : does(lift, "barred")       ? "BARRED"
           : !is_known(lift)            ? "NOT UNDERSTOOD"
           : lift->age_ms > SHOW_OLD_MS ? "OLD"
                                        : NULL;
}

bool show_stands(const struct show_lift *lift)
{
    return lift->height_known && does(lift, "still") && !not_present(lift);
}

static bool is_sure(const struct show_lift *lift)
{
    return strcmp(lift->trust, "sure") == 0;
}

/* What is to be said of the lash; NULL: nothing. In motion nothing is: it is taken up at the end.
 */
static const char *lash(const struct show_lift *lift)
{
    if (show_in_motion(lift) || strcmp(lift->play, "taken-up") == 0) {
        return NULL;
    }
    return strcmp(lift->play, "open") == 0 ? "lash open" : "lash unknown";
}

/* While nothing bars the lift, the reason is of something else that is wrong. */
static bool has_note(const struct show_lift *lift)
{
    return lift->why[0] != '\0' && !does(lift, "barred") && !does(lift, "unplugged");
}

bool show_is_plain(const struct show_lift *lift)
{
    return show_stands(lift) && is_sure(lift) && !lash(lift) && !has_note(lift) &&
           show_day_is_plain(lift);
}

static const char *side(const struct show_lift *lift)
{
    bool table = !lift->riding_known;
    return say_is_zero(lift->height_nm) ? (table ? "flush with the table" : "flush with what rides")
           : lift->height_nm > 0        ? (table ? "above the table" : "above what rides")
           : table                      ? "below the table"
                                        : "below what rides";
}

static void add_height(struct say *say, const struct show_lift *lift, enum length_style style)
{
    char text[SAY_LENGTH_SIZE];
    char other[SAY_LENGTH_SIZE];
    say_length(lift->height_nm, style, text, sizeof text);
    say_other(lift->height_nm, style, other, sizeof other);
    say_add(say, "%s", text);
    if (!say_is_zero(lift->height_nm)) {
        say_add(say, "   (%s)", other);
    }
    say_add(say, "   %s", is_sure(lift) ? side(lift) : "UNCHECKED");
    if (show_in_motion(lift) || lash(lift)) {
        say_add(say, "; %s", show_in_motion(lift) ? lift->activity : lash(lift));
    }
}

static void add_head(struct say *say, const struct show_lift *lift, enum length_style style)
{
    char height[SAY_LENGTH_SIZE];
    const char *absent = not_present(lift);
    say_both(lift->height_nm, style, height, sizeof height);
    say_add(say, "  ");
    if (absent && lift->height_known) {
        say_add(say, "%s   last known height %s", absent, height);
    } else if (absent) {
        say_add(say, "%s   height not known", absent);
    } else if (lift->height_known) {
        add_height(say, lift, style);
    } else {
        say_add(say, "HEIGHT NOT KNOWN%s", show_in_motion(lift) ? "; moving" : "");
    }
    say_add(say, "%s", lift->practice ? "   PRACTICE" : "");
}

void show_head(struct say *say, const struct show_lift *lift, enum length_style style)
{
    add_head(say, lift, style);
    say_add(say, "\n");
    show_day_riding(say, lift, style);
}

void show_change(struct say *say, const struct show_lift *lift, enum length_style style)
{
    char text[SAY_LENGTH_SIZE];
    add_head(say, lift, style);
    if (show_in_motion(lift) && lift->going_known) {
        say_length(lift->going_nm, style, text, sizeof text);
        say_add(say, "   TO %s", text);
    }
    show_day_tail(say, lift, style);
}

static void add_trust(struct say *say, const struct show_lift *lift)
{
    const char *absent = not_present(lift);
    if (absent && lift->height_known) {
        say_wrap(say, "Trust:", SAY_INDENT,
                 "not the present height, but the last that was known; %s",
                 is_sure(lift) ? "it was sure then" : "the screw may have turned since");
    } else if (!lift->height_known) {
        say_wrap(say, "Trust:", SAY_INDENT, "%s",
                 "none: the lift does not know where this bit stands");
    } else if (!is_sure(lift)) {
        say_wrap(say, "Trust:", SAY_INDENT,
                 "%s: the screw may have turned since this height was sure", lift->trust);
    } else if (lash(lift)) {
        say_wrap(say, "Trust:", SAY_INDENT,
                 "sure but for the lash, which %s taken up: the bit may stand off this height by "
                 "that much until the next move has ended",
                 strcmp(lift->play, "open") == 0 ? "is not" : "may not be");
    } else {
        say_wrap(say, "Trust:", SAY_INDENT, "%s",
                 "sure: counted without a break since the last touch-off");
    }
}

static void add_moving(struct say *say, const struct show_lift *lift, enum length_style style)
{
    char text[SAY_LENGTH_SIZE];
    if (lift->going_known) {
        say_both(lift->going_nm, style, text, sizeof text);
        say_wrap(say, "Lift:", SAY_INDENT, "%s to %s", lift->activity, text);
    } else if (lift->left_known) {
        say_both(lift->left_nm < 0 ? -lift->left_nm : lift->left_nm, style, text, sizeof text);
        say_wrap(say, "Lift:", SAY_INDENT, "%s, %s still to go %s", lift->activity, text,
                 lift->left_nm < 0 ? "down" : "up");
    } else {
        say_wrap(say, "Lift:", SAY_INDENT, "%s", lift->activity);
    }
}

static void add_activity(struct say *say, const struct show_lift *lift, enum length_style style)
{
    if (does(lift, "moving")) {
        add_moving(say, lift, style);
    } else if (does(lift, "braking")) {
        say_wrap(say, "Lift:", SAY_INDENT, "%s", "braking; it is at rest in a moment");
    } else if (does(lift, "unplugged")) {
        say_wrap(say, "Lift:", SAY_INDENT, "nothing can move: %s",
                 lift->why[0] != '\0' ? lift->why : "there is no step generator");
    } else if (does(lift, "barred") && lift->stop_open) {
        say_wrap(say, "Lift:", SAY_INDENT, "%s", "nothing can move: the stop circuit is open");
    } else if (does(lift, "barred")) {
        say_wrap(say, "Lift:", SAY_INDENT, "nothing can move until all-clear%s%s",
                 lift->why[0] != '\0' ? ": " : "", lift->why);
    } else if (does(lift, "unpowered")) {
        say_wrap(say, "Lift:", SAY_INDENT, "%s", "still; its motor has no supply");
    } else if (does(lift, "still")) {
        say_wrap(say, "Lift:", SAY_INDENT, "%s", "still");
    } else {
        say_wrap(say, "Lift:", SAY_INDENT, "'%s', a word that this reglet does not know yet",
                 lift->activity);
    }
}

static void add_touch_off(struct say *say, const char *name, enum length_style style)
{
    bool mm = style == LENGTH_STYLE_MM;
    size_t indent = SAY_INDENT + 3;
    say_wrap(say, "Next:", SAY_INDENT, "%s", "touch off, so that the lift knows where the bit is:");
    say_wrap(say, "         1.", indent, "%s",
             "Unplug the router before your hands go near the bit: switched off is not enough. "
             "The makers' manuals come first.");
    say_wrap(say, "         2.", indent,
             "Bring the bit to a height that you can see or measure: from afar by '%s hold up' or "
             "'%s hold down', then by '%s up' or '%s down %s'. Come up to it, so that the "
             "lash is taken up.",
             name, name, name, name, mm ? "0.5mm" : "1/64in");
    say_wrap(say, "         3.", indent,
             "Say that height: '%s touch flush', or '%s touch %s' where it just meets a setup "
             "block of %s.",
             name, name, mm ? "6mm" : "1/4in", mm ? "6mm" : "1/4in");
}

static void add_compare(struct say *say, const char *name)
{
    say_wrap(say, "Next:", SAY_INDENT, "%s",
             "unplug the router, and compare the bit with a rule or a setup block.");
    say_wrap(say, "", SAY_INDENT, "It stands at this height: '%s confirm'", name);
    say_wrap(say, "", SAY_INDENT, "It does not: '%s find-top', or touch off again", name);
}

static void add_next(struct say *say, const struct show_lift *lift, enum length_style style)
{
    const char *name = lift->practice ? "reglet -p" : "reglet";
    if (does(lift, "unplugged")) {
        say_wrap(say, "Next:", SAY_INDENT, "%s",
                 "check its cable and its supply; it is found again by itself. Look where the bit "
                 "stands before you go on.");
    } else if (does(lift, "barred")) {
        say_wrap(say, "Next:", SAY_INDENT,
                 "see why%s. When that is put right and hands and work are clear of the bit: "
                 "'%s all-clear'",
                 lift->stop_open ? " it was opened, and close it" : "", name);
    } else if (does(lift, "unpowered")) {
        say_wrap(say, "Next:", SAY_INDENT, "switch the motor's supply on; %s",
                 lift->height_known ? "the screw may have turned meanwhile, so compare the bit "
                                      "then, with the router unplugged"
                                    : "then touch off, with the router unplugged");
    } else if (lift->age_ms > SHOW_OLD_MS) {
        say_wrap(say, "Next:", SAY_INDENT,
                 "the step generator was heard %lld ms ago; look where the bit stands, and ask "
                 "again in a second",
                 (long long)lift->age_ms);
    } else if (show_in_motion(lift)) {
        say_wrap(say, "Next:", SAY_INDENT, "'%s stop' stops it", name);
    } else if (lift->stage[0] != '\0') {
        show_day_next(say, lift, name);
    } else if (!lift->height_known) {
        add_touch_off(say, name, style);
    } else if (!is_sure(lift)) {
        add_compare(say, name);
    } else if (show_is_plain(lift) && strcmp(lift->reference, "lost") == 0) {
        say_wrap(say, "Next:", SAY_INDENT,
                 "it moves slowly until it knows its own travel: '%s find-top', or '%s here "
                 "--top' where there is no switch",
                 name, name);
    }
}

void show_details(struct say *say, const struct show_lift *lift, enum length_style style)
{
    if (lift->preset[0] != '\0' && show_stands(lift) && is_sure(lift)) {
        say_wrap(say, "At:", SAY_INDENT, "%s", lift->preset);
    }
    if (lift->bit[0] != '\0') {
        say_wrap(say, "Bit:", SAY_INDENT, "%s", lift->bit);
    }
    add_trust(say, lift);
    add_activity(say, lift, style);
    if (has_note(lift)) {
        say_wrap(say, "Note:", SAY_INDENT, "%s", lift->why);
    }
    show_day_notes(say, lift, style);
    add_next(say, lift, style);
}

void show_status(struct say *say, const struct show_lift *lift, enum length_style style)
{
    show_head(say, lift, style);
    say_add(say, "\n");
    stories_brief(say, lift);
    show_details(say, lift, style);
}

void show_rest(struct say *say, const struct show_lift *lift, enum length_style style)
{
    const char *name = lift->practice ? "reglet -p" : "reglet";
    show_head(say, lift, style);
    if (show_is_plain(lift)) {
        return;
    }
    if (!lift->height_known && does(lift, "still") && !not_present(lift) && !has_note(lift) &&
        show_day_is_plain(lift)) {
        /* The whole lesson behind each nudge would be read once and never again. */
        say_wrap(say, "Next:", SAY_INDENT,
                 "router unplugged; when you have come up to a height that you can see or "
                 "measure: '%s touch flush', or '%s touch HEIGHT'",
                 name, name);
        return;
    }
    show_details(say, lift, style);
}

void show_top(struct say *say, const struct show_lift *lift, enum length_style style)
{
    if (strcmp(lift->reference, "sure") == 0) {
        say_add(say, "The top is known, and with it the lift's own travel.\n");
    }
    show_rest(say, lift, style);
}

void show_touched(struct say *say, const struct show_lift *lift, enum length_style style)
{
    char text[SAY_LENGTH_SIZE];
    int64_t moved_nm = lift->zero_moved_nm < 0 ? -lift->zero_moved_nm : lift->zero_moved_nm;
    if (lift->zero_moved_known) {
        say_both(moved_nm, say_small_style(style), text, sizeof text);
        say_wrap(say, "", 0, "%s%s%s",
                 say_is_zero(moved_nm) ? "The zero is where it was" : "The zero has moved by ",
                 say_is_zero(moved_nm) ? "" : text,
                 say_is_zero(moved_nm)     ? "."
                 : lift->zero_moved_nm > 0 ? ": the bit stood lower than was thought."
                                           : ": the bit stood higher than was thought.");
    }
    if (moved_nm > SHOW_SLIPPED_NM) {
        say_wrap(say, "", 0, "%s",
                 "THAT IS OVER .003in: the bit has slipped, the ring has moved, or it is another "
                 "bit. Unplug the router and look at the collet before you cut.");
    }
    show_rest(say, lift, style);
}

static void add_place(struct say *say, const struct show_lift *lift, enum length_style style)
{
    char text[SAY_LENGTH_SIZE];
    if (!lift->height_known) {
        say_add(say, "height not known");
    } else {
        say_length(lift->height_nm, style, text, sizeof text);
        say_add(say, "at %s", text);
    }
    if (does(lift, "braking")) {
        say_add(say, ", braking");
    } else if (lift->going_known) {
        say_length(lift->going_nm, style, text, sizeof text);
        say_add(say, ", going to %s", text);
    } else if (lift->left_known) {
        say_length(lift->left_nm < 0 ? -lift->left_nm : lift->left_nm, style, text, sizeof text);
        say_add(say, ", %s still to go %s", text, lift->left_nm < 0 ? "down" : "up");
    } else {
        say_add(say, ", moving");
    }
}

void show_progress(const struct show_lift *lift, enum length_style style, size_t columns, char *out,
                   size_t out_size)
{
    struct say say = {0};
    const char *absent = not_present(lift);
    if (absent) {
        say_add(&say, "  %s: height not known", absent);
    } else {
        say_add(&say, "  ");
        add_place(&say, lift, style);
    }
    say_add(&say, "%s", lift->practice ? "   PRACTICE" : "");
    size_t room = out_size > 0 && columns < out_size - 1 ? columns : out_size - 1;
    (void)snprintf(out, out_size, "%.*s", (int)room, say.text);
}
