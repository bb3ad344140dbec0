/* SPDX-License-Identifier: MIT */
/* Every row of the table of events, against what a person was promised. */
#include <check.h>

#include "daemon/lift/trust.h"
#include "tests/suite.h"

#define S TRUST_SURE
#define U TRUST_UNCHECKED
#define L TRUST_LOST

struct row {
    enum trust_event event;
    struct trusted before;
    struct trusted after;
};

static const struct row rows[] = {
    /* Finding the top makes the reference sure, and brings back a zero that was touched off in the
     * frame; one that was not keeps what it had. */
    {TRUST_TOP_FOUND, {L, L, false, false}, {S, L, false, false}},
    {TRUST_TOP_FOUND, {L, S, true, false}, {S, S, true, true}},
    {TRUST_TOP_FOUND, {L, L, true, true}, {S, S, true, true}},
    {TRUST_TOP_FOUND, {L, L, true, false}, {S, L, true, false}},
    {TRUST_TOP_FOUND, {U, U, true, true}, {S, S, true, true}},
    {TRUST_TOP_FOUND, {U, U, true, false}, {S, U, true, false}},
    {TRUST_TOP_FOUND, {S, S, true, true}, {S, S, true, true}},
    /* A touch-off is about the bit, not about the frame. */
    {TRUST_TOUCHED, {L, L, false, false}, {L, S, true, false}},
    {TRUST_TOUCHED, {U, U, true, true}, {U, S, true, false}},
    {TRUST_TOUCHED, {S, L, false, false}, {S, S, true, true}},
    /* The operator settles a doubt, and cannot settle a loss. */
    {TRUST_CONFIRMED, {U, U, true, true}, {S, S, true, true}},
    {TRUST_CONFIRMED, {L, U, true, false}, {L, S, true, false}},
    {TRUST_CONFIRMED, {U, L, true, true}, {S, L, true, true}},
    /* A daemon killed and started again, same board and boot number: nothing changes, also in
     * mid-move. */
    {TRUST_SAME_BOARD, {S, S, true, true}, {S, S, true, true}},
    {TRUST_SAME_BOARD, {U, S, true, false}, {U, S, true, false}},
    {TRUST_SAME_BOARD, {L, L, true, true}, {L, L, true, true}},
    /* At rest: generator or motor without supply, stop circuit opened. */
    {TRUST_AT_REST_DOUBT, {S, S, true, true}, {U, U, true, true}},
    {TRUST_AT_REST_DOUBT, {U, U, true, true}, {U, U, true, true}},
    {TRUST_AT_REST_DOUBT, {L, S, true, false}, {L, U, true, false}},
    {TRUST_AT_REST_DOUBT, {L, L, false, false}, {L, L, false, false}},
    /* In mid-move with no continuous count; a slip. */
    {TRUST_IN_MOVE_LOSS, {S, S, true, true}, {L, L, true, true}},
    {TRUST_IN_MOVE_LOSS, {U, U, true, true}, {L, L, true, true}},
    /* Another screw: no number means what it did. */
    {TRUST_SCREW_CHANGED, {S, S, true, true}, {L, L, false, false}},
    /* Another bit, or the same fitted afresh. */
    {TRUST_BIT_CHANGED, {S, S, true, true}, {S, L, false, false}},
    {TRUST_BIT_CHANGED, {U, U, true, true}, {U, L, false, false}},
};

START_TEST(each_event_does_to_both_truths_what_the_table_says)
{
    const struct row *row = &rows[_i];
    struct trusted now = row->before;
    trust_apply(&now, row->event);
    ck_assert_int_eq(now.reference, row->after.reference);
    ck_assert_int_eq(now.table_zero, row->after.table_zero);
    ck_assert_int_eq(now.zero_known, row->after.zero_known);
    ck_assert_int_eq(now.zero_in_frame, row->after.zero_in_frame);
}
END_TEST

START_TEST(every_event_has_its_row)
{
    for (int event = 1; event < TRUST_EVENTS; event++) {
        bool there = false;
        for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
            there = there || rows[i].event == (enum trust_event)event;
        }
        ck_assert_msg(there, "event %d is not tested", event);
    }
}
END_TEST

/* Nothing but finding the top, a touch-off and a confirmation ever raises trust. */
START_TEST(doubt_never_becomes_trust_by_itself)
{
    const enum trust_event lowering[] = {TRUST_SAME_BOARD, TRUST_AT_REST_DOUBT, TRUST_IN_MOVE_LOSS,
                                         TRUST_SCREW_CHANGED, TRUST_BIT_CHANGED};
    for (size_t e = 0; e < sizeof lowering / sizeof *lowering; e++) {
        for (int bits = 0; bits < 36; bits++) {
            struct trusted before = {(enum trust)(bits % 3 + 1), (enum trust)(bits / 3 % 3 + 1),
                                     bits / 9 % 2, bits / 18 % 2};
            struct trusted after = before;
            trust_apply(&after, lowering[e]);
            ck_assert_int_ge(after.reference, before.reference);
            ck_assert_int_ge(after.table_zero, before.table_zero);
        }
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("trust");
    TCase *cases = tcase_create("table");
    tcase_add_loop_test(cases, each_event_does_to_both_truths_what_the_table_says, 0,
                        sizeof rows / sizeof *rows);
    tcase_add_test(cases, every_event_has_its_row);
    tcase_add_test(cases, doubt_never_becomes_trust_by_itself);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
