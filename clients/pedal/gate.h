/* SPDX-License-Identifier: MIT */
/*
 * What a key may ask for, and when: a state machine without I/O and without a clock. Times are
 * milliseconds of one clock that only goes forward. What comes out goes through the sink, while
 * the call that caused it lasts; the sink must not call back.
 *
 * - A key pressed while the lift moves stops it, whatever the key is for, and whoever moves it.
 *   Nothing queues. The same when another key is held, but for the keys that type a height.
 * - Only a press begins something, and only when it happens. A key that was pressed in vain, or
 *   whose deed is over, or that is down while the daemon comes back, begins nothing before it is
 *   let go and pressed anew.
 * - A held key is a lease: `hold` on the press, `renew` every 50 ms, `release` when it is let go,
 *   when its device vanishes and when the program ends. When the connection is lost nothing can be
 *   sent any more; its end brakes.
 * - A press is believed at once, and then what the contact does is not for `debounce_ms`.
 * - A press that is read more than GATE_LATE_MS after it happened begins nothing.
 */
#ifndef REGLET_CLIENTS_PEDAL_GATE_H
#define REGLET_CLIENTS_PEDAL_GATE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "clients/pedal/action.h"
#include "clients/pedal/typed.h"

enum {
    GATE_KEYS_MAX = 64,    /* down at one time, of all devices */
    GATE_WAITING_MAX = 60, /* requests without an answer; the daemon takes 64 */
    GATE_TOKEN_SIZE = 64,
    GATE_WHY_SIZE = 1024,

    GATE_LATE_MS = 300,
    GATE_RENEW_MS = 50,
    GATE_RENEW_MOST = 8,     /* renewals without an answer: the lease has long run out */
    GATE_NEXT_REST_MS = 700, /* after the lift came to rest `next` is not begun */
    GATE_NEXT_DOWN_MS = 80,  /* so long its key must have been down */
};

/* A rise of a typed height over this, 1/2 in, goes only while enter is held. */
#define GATE_RISE_NM INT64_C(12700000)

enum gate_ask {
    GATE_BY = 1,
    GATE_HOLD,
    GATE_NEXT,
    GATE_RECALL,
    GATE_RELEASE,
    GATE_RENEW,
    GATE_STOP,
    GATE_TO,
};

struct gate_request {
    enum gate_ask ask;
    double id;
    bool up;          /* hold */
    bool fast;        /* hold */
    bool next;        /* hold: to the next mark, whatever up and fast are */
    int64_t nm;       /* by, to */
    const char *text; /* recall: the name; renew, release: the token; only while the call lasts */
};

/* A height that is being typed. */
struct gate_shown {
    enum gate_typing { GATE_TYPING = 1, GATE_SENT, GATE_CLEARED } state;
    const char *text; /* as typed; "" when cleared */
    const char *unit; /* "in", "mm" */
    bool read;        /* it is a height */
    int64_t nm;       /* when it is */
    bool must_hold;   /* enter has to be held */
    const char *why;  /* when it is none: what was expected */
};

struct gate_sink {
    void *owner;
    void (*send)(void *owner, const struct gate_request *request);
    void (*say)(void *owner, const char *sentence);
    void (*show)(void *owner, const struct gate_shown *shown);
};

/* One edge of a contact. Devices are told apart by a number; a key is (device, code). */
struct gate_event {
    unsigned device;
    unsigned code;
    const struct action *action; /* NULL: for nothing. Must live as long as the gate */
    bool down;
    bool synced;   /* found behind lost events: when it happened is not known */
    int64_t at_ms; /* when it happened; at most now */
};

/* What a status or a position says. */
struct gate_lift {
    bool moving; /* or braking */
    bool height_known;
    int64_t height_nm;
    bool router_told;       /* a position does not say it, nor the unit: then it is as it was */
    bool router_turning;    /* it runs, or may still turn */
    enum length_style unit; /* how the shop has heights; 0: it was not told */
};

struct gate_answer {
    double id;
    bool refused;
    bool hold_over;       /* its reason is that */
    bool stopped;         /* its reason is that */
    const char *sentence; /* when refused */
    const char *token;    /* of a hold; else NULL */
};

struct gate_key {
    bool used;
    unsigned device;
    unsigned code;
    const struct action *action;
    bool raw;         /* as the contact was last told to be */
    bool raw_late;    /* and that was old already */
    bool down;        /* as it is believed */
    int64_t quiet_ms; /* until then the contact is not believed */
    int64_t down_ms;  /* since when it is down */
};

/* What a key that is down keeps up. */
struct gate_deed {
    enum gate_deed_kind { DEED_NONE, DEED_HOLD, DEED_TO, DEED_NEXT } kind;
    unsigned device;
    unsigned code;
    double id;                   /* of the request */
    char token[GATE_TOKEN_SIZE]; /* hold; "" until it is answered */
    int64_t renew_ms;            /* hold: when the next is due */
    unsigned unanswered;         /* renewals */
};

struct gate_waiting {
    double id;
    enum gate_ask ask;
    double hold_id; /* of a renewal */
};

struct gate {
    struct gate_sink sink;
    enum length_style style;
    bool follows; /* nobody has chosen it for this pedal: it goes with the shop's */
    int debounce_ms;
    bool ready;
    double last_id;
    struct gate_lift lift;
    int64_t rest_ms;  /* when the lift came to rest */
    double motion_id; /* of ours that is not answered; 0 is none */
    bool halted;      /* and we have asked to stop it */
    struct gate_deed deed;
    struct gate_key key[GATE_KEYS_MAX];
    struct gate_waiting waiting[GATE_WAITING_MAX];
    size_t waiting_count;
    struct typed typed;
    int64_t clear_ms; /* when what is typed is cleared */
};

/* Ids of requests begin above first_id. */
void gate_start(struct gate *gate, const struct gate_sink *sink, enum length_style style,
                int debounce_ms, double first_id);

/* --- From the keys --- */

void gate_key(struct gate *gate, int64_t now_ms, const struct gate_event *event);

/* Events of this device were lost: what it held ends, and what moves for us is stopped. */
void gate_dropped(struct gate *gate, unsigned device);

/* The device is not there any more. */
void gate_gone(struct gate *gate, unsigned device);

/* --- From the daemon --- */

void gate_ready(struct gate *gate, int64_t now_ms, const struct gate_lift *lift);
void gate_lost(struct gate *gate);
void gate_told(struct gate *gate, int64_t now_ms, const struct gate_lift *lift);
void gate_answered(struct gate *gate, int64_t now_ms, const struct gate_answer *answer);

/* --- From time --- */

/* When gate_tick is wanted; INT64_MAX: not before something else happens. */
int64_t gate_next_ms(const struct gate *gate);
void gate_tick(struct gate *gate, int64_t now_ms);

/* The program is told to end: what is held is released, what moves for us is stopped. True when
 * something was. No key counts after it. */
bool gate_end(struct gate *gate);

/* Does an answer that matters for the end still come? */
bool gate_waits(const struct gate *gate);

#endif
