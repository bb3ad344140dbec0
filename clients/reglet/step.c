/* SPDX-License-Identifier: MIT */
#include "clients/reglet/step.h"

#include <string.h>

#include "clients/common/stories.h"
#include "clients/reglet/motion.h"

const char step_more[] =
    "It shows the mark and its height, goes there as 'to' does, and says what to cut and what "
    "comes next. Router off and run down, no work on or over the bit, and hands away. A mark of "
    "another bit is refused until that is fitted and touched off. Any client may go on with a "
    "story, and its place outlasts a power cut.";

static const char no_work[] = "no work on or over the bit";

/* Where the bit will go, as far as the status tells it. */
static bool goes_to(const struct run *run, const struct stories_place *place, int *number,
                    const struct story_mark **mark)
{
    if (strcmp(run->command->word, "next") == 0) {
        *number = place->mark + 1;
        *mark = &place->next;
        return place->next_known;
    }
    *number = place->mark;
    *mark = &place->at;
    return strcmp(run->command->word, "again") == 0 && place->at_known;
}

/* The status does not tell the height of the mark before; the caution stands all the same. */
static void show_back(const struct run *run, const struct stories_place *place)
{
    struct say say = {0};
    if (strcmp(run->command->word, "back") == 0 && place->mark > 1) {
        say_add(&say, "back: mark %d of %d; %s\n", place->mark - 1, place->marks, no_work);
        run_print(&say);
    }
}

static void show_understood(const struct run *run, const struct show_lift *lift)
{
    struct say say = {0};
    struct stories_place place;
    const struct story_mark *mark;
    int number;
    if (!stories_place(lift, &place)) {
        return;
    }
    if (!goes_to(run, &place, &number, &mark)) {
        show_back(run, &place);
        return;
    }
    say_add(&say, "%s: mark ", run->command->word);
    stories_mark_head(&say, mark, number, place.marks, run->style);
    if (mark->has_height) {
        bool fits = say_columns(say.text) + 2 + strlen(no_work) <= SAY_COLUMNS;
        say_add(&say, fits ? "; %s" : ";\n      %s", no_work);
    }
    say_add(&say, "\n");
    run_print(&say);
}

enum client_exit step_run(struct run *run)
{
    struct show_lift lift;
    struct client_answer answer = {0};
    enum client_exit code = run_ask(run, "status", NULL, &answer);
    if (code == CLIENT_DONE && !run->json && show_read(answer.result, &lift)) {
        show_understood(run, &lift);
    }
    client_answer_free(&answer);
    return code == CLIENT_DONE ? motion_go(run, run->command->word, NULL, stories_show) : code;
}
