/* SPDX-License-Identifier: MIT */
#include "contrib/practice/practice.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WORDS_MAX = 5 };

/* The words of a command and where its answer goes. */
struct command {
    struct practice *practice;
    struct speaker *speaker;
    char *word[WORDS_MAX];
    int words;
    char *answer;
    size_t answer_size;
};

static double number_at(const struct command *c, int index, double otherwise)
{
    return index < c->words ? strtod(c->word[index], NULL) : otherwise;
}

static void say(const struct command *c, const char *text)
{
    snprintf(c->answer, c->answer_size, "%s", text);
}

static void done(const struct command *c)
{
    say(c, "{\"done\":true}");
}

void control_truth(const struct practice *p, char *answer, size_t size)
{
    const struct machine *m = &p->machine;
    const struct board_view board = board_look(m->board);
    snprintf(answer, size,
             "{\"now_ns\":%" PRId64 ",\"height_nm\":%.3f,\"highest_nm\":%.3f,\"lowest_nm\":%.3f,"
             "\"step_nm\":%.3f,\"count\":%" PRId32 ",\"rotor_steps\":%" PRId64
             ",\"moving\":%s,\"edges\":%" PRIu64 ",\"board\":%" PRIu32 ",\"boot\":%" PRIu32
             ",\"first_edge_ns\":%" PRId64 ",\"steps_lost\":%" PRIu64 ",\"noise_hits\":%" PRIu64
             ",\"connected\":%s,\"router_turns\":%s,\"cutter_in_ring\":%" PRIu64
             ",\"against_lock\":%" PRIu64 ",\"turning_in_work\":%" PRIu64 ",\"outputs\":%u}",
             machine_ns(m->now), model_height_nm(&m->model), m->model.highest_nm,
             m->model.lowest_nm, m->model.lead_nm / (double)m->model.steps_per_turn, board.count,
             m->model.rotor_steps, board.moving ? "true" : "false", m->edges, board.id, board.boot,
             machine_ns(board.first_edge), m->model.steps_lost,
             m->to_generator.noise.hits + m->to_host.noise.hits,
             p->port.connected ? "true" : "false", machine_router_turns(m) ? "true" : "false",
             m->bench.cutter_in_ring, m->bench.against_lock, m->bench.turning_in_work,
             (unsigned)board.outputs);
}

static void truth(struct command *c)
{
    control_truth(c->practice, c->answer, c->answer_size);
}

static void mark(struct command *c)
{
    model_mark(&c->practice->machine.model);
    done(c);
}

/* bit HEIGHT_NM: the collet is loosened and tightened with the tip at that height. */
static void bit(struct command *c)
{
    model_set_bit(&c->practice->machine.model, number_at(c, 1, 0));
    done(c);
}

/* What the machine is built like, by name. */
static void set(struct command *c)
{
    struct model *m = &c->practice->machine.model;
    struct scale *s = &c->practice->machine.scale;
    double value = number_at(c, 2, 0);
    const struct {
        const char *name;
        double *at;
    } numbers[] = {
        {"lash_nm", &m->lash_nm},       {"lead_nm", &m->lead_nm},
        {"lead_error", &m->lead_error}, {"wobble_nm", &m->wobble_nm},
        {"top_nm", &m->top_nm},         {"bottom_nm", &m->bottom_nm},
        {"scale_unit_nm", &s->unit_nm}, {"scale_noise_nm", &s->noise_nm},
        {"scale_zero_nm", &s->zero_nm},
    };
    for (size_t i = 0; c->words == 3 && i < sizeof numbers / sizeof *numbers; i++) {
        if (strcmp(c->word[1], numbers[i].name) == 0) {
            *numbers[i].at = value;
            done(c);
            return;
        }
    }
    if (c->words == 3 && strcmp(c->word[1], "gravity") == 0) {
        m->gravity = value != 0;
        done(c);
    } else if (c->words == 3 && strcmp(c->word[1], "latency_ms") == 0) {
        c->practice->machine.to_host.latency_ticks = (uint32_t)value * BOARD_TICKS_PER_MS;
        done(c);
    } else {
        say(c, "{\"wrong\":\"set takes lash_nm, lead_nm, lead_error, wobble_nm, top_nm, bottom_nm, "
               "scale_unit_nm, scale_noise_nm, scale_zero_nm, gravity or latency_ms, and a "
               "number\"}");
    }
}

/* noise FLIP_PPM DROP_PPM SEED: both ways. */
static void noise(struct command *c)
{
    struct machine *m = &c->practice->machine;
    struct noise n = {.flip_ppm = (uint32_t)number_at(c, 1, 0),
                      .drop_ppm = (uint32_t)number_at(c, 2, 0),
                      .seed = (uint64_t)number_at(c, 3, 1)};
    m->to_generator.noise = n;
    n.seed += 1000003;
    m->to_host.noise = n;
    done(c);
}

