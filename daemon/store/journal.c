/* SPDX-License-Identifier: MIT */
#include "daemon/store/journal.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>

#include "daemon/store/crc32.h"
#include "daemon/store/record.h"
#include "daemon/store/whole.h"

enum { AT_CRC = 8, AT_LENGTH = 12, AT_SEQUENCE = 16, AT_TEXT = 24 };
enum { SLOTS = 2, TEXT_SIZE_MAX = JOURNAL_SLOT_SIZE - AT_TEXT };

static const unsigned char magic[AT_CRC] = {'R', 'E', 'G', 'L', 'E', 'T', 'J', '1'};

static void put_little(unsigned char *bytes, uint64_t value, size_t size)
{
    for (size_t i = 0; i < size; i++) {
        bytes[i] = (unsigned char)(value >> 8 * i);
    }
}

static uint64_t get_little(const unsigned char *bytes, size_t size)
{
    uint64_t value = 0;
    for (size_t i = 0; i < size; i++) {
        value |= (uint64_t)bytes[i] << 8 * i;
    }
    return value;
}

static off_t slot_at(int slot)
{
    return (off_t)slot * JOURNAL_SLOT_SIZE;
}

static bool fill_slot(unsigned char *slot, const struct journal_record *record, uint64_t sequence)
{
    memset(slot, 0, JOURNAL_SLOT_SIZE);
    size_t length = record_print(record, (char *)slot + AT_TEXT, TEXT_SIZE_MAX);
    if (length == 0) {
        return false;
    }
    memcpy(slot, magic, sizeof magic);
    put_little(slot + AT_LENGTH, length, 4);
    put_little(slot + AT_SEQUENCE, sequence, 8);
    put_little(slot + AT_CRC, crc32_of(slot + AT_LENGTH, AT_TEXT - AT_LENGTH + length), 4);
    return true;
}

static enum record_found read_slot(const unsigned char *slot, struct journal_record *record)
{
    uint64_t length = get_little(slot + AT_LENGTH, 4);
    uint64_t sequence = get_little(slot + AT_SEQUENCE, 8);
    if (memcmp(slot, magic, sizeof magic) != 0 || length > TEXT_SIZE_MAX || sequence == 0 ||
        get_little(slot + AT_CRC, 4) !=
            crc32_of(slot + AT_LENGTH, AT_TEXT - AT_LENGTH + (size_t)length)) {
        return RECORD_DAMAGED;
    }
    enum record_found found = record_parse((const char *)slot + AT_TEXT, (size_t)length, record);
    record->sequence = sequence;
    return found;
}

/* The newest slot that is not damaged decides. */
static enum journal_found choose(struct journal *journal, const unsigned char *bytes,
                                 struct journal_record *newest)
{
    enum journal_found found = JOURNAL_DAMAGED;
    for (int slot = 0; slot < SLOTS; slot++) {
        struct journal_record record = {0};
        enum record_found here = read_slot(bytes + slot_at(slot), &record);
        if (here == RECORD_NO_MEMORY) {
            errno = ENOMEM;
            return JOURNAL_UNREADABLE;
        }
        if (here != RECORD_DAMAGED && record.sequence > journal->sequence) {
            found = here == RECORD_NEWER ? JOURNAL_NEWER : JOURNAL_WHOLE;
            journal->sequence = record.sequence;
            journal->newest_slot = slot;
            *newest = record;
        }
    }
    return found;
}

static enum journal_found find_absent(const struct files *files)
{
    if (errno != ENOENT) {
        return JOURNAL_UNREADABLE;
    }
    int aside = whole_exists(files, JOURNAL_NAME_DAMAGED);
    return aside < 0 ? JOURNAL_UNREADABLE : aside > 0 ? JOURNAL_DAMAGED : JOURNAL_FRESH;
}

enum journal_found journal_open(struct journal *journal, const struct files *files,
                                struct journal_record *record)
{
    *journal = (struct journal){.files = *files, .fd = -1};
    int fd = whole_open(files, JOURNAL_NAME, O_RDONLY);
    if (fd < 0) {
        return journal->found = find_absent(files);
    }
    struct journal_record newest = {0};
    bool read = whole_read(files, fd, journal->read, sizeof journal->read, 0) >= 0;
    journal->found = read ? choose(journal, journal->read, &newest) : JOURNAL_UNREADABLE;
    int error = errno;
    (void)files->call->close(files->disk, fd); /* opened for reading: there is nothing to lose */
    errno = error;
    if (journal->found == JOURNAL_WHOLE) {
        *record = newest;
    }
    return journal->found;
}

