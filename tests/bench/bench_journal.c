/* SPDX-License-Identifier: MIT */
/*
 * What it costs that nothing moves before its intent is on the disk: the two records of a move,
 * through keeper and worker thread as the daemon writes them, over two bare fdatasync of as many
 * bytes, in turns. On the disk that the build folder is on.
 */
#include <fcntl.h>
#include <sys/stat.h>
#include <uv.h>

#include "daemon/store/keeper.h"
#include "tests/bench/measure.h"
#include "tests/rig/harness.h"

enum { ROUNDS = 31, PATH_SIZE = 512 };

static void on_kept(void *owner, bool kept, const char *why)
{
    ck_assert_msg(kept, "%s", why);
    *(int *)owner += 1;
}

static double move_ms(uv_loop_t *loop, struct keeper *keeper, struct journal_record *record)
{
    int kept = 0;
    double begin_ms = measure_now_ms();
    for (int i = 0; i < 2; i++) {
        record->leg_under_way = i == 0;
        record->leg_end = i == 0 ? record->count + 800 : 0;
        record->count += i == 0 ? 0 : 800;
        keeper_record(keeper, record, on_kept, &kept);
        while (kept <= i) {
            uv_run(loop, UV_RUN_ONCE);
        }
    }
    return measure_now_ms() - begin_ms;
}

static double bare_ms(int fd)
{
    static char bytes[JOURNAL_SLOT_SIZE];
    double begin_ms = measure_now_ms();
    for (int i = 0; i < 2; i++) {
        bytes[0]++;
        ck_assert_int_eq(pwrite(fd, bytes, sizeof bytes, i * JOURNAL_SLOT_SIZE), sizeof bytes);
        ck_assert_int_eq(fdatasync(fd), 0);
    }
    return measure_now_ms() - begin_ms;
}

static void on_closed(void *owner)
{
    *(bool *)owner = true;
}

/* A folder of its own beside the programs, emptied. */
static void make_folder(char *folder)
{
    char command[PATH_SIZE + 32];
    ssize_t length = readlink("/proc/self/exe", folder, PATH_SIZE - 32);
    ck_assert_int_gt(length, 0);
    folder[length] = '\0';
    strcpy(strrchr(folder, '/') + 1, "bench-journal");
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    ck_assert_int_eq(system(command), 0);
    ck_assert_int_eq(mkdir(folder, 0700), 0);
}

START_TEST(print_journal)
{
    static double ratio[ROUNDS];
    static double ours[ROUNDS];
    static double bare[ROUNDS];
    uv_loop_t loop;
    struct files files;
    struct journal_record record;
    enum journal_found found;
    char why[512];
    char folder[PATH_SIZE];
    char path[PATH_SIZE + 16];
    measure_go_first();
    make_folder(folder);
    ck_assert_int_eq(uv_loop_init(&loop), 0);
    struct clock *clock = clock_open(&loop);
    ck_assert_msg(files_open(&files, folder, why, sizeof why), "%s", why);
    struct keeper *keeper = keeper_open(&loop, clock, &files, &record, &found, why, sizeof why);
    ck_assert_msg(keeper != NULL, "%s", why);
    record = (struct journal_record){
        .count_known = true, .reference = TRUST_LOST, .table_zero = TRUST_LOST};
    snprintf(path, sizeof path, "%s/bare", folder);
    int fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    ck_assert_int_ge(fd, 0);
    for (int i = -3; i < ROUNDS; i++) { /* the first few make the files */
        double bare_now = bare_ms(fd);
        double ours_now = move_ms(&loop, keeper, &record);
        if (i >= 0) {
            bare[i] = bare_now;
            ours[i] = ours_now;
            ratio[i] = ours_now / bare_now;
        }
    }
    close(fd);
    bool closed = false;
    keeper_close(keeper, on_closed, &closed);
    while (!closed) {
        uv_run(&loop, UV_RUN_ONCE);
    }
    keeper_free(keeper);
    files_close(&files);
    printf("journal.ratio\t%.2f\t1\n", measure_median(ratio, ROUNDS));
    printf("journal.move.ms\t%.2f\tms\n", measure_median(ours, ROUNDS));
    printf("journal.bare.ms\t%.2f\tms\n", measure_median(bare, ROUNDS));
}
END_TEST

int main(void)
{
    return rig_alone(print_journal);
}
