/* SPDX-License-Identifier: MIT */
/* Compiler attributes that every part uses. Freestanding. */
#ifndef REGLET_PROTOCOL_ATTRIBUTES_H
#define REGLET_PROTOCOL_ATTRIBUTES_H

/* The result says whether it worked; ignoring it is an error. */
#define REGLET_MUST_CHECK __attribute__((warn_unused_result))

/* Arguments are checked against a printf format. */
#define REGLET_PRINTF(format_index, first_index)                                                   \
    __attribute__((format(printf, format_index, first_index)))

#endif
