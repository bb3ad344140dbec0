/* SPDX-License-Identifier: MIT */
#include "clients/pedal/pedal.h"

#include <signal.h>
#include <string.h>

#include "clients/common/say.h"
#include "clients/pedal/big.h"

void pedal_say(FILE *file, const char *sentence)
{
    struct say say = {0};
    say_harmless(&say, sentence);
    (void)fprintf(file, "reglet-pedal: %s\n", say.text); /* nobody to tell if it fails */
    (void)fflush(file);
}

/* --- Time --- */

static void on_timer(uv_timer_t *timer);

static int64_t now(const struct pedal *pedal)
{
    return (int64_t)uv_now(pedal->loop);
}

static void close_all(struct pedal *pedal)
{
    if (pedal->closing) {
        return;
    }
    pedal->closing = true;
    finder_close(&pedal->finder);
    talk_close(&pedal->talk);
    uv_close((uv_handle_t *)&pedal->timer, NULL);
    for (size_t i = 0; i < PEDAL_SIGNALS; i++) {
        uv_close((uv_handle_t *)&pedal->signal[i], NULL);
    }
}

/* Behind everything that may have changed what the gate waits for. */
static void set_timer(struct pedal *pedal)
{
    int64_t next_ms = gate_next_ms(&pedal->gate);
    if (pedal->closing) {
        return;
    }
    if (pedal->ending) {
        if (!gate_waits(&pedal->gate)) {
            close_all(pedal);
        }
    } else if (next_ms == INT64_MAX) {
        (void)uv_timer_stop(&pedal->timer);
    } else {
        uint64_t wait_ms = next_ms > now(pedal) ? (uint64_t)(next_ms - now(pedal)) : 0;
        (void)uv_timer_start(&pedal->timer, on_timer, wait_ms, 0);
    }
}

static void on_timer(uv_timer_t *timer)
{
    struct pedal *pedal = timer->data;
    if (pedal->ending) {
        pedal_say(pedal->setup.says, "The lift's rest was not heard of in time. The connection "
                                     "that closes brakes it: look whether it does.");
        close_all(pedal);
        return;
    }
    gate_tick(&pedal->gate, now(pedal));
    set_timer(pedal);
}

/* --- From the gate --- */

static void on_send(void *owner, const struct gate_request *request)
{
    struct pedal *pedal = owner;
    talk_send(&pedal->talk, request);
}

static void on_say(void *owner, const char *sentence)
{
    const struct pedal *pedal = owner;
    pedal_say(pedal->setup.says, sentence);
}

static void on_show(void *owner, const struct gate_shown *shown)
{
    const struct pedal *pedal = owner;
    struct say say = {0};
    big_shown(&say, shown, pedal->gate.style, pedal->setup.large);
    (void)fputs(say.text, pedal->setup.shows);
    (void)fflush(pedal->setup.shows);
}

/* --- From the devices --- */

static void on_key(void *owner, struct device *device, unsigned code, bool down, bool synced,
                   int64_t at_ms)
{
    struct pedal *pedal = owner;
    if (pedal->ending) {
        return;
    }
    uv_update_time(pedal->loop);
    gate_key(&pedal->gate, now(pedal),
             &(struct gate_event){.device = device->number,
                                  .code = code,
                                  .action = map_action(device->map, code),
                                  .down = down,
                                  .synced = synced,
                                  .at_ms = at_ms < now(pedal) ? at_ms : now(pedal)});
    set_timer(pedal);
}

static void on_dropped(void *owner, struct device *device)
{
    struct pedal *pedal = owner;
    gate_dropped(&pedal->gate, device->number);
    set_timer(pedal);
}

static void on_gone(void *owner, struct device *device)
{
    struct pedal *pedal = owner;
    gate_gone(&pedal->gate, device->number);
    set_timer(pedal);
}

/* --- From the daemon --- */

static void on_ready(void *owner, const struct gate_lift *lift)
{
    struct pedal *pedal = owner;
    gate_ready(&pedal->gate, now(pedal), lift);
}

static void on_lost(void *owner)
{
    struct pedal *pedal = owner;
    gate_lost(&pedal->gate);
    set_timer(pedal);
}

static void on_told(void *owner, const struct gate_lift *lift)
{
    struct pedal *pedal = owner;
    gate_told(&pedal->gate, now(pedal), lift);
}

static void on_answered(void *owner, const struct gate_answer *answer)
{
    struct pedal *pedal = owner;
    gate_answered(&pedal->gate, now(pedal), answer);
    set_timer(pedal);
}

/* --- Beginning and end --- */

void pedal_end(struct pedal *pedal)
{
    if (pedal->ending) {
        close_all(pedal);
        return;
    }
    pedal->stopped = gate_end(&pedal->gate);
    pedal->ending = true;
    (void)uv_timer_start(&pedal->timer, on_timer, PEDAL_END_MS, 0);
    set_timer(pedal);
}

enum client_exit pedal_exit(const struct pedal *pedal)
{
    return pedal->stopped ? CLIENT_BROKEN_OFF : CLIENT_DONE;
}

static void on_signal(uv_signal_t *signal, int number)
{
    (void)number;
    pedal_end(signal->data);
}

/* Ctrl-Z too: a program that is suspended could not be told to stop the lift any more. None that
 * was ignored already, as nohup has it. */
static int catch_signals(struct pedal *pedal)
{
    static const int numbers[PEDAL_SIGNALS] = {SIGINT, SIGTERM, SIGHUP, SIGTSTP};
    for (size_t i = 0; i < PEDAL_SIGNALS; i++) {
        struct sigaction before;
        bool ignored = sigaction(numbers[i], NULL, &before) == 0 && before.sa_handler == SIG_IGN;
        int error = uv_signal_init(pedal->loop, &pedal->signal[i]);
        pedal->signal[i].data = pedal;
        error = error == 0 && !ignored ? uv_signal_start(&pedal->signal[i], on_signal, numbers[i])
                                       : error;
        if (error != 0) {
            return error;
        }
    }
    return 0;
}

int pedal_start(struct pedal *pedal, uv_loop_t *loop, const struct pedal_setup *setup)
{
    const struct gate_sink sink = {pedal, on_send, on_say, on_show};
    const struct talk_events talk = {pedal, on_ready, on_lost, on_told, on_answered, on_say};
    const struct finder_events finder = {pedal, NULL, on_key, on_dropped, on_gone, on_say};
    pedal->setup = *setup;
    pedal->loop = loop;
    pedal->ending = pedal->stopped = pedal->closing = false;
    (void)signal(SIGPIPE, SIG_IGN); /* a daemon that goes is seen by the write's error */
    gate_start(&pedal->gate, &sink, setup->style, setup->map->debounce_ms, TALK_ID_FIRST);
    pedal->gate.follows = setup->follows;
    int error = uv_timer_init(loop, &pedal->timer);
    pedal->timer.data = pedal;
    error = error == 0 ? catch_signals(pedal) : error;
    error =
        error == 0 ? talk_start(&pedal->talk, loop, setup->socket, setup->practice, &talk) : error;
    return error == 0 ? finder_start(&pedal->finder, loop, setup->folder, setup->map, &finder)
                      : error;
}
