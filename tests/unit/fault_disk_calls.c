/* SPDX-License-Identifier: MIT */
/* The calls of the fault disk, one for each of daemon/store/files.h; a part of fault_disk.c. */

enum effect { NOTHING, REFUSED, WHOLE_EFFECT, DYING };

/* Counts the operation and says what becomes of it. */
static enum effect begin(struct fault_disk *disk, const char *kind, bool changes)
{
    disk->operations++;
    if (disk->dead) {
        errno = EIO;
        return NOTHING;
    }
    if (disk->operations == disk->die_at) {
        disk->dead = true;
        errno = EIO;
        return DYING;
    }
    if (disk->operations >= disk->fail_first && disk->operations <= disk->fail_last) {
        disk->failed = kind;
        errno = disk->fail_error;
        return REFUSED;
    }
    if (disk->read_only && changes) {
        disk->failed = kind;
        errno = EROFS;
        return NOTHING;
    }
    return WHOLE_EFFECT;
}

static bool chopped(struct fault_disk *disk)
{
    if (disk->choppy && seed_below(&disk->random, 4) == 0) {
        errno = EINTR;
        return true;
    }
    return false;
}

static int finish(enum effect effect)
{
    return effect == WHOLE_EFFECT ? 0 : -1;
}

static int take_fd(struct fault_disk *disk, int file)
{
    for (int fd = 0; fd < FAULT_FDS; fd++) {
        if (disk->fds[fd] < 0) {
            disk->fds[fd] = file;
            disk->opened++;
            return fd;
        }
    }
    errno = EMFILE;
    return -1;
}

static struct fault_file *file_of(struct fault_disk *disk, int fd)
{
    if (fd < 0 || fd >= FAULT_FDS || disk->fds[fd] < 0) {
        abort(); /* a descriptor that is not open: a fault of the store's */
    }
    return &disk->of[disk->fds[fd]];
}

static int fault_open(void *self, const char *name, int flags)
{
    struct fault_disk *disk = self;
    struct fault_name *there = find_name(&disk->cached, name);
    bool makes = there == NULL && (flags & O_CREAT) != 0;
    enum effect effect = begin(disk, "open", makes || (flags & O_ACCMODE) != O_RDONLY);
    if (effect == NOTHING || effect == REFUSED || chopped(disk)) {
        return -1;
    }
    if (there == NULL && !makes) {
        errno = ENOENT;
        return -1;
    }
    if (there != NULL && (flags & O_CREAT) != 0 && (flags & O_EXCL) != 0) {
        errno = EEXIST;
        return -1;
    }
    int file = makes ? new_file(disk) : there->file;
    if (makes) {
        give_name(&disk->cached, name, file);
        change_name(disk, MADE, file, "", name);
    } else if ((flags & O_TRUNC) != 0) {
        note_write(&disk->of[file], 0, NULL, 0);
    }
    return effect == WHOLE_EFFECT ? take_fd(disk, file) : -1;
}

static ssize_t fault_read(void *self, int fd, void *bytes, size_t size, off_t at)
{
    struct fault_disk *disk = self;
    enum effect effect = begin(disk, "read", false);
    if (effect != WHOLE_EFFECT || chopped(disk)) {
        return -1;
    }
    const struct fault_file *file = file_of(disk, fd);
    size_t there = (size_t)at < file->cached_size ? file->cached_size - (size_t)at : 0;
    size = smaller(size, there);
    if (disk->choppy && size > 1) {
        size = 1 + seed_below(&disk->random, size);
    }
    if (size > 0) {
        memcpy(bytes, file->cached + at, size);
    }
    return (ssize_t)size;
}

