/* SPDX-License-Identifier: MIT */
/*
 * Grooves, tongues, tenons and mortises: what is placed across the thickness of the stock.
 */
#ifndef REGLET_BENCH_JOINT_GROOVE_H
#define REGLET_BENCH_JOINT_GROOVE_H

#include "clients/bench/joint.h"

/* A groove of width w >= kerf k, cut by a slot cutter: its lower edge comes to e and to e + w - k,
 * and to equal steps of at most k between them. */
struct joint_groove {
    int64_t width_nm; /* w: the mating part, measured, and a clearance */
    int64_t edge_nm;  /* e: from the table to the groove */
    int64_t into_nm;  /* depth into the work: how far the cutter stands out of the fence */
    struct joint_cutter cutter;
    int pieces;
};

REGLET_MUST_CHECK bool joint_groove(const struct joint_groove *in, const struct joint_shop *shop,
                                    struct joint_plan *plan);

/* The groove for a drawer's bottom, as wide as that and the clearance, no deeper than half the
 * sides. By a slot cutter with the part on its lower edge, inside to the fence; or by a straight
 * bit with the part flat, inside down: the height is then the depth, and the fence widens it. */
struct joint_drawer {
    int64_t bottom_nm; /* thickness of the bottom, measured */
    int64_t clearance_nm;
    int64_t edge_nm; /* from the lower edge to the groove; 1/4 in is common */
    int64_t into_nm;
    int64_t stock_nm; /* thickness of the sides */
    struct joint_cutter cutter;
    struct joint_depth depth; /* of a straight bit */
    int pieces;
};

REGLET_MUST_CHECK bool joint_drawer(const struct joint_drawer *in, const struct joint_shop *shop,
                                    struct joint_plan *plan);

/* The groove (part A) at one setting and a flip, cutter's lower edge at b = (t - g)/2, which asks
 * for g/2 <= kerf <= g; the tongue (part B) by a rabbet on each face, h = (t - (g - c))/2. Both are
 * centred whatever the cutter's error, and carry the variation of the stock. */
struct joint_tongue {
    int64_t thick_nm;     /* t of both parts, measured */
    int64_t groove_nm;    /* g; about a third of t is common */
    int64_t clearance_nm; /* c, between the faces of tongue and groove */
    int64_t tongue_nm;    /* how far the tongue stands out */
    int64_t room_nm;      /* how much deeper the groove is; 1/32 in is common */
    struct joint_cutter groove_cutter;
    struct joint_cutter tongue_cutter; /* straight, or a slot cutter */
    bool same_cutter;                  /* both names are one bit: no bit change between */
    struct joint_depth depth;          /* of the tongue's rabbets by a straight bit */
    int pieces_a;
    int pieces_b;
};

/* Marks of part B ask for JOINT_SECOND_BIT, the second bit, unless same_cutter. */
REGLET_MUST_CHECK bool joint_tongue(const struct joint_tongue *in, const struct joint_shop *shop,
                                    struct joint_plan *plan);

/* A tenon by a rabbet on each face, h = (t - tenon)/2. With a finished mortise its width is given
 * and the tenon is that less the clearance. */
struct joint_tenon {
    int64_t thick_nm;   /* t, measured */
    int64_t mortise_nm; /* width of the mortise, or of the tenon with clearance 0 */
    int64_t clearance_nm;
    int64_t length_nm;          /* of the tenon */
    struct joint_cutter cutter; /* straight, or a slot cutter */
    struct joint_depth depth;
    int pieces;
};

REGLET_MUST_CHECK bool joint_tenon(const struct joint_tenon *in, const struct joint_shop *shop,
                                   struct joint_plan *plan);

/* A mortise by a plunging straight bit, in passes of at most half its diameter, deeper than the
 * tenon by the room. As wide as the bit, or up to twice as wide by a turn of the work, other face
 * to the fence, which centres it. */
struct joint_mortise {
    int64_t thick_nm;  /* of the stock in which it is centred */
    int64_t deep_nm;   /* of the stock under the bit */
    int64_t width_nm;  /* of the mortise */
    int64_t length_nm; /* of the mortise, over all */
    int64_t tenon_nm;  /* length of the tenon */
    int64_t room_nm;   /* 1/32 to 1/16 in is common */
    struct joint_cutter cutter;
    struct joint_depth depth; /* most_nm 0: half the diameter */
    int pieces;
};

REGLET_MUST_CHECK bool joint_mortise(const struct joint_mortise *in, const struct joint_shop *shop,
                                     struct joint_plan *plan);

#endif
