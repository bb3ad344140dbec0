/* SPDX-License-Identifier: MIT */
/* Which words each kind of joint takes. What is usual is common practice, no source. */
#include <stddef.h>

#include "clients/bench/joint_job.h"

#define USUAL_CLEARANCE 76200 /* .003 in */
#define USUAL_ROOM 793750     /* 1/32 in */
#define USUAL_PROUD 396875    /* 1/64 in */
#define USUAL_EDGE 6350000    /* 1/4 in */
#define USUAL_TONGUE 101600   /* .004 in */

#define AT(kind, member) offsetof(union joint_input, kind.member)
#define NEED(word, kind, member, means)                                                            \
    {                                                                                              \
        word, JOINT_FIELD_LENGTH, AT(kind, member), true, 0, means                                 \
    }
#define MAY(word, kind, member, usual, means)                                                      \
    {                                                                                              \
        word, JOINT_FIELD_LENGTH, AT(kind, member), false, usual, means                            \
    }
#define PIECES(word, kind, member)                                                                 \
    {                                                                                              \
        word, JOINT_FIELD_COUNT, AT(kind, member), false, 1, "how many are cut so"                 \
    }
#define PASSES(kind)                                                                               \
    {"most", JOINT_FIELD_MOST, AT(kind, depth.most_nm), false, 0, "deepest pass; 0: in one"},      \
        MAY("last", kind, depth.last_nm, 0, "last, light pass")
#define CUTTER(kind, member)                                                                       \
    {"bit", JOINT_FIELD_BIT, AT(kind, member), false, 0, "its name, or its width"},                \
        {"kerf", JOINT_FIELD_KERF, AT(kind, member), false, 0, "of a slot cutter"},                \
        MAY("cutting-length", kind, member.length_nm, 0, "of the bit's edges"),                    \
        MAY("reach", kind, member.reach_nm, 0, "of a slot cutter beyond its bearing")
#define SLOPE(kind)                                                                                \
    {                                                                                              \
        "slope", JOINT_FIELD_SLOPE, AT(kind, cutter.slope_mdeg), true, 0,                          \
            "degrees of the dovetail"                                                              \
    }
#define END                                                                                        \
    {                                                                                              \
        NULL, 0, 0, false, 0, NULL                                                                 \
    }

static const struct joint_field upright[] = {
    NEED("width", upright, width_nm, "of the boards"),
    NEED("thick", upright, thick_a_nm, "of both parts"),
    NEED("thick", upright, thick_b_nm, "of both parts"),
    NEED("thick-a", upright, thick_a_nm, "of part A"),
    NEED("thick-b", upright, thick_b_nm, "of part B"),
    MAY("proud", upright, proud_nm, USUAL_PROUD, "to be sanded off"),
    MAY("clearance", upright, clearance_nm, USUAL_CLEARANCE, "of a finger in its slot"),
    MAY("base", upright, base_nm, 0, "of the sled, where the lift does not add it"),
    PASSES(upright),
    PIECES("pieces", upright, pieces_a),
    PIECES("pieces", upright, pieces_b),
    CUTTER(upright, cutter),
    END};

static const struct joint_field stepped[] = {
    NEED("width", stepped, width_nm, "of the boards"),
    NEED("thick", stepped, thick_a_nm, "of both parts"),
    NEED("thick", stepped, thick_b_nm, "of both parts"),
    NEED("thick-a", stepped, thick_a_nm, "of part A"),
    NEED("thick-b", stepped, thick_b_nm, "of part B"),
    MAY("proud", stepped, proud_nm, USUAL_PROUD, "to be sanded off"),
    MAY("clearance", stepped, clearance_nm, USUAL_CLEARANCE, "of a finger in its slot"),
    PIECES("pieces", stepped, pieces_a),
    PIECES("pieces", stepped, pieces_b),
    CUTTER(stepped, cutter),
    END};

static const struct joint_field groove[] = {
    NEED("width", groove, width_nm, "of the groove"),
    NEED("edge", groove, edge_nm, "from the table to the groove"),
    NEED("into", groove, into_nm, "depth into the work"),
    PIECES("pieces", groove, pieces),
    CUTTER(groove, cutter),
    END};

