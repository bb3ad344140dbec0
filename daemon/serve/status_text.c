/* SPDX-License-Identifier: MIT */
/*
 * The status, printed once for all who ask until it changes. Nobody has to remember to say that it
 * has: all that it is printed of is compared each time.
 */
#include <string.h>

#include "daemon/serve/method.h"

static int64_t whole_ms(int64_t ns)
{
    return ns - ns % CLOCK_NS_PER_MS;
}

/* Padding may differ where nothing else does: then it is printed once more for nothing. */
static void make_key(const struct server *server, struct status_key *key)
{
    memset(key, 0, sizeof *key);
    lift_status(server->lift, &key->lift);
    memccpy(key->why, key->lift.barred_why, '\0', sizeof key->why - 1);
    key->lift.barred_why = NULL;
    key->lift.age_ns = whole_ms(key->lift.age_ns);
    key->lift.reading_age_ns = key->lift.reading_known ? whole_ms(key->lift.reading_age_ns) : 0;
    memcpy(key->in_charge, server->in_charge, sizeof key->in_charge);
    key->shop_changes = shop_changes(server->shop);
    key->stories_changes = stories_changes(server->stories);
}

static void print(struct server *server, const struct status_key *key)
{
    struct status_text *kept = &server->status_text;
    struct lift_status status = key->lift;
    status.barred_why = key->why;
    cJSON *object = status_object(server, &status);
    cJSON_free(kept->text);
    kept->text = cJSON_PrintUnformatted(object);
    kept->size = kept->text ? strlen(kept->text) : 0;
    kept->key = *key;
    cJSON_Delete(object);
}

const char *status_text(struct server *server, size_t *size)
{
    struct status_text *kept = &server->status_text;
    struct status_key key;
    make_key(server, &key);
    if (!kept->text || memcmp(&kept->key, &key, sizeof key) != 0) {
        print(server, &key);
    }
    *size = kept->size;
    return kept->text;
}

void status_text_free(struct status_text *kept)
{
    cJSON_free(kept->text);
    kept->text = NULL;
}
