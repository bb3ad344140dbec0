/* SPDX-License-Identifier: MIT */
/*
 * The pedal's gate against chance: keys of three devices pressed, let go and chattering at random,
 * devices and their events lost, a daemon that answers late, refuses, goes and comes, others that
 * move the lift. What must hold whatever happens is checked at every step; a failure is a seed.
 */
#include <linux/input-event-codes.h>
#include <string.h>

#include "clients/pedal/gate.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum {
    DEVICES = 3,
    KEYS = 10, /* of each */
    STEPS = 20000,
    ROUNDS = 20,
    DEBOUNCE_MS = 20,
    LEASE_MS = 150, /* protocol/LOCAL.md, hold */
    ASKED_MAX = 128,
};

static const struct action actions[KEYS] = {
    {.kind = ACTION_HOLD, .up = true},
    {.kind = ACTION_HOLD, .fast = true},
    {.kind = ACTION_NUDGE, .nm = 1000},
    {.kind = ACTION_TO, .nm = 2000},
    {.kind = ACTION_RECALL, .name = "a"},
    {.kind = ACTION_NEXT},
    {.kind = ACTION_STOP},
    {.kind = ACTION_KEYPAD, .types = '1'},
    {.kind = ACTION_KEYPAD, .types = ACTION_ENTER},
    {.kind = ACTION_KEYPAD, .types = '/'},
};

/* A request that is not answered yet. */
struct asked {
    enum gate_ask ask;
    double id;
    int64_t due_ms;
};

static struct gate gate;
static int64_t now_ms;
static bool down[DEVICES][KEYS]; /* the feet and fingers */
static int64_t changed_ms;       /* when one last did something */
static bool ready;
static bool moving;     /* as was last told */
static bool motion_out; /* one of ours is not answered */
static bool edge;       /* a key's edge is being taken, or may be believed now */
static struct asked asked[ASKED_MAX];
static size_t asked_count;
static unsigned motions; /* that were asked for, and begun holds */
static unsigned holds;
static unsigned stops;

static bool is_motion(enum gate_ask ask)
{
    return ask == GATE_BY || ask == GATE_TO || ask == GATE_RECALL || ask == GATE_NEXT ||
           ask == GATE_HOLD;
}

static bool any_down(void)
{
    for (int i = 0; i < DEVICES * KEYS; i++) {
        if (down[i / KEYS][i % KEYS]) {
            return true;
        }
    }
    return false;
}

static void on_send(void *owner, const struct gate_request *request)
{
    (void)owner;
    ck_assert(ready);
    ck_assert_uint_lt(asked_count, 64); /* LOCAL.md: at most 64 wait for their answers */
    if (is_motion(request->ask)) {
        /* Only for a key, only at rest, never behind another. */
        ck_assert(edge);
        ck_assert(any_down() || request->ask == GATE_NEXT);
        ck_assert(!moving);
        ck_assert(!motion_out);
        motions++;
        holds += request->ask == GATE_HOLD;
        motion_out = request->ask != GATE_HOLD;
    }
    if (request->ask == GATE_RENEW) {
        /* Nobody is there to hold any more, and had time to be believed. */
        ck_assert(any_down() || now_ms - changed_ms <= DEBOUNCE_MS);
    }
    stops += request->ask == GATE_STOP || request->ask == GATE_RELEASE;
    asked[asked_count++] =
        (struct asked){request->ask, request->id, now_ms + (int64_t)below(below(8) == 0 ? 600 : 8)};
}

static void on_say(void *owner, const char *sentence)
{
    (void)owner;
    ck_assert_uint_gt(strlen(sentence), 10);
}

static void on_show(void *owner, const struct gate_shown *shown)
{
    (void)owner;
    ck_assert_uint_lt(strlen(shown->text), TYPED_SIZE);
}

/* --- The daemon --- */

static void answer(size_t index)
{
    struct asked it = asked[index];
    bool refused = below(6) == 0;
    asked[index] = asked[--asked_count];
    if (is_motion(it.ask) && it.ask != GATE_HOLD) {
        motion_out = false;
    }
    gate_answered(&gate, now_ms,
                  &(struct gate_answer){.id = it.id,
                                        .refused = refused,
                                        .hold_over = refused && below(2) == 0,
                                        .sentence = "a sentence that says why",
                                        .token = it.ask == GATE_HOLD ? "5f3a" : NULL});
}

static void answer_what_is_due(void)
{
    for (size_t i = 0; i < asked_count; i++) {
        if (asked[i].due_ms <= now_ms) {
            answer(i);
            i = (size_t)-1; /* an answer may have asked for something */
        }
    }
}

static void go_or_come(void)
{
    if (ready) {
        gate_lost(&gate);
        ready = false;
    } else {
        asked_count = 0;
        motion_out = moving = false;
        ready = true;
        gate_ready(&gate, now_ms, &(struct gate_lift){.height_known = true});
    }
}

