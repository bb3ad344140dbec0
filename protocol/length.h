/* SPDX-License-Identifier: MIT */
/*
 * Heights as a shop writes them, and as Reglet keeps them: an int64_t of nanometres.
 *
 * 1 in is exactly 25 400 000 nm (international yard and pound agreement, 1959), so 1/64 in is
 * exactly 396 875 nm. No floating point anywhere in here.
 */
#ifndef REGLET_PROTOCOL_LENGTH_H
#define REGLET_PROTOCOL_LENGTH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "protocol/attributes.h"

enum {
    LENGTH_NM_PER_IN = 25400000,
    LENGTH_NM_PER_MM = 1000000,
    LENGTH_TEXT_SIZE = 48,
};

/* The greatest length either way that is read: 10 m. A lift has nothing to do beyond. */
#define LENGTH_NM_MAX INT64_C(10000000000)

/* What a bare decimal ("9.5") means. A fraction is inches, always; a bare fraction in a
 * millimetre shop is refused. */
enum length_bare {
    LENGTH_BARE_REFUSED = 1, /* on the socket and in files every length carries its unit */
    LENGTH_BARE_IN,
    LENGTH_BARE_MM,
};

/* How a height is shown. A fraction that is a whole number of inches is written with its unit
 * ("3in"), one below the first division as a decimal (".003in"), because a bare number would be
 * read in the unit of whichever shop it is typed into; zero is "0". So what is printed is read
 * back as the same height or, in a millimetre shop, refused: never as another height. */
enum length_style {
    LENGTH_STYLE_32 = 1, /* nearest 1/32 in, remainder in thousandths: 23/32 + .003 */
    LENGTH_STYLE_64,
    LENGTH_STYLE_128,
    LENGTH_STYLE_IN, /* decimal inch: .375in, 1.500in; a fourth decimal if not zero: .3594in */
    LENGTH_STYLE_MM, /* at most three decimals: 9.525mm, 9.5mm, 19mm */
};

/* What was wrong with a text: where, and a sentence that says what was expected. */
struct length_fault {
    size_t at; /* byte offset into the text, at most its length */
    char text[160];
};

/*
 * Reads one height. The forms:
 *
 *     length   = [+ | -] term [(+ | -) term]        blanks may stand round a sign or a unit, but
 *     term     = number [unit]                      a leading sign touches its number
 *     number   = 3/8 | 1-7/16 | 1 7/16 | 12 | .375 | 9.5
 *     unit     = in | " | mm                        (lower case)
 *
 * - A fraction is inches, always: with mm it is refused, and without a unit it is read only under
 *   LENGTH_BARE_IN ("3/8 of what? write 3/8in"). Nothing but a fraction below one follows the
 *   whole number of a mixed number.
 * - The second term, a remainder, takes the unit of the first where it has none itself: in
 *   "23/64 + .003" it is inches. A remainder of the other unit needs both written:
 *   "3/8in + 1mm". Under LENGTH_BARE_REFUSED the first term carries its unit.
 * - A hyphen right behind a whole number joins it to its fraction: "1-1/2" is one and a half. So a
 *   remainder's minus behind a number that is no fraction and has no unit stands between blanks,
 *   "1 - .003"; and "1 - 1/2", which can be read both ways, is refused. "1in - 1/2in" is half an
 *   inch, and "45/64-.003" is clear as it is.
 * - At most 12 digits before and 12 behind the point or slash, and 10 m for each term and the sum.
 * - Blank means the space character: tabs, line ends, other control characters and anything
 *   beyond ASCII are refused.
 *
 * The sum is formed exactly and rounded once, to the nearest nanometre, ties away from zero (1/128
 * in is 198 438 nm). Returns false and fills *fault (when not NULL) otherwise; *nm is then
 * untouched. On success *fault is untouched.
 */
REGLET_MUST_CHECK bool length_parse(const char *text, enum length_bare bare, int64_t *nm,
                                    struct length_fault *fault);

/*
 * Writes a height in `style` into out (NUL-terminated, LENGTH_TEXT_SIZE is always enough) and
 * returns its length. Where it does not fit, out is made empty and 0 returned: half a height is a
 * wrong height.
 *
 * The nearest fraction, then the nearest thousandth of what remains; each tie goes away from zero
 * (1/64 in 32nds is "1/32 - .016"; a remainder of .0005 is "+ .001"). A remainder that rounds to
 * nothing is left out: 2.9999 in is "3in". The remainder's sign is its own: -.372 in is
 * "-3/8 + .003".
 *
 * Heights up to 1 in short of LENGTH_NM_MAX parse back to within half a thousandth of an inch (a
 * twentieth of one in LENGTH_STYLE_IN, half a thousandth of a millimetre in LENGTH_STYLE_MM), both
 * inclusive; and exactly when exact: when the remainder to the nearest fraction, rounded to the
 * nanometre, is a whole number of thousandths, or the height one of .0001 in or of .001 mm.
 */
size_t length_print(int64_t nm, enum length_style style, char *out, size_t out_size);

/*
 * The lossless form of sockets, files and logs: millimetres with as many decimals as needed and
 * the unit, "9.525mm", "-0.396875mm". length_parse reads it back to the same nanometre. Space as
 * for length_print.
 */
size_t length_print_exact(int64_t nm, char *out, size_t out_size);

#endif
