/* SPDX-License-Identifier: MIT */
#include "daemon/store/files.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct folder {
    int fd;
};

static int folder_fd(void *disk)
{
    return ((struct folder *)disk)->fd;
}

static int disk_open(void *disk, const char *name, int flags)
{
    return openat(folder_fd(disk), name, flags | O_CLOEXEC | O_NOFOLLOW, 0600);
}

static ssize_t disk_read(void *disk, int fd, void *bytes, size_t size, off_t at)
{
    (void)disk;
    return pread(fd, bytes, size, at);
}

static ssize_t disk_write(void *disk, int fd, const void *bytes, size_t size, off_t at)
{
    (void)disk;
    return pwrite(fd, bytes, size, at);
}

static off_t disk_size(void *disk, int fd)
{
    (void)disk;
    struct stat status;
    return fstat(fd, &status) == 0 ? status.st_size : -1;
}

static int disk_truncate(void *disk, int fd, off_t size)
{
    (void)disk;
    return ftruncate(fd, size);
}

static int disk_data_sync(void *disk, int fd)
{
    (void)disk;
    return fdatasync(fd);
}

static int disk_sync(void *disk, int fd)
{
    (void)disk;
    return fsync(fd);
}

static int disk_close(void *disk, int fd)
{
    (void)disk;
    return close(fd);
}

static int disk_rename(void *disk, const char *from, const char *to)
{
    return renameat(folder_fd(disk), from, folder_fd(disk), to);
}

static int disk_remove(void *disk, const char *name)
{
    return unlinkat(folder_fd(disk), name, 0);
}

/* EINVAL: this kind of file system has no such thing, as some shared folders of virtual machines;
 * nothing more can be done there. */
static int disk_sync_folder(void *disk)
{
    return fsync(folder_fd(disk)) == 0 || errno == EINVAL ? 0 : -1;
}

static const struct files_operations real_disk = {
    .open = disk_open,
    .read = disk_read,
    .write = disk_write,
    .size = disk_size,
    .truncate = disk_truncate,
    .data_sync = disk_data_sync,
    .sync = disk_sync,
    .close = disk_close,
    .rename = disk_rename,
    .remove = disk_remove,
    .sync_folder = disk_sync_folder,
};

bool files_open(struct files *files, const char *folder, char *why, size_t why_size)
{
    struct folder *disk = malloc(sizeof *disk);
    int fd = disk ? open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC) : -1;
    if (fd < 0) {
        (void)snprintf(why, why_size,
                       "The state folder %s cannot be opened (%s), so nothing can be kept; it must "
                       "exist and belong to the user that regletd runs as, number %u.",
                       folder, strerror(errno), (unsigned)geteuid());
        free(disk);
        return false;
    }
    disk->fd = fd;
    *files = (struct files){.call = &real_disk, .disk = disk};
    return true;
}

void files_close(struct files *files)
{
    (void)close(folder_fd(files->disk)); /* opened for reading: there is nothing to lose */
    free(files->disk);
    *files = (struct files){0};
}
