/* SPDX-License-Identifier: MIT */
/*
 * What changes, told to those who watch. At the end of every turn of the loop the lift is looked at
 * and compared with what was told last, so that nobody has to remember to tell.
 */
#include <stdio.h>
#include <string.h>

#include "daemon/serve/method.h"

#define POSITION_NS (INT64_C(25) * CLOCK_NS_PER_MS)
#define LIFE_NS (INT64_C(1000) * CLOCK_NS_PER_MS)

static bool same_state(const struct lift_status *a, const struct lift_status *b)
{
    return a->activity == b->activity && a->reference == b->reference &&
           a->table_zero == b->table_zero;
}

/* All but the place and its age. */
static bool same(const struct server *server, const struct lift_status *now)
{
    const struct watch *watch = &server->watch;
    const struct lift_status *told = &watch->told;
    return watch->known && strcmp(watch->unit, display_unit(server)) == 0 &&
           same_state(told, now) && told->height_known == now->height_known &&
           told->play_known == now->play_known && told->play_taken_up == now->play_taken_up &&
           told->moving_to_known == now->moving_to_known &&
           told->moving_to_nm == now->moving_to_nm && told->preset == now->preset &&
           told->in_motion == now->in_motion && told->holding == now->holding &&
           told->inputs == now->inputs && told->bit == now->bit &&
           told->riding_nm == now->riding_nm && told->stage == now->stage &&
           told->asks == now->asks && told->place.story == now->place.story &&
           told->place.mark == now->place.mark && told->place.cut == now->place.cut &&
           told->router_turning == now->router_turning &&
           told->zero_moved_known == now->zero_moved_known &&
           told->zero_moved_nm == now->zero_moved_nm &&
           told->corrected_known == now->corrected_known &&
           told->corrected_nm == now->corrected_nm && told->stop_open == now->stop_open &&
           told->board == now->board && told->boot == now->boot &&
           strcmp(watch->why, now->barred_why) == 0;
}

static bool same_place(const struct lift_status *a, const struct lift_status *b)
{
    return a->count == b->count && a->position_nm == b->position_nm && a->height_nm == b->height_nm;
}

static void remember(struct server *server, const struct lift_status *now)
{
    struct watch *watch = &server->watch;
    watch->known = true;
    watch->told = *now;
    snprintf(watch->why, sizeof watch->why, "%s", now->barred_why);
    watch->told.barred_why = watch->why;
    snprintf(watch->unit, sizeof watch->unit, "%s", display_unit(server));
}

/* `params` is taken over. */
static void tell(struct server *server, const char *method, cJSON *params, bool event)
{
    struct watch *watch = &server->watch;
    cJSON *message = local_notification_new(method, params);
    struct shared *shared = shared_print(message);
    struct session *next;
    cJSON_Delete(message);
    for (struct session *s = server->sessions; s; s = next) {
        next = s->next;
        if (s->watching && !shared) {
            session_close(s); /* memory is short: nobody misses an event unknowingly */
        } else if (s->watching && (event || session_backlog(s) < SESSION_BEHIND)) {
            session_send_shared(s, shared);
        }
    }
    shared_drop(shared);
    watch->told_ns = clock_now_ns(server->clock);
    if (watch->watchers > 0) {
        clock_set(server->clock, &watch->life, watch->told_ns + LIFE_NS);
    }
}

/* One line for each change of state. */
static void put_in_log(const struct lift_status *now)
{
    bool why = now->barred_why[0] != '\0';
    fprintf(stderr, "regletd: %s%s%s; reference %s, table zero %s\n",
            status_activity(now->activity), why ? ": " : "", now->barred_why,
            trust_word(now->reference), trust_word(now->table_zero));
}

static void look(uv_prepare_t *handle)
{
    struct server *server = handle->data;
    struct watch *watch = &server->watch;
    struct lift_status now;
    server_turn(server);
    lift_status(server->lift, &now);
    if (!same(server, &now)) {
        if (!watch->known || !same_state(&watch->told, &now)) {
            put_in_log(&now);
        }
        remember(server, &now);
        if (watch->watchers > 0) {
            tell(server, "changed", status_object(server, &now), true);
        }
    } else if (watch->watchers > 0 && !same_place(&watch->told, &now) &&
               clock_now_ns(server->clock) - watch->told_ns >= POSITION_NS) {
        remember(server, &now);
        tell(server, "position", status_place(&now), false);
    }
    server_flush(server);
}

/* Nothing has changed for a second: a sign of life, or else a watcher could not tell a lift that
 * stands still from a daemon that hangs. */
static void on_life(void *owner)
{
    struct server *server = owner;
    struct lift_status now;
    lift_status(server->lift, &now);
    tell(server, "position", status_place(&now), false);
}

void watch_begin(struct session *session)
{
    struct server *server = session->server;
    if (!session->watching) {
        session->watching = true;
        server->watch.watchers++;
        clock_set(server->clock, &server->watch.life, clock_now_ns(server->clock) + LIFE_NS);
    }
}

void watch_end(struct session *session)
{
    struct server *server = session->server;
    if (session->watching) {
        session->watching = false;
        if (--server->watch.watchers == 0) {
            clock_clear(server->clock, &server->watch.life);
        }
    }
}

void watch_open(struct server *server, uv_loop_t *loop)
{
    struct watch *watch = &server->watch;
    watch->life = (struct clock_timer){.due = on_life, .owner = server};
    uv_prepare_init(loop, &watch->turn);
    watch->turn.data = server;
    uv_prepare_start(&watch->turn, look);
}

void watch_close(struct server *server)
{
    clock_clear(server->clock, &server->watch.life);
    uv_close((uv_handle_t *)&server->watch.turn, NULL);
}
