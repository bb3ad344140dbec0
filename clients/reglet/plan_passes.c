/* SPDX-License-Identifier: MIT */
#include "clients/reglet/plan_passes.h"

#include <stdio.h>
#include <stdlib.h>

#include "clients/common/words.h"

static bool length(const struct run *run, char *word, const char *what, int64_t *nm, char *why)
{
    return !word || words_length(1, &word, words_bare(run->style), what, nm, why);
}

static bool read_pieces(const struct run *run, int *pieces, char *why)
{
    char *end = NULL;
    long number = run->pieces ? strtol(run->pieces, &end, 10) : 1;
    *pieces = number > 0 && number <= JOINT_PIECES_MAX ? (int)number : 0;
    bool good = *pieces > 0 && (!run->pieces || (end != run->pieces && *end == '\0'));
    if (!good) {
        (void)snprintf(why, WORDS_WHY, "'--pieces %.40s': expected a whole number, such as 8",
                       run->pieces);
    }
    return good;
}

bool plan_passes_read(const struct run *run, struct joint_passes *in, char *why)
{
    *in = (struct joint_passes){.pieces = 1};
    return words_length(run->count, run->word, words_bare(run->style),
                        "how deep the cut is to be in the end, such as 3/4", &in->passes.total_nm,
                        why) &&
           length(run, run->from, "--from", &in->passes.from_nm, why) &&
           length(run, run->most, "--most", &in->passes.most_nm, why) &&
           length(run, run->last, "--last", &in->passes.last_nm, why) &&
           read_pieces(run, &in->pieces, why);
}

bool plan_passes_sized(const struct run *run)
{
    return run->bit && words_is_height(run->bit);
}

bool plan_passes_bit(const struct run *run, struct plan_shop *shop, struct joint_passes *in,
                     char *name, char *why)
{
    const struct joint_shelf shelf = plan_shop_shelf(shop);
    in->cutter = (struct joint_cutter){.kind = JOINT_STRAIGHT, .reference = JOINT_TOP};
    name[0] = '\0';
    if (plan_passes_sized(run)) {
        return length(run, run->bit, "--bit", &in->cutter.width_nm, why);
    }
    if (!run->bit && shop->fitted[0] == '\0' && in->passes.most_nm > 0) {
        in->cutter.width_nm = 2 * in->passes.most_nm; /* whatever it is, the pass was said */
        return true;
    }
    (void)snprintf(name, JOINT_NAME_SIZE, "%.63s", run->bit ? run->bit : "");
    return shelf.bit(shelf.owner, run->bit, JOINT_STRAIGHT, &in->cutter, run->bit ? NULL : name,
                     why);
}
