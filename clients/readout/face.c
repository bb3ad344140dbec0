/* SPDX-License-Identifier: MIT */
#include "clients/readout/face.h"

#include <stdio.h>
#include <string.h>

#include "clients/readout/number.h"
#include "clients/readout/verdict.h"

enum {
    ROOMY_ROWS = 20, /* from here on the second line is of large figures, too */
    ROOMY_COLUMNS = 60,
    BAND_SHARE = 5, /* of the rows */
    BREATH = 4,     /* columns between what remains and a label */
    LABELS = 3,
    LABEL_SIZE = 64,
};

/* What is drawn where. */
struct page {
    struct grid *grid;
    const struct face *face;
    const struct verdict *verdict;
    bool practice;
    bool roomy;
    int left; /* margin */
    int columns;
};

static const char *stop_words(enum face_stop stop)
{
    switch (stop) {
    case FACE_STOP_ASKED:
        return "STOP is asked for";
    case FACE_STOP_DONE:
        return "stopped   space or s: stop   q: leave";
    case FACE_STOP_UNSENT:
        return "STOP not sent: open the stop circuit";
    case FACE_STOP_UNANSWERED:
        return "STOP not answered: open the stop circuit";
    case FACE_STOP_REFUSED:
        return "STOP refused: open the stop circuit";
    case FACE_STOP_NONE:
        break;
    }
    return "space or s: stop the lift   q: leave";
}

/* A row that cannot be overlooked: reversed all along, or filled up by '='. */
static void bar(const struct page *page, int row, const char *text)
{
    struct grid *grid = page->grid;
    bool reversible = page->face->reversible;
    int width = grid_width(text);
    for (int column = 0; column < grid->columns; column++) {
        grid_put(grid, row, column, reversible ? ' ' : '=',
                 reversible ? GRID_REVERSE | GRID_BOLD : GRID_BOLD);
    }
    if (!reversible && width + 2 <= page->columns) {
        grid_put(grid, row, page->left + width, ' ', GRID_BOLD);
    }
    grid_text(grid, row, page->left, page->columns, text,
              reversible ? GRID_REVERSE | GRID_BOLD : GRID_BOLD);
}

/* The first form of the head that fits whole; else what there is of the shortest, which names no
 * height. */
static const char *head_that_fits(const struct verdict *verdict, int columns)
{
    const char *text = "";
    for (int i = 0; i < VERDICT_HEADS && verdict->head[i][0] != '\0'; i++) {
        text = verdict->head[i];
        if (grid_width(text) <= columns) {
            break;
        }
    }
    return text;
}

static void draw_head(const struct page *page)
{
    const char *text = head_that_fits(page->verdict, page->columns);
    if (page->verdict->sure) {
        grid_text(page->grid, 0, page->left, page->columns, text, GRID_BOLD);
    } else {
        bar(page, 0, text);
    }
}

static void draw_keys(const struct page *page)
{
    int row = page->grid->rows - 1;
    enum face_stop stop = page->face->stop;
    if (stop == FACE_STOP_NONE || stop == FACE_STOP_DONE) {
        grid_text(page->grid, row, page->left, page->columns, stop_words(stop), GRID_PLAIN);
    } else {
        bar(page, row, stop_words(stop));
    }
}

static void draw_notes(const struct page *page, int row, int rows)
{
    for (int i = 0; i < page->verdict->notes && rows > 0; i++) {
        int used = grid_paragraph(page->grid, row, page->left, rows, page->columns,
                                  page->verdict->note[i], GRID_PLAIN);
        row += used;
        rows -= used;
    }
}

/* What figures are made of: of a height that is not sure, question marks. */
static struct grid_cell ink_of(const struct page *page, bool sure)
{
    bool reversible = page->face->reversible;
    return (struct grid_cell){!sure        ? '?'
                              : reversible ? ' '
                                           : '#',
                              reversible ? GRID_REVERSE : GRID_BOLD};
}

/* --- The second line: what remains and the unit at the left, labels at the right --- */

struct label {
    char text[LABEL_SIZE];
    bool needed; /* said in small letters where large ones do not fit */
};