bool journal_begin_anew(struct journal *journal)
{
    if (journal->found != JOURNAL_DAMAGED) {
        errno = EPERM;
        return false;
    }
    int there = whole_exists(&journal->files, JOURNAL_NAME);
    char aside[FILES_NAME_SIZE];
    bool moved = there > 0 ? whole_move_aside(&journal->files, JOURNAL_NAME, JOURNAL_NAME, aside)
                           : there == 0 && whole_sync_folder(&journal->files);
    if (moved) {
        *journal = (struct journal){.files = journal->files, .found = JOURNAL_FRESH, .fd = -1};
    }
    return moved;
}

/* The first record: a file that has its full size and a whole slot before it has its name. */
static bool begin(struct journal *journal, const unsigned char *slot)
{
    const struct files *files = &journal->files;
    unsigned char bytes[SLOTS * JOURNAL_SLOT_SIZE] = {0};
    memcpy(bytes, slot, JOURNAL_SLOT_SIZE);
    const char *step;
    /* No journal was found: nor must one be after a power cut, left by a daemon before. */
    if (!whole_sync_folder(files)) {
        return false;
    }
    int fd = whole_create(files, JOURNAL_NAME_NEW, bytes, sizeof bytes, &step);
    if (fd < 0) {
        return false;
    }
    bool renamed = files->call->rename(files->disk, JOURNAL_NAME_NEW, JOURNAL_NAME) == 0;
    if (renamed && whole_sync_folder(files)) {
        journal->fd = fd;
        journal->settled = true;
        return true;
    }
    int error = errno;
    (void)files->call->close(files->disk, fd); /* the first error is the one to tell */
    (void)files->call->remove(files->disk, renamed ? JOURNAL_NAME : JOURNAL_NAME_NEW);
    errno = error;
    return false;
}

/* The same bytes over themselves. Both slots: one that was made void in the cache alone may still
 * be whole on the disk, with a higher number. */
static bool write_again(struct journal *journal)
{
    journal->unsynced =
        !whole_write(&journal->files, journal->fd, journal->read, sizeof journal->read, 0);
    return !journal->unsynced;
}

static bool sync_read(struct journal *journal)
{
    if (journal->unsynced && !write_again(journal)) {
        return false;
    }
    if (whole_data_sync(&journal->files, journal->fd)) {
        return true;
    }
    int error = errno;
    (void)write_again(journal); /* else before the next try: see `unsynced` */
    errno = error;
    return false;
}

/* Before the older slot may go: what was read at the start, made durable. */
static bool settle(struct journal *journal)
{
    if (journal->fd < 0) {
        journal->fd = whole_open(&journal->files, JOURNAL_NAME, O_RDWR);
    }
    if (!journal->settled) {
        journal->settled =
            journal->fd >= 0 && sync_read(journal) && whole_sync_folder(&journal->files);
    }
    return journal->settled;
}

static bool overwrite(struct journal *journal, int slot, const unsigned char *bytes)
{
    const struct files *files = &journal->files;
    if (whole_write(files, journal->fd, bytes, JOURNAL_SLOT_SIZE, slot_at(slot)) &&
        whole_data_sync(files, journal->fd)) {
        return true;
    }
    /* A daemon that starts now, without a power cut, must not find in the cache a record that may
     * not be on the disk, for it would go on to overwrite the other. It need not be durable. */
    static const unsigned char nothing[AT_TEXT];
    int error = errno;
    (void)!whole_write(files, journal->fd, nothing, sizeof nothing, slot_at(slot));
    errno = error;
    return false;
}

bool journal_write(struct journal *journal, struct journal_record *record)
{
    if (journal->found != JOURNAL_WHOLE && journal->found != JOURNAL_FRESH) {
        errno = EPERM;
        return false;
    }
    unsigned char bytes[JOURNAL_SLOT_SIZE];
    uint64_t sequence = journal->sequence + 1;
    if (sequence == 0) {
        errno = EOVERFLOW;
        return false;
    }
    if (!fill_slot(bytes, record, sequence)) {
        return false;
    }
    bool first = journal->sequence == 0;
    int slot = first ? 0 : SLOTS - 1 - journal->newest_slot;
    bool written =
        first ? begin(journal, bytes) : settle(journal) && overwrite(journal, slot, bytes);
    if (written) {
        journal->newest_slot = slot;
        journal->sequence = sequence;
        record->sequence = sequence;
    }
    return written;
}

void journal_close(struct journal *journal)
{
    if (journal->fd >= 0) {
        /* All that counts was made durable before. */
        (void)journal->files.call->close(journal->files.disk, journal->fd);
    }
    *journal = (struct journal){.files = journal->files, .found = JOURNAL_UNREADABLE, .fd = -1};
}
