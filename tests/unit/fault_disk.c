/* SPDX-License-Identifier: MIT */
#include "tests/unit/fault_disk.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>

struct fault_write {
    size_t at;
    size_t size;
    unsigned char *bytes; /* NULL: the file was cut or grown to `at` */
};

struct fault_file {
    unsigned char *cached;
    size_t cached_size;
    unsigned char *kept;
    size_t kept_size;
    struct fault_write *writes; /* since the last sync */
    int write_count;
};

enum change_kind { MADE = 1, RENAMED, REMOVED };

struct fault_change {
    enum change_kind kind;
    int file;
    char from[FAULT_NAME_SIZE];
    char to[FAULT_NAME_SIZE];
};

static void *must_resize(void *memory, size_t size)
{
    void *resized = realloc(memory, size + (size == 0));
    if (resized == NULL) {
        abort();
    }
    return resized;
}

static size_t smaller(size_t a, size_t b)
{
    return a < b ? a : b;
}

static void set_size(unsigned char **bytes, size_t *size, size_t wanted)
{
    *bytes = must_resize(*bytes, wanted);
    if (wanted > *size) {
        memset(*bytes + *size, 0, wanted - *size);
    }
    *size = wanted;
}

/* Names. */

static struct fault_name *find_name(struct fault_names *names, const char *name)
{
    for (int i = 0; i < names->count; i++) {
        if (strcmp(names->of[i].name, name) == 0) {
            return &names->of[i];
        }
    }
    return NULL;
}

static void give_name(struct fault_names *names, const char *name, int file)
{
    struct fault_name *there = find_name(names, name);
    if (there == NULL) {
        if (names->count == FAULT_NAMES || strlen(name) >= FAULT_NAME_SIZE) {
            abort();
        }
        there = &names->of[names->count++];
        strcpy(there->name, name);
    }
    there->file = file;
}

/* Only while it is that file's: a change that came about too late takes nothing else away. */
static void take_name(struct fault_names *names, const char *name, int file)
{
    struct fault_name *there = find_name(names, name);
    if (there != NULL && there->file == file) {
        *there = names->of[--names->count];
    }
}

static void change_name(struct fault_disk *disk, enum change_kind kind, int file, const char *from,
                        const char *to)
{
    size_t size = (size_t)(disk->change_count + 1) * sizeof *disk->changes;
    disk->changes = must_resize(disk->changes, size);
    struct fault_change *change = &disk->changes[disk->change_count++];
    *change = (struct fault_change){.kind = kind, .file = file};
    strcpy(change->from, from);
    strcpy(change->to, to);
}

static void apply_change(struct fault_names *names, const struct fault_change *change, bool half)
{
    if (change->kind != REMOVED) {
        give_name(names, change->to, change->file);
    }
    if (change->kind != MADE && !half) {
        take_name(names, change->from, change->file);
    }
}

static void settle_names(struct fault_disk *disk)
{
    size_t count = (size_t)disk->change_count;
    enum { ALL, NONE, FIRST_FEW, ANY } way = (int)seed_below(&disk->random, 4);
    size_t few = seed_below(&disk->random, count + 1);
    for (size_t i = 0; i < count; i++) {
        bool comes = way == ALL || (way == FIRST_FEW && i < few) ||
                     (way == ANY && seed_below(&disk->random, 2) == 0);
        bool half =
            disk->changes[i].kind == RENAMED && way != ALL && seed_below(&disk->random, 8) == 0;
        if (comes) {
            apply_change(&disk->kept, &disk->changes[i], half);
        }
    }
    disk->change_count = 0;
    disk->cached = disk->kept;
}

/* Contents. */

static int new_file(struct fault_disk *disk)
{
    size_t size = (size_t)(disk->file_count + 1) * sizeof *disk->of;
    disk->of = must_resize(disk->of, size);
    disk->of[disk->file_count] =
        (struct fault_file){.cached = must_resize(NULL, 0), .kept = must_resize(NULL, 0)};
    return disk->file_count++;
}

static void note_write(struct fault_file *file, size_t at, const void *bytes, size_t size)
{
    file->writes =
        must_resize(file->writes, (size_t)(file->write_count + 1) * sizeof *file->writes);
    struct fault_write *write = &file->writes[file->write_count++];
    *write = (struct fault_write){.at = at, .size = size};
    if (bytes == NULL) {
        set_size(&file->cached, &file->cached_size, at);
        return;
    }
    write->bytes = must_resize(NULL, size);
    memcpy(write->bytes, bytes, size);
    if (at + size > file->cached_size) {
        set_size(&file->cached, &file->cached_size, at + size);
    }
    memcpy(file->cached + at, bytes, size);
}

static void forget_writes(struct fault_file *file)
{
    for (int i = 0; i < file->write_count; i++) {
        free(file->writes[i].bytes);
    }
    file->write_count = 0;
}

/* The writes, not the whole cache: what a failed sync has forgotten stays forgotten. */
static void keep_all(struct fault_file *file)
{
    for (int i = 0; i < file->write_count; i++) {
        const struct fault_write *write = &file->writes[i];
        size_t end = write->at + write->size;
        if (write->bytes == NULL || end > file->kept_size) {
            set_size(&file->kept, &file->kept_size, end);
        }
        if (write->bytes != NULL) {
            memcpy(file->kept + write->at, write->bytes, write->size);
        }
    }
    forget_writes(file);
}