static void tell(void)
{
    if (ready) {
        moving = below(3) == 0;
        gate_told(&gate, now_ms,
                  &(struct gate_lift){.moving = moving,
                                      .height_known = below(4) > 0,
                                      .router_told = below(2) == 0,
                                      .router_turning = below(2) == 0});
    }
}

/* --- The keys --- */

static void send_edge(unsigned device, unsigned key, bool is_down, bool synced, int64_t late_ms)
{
    down[device][key] = is_down;
    changed_ms = now_ms;
    gate_key(&gate, now_ms,
             &(struct gate_event){.device = device,
                                  .code = KEY_A + key,
                                  .action = &actions[key],
                                  .down = is_down,
                                  .synced = synced,
                                  .at_ms = now_ms - late_ms});
}

/* Mostly one at a time. */
static void touch_key(void)
{
    unsigned at = (unsigned)below(DEVICES * KEYS);
    bool lets_go = any_down() && below(4) > 0;
    while (lets_go && !down[at / KEYS][at % KEYS]) {
        at = (at + 1) % (DEVICES * KEYS);
    }
    send_edge(at / KEYS, at % KEYS, !down[at / KEYS][at % KEYS], below(50) == 0,
              below(40) == 0 ? 400 : 0);
}

static void lose_events(void)
{
    unsigned device = (unsigned)below(DEVICES);
    gate_dropped(&gate, device);
    changed_ms = now_ms;
    for (unsigned key = 0; key < KEYS; key++) {
        bool is_down = below(4) == 0;
        if (down[device][key] != is_down) {
            send_edge(device, key, is_down, true, 0);
        }
    }
}

static void unplug(void)
{
    unsigned device = (unsigned)below(DEVICES);
    memset(down[device], 0, sizeof down[device]);
    gate_gone(&gate, device);
    changed_ms = now_ms;
}

static void step(void)
{
    static const unsigned waits[] = {1, 3, 12, 40, 90, 160, 800};
    int64_t until_ms = now_ms + (int64_t)below(waits[below(sizeof waits / sizeof *waits)] + 1);
    while (now_ms < until_ms) {
        now_ms++;
        answer_what_is_due();
        edge = true; /* one that was not believed at once */
        if (gate_next_ms(&gate) <= now_ms) {
            gate_tick(&gate, now_ms);
            ck_assert_int_gt(gate_next_ms(&gate), now_ms); /* else the loop would spin */
        }
        edge = false;
    }
    uint64_t what = ready || below(3) > 0 ? below(100) : 99; /* not away for long */
    edge = what < 80;
    if (what < 80) {
        touch_key();
    } else if (what < 93) {
        tell();
    } else if (what < 95) {
        lose_events();
    } else if (what < 98) {
        unplug();
    } else {
        go_or_come();
    }
    edge = false;
}

/* All are let go; what was held is over within a lease, and stays so. */
static void let_go_of_all(void)
{
    for (unsigned i = 0; i < DEVICES * KEYS; i++) {
        unsigned device = i / KEYS;
        unsigned key = i % KEYS;
        if (down[device][key]) {
            send_edge(device, key, false, false, 0); /* `next` acts on it */
        }
    }
    for (int64_t end_ms = now_ms + 2 * LEASE_MS; now_ms < end_ms;) {
        now_ms++;
        answer_what_is_due();
        gate_tick(&gate, now_ms);
        edge = now_ms - changed_ms <= DEBOUNCE_MS;
    }
    ck_assert_int_eq(gate.deed.kind, DEED_NONE);
    for (size_t i = 0; i < GATE_KEYS_MAX; i++) {
        ck_assert(!gate.key[i].down); /* or its next press would be none */
    }
    edge = false;
}

START_TEST(whatever_happens)
{
    const struct gate_sink sink = {NULL, on_send, on_say, on_show};
    gate_start(&gate, &sink, LENGTH_STYLE_64, DEBOUNCE_MS, 10);
    for (int round = 0; round < ROUNDS; round++) {
        for (int i = 0; i < STEPS / ROUNDS; i++) {
            step();
        }
        edge = true;
        let_go_of_all();
    }
    /* It was no idle run. */
    ck_assert_uint_gt(motions, 100);
    ck_assert_uint_gt(holds, 20);
    ck_assert_uint_gt(stops, 100);
}
END_TEST

static Suite *random_suite(void)
{
    Suite *suite = suite_create("pedal-random");
    TCase *chance = tcase_create("chance");
    tcase_add_checked_fixture(chance, start_random, NULL);
    tcase_add_test(chance, whatever_happens);
    suite_add_tcase(suite, chance);
    return suite;
}

int main(void)
{
    read_seed();
    return run_suite(random_suite());
}