static const struct joint_field drawer[] = {
    NEED("bottom", drawer, bottom_nm, "thickness of the bottom"),
    MAY("clearance", drawer, clearance_nm, USUAL_CLEARANCE, "of the bottom in its groove"),
    MAY("edge", drawer, edge_nm, USUAL_EDGE, "from the lower edge to the groove"),
    NEED("into", drawer, into_nm, "depth of the groove"),
    NEED("thick", drawer, stock_nm, "of the sides"),
    PASSES(drawer),
    PIECES("pieces", drawer, pieces),
    CUTTER(drawer, cutter),
    END};

static const struct joint_field tongue[] = {
    NEED("thick", tongue, thick_nm, "of both parts"),
    NEED("groove", tongue, groove_nm, "its width; about a third"),
    MAY("clearance", tongue, clearance_nm, USUAL_TONGUE, "of the tongue in its groove"),
    NEED("tongue", tongue, tongue_nm, "how far it stands out"),
    MAY("room", tongue, room_nm, USUAL_ROOM, "how much deeper the groove is"),
    PASSES(tongue),
    PIECES("pieces", tongue, pieces_a),
    PIECES("pieces", tongue, pieces_b),
    CUTTER(tongue, groove_cutter),
    {"second", JOINT_FIELD_BIT, AT(tongue, tongue_cutter), false, 0, "the tongue's bit"},
    END};

static const struct joint_field tenon[] = {
    NEED("thick", tenon, thick_nm, "of the stock"),
    NEED("mortise", tenon, mortise_nm, "width of the finished mortise"),
    MAY("clearance", tenon, clearance_nm, USUAL_CLEARANCE, "of the tenon in it"),
    NEED("length", tenon, length_nm, "of the tenon"),
    PASSES(tenon),
    PIECES("pieces", tenon, pieces),
    CUTTER(tenon, cutter),
    END};

static const struct joint_field mortise[] = {
    NEED("thick", mortise, thick_nm, "of the stock it is centred in"),
    NEED("deep", mortise, deep_nm, "of the stock over the bit"),
    NEED("width", mortise, width_nm, "of the mortise"),
    NEED("length", mortise, length_nm, "of the mortise"),
    NEED("tenon", mortise, tenon_nm, "its length"),
    MAY("room", mortise, room_nm, USUAL_ROOM, "how much deeper"),
    MAY("most", mortise, depth.most_nm, 0, "deepest pass; not said: half the bit"),
    MAY("last", mortise, depth.last_nm, 0, "last, light pass"),
    PIECES("pieces", mortise, pieces),
    CUTTER(mortise, cutter),
    END};

static const struct joint_field lap[] = {
    NEED("thick", lap, thick_nm, "of both parts"),
    MAY("finished", lap, finished_nm, 0, "thickness of a lap that is there"),
    NEED("length", lap, length_nm, "of the lap"),
    PASSES(lap),
    PIECES("pieces", lap, pieces),
    CUTTER(lap, cutter),
    END};

static const struct joint_field rabbet[] = {
    NEED("thick", rabbet, thick_nm, "of the stock that is cut"),
    NEED("part", rabbet, part_nm, "thickness of the mating part"),
    MAY("tongue", rabbet, tongue_nm, 0, "left on that part"),
    NEED("into", rabbet, into_nm, "width of the rabbet"),
    PASSES(rabbet),
    PIECES("pieces", rabbet, pieces),
    CUTTER(rabbet, cutter),
    END};

static const struct joint_field dado[] = {
    NEED("thick", dado, thick_nm, "of the stock that is cut"),
    NEED("part", dado, part_nm, "thickness of the mating part"),
    MAY("clearance", dado, clearance_nm, USUAL_CLEARANCE, "of that part in it"),
    MAY("depth", dado, depth_nm, 0, "not said: a third of the stock"),
    NEED("edge", dado, edge_nm, "from the edge at the fence"),
    MAY("stop-last", dado, stop_last_nm, 0, "uncut at the end that comes last"),
    MAY("stop-first", dado, stop_first_nm, 0, "uncut at the end that comes first"),
    MAY("board", dado, board_nm, 0, "its length; for a stopped dado"),
    PASSES(dado),
    PIECES("pieces", dado, pieces),
    CUTTER(dado, cutter),
    END};

static const struct joint_field dovetail[] = {
    NEED("spacing", dovetail, spacing_nm, "of the template"),
    MAY("clearance", dovetail, clearance_nm, 0, "of tail and socket"),
    NEED("front", dovetail, front_nm, "thickness of the drawer front"),
    PIECES("pieces", dovetail, pieces),
    CUTTER(dovetail, cutter),
    SLOPE(dovetail),
    END};

