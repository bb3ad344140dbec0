/* SPDX-License-Identifier: MIT */
/*
 * What the lift must know again after a power cut: two slots of 4 KiB in one file, written in turn
 * and made durable by fdatasync, each with a sequence number and a CRC. A torn write leaves the
 * other slot whole. The newest whole slot counts.
 *
 * A slot's bytes (all integers little-endian; the same in every version of the record):
 *   0  8  "REGLETJ1"          12 4  length of the text, 1 to 4072
 *   8  4  CRC-32/ISO-HDLC of bytes 12 to the text's end
 *   16 8  sequence number, 1 and up; 24 .. the record as JSON text (record.h); then zeros
 *
 * The file comes to be with its first record: written whole as journal.new and renamed. So a
 * journal that is there has a whole slot, or is damaged; and later writes change no file's size and
 * need no new room on the disk.
 *
 * A slot is overwritten only while the other one is whole *on the disk*. The daemon before may have
 * been killed between its write and its fdatasync: then the newest record is in the system's cache
 * alone, where reading finds it, and the older slot is the one that a power cut would leave. So the
 * first write after opening makes durable what was read, before it touches the older slot. For the
 * same reason a slot whose write has failed is made void in the cache.
 *
 * An fdatasync that has failed may have kept any part of what was written, and the system may count
 * the rest as written: the next fdatasync then succeeds and keeps nothing ("Can Applications
 * Recover from fsync Failures?", USENIX ATC 2020; POSIX promises nothing after a failure). So
 * success after a failure counts only when the bytes have been written again in between. They are
 * written again at once, so that a process that starts later need not know; a kill in the
 * microseconds before that is not provided for.
 */
#ifndef REGLET_DAEMON_STORE_JOURNAL_H
#define REGLET_DAEMON_STORE_JOURNAL_H

#include <stdbool.h>
#include <stdint.h>

#include "daemon/store/files.h"
#include "protocol/attributes.h"

#define JOURNAL_NAME "journal"
#define JOURNAL_NAME_NEW JOURNAL_NAME ".new"
#define JOURNAL_NAME_DAMAGED JOURNAL_NAME ".damaged"

enum { JOURNAL_SLOT_SIZE = 4096, JOURNAL_VERSION = 3, JOURNAL_NAME_SIZE = 64 };

/* How far a number may be believed; DESIGN words: sure, unchecked, lost. */
enum trust { TRUST_SURE = 1, TRUST_UNCHECKED, TRUST_LOST };

/* The record. What is not known has its `known` false; its value is then read as 0, whatever it
 * was when it was written. Positions in nm are within +-(2^53 - 1). */
struct journal_record {
    uint64_t sequence; /* filled in by journal_write */
    bool count_known;
    int32_t count;      /* at rest, or where the leg under way began */
    bool leg_under_way; /* the intent: from `count` to `leg_end` */
    int32_t leg_end;    /* 0 unless a leg is under way */
    int32_t origin;     /* the count at which the lift position is 0 */
    bool play_known;
    int32_t slack_steps;
    int32_t risen_steps;
    enum trust reference;  /* the count against the lift's own frame */
    enum trust table_zero; /* this fitting of this bit against the table */
    bool zero_known;       /* touched off in this fitting, whatever may be doubted since */
    bool zero_in_frame;    /* and the reference was sure then */
    int64_t zero_nm;       /* lift position at height 0 */
    bool wanted_known;
    int64_t wanted_nm; /* lift position that the last move was told */
    uint32_t preset;   /* id of the one that the lift was sent to and stands at, or 0 */
    bool board_known;
    uint32_t board;
    uint32_t boot;         /* of that board: 0 unless board_known */
    uint16_t epoch;        /* last used on the link */
    uint32_t screw_digest; /* of the screw settings that the count was made with */
    bool barred;
    char bit[JOURNAL_NAME_SIZE]; /* fitted bit's id in UTF-8, "" when none is named */
    int64_t riding_nm;           /* thickness of what carries the work; 0: the table */
    /* Since version 2; 0 or false in a record of version 1. */
    uint16_t stage;       /* of a change of the bit */
    uint16_t asks;        /* what the operator is to be asked before an absolute height */
    bool corrected_known; /* the last correction can be undone */
    int64_t corrected_nm; /* by which the zero was moved */
    bool router_on;       /* the router turned when this was written, as far as is known */
    uint32_t story;       /* id of the one that is loaded, or 0 */
    uint16_t mark;        /* its mark, from 0 */
    uint16_t cut;         /* pieces counted at that mark */
    /* Since version 3. */
    uint32_t before_bit;  /* id of the bit before the fitted one whose height was known, or 0 */
    int64_t before_nm;    /* the height that it stood at when it was taken out */
    bool readout_matched; /* readout and count were seen to agree */
    int64_t readout_offset_nm;      /* what the one shows less what the other says, then */
    int64_t readout_corrections_nm; /* sum of those that were made by it since */
};

enum journal_found {
    JOURNAL_FRESH = 1,  /* no journal: the very first start */
    JOURNAL_WHOLE,      /* *record is the newest whole one */
    JOURNAL_DAMAGED,    /* a journal, and no whole slot in it; it was left as it is. Or one was put
                         * aside before, and nothing was written since */
    JOURNAL_NEWER,      /* written by a newer version of Reglet; left as it is */
    JOURNAL_UNREADABLE, /* the disk refused; errno */
};

/* Its members are the journal's own. */
struct journal {
    struct files files;
    enum journal_found found;
    int fd;            /* opened by the first write; -1 until then */
    uint64_t sequence; /* of the newest record; 0: there is none */
    int newest_slot;
    bool settled;  /* the newest record, and the file's name, are known to be durable */
    bool unsynced; /* a sync of `read` has failed, and `read` could not be written again since */
    unsigned char read[2 * JOURNAL_SLOT_SIZE]; /* both slots as they were found */
};

/* Reads the newest record. Changes nothing, and keeps nothing open: a disk that cannot be written
 * can be read. *record is set by JOURNAL_WHOLE alone. */
REGLET_MUST_CHECK enum journal_found
journal_open(struct journal *journal, const struct files *files, struct journal_record *record);

/* After JOURNAL_DAMAGED: moves the damaged file aside (journal.damaged, or journal.damaged.2 ...),
 * so that journal_write can begin a new one. After false (errno) it can be tried again. Blocks. */
REGLET_MUST_CHECK bool journal_begin_anew(struct journal *journal);

/* Writes the record over the older slot and makes it durable; then, and only then, true, and
 * record->sequence is its number. After false (errno) the newest record is still the one before;
 * only where power fails before the next write that succeeds, the refused one may turn out to have
 * been made.
 * EINVAL: a member of the record is outside its range. EPERM: after JOURNAL_NEWER, _UNREADABLE, or
 * _DAMAGED without journal_begin_anew. Blocks. */
REGLET_MUST_CHECK bool journal_write(struct journal *journal, struct journal_record *record);

void journal_close(struct journal *journal);

#endif
