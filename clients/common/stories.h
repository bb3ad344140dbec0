/* SPDX-License-Identifier: MIT */
/*
 * Stories as the daemon tells of them: the mark that the lift is at, the one to come, lists. Read,
 * and shown for somebody with gloves and a dust mask. No I/O.
 */
#ifndef REGLET_CLIENTS_STORIES_H
#define REGLET_CLIENTS_STORIES_H

#include <cjson/cJSON.h>
#include <stdbool.h>

#include "clients/common/say.h"
#include "clients/common/show.h"
#include "protocol/attributes.h"
#include "protocol/length.h"
#include "protocol/story.h"

/* The `story` of a status. The name is borrowed from it. */
struct stories_place {
    const char *name;
    int mark;  /* 0: before the first */
    int marks; /* of the story */
    int cut;   /* pieces at this mark */
    bool at_known;
    struct story_mark at;
    bool next_known;
    struct story_mark next;
};

/* False: no story is loaded. */
REGLET_MUST_CHECK bool stories_place(const struct show_lift *lift, struct stories_place *place);

/* One mark as an answer has it: what this version does not know is passed over, what is not there
 * is left out. */
struct story_mark stories_mark(const cJSON *object);

/* The list of an answer (`stories`, or the `list` of `marks`); NULL when it is none. Borrowed. */
REGLET_MUST_CHECK const cJSON *stories_list(const cJSON *result, const char *name);

/* "3 of 14   PART A   3/8in (9.525mm)   bit slot-eighth", one line without newline. */
void stories_mark_head(struct say *say, const struct story_mark *mark, int number, int marks,
                       enum length_style style);

/* What stands below it, a paragraph each, from column `indent`: words, fence, router. */
void stories_mark_notes(struct say *say, const struct story_mark *mark, size_t indent);

/* Where in which story the lift is, and what to do next. So ends every step through a story; it
 * shows where the lift is first, as show_rest does. For run_status and motion_go. */
void stories_show(struct say *say, const struct show_lift *lift, enum length_style style);

/* One line of the bare status: the story, and the mark of how many. "" when none is loaded. */
void stories_brief(struct say *say, const struct show_lift *lift);

#endif
