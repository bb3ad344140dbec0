/* SPDX-License-Identifier: MIT */
/* Noise and contrary lines at the step generator's core: nothing moves, or within the bounds. */
#include <check.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "tests/suite.h"
#include "tests/unit/core_rig.h"

static void send_noise(struct link_line *line)
{
    char text[LINK_LINE_MAX];
    size_t size = link_write(line, text);
    if (below(2)) {
        for (size_t i = 0; i < size; i++)
            text[i] = (char)next_random();
    } else {
        /* Up to three bits: test_link_wire.c proves that no such line is read. */
        size_t bit = below((uint32_t)(8 * size));
        for (uint32_t flips = 1 + below(3); flips > 0; flips--, bit = (bit + 7) % (8 * size))
            text[bit / 8] = (char)(text[bit / 8] ^ 1 << bit % 8);
    }
    send_bytes(text, size);
    send_bytes("\n", 1);
}

START_TEST(noise_never_starts_the_motor)
{
    ready();
    queue_steps(10, STRIDE_REST);
    for (int trial = 0; trial < 30000; trial++) {
        struct link_line begin = {LINK_BEGIN, 3, {1, 0, 0}};
        send_noise(&begin);
        if (rig.g.state == LINK_STATE_ADRIFT) { /* a brake byte was in it */
            sync_again((uint16_t)(1 + rig.g.epoch % 2));
            queue_steps(10, STRIDE_REST);
        }
        pass_ticks(below(2000));
        forget();
    }
    ck_assert_uint_eq(rig.starts, 0);
    ck_assert_int_eq(rig.count, 0);
}
END_TEST

/* Lines of all words with values that are often right. */
static void tell_anything(void)
{
    struct stride stride = even((uint16_t)(1 + below(60)), FIRST_MIN + below(4000), below(8));
    uint32_t epoch = rig.g.epoch + (below(8) == 0);
    uint8_t sequence = (uint8_t)(rig.g.taken + 1 + (below(8) == 0));
    switch (below(8)) {
    case 0:
        if (rig.g.state == LINK_STATE_ADRIFT || below(30) == 0)
            TELL(LINK_SYNC, (rig.g.epoch + 1) & 0xffff, (uint32_t)rig.count + (below(9) == 0));
        break;
    case 1:
        TELL(LINK_BEGIN, epoch & 0xffff, (uint8_t)(sequence - 1), below(3) ? 0 : below(9));
        break;
    case 2:
        TELL(LINK_POLL, epoch & 0xffff, sequence, below(256));
        break;
    case 3:
        TELL(LINK_SET, 3 + below(4), below(12));
        break;
    case 4:
        if (below(8) == 0)
            TELL(LINK_BRAKE, epoch & 0xffff);
        break;
    default:
        stride.change = (int32_t)below(1 << 18) - (1 << 17);
        stride.curve = (int32_t)below(1 << 12) - (1 << 11);
        tell_stride(&stride, sequence);
        break;
    }
}

START_TEST(whatever_it_is_told_the_motor_stays_within_the_bounds)
{
    ready();
    unsigned moved = 0;
    for (int trial = 0; trial < 60000; trial++) {
        int32_t before = rig.count;
        tell_anything();
        if (below(20) == 0)
            rig.levels = below(8) ? 0 : 1u << below(LINK_INPUTS);
        pass_ticks(below(4) ? below(3000) : below(200000));
        forget();
        moved += before != rig.count;
        if (rig.count < LOW || rig.count > HIGH)
            ck_abort_msg("at %" PRId32, rig.count);
        ck_assert(rig.armed == generator_moving(&rig.g));
    }
    printf("moved %u times, %u legs\n", moved, rig.starts);
    ck_assert_uint_gt(rig.starts, 100);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("core: noise");
    TCase *all = tcase_create("noise");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, noise_never_starts_the_motor);
    tcase_add_test(all, whatever_it_is_told_the_motor_stays_within_the_bounds);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