static const struct joint_field sliding[] = {
    NEED("depth", sliding, depth_nm, "of the socket"),
    NEED("thick", sliding, thick_a_nm, "of both parts"),
    NEED("thick", sliding, thick_b_nm, "of both parts"),
    NEED("thick-a", sliding, thick_a_nm, "of the socket's stock"),
    NEED("thick-b", sliding, thick_b_nm, "of the tail's stock"),
    MAY("clearance", sliding, clearance_nm, USUAL_CLEARANCE, "of the tail in its socket"),
    PASSES(sliding),
    PIECES("pieces", sliding, pieces_a),
    PIECES("pieces", sliding, pieces_b),
    CUTTER(sliding, cutter),
    SLOPE(sliding),
    {"waste", JOINT_FIELD_BIT, AT(sliding, waste), true, 0, "the straight bit that goes first"},
    END};

static const struct joint_field centred[] = {
    NEED("thick", centred, thick_nm, "of both parts"),
    MAY("above-centre", centred, above_centre_nm, 0, "reference point over the profile's centre"),
    {"passes", JOINT_FIELD_COUNT, AT(centred, fence_passes), false, 3, "by the fence"},
    PIECES("pieces", centred, pieces_a),
    PIECES("pieces", centred, pieces_b),
    CUTTER(centred, cutter),
    END};

static const struct joint_field panel[] = {
    NEED("panel", panel, panel_nm, "its thickness"),
    NEED("groove", panel, groove_nm, "that its edge goes into"),
    MAY("clearance", panel, clearance_nm, USUAL_CLEARANCE, "of the edge in it"),
    MAY("most", panel, depth.most_nm, 0, "deepest pass; not said: 1/8in"),
    MAY("last", panel, depth.last_nm, 0, "last, light pass"),
    PIECES("pieces", panel, pieces),
    CUTTER(panel, cutter),
    END};

#define ROW(is, word, title, fields, kind, wanted, cutter, second, second_cutter)                  \
    {                                                                                              \
        is, word, title, fields, wanted, second, AT(kind, cutter), second_cutter                   \
    }
#define ONE(is, word, title, kind, wanted) ROW(is, word, title, kind, kind, wanted, cutter, 0, 0)

const struct joint_kind_words joint_kinds[] = {
    ONE(JOINT_IS_UPRIGHT, "upright", "Finger joint, boards upright", upright, JOINT_STRAIGHT),
    ONE(JOINT_IS_STEPPED, "stepped", "Finger joint, stepped with a slot cutter", stepped,
        JOINT_SLOT),
    ONE(JOINT_IS_GROOVE, "groove", "Groove, wider than the cutter", groove, JOINT_SLOT),
    ONE(JOINT_IS_DRAWER, "drawer", "Groove for a drawer's bottom", drawer, JOINT_STRAIGHT),
    ROW(JOINT_IS_TONGUE, "tongue", "Tongue and groove", tongue, tongue, JOINT_SLOT, groove_cutter,
        JOINT_STRAIGHT, AT(tongue, tongue_cutter)),
    ONE(JOINT_IS_TENON, "tenon", "Tenon", tenon, JOINT_STRAIGHT),
    ONE(JOINT_IS_MORTISE, "mortise", "Mortise", mortise, JOINT_STRAIGHT),
    ONE(JOINT_IS_LAP, "lap", "Half-lap", lap, JOINT_STRAIGHT),
    ONE(JOINT_IS_RABBET, "rabbet", "Rabbet", rabbet, JOINT_STRAIGHT),
    ONE(JOINT_IS_DADO, "dado", "Dado", dado, JOINT_STRAIGHT),
    ONE(JOINT_IS_HALF_BLIND, "dovetail", "Half-blind dovetail", dovetail, JOINT_DOVETAIL),
    ROW(JOINT_IS_SLIDING, "sliding", "Sliding dovetail", sliding, sliding, JOINT_DOVETAIL, cutter,
        JOINT_STRAIGHT, AT(sliding, waste)),
    ONE(JOINT_IS_CENTRED, "lock-mitre", "Lock mitre", centred, JOINT_LOCK_MITRE),
    ONE(JOINT_IS_CENTRED, "glue", "Reverse glue joint", centred, JOINT_GLUE),
    ONE(JOINT_IS_PANEL, "panel", "Raised panel", panel, JOINT_RAISER),
    {0, NULL, NULL, NULL, 0, 0, 0, 0},
};
