/* SPDX-License-Identifier: MIT */
/* What the readers and writers of story files share with each other and with nobody else. */
#ifndef REGLET_CLIENTS_STORY_PARTS_H
#define REGLET_CLIENTS_STORY_PARTS_H

#include <cjson/cJSON.h>
#include <stdio.h>

#include "clients/story/story_file.h"

/* Fills the fault; returns false. */
REGLET_PRINTF(3, 4)
bool story_refuse(struct story_fault *fault, unsigned line, const char *format, ...);

REGLET_MUST_CHECK bool story_set_name(struct story_file *story, const char *name, unsigned line,
                                      struct story_fault *fault);
REGLET_MUST_CHECK bool story_set_made_by(struct story_file *story, const char *text, unsigned line,
                                         struct story_fault *fault);
REGLET_MUST_CHECK bool story_set_version(const char *text, unsigned line,
                                         struct story_fault *fault);

/* Room for one more mark? */
REGLET_MUST_CHECK bool story_room(const struct story_file *story, unsigned line,
                                  struct story_fault *fault);

/* The next mark out of the members that a line of text or CSV gave it; takes `object` over (NULL:
 * memory is short). */
REGLET_MUST_CHECK bool story_add_object(struct story_file *story, cJSON *object, unsigned line,
                                        struct story_fault *fault);

/* A member for story_add_object by its name: pieces as a number, the rest as text; an empty one is
 * none. */
REGLET_MUST_CHECK bool story_add_member(cJSON *object, const char *name, const char *text,
                                        unsigned line, struct story_fault *fault);

REGLET_MUST_CHECK bool story_read_json(const char *text, size_t size, struct story_file *story,
                                       struct story_fault *fault);
REGLET_MUST_CHECK bool story_read_text(char *text, struct story_file *story,
                                       struct story_fault *fault);
REGLET_MUST_CHECK bool story_read_csv(char *text, struct story_file *story,
                                      struct story_fault *fault);

void story_write_json(FILE *out, const struct story_file *story, enum length_style style);
void story_write_text(FILE *out, const struct story_file *story, enum length_style style);
void story_write_csv(FILE *out, const struct story_file *story, enum length_style style);

/* With its unit, so that it is read back to the same nanometre; LENGTH_TEXT_SIZE is enough. */
void story_height_text(int64_t nm, enum length_style style, char *out, size_t size);

#endif