/* byte VALUE: one byte on the wire towards the generator, from nowhere. */
static void byte(struct command *c)
{
    machine_write(&c->practice->machine, (uint8_t)number_at(c, 1, 0));
    done(c);
}

static void slip(struct command *c)
{
    model_slip(&c->practice->machine.model, (int64_t)number_at(c, 1, 0));
    done(c);
}

static void stop_circuit(struct command *c)
{
    struct machine *m = &c->practice->machine;
    if (c->words != 2 || (strcmp(c->word[1], "open") != 0 && strcmp(c->word[1], "closed") != 0)) {
        say(c, "{\"wrong\":\"stop-circuit takes open or closed\"}");
        return;
    }
    m->stop_open = c->word[1][0] == 'o';
    done(c);
}

static void motor_supply(struct command *c)
{
    struct machine *m = &c->practice->machine;
    if (c->words != 2 || (strcmp(c->word[1], "off") != 0 && strcmp(c->word[1], "on") != 0)) {
        say(c, "{\"wrong\":\"motor-supply takes on or off\"}");
        return;
    }
    m->supply_lost = strcmp(c->word[1], "off") == 0;
    done(c);
}

/* WORD on or off: 1 or 0; -1 when it is neither, and said. */
static int on_or_off(struct command *c)
{
    if (c->words == 2 && strcmp(c->word[1], "on") == 0) {
        return 1;
    }
    if (c->words == 2 && strcmp(c->word[1], "off") == 0) {
        return 0;
    }
    say(c, "{\"wrong\":\"it takes on or off\"}");
    return -1;
}

static void router(struct command *c)
{
    int on = on_or_off(c);
    if (on >= 0) {
        machine_router(&c->practice->machine, on == 1);
        done(c);
    }
}

static void lock(struct command *c)
{
    int on = on_or_off(c);
    if (on >= 0) {
        c->practice->machine.bench.locked = on == 1;
        done(c);
    }
}

/* clamp OUTPUT on or off: that output works it (0: none), and it holds while that is so. */
static void clamp(struct command *c)
{
    struct bench *b = &c->practice->machine.bench;
    double output = number_at(c, 1, -1);
    bool on = c->words == 3 && strcmp(c->word[2], "on") == 0;
    if (output < 0 || output > 2 || (!on && (c->words != 3 || strcmp(c->word[2], "off") != 0))) {
        say(c, "{\"wrong\":\"clamp takes an output, 0 to 2, and on or off\"}");
        return;
    }
    b->lock_output = (uint8_t)(output < 1 ? 0 : 1u << ((unsigned)output - 1));
    b->lock_on_holds = on;
    done(c);
}

static void work(struct command *c)
{
    int on = on_or_off(c);
    if (on >= 0) {
        c->practice->machine.bench.work_on_bit = on == 1;
        done(c);
    }
}

/* scale WORD... */
static void scale(struct command *c)
{
    struct machine *m = &c->practice->machine;
    struct scale *s = &m->scale;
    const struct {
        const char *name;
        bool *at;
        bool value;
    } words[] = {
        {"mm", &s->inches, false},      {"in", &s->inches, true},
        {"rising", &s->falling, false}, {"falling", &s->falling, true},
        {"freeze", &s->frozen, true},   {"thaw", &s->frozen, false},
        {"garble", &s->garbled, true},  {"clear", &s->garbled, false},
    };
    for (int word = 1; word < c->words; word++) {
        bool known = strcmp(c->word[word], "on") == 0 || strcmp(c->word[word], "off") == 0;
        if (known) {
            scale_switch(s, c->word[word][1] == 'n', m->now);
        }
        for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
            if (strcmp(c->word[word], words[i].name) == 0) {
                *words[i].at = words[i].value;
                known = true;
            }
        }
        if (!known) {
            say(c, "{\"wrong\":\"scale takes on, off, mm, in, rising, falling, freeze, thaw, "
                   "garble or clear\"}");
            return;
        }
    }
    done(c);
}

/* plate lay HEIGHT_NM, lift, touch (by hand), untouch. */
static void plate(struct command *c)
{
    struct bench *b = &c->practice->machine.bench;
    const char *what = c->words > 1 ? c->word[1] : "";
    if (strcmp(what, "lay") == 0) {
        b->plate_laid = true;
        b->plate_nm = number_at(c, 2, 0);
    } else if (strcmp(what, "lift") == 0) {
        b->plate_laid = false;
    } else if (strcmp(what, "touch") == 0) {
        b->plate_by_hand = true;
    } else if (strcmp(what, "untouch") == 0) {
        b->plate_by_hand = false;
    } else {
        say(c, "{\"wrong\":\"plate takes lay, lift, touch or untouch\"}");
        return;
    }
    done(c);
}

