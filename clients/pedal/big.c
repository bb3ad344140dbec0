/* SPDX-License-Identifier: MIT */
#include "clients/pedal/big.h"

#include <stdio.h>
#include <string.h>

/* Five rows of each shape, top first. */
static const struct {
    char character;
    const char *row[BIG_ROWS];
} shapes[] = {
    {'0', {" ### ", "#   #", "#   #", "#   #", " ### "}},
    {'1', {"  #  ", " ##  ", "  #  ", "  #  ", " ### "}},
    {'2', {"#### ", "    #", " ### ", "#    ", "#####"}},
    {'3', {"#### ", "    #", " ### ", "    #", "#### "}},
    {'4', {"#  # ", "#  # ", "#####", "   # ", "   # "}},
    {'5', {"#####", "#    ", "#### ", "    #", "#### "}},
    {'6', {" ### ", "#    ", "#### ", "#   #", " ### "}},
    {'7', {"#####", "    #", "   # ", "  #  ", "  #  "}},
    {'8', {" ### ", "#   #", " ### ", "#   #", " ### "}},
    {'9', {" ### ", "#   #", " ####", "    #", " ### "}},
    {'.', {"  ", "  ", "  ", "  ", "# "}},
    {'-', {"    ", "    ", "### ", "    ", "    "}},
    {'/', {"    #", "   # ", "  #  ", " #   ", "#    "}},
    {' ', {"  ", "  ", "  ", "  ", "  "}},
    {'i', {"#", " ", "#", "#", "#"}},
    {'n', {"    ", "    ", "### ", "#  #", "#  #"}},
    {'m', {"     ", "     ", "#### ", "# # #", "# # #"}},
};

static const char *row_of(char character, size_t row)
{
    for (size_t i = 0; i < sizeof shapes / sizeof *shapes; i++) {
        if (shapes[i].character == character) {
            return shapes[i].row[row];
        }
    }
    return NULL;
}

void big_text(struct say *say, const char *text)
{
    for (size_t row = 0; row < BIG_ROWS; row++) {
        for (const char *at = text; *at != '\0'; at++) {
            const char *shape = row_of(*at, row);
            say_add(say, "%s%s", shape ? shape : "", shape ? "  " : "");
        }
        say_add(say, "\n");
    }
}

void big_shown(struct say *say, const struct gate_shown *shown, enum length_style style, bool large)
{
    char both[SAY_LENGTH_SIZE];
    if (shown->state == GATE_CLEARED) {
        say_add(say, "Cleared: no height is typed.\n");
        return;
    }
    if (large) {
        char text[TYPED_SIZE + TYPED_UNIT_SIZE + 1];
        (void)snprintf(text, sizeof text, "%s %s", shown->text, shown->unit);
        say_add(say, "\n");
        big_text(say, text);
    }
    if (!shown->read) {
        say_add(say, "Typed %s: no height yet (%s).\n", shown->text, shown->why);
        return;
    }
    say_exact(shown->nm, style, both, sizeof both);
    if (shown->state == GATE_SENT) {
        say_add(say, "To %s; no work on or over the bit.%s\n", both,
                shown->must_hold ? " Hold Enter down until it is there." : "");
    } else {
        say_add(say, "Typed %s: %s. %s within 10 s sends it.\n", shown->text, both,
                shown->must_hold ? "A rise of more than 1/2in: Enter, held down until it is there,"
                                 : "Enter");
    }
}
