/* SPDX-License-Identifier: MIT */
/*
 * Tells when a port that is not there may have come: something happened to its name, or to the
 * first folder on the way to it that does not exist yet. So a returning adapter is opened at once,
 * and nothing has to be asked over and over meanwhile.
 */
#ifndef REGLET_DAEMON_LINK_PLUG_H
#define REGLET_DAEMON_LINK_PLUG_H

#include <stdbool.h>
#include <uv.h>

enum { PLUG_PATH_SIZE = 256 };

struct plug {
    uv_loop_t *loop;
    const char *path; /* borrowed */
    void (*came)(void *owner);
    void *owner;
    uv_fs_event_t *event; /* NULL: not watching */
    char folder[PLUG_PATH_SIZE];
    char name[PLUG_PATH_SIZE]; /* in that folder: what is waited for */
};

/* `path` is absolute and outlives the plug. */
void plug_init(struct plug *plug, uv_loop_t *loop, const char *path, void (*came)(void *owner),
               void *owner);

/* Watches, from the deepest folder that is there now; where the kernel refuses, nothing is told,
 * and the caller's own retries have to do. */
void plug_watch(struct plug *plug);
void plug_rest(struct plug *plug);

#endif