static ssize_t fault_write(void *self, int fd, const void *bytes, size_t size, off_t at)
{
    struct fault_disk *disk = self;
    enum effect effect = begin(disk, "write", true);
    if (effect == NOTHING || chopped(disk)) {
        return -1;
    }
    struct fault_file *file = file_of(disk, fd);
    size_t end = (size_t)at + size;
    size_t growth = end > file->cached_size ? end - file->cached_size : 0;
    size_t over = growth > disk->room ? growth - disk->room : 0;
    if (over >= size && over > 0) {
        disk->failed = "write";
        errno = ENOSPC;
        return -1;
    }
    size -= over;
    if (effect != WHOLE_EFFECT || (disk->choppy && size > 1)) {
        size = 1 + seed_below(&disk->random, size);
    }
    disk->writes++;
    size_t before = file->cached_size;
    disk->alterations += (size_t)at + size > before || memcmp(file->cached + at, bytes, size) != 0;
    note_write(file, (size_t)at, bytes, size);
    disk->room -= file->cached_size - before;
    return effect == WHOLE_EFFECT ? (ssize_t)size : -1;
}

static off_t fault_size(void *self, int fd)
{
    struct fault_disk *disk = self;
    return begin(disk, "size", false) == WHOLE_EFFECT ? (off_t)file_of(disk, fd)->cached_size : -1;
}

static int fault_truncate(void *self, int fd, off_t size)
{
    struct fault_disk *disk = self;
    enum effect effect = begin(disk, "truncate", true);
    if (effect == NOTHING || effect == REFUSED || chopped(disk)) {
        return -1;
    }
    note_write(file_of(disk, fd), (size_t)size, NULL, 0);
    return finish(effect);
}

static int fault_sync(void *self, int fd)
{
    struct fault_disk *disk = self;
    enum effect effect = begin(disk, "sync", false);
    if (effect == NOTHING || effect == DYING || chopped(disk)) {
        return -1;
    }
    if (effect == REFUSED) {
        settle_file(file_of(disk, fd), &disk->random);
        return -1;
    }
    keep_all(file_of(disk, fd));
    return 0;
}

static int fault_close(void *self, int fd)
{
    struct fault_disk *disk = self;
    enum effect effect = begin(disk, "close", false);
    (void)file_of(disk, fd);
    disk->fds[fd] = -1;
    disk->opened--;
    return finish(effect);
}

static int fault_rename(void *self, const char *from, const char *to)
{
    struct fault_disk *disk = self;
    enum effect effect = begin(disk, "rename", true);
    if (effect == NOTHING || effect == REFUSED) {
        return -1;
    }
    struct fault_name *there = find_name(&disk->cached, from);
    struct fault_name *target = find_name(&disk->cached, to);
    if (there == NULL) {
        errno = ENOENT;
        return -1;
    }
    /* Two names of one file: POSIX has rename do nothing, and succeed. */
    if (target == NULL || target->file != there->file) {
        change_name(disk, RENAMED, there->file, from, to);
        apply_change(&disk->cached, &disk->changes[disk->change_count - 1], false);
    }
    return finish(effect);
}

static int fault_remove(void *self, const char *name)
{
    struct fault_disk *disk = self;
    enum effect effect = begin(disk, "remove", true);
    if (effect == NOTHING || effect == REFUSED) {
        return -1;
    }
    struct fault_name *there = find_name(&disk->cached, name);
    if (there == NULL) {
        errno = ENOENT;
        return -1;
    }
    change_name(disk, REMOVED, there->file, name, "");
    apply_change(&disk->cached, &disk->changes[disk->change_count - 1], false);
    return finish(effect);
}

static int fault_sync_folder(void *self)
{
    struct fault_disk *disk = self;
    enum effect effect = begin(disk, "sync_folder", false);
    if (effect != WHOLE_EFFECT || chopped(disk)) {
        return -1;
    }
    disk->kept = disk->cached;
    disk->change_count = 0;
    return 0;
}

static const struct files_operations fault_calls = {
    .open = fault_open,
    .read = fault_read,
    .write = fault_write,
    .size = fault_size,
    .truncate = fault_truncate,
    .data_sync = fault_sync,
    .sync = fault_sync,
    .close = fault_close,
    .rename = fault_rename,
    .remove = fault_remove,
    .sync_folder = fault_sync_folder,
};
