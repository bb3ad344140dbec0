/* SPDX-License-Identifier: MIT */
#include "daemon/link/plug.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

void plug_init(struct plug *plug, uv_loop_t *loop, const char *path, void (*came)(void *owner),
               void *owner)
{
    *plug = (struct plug){.loop = loop, .path = path, .came = came, .owner = owner};
}

static bool is_folder(const char *path)
{
    struct stat status;
    return stat(path, &status) == 0 && S_ISDIR(status.st_mode);
}

/* The deepest folder that is there, and the name that is waited for in it. */
static bool find(const char *path, char *folder, char *name)
{
    char part[PLUG_PATH_SIZE];
    if (strlen(path) >= sizeof part || path[0] != '/') {
        return false;
    }
    strcpy(part, path);
    for (char *slash; (slash = strrchr(part, '/')) != NULL;) {
        strcpy(name, slash + 1);
        slash[slash == part ? 1 : 0] = '\0';
        if (is_folder(part)) {
            strcpy(folder, part);
            return true;
        }
        if (slash == part) {
            return false;
        }
    }
    return false;
}

static void on_event(uv_fs_event_t *event, const char *name, int events, int status)
{
    struct plug *plug = event->data;
    (void)events;
    if (status == 0 && plug->event == event && (!name || strcmp(name, plug->name) == 0)) {
        plug->came(plug->owner);
    }
}

static void on_closed(uv_handle_t *handle)
{
    free(handle);
}

void plug_rest(struct plug *plug)
{
    if (plug->event) {
        uv_close((uv_handle_t *)plug->event, on_closed);
        plug->event = NULL;
    }
}

void plug_watch(struct plug *plug)
{
    char folder[PLUG_PATH_SIZE];
    char name[PLUG_PATH_SIZE];
    if (!find(plug->path, folder, name)) {
        plug_rest(plug);
        return;
    }
    if (plug->event && strcmp(folder, plug->folder) == 0 && strcmp(name, plug->name) == 0) {
        return;
    }
    plug_rest(plug);
    strcpy(plug->folder, folder);
    strcpy(plug->name, name);
    plug->event = calloc(1, sizeof *plug->event);
    if (!plug->event) {
        return;
    }
    uv_fs_event_init(plug->loop, plug->event);
    plug->event->data = plug;
    if (uv_fs_event_start(plug->event, on_event, folder, 0) != 0) {
        plug_rest(plug);
    }
}
