/* SPDX-License-Identifier: MIT */
#include "clients/readout/verdict.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static bool does(const struct show_lift *lift, const char *activity)
{
    return strcmp(lift->activity, activity) == 0;
}

/* Nothing is known of the lift at this moment. */
static bool is_cut_off(const struct face *face)
{
    return face->link != FACE_TOLD || face->heard_ms > FACE_SILENT_MS;
}

/* Too long ago that the step generator was heard. */
static bool is_old(const struct face *face)
{
    const struct show_lift *lift = &face->lift;
    return lift->age_ms > SHOW_OLD_MS ||
           (show_in_motion(lift) && lift->age_ms + face->heard_ms > FACE_MOTION_OLD_MS);
}

/* NULL when the height is the present one. */
static const char *word_of(const struct face *face)
{
    const struct show_lift *lift = &face->lift;
    if (is_cut_off(face)) {
        bool silent = face->heard_ms > FACE_SILENT_MS;
        return face->link == FACE_AWAY ? "AWAY" : silent ? "SILENT" : "WAIT";
    }
    return does(lift, "unplugged")                                                     ? "NO ANSWER"
           : does(lift, "barred")                                                      ? "BARRED"
           : !show_in_motion(lift) && !does(lift, "still") && !does(lift, "unpowered") ? "UNKNOWN"
           : is_old(face)                                                              ? "OLD"
           : strcmp(lift->trust, "lost") == 0                                          ? "LOST"
           : !lift->height_known                                                       ? "NO HEIGHT"
                                                                                       : NULL;
}

/* --- The head --- */

REGLET_PRINTF(3, 4)
static void add_head(struct verdict *verdict, int *count, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(verdict->head[(*count)++], VERDICT_LINE, format, arguments);
    va_end(arguments);
}

static const char *side_of(const struct show_lift *lift)
{
    bool table = !lift->riding_known || say_is_zero(lift->riding_nm);
    return !lift->height_known ? ""
           : say_is_zero(lift->height_nm)
               ? (table ? ", flush with the table" : ", flush with what rides")
           : lift->height_nm > 0 ? (table ? ", above the table" : ", above what rides")
           : table               ? ", below the table"
                                 : ", below what rides";
}

/* Where it goes, or how far it still goes where it has no height. */
static void add_going(const struct face *face, const char *trust, struct verdict *verdict,
                      int *count)
{
    const struct show_lift *lift = &face->lift;
    char both[SAY_LENGTH_SIZE];
    char one[SAY_LENGTH_SIZE];
    bool down = lift->left_nm < 0;
    int64_t nm = lift->going_known ? lift->going_nm : down ? -lift->left_nm : lift->left_nm;
    const char *way = lift->going_known ? "" : down ? " to go down" : " to go up";
    const char *before = lift->going_known ? " to " : ", ";
    say_both(nm, face->style, both, sizeof both);
    say_length(nm, face->style, one, sizeof one);
    add_head(verdict, count, "%s: moving%s%s%s%s", trust, before, both, *way ? " still" : "", way);
    add_head(verdict, count, "%s: moving%s%s%s", trust, before, one, way);
}

/* What the lift does, behind the trust in its height or the want of one. */
static void head_of_activity(const struct face *face, const char *trust, struct verdict *verdict)
{
    const struct show_lift *lift = &face->lift;
    int count = 0;
    if (does(lift, "moving") && (lift->going_known || lift->left_known)) {
        add_going(face, trust, verdict, &count);
    }
    if (show_in_motion(lift)) {
        add_head(verdict, &count, "%s: %s", trust, lift->activity);
    } else if (does(lift, "unpowered")) {
        add_head(verdict, &count, "%s: still; its motor has no supply", trust);
        add_head(verdict, &count, "%s: no motor supply", trust);
    } else {
        add_head(verdict, &count, "%s: still%s", trust, side_of(lift));
        add_head(verdict, &count, "%s: still", trust);
    }
}

static void head_of_last(const struct face *face, struct verdict *verdict)
{
    const struct show_lift *lift = &face->lift;
    char text[SAY_LENGTH_SIZE];
    int count = 0;
    if (lift->height_known) {
        say_both(lift->height_nm, face->style, text, sizeof text);
        add_head(verdict, &count, "no present height; last known %s, %s", text,
                 strcmp(lift->trust, "sure") == 0 ? "sure then" : "unchecked");
        say_length(lift->height_nm, face->style, text, sizeof text);
        add_head(verdict, &count, "last known %s", text);
    }
    add_head(verdict, &count, "no height");
}

static void add_heads(const struct face *face, struct verdict *verdict)
{
    const struct show_lift *lift = &face->lift;
    int count = 0;
    if (is_cut_off(face)) {
        add_head(verdict, &count, "no height: %s",
                 face->link == FACE_AWAY              ? "the daemon is away"
                 : strcmp(verdict->word, "WAIT") == 0 ? "asking the daemon"
                                                      : "the daemon says nothing");
    } else if (!verdict->word) {
        head_of_activity(face, verdict->sure ? "sure" : "UNCHECKED", verdict);
    } else if (does(lift, "unplugged") || does(lift, "barred")) {
        head_of_last(face, verdict);
    } else if (strcmp(verdict->word, "OLD") == 0 || strcmp(verdict->word, "UNKNOWN") == 0) {
        add_head(verdict, &count, "no present height");
    } else {
        struct face bare = *face;
        bare.lift.height_known = false;
        head_of_activity(&bare, "no height", verdict);
    }
}