/* The size at a moment: after so many of the writes. */
static size_t size_at(const struct fault_file *file, size_t moment)
{
    size_t size = file->kept_size;
    for (size_t i = 0; i < moment; i++) {
        const struct fault_write *write = &file->writes[i];
        size_t end = write->at + write->size;
        size = write->bytes == NULL || end > size ? end : size;
    }
    return size;
}

/* A sector as it was at a moment. What no byte of the file was yet keeps the filling. */
static void sector_at(const struct fault_file *file, size_t moment, size_t at,
                      unsigned char sector[FAULT_SECTOR])
{
    if (at < file->kept_size) {
        memcpy(sector, file->kept + at, smaller(FAULT_SECTOR, file->kept_size - at));
    }
    for (size_t i = 0; i < moment; i++) {
        const struct fault_write *write = &file->writes[i];
        size_t begin = write->at > at ? write->at : at;
        size_t end = smaller(write->at + write->size, at + FAULT_SECTOR);
        if (write->bytes == NULL && write->at < at + FAULT_SECTOR) {
            memset(sector + (begin - at), 0, at + FAULT_SECTOR - begin);
        } else if (write->bytes != NULL && begin < end) {
            memcpy(sector + (begin - at), write->bytes + (begin - write->at), end - begin);
        }
    }
}

static void settle_file(struct fault_file *file, uint64_t *random)
{
    size_t last = (size_t)file->write_count;
    enum { ALL, NONE, ONE_MOMENT, ANY } way = (int)seed_below(random, 4);
    size_t moment = way == ALL ? last : way == NONE ? 0 : seed_below(random, last + 1);
    size_t size = size_at(file, moment);
    unsigned char filling = seed_below(random, 2) == 0 ? 0 : (unsigned char)seed_below(random, 256);
    size_t room = (size + FAULT_SECTOR - 1) / FAULT_SECTOR * FAULT_SECTOR;
    unsigned char *bytes = must_resize(NULL, room);
    memset(bytes, filling, room);
    for (size_t at = 0; at < room; at += FAULT_SECTOR) {
        size_t here = way == ANY ? seed_below(random, last + 1) : moment;
        sector_at(file, here, at, bytes + at);
        if (way == ANY && seed_below(random, 4) == 0) {
            unsigned char other[FAULT_SECTOR];
            memset(other, filling, sizeof other);
            sector_at(file, seed_below(random, last + 1), at, other);
            size_t tear = seed_below(random, FAULT_SECTOR);
            memcpy(bytes + at + tear, other + tear, FAULT_SECTOR - tear);
        }
    }
    free(file->kept);
    file->kept = bytes;
    file->kept_size = size;
    forget_writes(file);
}

static void cache_what_is_kept(struct fault_file *file)
{
    file->cached = must_resize(file->cached, file->kept_size);
    memcpy(file->cached, file->kept, file->kept_size);
    file->cached_size = file->kept_size;
}

#include "tests/unit/fault_disk_calls.c"

/* The test's side. */

void fault_disk_make(struct fault_disk *disk, uint64_t seed)
{
    *disk = (struct fault_disk){.random = seed, .room = SIZE_MAX};
    disk->files = (struct files){.call = &fault_calls, .disk = disk};
    fault_disk_restart(disk);
}

void fault_disk_free(struct fault_disk *disk)
{
    for (int i = 0; i < disk->file_count; i++) {
        forget_writes(&disk->of[i]);
        free(disk->of[i].writes);
        free(disk->of[i].cached);
        free(disk->of[i].kept);
    }
    free(disk->of);
    free(disk->changes);
}

void fault_disk_restart(struct fault_disk *disk)
{
    disk->die_at = disk->fail_first = disk->fail_last = 0;
    disk->read_only = disk->choppy = disk->dead = false;
    disk->room = SIZE_MAX;
    disk->failed = NULL;
    disk->operations = disk->writes = disk->alterations = disk->opened = 0;
    for (int fd = 0; fd < FAULT_FDS; fd++) {
        disk->fds[fd] = -1;
    }
}

void fault_disk_cut(struct fault_disk *disk)
{
    settle_names(disk);
    for (int i = 0; i < disk->file_count; i++) {
        settle_file(&disk->of[i], &disk->random);
        cache_what_is_kept(&disk->of[i]);
    }
    fault_disk_restart(disk);
}

void fault_disk_put(struct fault_disk *disk, const char *name, const void *bytes, size_t size)
{
    int file = new_file(disk);
    note_write(&disk->of[file], 0, bytes, size);
    keep_all(&disk->of[file]);
    give_name(&disk->cached, name, file);
    give_name(&disk->kept, name, file);
}

long fault_disk_get(const struct fault_disk *disk, const char *name, void *bytes, size_t size)
{
    for (int i = 0; i < disk->cached.count; i++) {
        const struct fault_name *there = &disk->cached.of[i];
        if (strcmp(there->name, name) == 0) {
            const struct fault_file *file = &disk->of[there->file];
            memcpy(bytes, file->cached, smaller(size, file->cached_size));
            return (long)file->cached_size;
        }
    }
    return -1;
}
