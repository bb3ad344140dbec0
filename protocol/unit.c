/* SPDX-License-Identifier: MIT */
#include "protocol/unit.h"

#include <string.h>

static const char *const words[] = {[LENGTH_STYLE_32] = "32",
                                    [LENGTH_STYLE_64] = "64",
                                    [LENGTH_STYLE_128] = "128",
                                    [LENGTH_STYLE_IN] = "in",
                                    [LENGTH_STYLE_MM] = "mm"};

bool unit_style(const char *word, enum length_style *style)
{
    for (int i = LENGTH_STYLE_32; i <= LENGTH_STYLE_MM; i++) {
        if (strcmp(word, words[i]) == 0) {
            *style = (enum length_style)i;
            return true;
        }
    }
    return false;
}

const char *unit_word(enum length_style style)
{
    return words[style];
}