/* ring OPENING_NM, cutter DIAMETER_NM CUTTING_LENGTH_NM. */
static void ring(struct command *c)
{
    c->practice->machine.bench.ring_nm = number_at(c, 1, 0);
    done(c);
}

static void cutter(struct command *c)
{
    c->practice->machine.bench.cutter_nm = number_at(c, 1, 0);
    c->practice->machine.bench.cutting_nm = number_at(c, 2, 0);
    done(c);
}

static void saved(struct command *c)
{
    if (memory_save(c->practice)) {
        done(c);
    } else {
        say(c, "{\"wrong\":\"the board's memory could not be written\"}");
    }
}

static void reset(struct command *c)
{
    machine_reset(&c->practice->machine);
    saved(c);
}

static void power(struct command *c)
{
    struct machine *m = &c->practice->machine;
    if (c->words == 2 && strcmp(c->word[1], "off") == 0) {
        machine_power(m, false);
        done(c);
    } else if (c->words == 2 && strcmp(c->word[1], "on") == 0) {
        machine_power(m, true);
        saved(c);
    } else {
        say(c, "{\"wrong\":\"power takes on or off\"}");
    }
}

/* The adapter is pulled out, and put in again with `plug`. */
static void unplug(struct command *c)
{
    port_close(&c->practice->port);
    wire_clear(&c->practice->machine.to_generator);
    wire_clear(&c->practice->machine.to_host);
    done(c);
}

static void plug(struct command *c)
{
    struct port *port = &c->practice->port;
    char path[PRACTICE_PATH_SIZE];
    snprintf(path, sizeof path, "%s", port->link_path);
    if (port->master_fd < 0 && !port_open(port, path)) {
        say(c, "{\"wrong\":\"no pseudo-terminal could be opened\"}");
    } else {
        done(c);
    }
}

static void hold(struct command *c)
{
    c->practice->lockstep.held = true;
    done(c);
}

static void let_go(struct command *c, uint64_t run_until, uint32_t rest_ms)
{
    struct lockstep *l = &c->practice->lockstep;
    l->run_until = run_until;
    l->rest_ms = rest_ms;
    l->rest_since = c->practice->machine.now;
    l->held = false;
    lockstep_release(c->practice);
}

static void release(struct command *c)
{
    let_go(c, WIRE_NEVER, 0);
    done(c);
}

/* run MS, answered when that time has passed; run-rest MS, when the motor has rested so long. */
static void run(struct command *c)
{
    double ms = number_at(c, 1, 0);
    bool rest = strcmp(c->word[0], "run-rest") == 0;
    if (c->practice->lockstep.listen_fd < 0 || c->words != 2 || ms < 0 || ms > 1e9) {
        say(c, "{\"wrong\":\"run takes milliseconds, and lockstep time\"}");
        return;
    }
    uint64_t now = c->practice->machine.now;
    uint64_t until = now + (uint64_t)(ms * BOARD_TICKS_PER_MS);
    let_go(c, rest ? WIRE_NEVER : until, rest ? (uint32_t)ms : 0);
    c->speaker->awaits_run = true;
}

static void end(struct command *c)
{
    c->practice->over = true;
    done(c);
}

static const struct {
    const char *name;
    void (*carry_out)(struct command *);
} commands[] = {
    {"motor-supply", motor_supply},
    {"truth", truth},
    {"router", router},
    {"lock", lock},
    {"clamp", clamp},
    {"work", work},
    {"plate", plate},
    {"ring", ring},
    {"cutter", cutter},
    {"mark", mark},
    {"scale", scale},
    {"bit", bit},
    {"set", set},
    {"noise", noise},
    {"byte", byte},
    {"slip", slip},
    {"stop-circuit", stop_circuit},
    {"reset", reset},
    {"power", power},
    {"unplug", unplug},
    {"plug", plug},
    {"hold", hold},
    {"free", release},
    {"run", run},
    {"run-rest", run},
    {"end", end},
};

void control_command(struct practice *practice, struct speaker *speaker, char *text, char *answer,
                     size_t answer_size)
{
    struct command c = {practice, speaker, {NULL}, 0, answer, answer_size};
    char *rest;
    for (char *word = strtok_r(text, " ", &rest); word && c.words < WORDS_MAX;
         word = strtok_r(NULL, " ", &rest)) {
        c.word[c.words++] = word;
    }
    answer[0] = '\0';
    for (size_t i = 0; c.words > 0 && i < sizeof commands / sizeof *commands; i++) {
        if (strcmp(c.word[0], commands[i].name) == 0) {
            commands[i].carry_out(&c);
            return;
        }
    }
    say(&c, "{\"wrong\":\"no such command; contrib/practice/README.md lists them\"}");
}