static int add_labels(const struct page *page, struct label label[LABELS])
{
    const struct show_lift *lift = &page->face->lift;
    int count = 0;
    if (page->practice) {
        label[count++] = (struct label){"PRACTICE", true};
    }
    if (!page->verdict->word && !page->verdict->sure) {
        label[count++] = (struct label){"UNCHECKED", false}; /* the head says it as well */
    }
    if (!page->verdict->word && strcmp(lift->activity, "moving") == 0 && lift->going_known) {
        char text[LENGTH_TEXT_SIZE];
        (void)length_print(lift->going_nm, page->face->style, text, sizeof text);
        (void)snprintf(label[count].text, LABEL_SIZE, "TO %s", text);
        label[count++].needed = false;
    }
    return count;
}

/* Draws the label with its end before `right`; returns where the next one may end. */
static int draw_label(const struct page *page, const struct label *label, int row, int rows,
                      int left, int right)
{
    struct digits_scale scale = digits_fit(label->text, rows, right - left);
    char spaced[2 * LABEL_SIZE] = " ";
    if (scale.columns > 0) {
        int column = right - digits_word_width(label->text, scale);
        number_word(page->grid, row, column, label->text, scale, ink_of(page, true));
        return column - 2 * digits_gap(scale) - 2;
    }
    if (!label->needed) {
        return right;
    }
    for (size_t i = 0; label->text[i] != '\0' && 2 * i + 4 < sizeof spaced; i++) {
        spaced[2 * i + 1] = label->text[i];
        spaced[2 * i + 2] = ' ';
        spaced[2 * i + 3] = '\0';
    }
    int width = grid_width(spaced);
    int column = right - width < left ? left : right - width;
    grid_text(page->grid, row + rows / 2, column, right - column, spaced,
              page->face->reversible ? GRID_REVERSE | GRID_BOLD : GRID_BOLD);
    return column - 1;
}

static void draw_band(const struct page *page, int row, int rows, const char *rest)
{
    struct label label[LABELS] = {{"", false}};
    int count = add_labels(page, label);
    int left = page->left;
    int right = page->left + page->columns;
    struct digits_scale scale = digits_fit(rest, rows, 4 * page->columns / 9);
    if (rest[0] != '\0' && scale.columns > 0) {
        number_word(page->grid, row, left, rest, scale, ink_of(page, page->verdict->sure));
        left += digits_word_width(rest, scale) + 2 * digits_gap(scale) + BREATH;
    } else {
        grid_text(page->grid, row + rows / 2, left, page->columns, rest, GRID_BOLD);
        left += grid_width(rest) + 1;
    }
    for (int i = 0; i < count; i++) {
        right = draw_label(page, &label[i], row, rows, left, right);
    }
}

/* --- The two pages --- */

static void draw_number(const struct page *page, const struct number *number, int row, int rows)
{
    const struct face *face = page->face;
    struct number measure = *number;
    char text[SAY_LENGTH_SIZE];
    if (show_in_motion(&face->lift)) {
        number_widest(number, face->style, &measure);
    }
    struct digits_scale scale = number_fit(&measure, rows, page->columns);
    if (scale.columns == 0) {
        scale = number_fit(number, rows, page->columns);
    }
    if (scale.columns > 0) {
        number_draw(page->grid, row + (rows - scale.rows) / 2, page->left, number, scale,
                    ink_of(page, page->verdict->sure));
        return;
    }
    say_length(face->lift.height_nm, face->style, text, sizeof text);
    bool fits = grid_width(text) <= page->columns;
    grid_text(page->grid, row + rows / 2, page->left, page->columns,
              fits ? text : "too small for this height", GRID_BOLD);
}

static void draw_height_page(const struct page *page)
{
    struct number number;
    int end = page->grid->rows - 1;
    int notes = page->grid->rows >= ROOMY_ROWS ? 2 : 1;
    int blank = page->roomy;
    int band = page->roomy ? page->grid->rows / BAND_SHARE : 1;
    band = page->roomy && band < DIGITS_ROWS_MIN ? DIGITS_ROWS_MIN : band;
    int rows = end - 1 - notes - band - 2 * blank;
    number_read(page->face->lift.height_nm, page->face->style, &number);
    draw_number(page, &number, 1 + blank, rows);
    draw_band(page, 1 + blank + rows + blank, band, number.rest);
    draw_notes(page, end - notes, notes);
}

