/* SPDX-License-Identifier: MIT */
#include "protocol/paths.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool fits(int written, size_t size)
{
    return written > 0 && (size_t)written < size && written < PATHS_SIZE;
}

bool paths_practice(char *folder, size_t size)
{
    const char *named = getenv("REGLET_PRACTICE");
    const char *runtime = getenv("XDG_RUNTIME_DIR");
    if (named && named[0] != '\0') {
        return fits(snprintf(folder, size, "%s", named), size);
    }
    if (runtime && runtime[0] == '/') {
        return fits(snprintf(folder, size, "%s/reglet-practice", runtime), size);
    }
    return fits(snprintf(folder, size, "/tmp/reglet-practice-%u", (unsigned)getuid()), size);
}

bool paths_socket_named(void)
{
    const char *named = getenv("REGLET_SOCKET");
    return named && named[0] != '\0';
}

bool paths_socket(bool practice, char *path, size_t size)
{
    char folder[PATHS_SIZE];
    if (practice) {
        return paths_practice(folder, sizeof folder) &&
               fits(snprintf(path, size, "%s/reglet.sock", folder), size);
    }
    if (paths_socket_named()) {
        return fits(snprintf(path, size, "%s", getenv("REGLET_SOCKET")), size);
    }
    return fits(snprintf(path, size, "/run/reglet/reglet.sock"), size);
}

bool paths_make_private(const char *folder, char *why, size_t why_size)
{
    struct stat status;
    if (mkdir(folder, 0700) == 0 ? chmod(folder, 0700) != 0 : errno != EEXIST) {
        snprintf(why, why_size, "cannot make the folder %s: %s", folder, strerror(errno));
        return false;
    }
    if (lstat(folder, &status) != 0 || !S_ISDIR(status.st_mode)) {
        snprintf(why, why_size, "%s is not a folder; move it away", folder);
        return false;
    }
    if (status.st_uid != geteuid() || (status.st_mode & 077) != 0) {
        snprintf(why, why_size,
                 "%s must belong to user %u and be closed to all others (chmod 700 %s)", folder,
                 (unsigned)geteuid(), folder);
        return false;
    }
    return true;
}