/* --- Below the word --- */

REGLET_PRINTF(2, 3) static void say_text(struct verdict *verdict, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(verdict->text, sizeof verdict->text, format, arguments);
    va_end(arguments);
}

static void say_cut_off(const struct face *face, struct verdict *verdict)
{
    if (face->link == FACE_AWAY) {
        say_text(verdict, "%s", face->why);
    } else if (strcmp(verdict->word, "SILENT") == 0) {
        say_text(verdict, "%s",
                 "The daemon says nothing: it hangs, or has too much to do. Look where the bit "
                 "stands.");
    } else {
        say_text(verdict, "%s", "The daemon was asked where the bit is.");
    }
}

static void say_barred(const struct show_lift *lift, const char *name, struct verdict *verdict)
{
    if (lift->stop_open) {
        say_text(verdict,
                 "Nothing can move: the stop circuit is open. See why, close it, then '%s "
                 "all-clear'.",
                 name);
    } else {
        say_text(verdict, "Nothing can move until '%s all-clear'%s%.200s. See why first.", name,
                 lift->why[0] != '\0' ? ": " : "", lift->why);
    }
}

static void add_text(const struct face *face, struct verdict *verdict)
{
    const struct show_lift *lift = &face->lift;
    const char *name = lift->practice ? "reglet -p" : "reglet";
    if (is_cut_off(face)) {
        say_cut_off(face, verdict);
    } else if (does(lift, "unplugged")) {
        say_text(verdict,
                 "Nothing can move: %.200s. See to its cable and supply; it is found again "
                 "by itself.",
                 lift->why[0] != '\0' ? lift->why : "there is no step generator");
    } else if (does(lift, "barred")) {
        say_barred(lift, name, verdict);
    } else if (strcmp(verdict->word, "UNKNOWN") == 0) {
        say_text(verdict,
                 "The daemon says '%.40s', a word that this readout does not know yet. Install "
                 "both from one release.",
                 lift->activity);
    } else if (strcmp(verdict->word, "OLD") == 0) {
        say_text(verdict, "%s",
                 "The step generator was last heard over a second ago. Look where the bit stands.");
    } else if (strcmp(verdict->word, "LOST") == 0) {
        say_text(verdict, "%s",
                 "The lift does not know where this bit stands. Unplug the router, and touch off.");
    } else {
        say_text(verdict, "%s", "The daemon says no height. Look where the bit stands.");
    }
}

/* --- Below the figures, or below that text --- */

REGLET_PRINTF(2, 3) static void add_note(struct verdict *verdict, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    if (verdict->notes < VERDICT_NOTES) {
        (void)vsnprintf(verdict->note[verdict->notes++], VERDICT_LINE, format, arguments);
    }
    va_end(arguments);
}

/* What the work rides on, the preset, the fitted bit: on one line. A length stands first, where it
 * is not cut however long the names are. */
static void note_what_is_set(const struct face *face, struct verdict *verdict)
{
    const struct show_lift *lift = &face->lift;
    struct say say = {0};
    char text[SAY_LENGTH_SIZE];
    if (face->riding_known && !say_is_zero(face->riding_nm)) {
        say_length(face->riding_nm, face->style, text, sizeof text);
        say_add(&say, "riding on %s", text);
    }
    if (lift->preset[0] != '\0' && show_stands(lift) && verdict->sure) {
        say_add(&say, "%sat %.63s", say.used > 0 ? "; " : "", lift->preset);
    }
    if (face->bit[0] != '\0') {
        say_add(&say, "%sbit %.63s", say.used > 0 ? "; " : "", face->bit);
    }
    if (say.used > 0) {
        add_note(verdict, "%.*s", VERDICT_LINE - 1, say.text);
    }
}

static void add_notes(const struct face *face, struct verdict *verdict)
{
    const struct show_lift *lift = &face->lift;
    if (is_cut_off(face)) {
        return;
    }
    bool told = does(lift, "barred") || does(lift, "unplugged");
    if (lift->stop_open && !told) {
        add_note(verdict, "%s", "THE STOP CIRCUIT IS OPEN");
    }
    if (lift->why[0] != '\0' && !told) {
        add_note(verdict, "%.*s", VERDICT_LINE - 1, lift->why);
    }
    if (!verdict->word && !verdict->sure) {
        add_note(verdict, "compare it, then '%s confirm'", lift->practice ? "reglet -p" : "reglet");
    }
    if (!verdict->word && !show_in_motion(lift) && strcmp(lift->play, "taken-up") != 0) {
        add_note(verdict, "the lash %s taken up",
                 strcmp(lift->play, "open") == 0 ? "is not" : "may not be");
    }
    note_what_is_set(face, verdict);
}

void verdict_reach(const struct face *face, struct verdict *verdict)
{
    *verdict = (struct verdict){.word = word_of(face)};
    verdict->sure = !verdict->word && strcmp(face->lift.trust, "sure") == 0;
    add_heads(face, verdict);
    if (verdict->word) {
        add_text(face, verdict);
    }
    add_notes(face, verdict);
}