static void draw_word_page(const struct page *page)
{
    int end = page->grid->rows - 1;
    int blank = page->roomy;
    int band = !page->practice ? 0 : page->roomy ? DIGITS_ROWS_MIN + 1 : 1;
    int text = page->grid->rows >= ROOMY_ROWS ? 4 : 3;
    int rows = end - 1 - text - band - 2 * blank;
    if (rows < DIGITS_ROWS_MIN) {
        text -= DIGITS_ROWS_MIN - rows;
        rows = DIGITS_ROWS_MIN;
    }
    const char *word = page->verdict->word;
    struct digits_scale scale = digits_fit(word, rows, page->columns);
    number_word(page->grid, 1 + blank + (rows - scale.rows) / 2, page->left, word, scale,
                ink_of(page, true));
    if (band > 0) {
        draw_band(page, 1 + blank + rows + blank, band > 1 ? band - 1 : band, "");
    }
    int used = grid_paragraph(page->grid, end - text, page->left, text, page->columns,
                              page->verdict->text, GRID_BOLD);
    draw_notes(page, end - text + used, text - used);
}

/* --- Where there is no room for figures --- */

/* A height without blanks is broken nowhere. */
static void close_up(char *text)
{
    char *to = text;
    for (const char *from = text; *from != '\0'; from++) {
        if (*from != ' ') {
            *to++ = *from;
        }
    }
    *to = '\0';
}

static void draw_sentence(const struct page *page)
{
    const struct face *face = page->face;
    const struct verdict *verdict = page->verdict;
    static const char *const more[] = {" Too small for figures: 40x10 would do.", ""};
    char height[SAY_LENGTH_SIZE];
    struct say say;
    int rows = page->grid->rows;
    int columns = page->grid->columns;
    bool failed = face->stop != FACE_STOP_NONE && face->stop != FACE_STOP_DONE;
    say_length(face->lift.height_nm, face->style, height, sizeof height);
    close_up(height);
    for (size_t i = 0; i < sizeof more / sizeof *more; i++) {
        say = (struct say){0};
        say_add(&say, "%s%s", failed ? stop_words(face->stop) : "", failed ? ". " : "");
        say_add(&say, "%s", page->practice ? "PRACTICE: " : "");
        say_add(&say, "%s %s%s%s.%s",
                verdict->word   ? "no height,"
                : verdict->sure ? "sure"
                                : "UNCHECKED",
                verdict->word ? verdict->word : height, verdict->word ? "" : ", ",
                verdict->word ? "" : face->lift.activity, more[i]);
        if (grid_paragraph_fits(say.text, rows, columns)) {
            (void)grid_paragraph(page->grid, 0, 0, rows, columns, say.text, GRID_PLAIN);
            return;
        }
    }
    (void)grid_paragraph(page->grid, 0, 0, rows, columns, "Too small: 40x10 would do.", GRID_PLAIN);
}

void face_draw(struct grid *grid, const struct face *face)
{
    struct verdict verdict;
    struct page page = {.grid = grid, .face = face, .verdict = &verdict};
    verdict_reach(face, &verdict);
    grid_clear(grid, grid->rows, grid->columns);
    page.practice = face->practice || (face->link == FACE_TOLD && face->lift.practice);
    page.roomy = grid->rows >= ROOMY_ROWS && grid->columns >= ROOMY_COLUMNS;
    page.left = grid->columns >= ROOMY_COLUMNS ? 1 : 0;
    page.columns = grid->columns - 2 * page.left;
    if (grid->rows < FACE_ROWS_MIN || grid->columns < FACE_COLUMNS_MIN) {
        draw_sentence(&page);
        return;
    }
    draw_head(&page);
    if (verdict.word) {
        draw_word_page(&page);
    } else {
        draw_height_page(&page);
    }
    draw_keys(&page);
}
