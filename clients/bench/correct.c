/* SPDX-License-Identifier: MIT */
#include "clients/bench/correct.h"

#include <math.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include "clients/common/say.h"
#include "protocol/ratio.h"

/* What a raise does, and what lowering does. */
struct effect {
    const char *name;
    const char *raised;
    const char *lowered;
};

static const struct effect effects[] = {
    [CORRECT_DEPTH] = {"depth", "the cut gets deeper", "the cut gets shallower"},
    [CORRECT_LEFT] = {"left", "less wood is left", "more wood is left"},
    [CORRECT_TONGUE] = {"tongue", "the tongue gets thinner", "the tongue gets thicker"},
    [CORRECT_GROOVE] = {"groove", "the groove gets narrower", "the groove gets wider"},
    [CORRECT_LOWER_WALL] = {"wall", "the lower wall gets thicker", "the lower wall gets thinner"},
    [CORRECT_LAP] = {"lap", "the laps get thinner", "the laps get thicker"},
    [CORRECT_DOVETAIL] = {"dovetail", "the dovetails get tighter", "the dovetails get looser"},
    [CORRECT_PROUD_TURNED] = {"proud-turned", "the piece that is turned over comes to stand higher",
                              "the piece that is turned over comes down"},
    [CORRECT_PROUD_AS_CUT] = {"proud", "the piece that is used as it was cut comes down",
                              "the piece that is used as it was cut comes to stand higher"},
    [CORRECT_FINGER] = {"finger", "", ""},
};

static bool is_kind(enum correct_kind kind)
{
    return kind >= CORRECT_DEPTH && kind <= CORRECT_FINGER;
}

const char *correct_name(enum correct_kind kind)
{
    return is_kind(kind) ? effects[kind].name : NULL;
}

REGLET_PRINTF(2, 3) static bool refuse(struct correction *out, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(out->words, sizeof out->words, format, arguments);
    va_end(arguments);
    return false;
}

static bool within(int64_t nm)
{
    return nm >= -LENGTH_NM_MAX && nm <= LENGTH_NM_MAX;
}

/* A gap or what stands proud may be of either sign; the rest are sizes. */
static bool check(const struct correct *in, struct correction *out)
{
    if (!is_kind(in->kind)) {
        return refuse(out, "There is no such kind of test cut. It can be depth, left, tongue, "
                           "groove, wall, lap, dovetail, proud or proud-turned.");
    }
    if (in->kind == CORRECT_FINGER) {
        return refuse(out, "The clearance of a finger joint is not mended by the height: that only "
                           "shifts all slots. Measure a slot that was cut, and make the plan again "
                           "with that kerf.");
    }
    bool gap = in->kind >= CORRECT_DOVETAIL;
    if (!within(in->measured_nm) || !within(in->wanted_nm) ||
        (!gap && (in->measured_nm < 0 || in->wanted_nm < 0))) {
        return refuse(out, "What was measured and what was wanted are sizes of 0 to 10 m. Measure "
                           "the test cut again.");
    }
    if (in->kind == CORRECT_DOVETAIL && (in->slope_mdeg < 1000 || in->slope_mdeg > 45000)) {
        return refuse(out,
                      "The slope of the dovetail bit is given as %.3f degrees. It can be 1 to "
                      "45; it is marked on the bit or in its maker's list.",
                      in->slope_mdeg / 1000.0);
    }
    return true;
}

static int64_t raise_of(const struct correct *in)
{
    ratio_wide over_nm = (ratio_wide)in->measured_nm - in->wanted_nm;
    int64_t shared = in->one_stays ? 1 : 2;
    switch (in->kind) {
    case CORRECT_DEPTH:
    case CORRECT_LOWER_WALL:
        return (int64_t)-over_nm;
    case CORRECT_LEFT:
        return (int64_t)over_nm;
    case CORRECT_TONGUE:
    case CORRECT_GROOVE:
        return ratio_nearest(over_nm, 2);
    case CORRECT_LAP:
    case CORRECT_PROUD_AS_CUT:
        return ratio_nearest(over_nm, shared);
    case CORRECT_PROUD_TURNED:
        return ratio_nearest(-over_nm, shared);
    default: { /* a dovetail; check lets no other kind through */
        long double slope = (long double)in->slope_mdeg * acosl(-1.0L) / 180000.0L;
        return (int64_t)llroundl((long double)over_nm / (2 * tanl(slope)));
    }
    }
}

static void say_words(const struct correct *in, enum length_style style, struct correction *out)
{
    char size[LENGTH_TEXT_SIZE + 2];
    const struct effect *effect = &effects[in->kind];
    bool up = out->raise_nm > 0;
    if (out->raise_nm == 0) {
        (void)snprintf(out->words, sizeof out->words, "It came out as wanted: nothing to change.");
        return;
    }
    say_length(up ? out->raise_nm : -out->raise_nm, style, size, sizeof size);
    (void)snprintf(out->words, sizeof out->words, "%s %s: %s.%s", up ? "Raise" : "Lower", size,
                   up ? effect->raised : effect->lowered,
                   out->ask ? " That is a large step for a test cut; measure again before you say "
                              "yes."
                            : "");
}

bool correct_work_out(const struct correct *in, enum length_style style, struct correction *out)
{
    *out = (struct correction){0};
    if (!check(in, out)) {
        return false;
    }
    out->raise_nm = raise_of(in);
    out->ask = out->raise_nm > CORRECT_ASK_NM || out->raise_nm < -CORRECT_ASK_NM;
    say_words(in, style, out);
    return true;
}
