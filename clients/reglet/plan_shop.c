/* SPDX-License-Identifier: MIT */
#include "clients/reglet/plan_shop.h"

#include <stdio.h>
#include <string.h>

#include "clients/bench/joint_bit.h"
#include "clients/common/words.h"

static bool length_of(const cJSON *object, const char *name, int64_t *nm)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    *nm = cJSON_IsNumber(item) ? (int64_t)item->valuedouble : 0;
    return cJSON_IsNumber(item);
}

static const char *text_of(const cJSON *object, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    return cJSON_IsString(item) ? item->valuestring : "";
}

enum client_exit plan_shop_open(struct plan_shop *shop)
{
    struct client_answer answer = {0};
    enum client_exit code = run_ask(shop->run, "status", NULL, &answer);
    if (code == CLIENT_DONE && answer.error) {
        code = run_tell(shop->run, &answer);
    } else if (code == CLIENT_DONE) {
        shop->connected = true;
        shop->reach_known = length_of(answer.result, "lowest_nm", &shop->lowest_nm) &&
                            length_of(answer.result, "highest_nm", &shop->highest_nm);
        (void)snprintf(shop->fitted, sizeof shop->fitted, "%s", text_of(answer.result, "bit"));
    }
    client_answer_free(&answer);
    return code;
}

/* --- Names --- */

/* One page of a list, from behind `after`. NULL params: memory. */
static enum client_exit page(struct run *run, const char *list, const char *after,
                             struct client_answer *answer)
{
    cJSON *params = after[0] != '\0' ? words_params_text("after", after) : cJSON_CreateObject();
    return params ? run_call(run, list, params, answer) : run_trouble(run, CLIENT_NO_MEMORY);
}

/* The item of that name, in *answer, which the caller frees; NULL: there is none, or trouble. */
static const cJSON *find(struct plan_shop *shop, const char *list, const char *name,
                         struct client_answer *answer)
{
    char after[JOINT_NAME_SIZE] = "";
    bool more = true;
    while (more) {
        const cJSON *item;
        const cJSON *last = NULL;
        client_answer_free(answer);
        shop->trouble = page(shop->run, list, after, answer);
        if (shop->trouble != CLIENT_DONE || answer->error) {
            return NULL;
        }
        cJSON_ArrayForEach(item, cJSON_GetObjectItemCaseSensitive(answer->result, list))
        {
            if (strcmp(text_of(item, "name"), name) == 0) {
                return item;
            }
            last = item;
        }
        more = last && cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(answer->result, "more"));
        (void)snprintf(after, sizeof after, "%s", last ? text_of(last, "name") : "");
    }
    return NULL;
}

static bool not_there(const struct plan_shop *shop, const char *what, const char *name, char *why)
{
    (void)snprintf(why, JOINT_JOB_WHY,
                   shop->connected ? "there is no %s named '%.63s' in the lift's list"
                                   : "the %s '%.63s' can be looked up only when regletd runs",
                   what, name);
    return false;
}

static bool find_stock(void *owner, const char *name, int64_t *nm, char *why)
{
    struct plan_shop *shop = owner;
    struct client_answer answer = {0};
    const cJSON *item = shop->connected ? find(shop, "stock", name, &answer) : NULL;
    bool found = item && length_of(item, "size_nm", nm);
    client_answer_free(&answer);
    return found || not_there(shop, "stock", name, why);
}

static bool find_bit(void *owner, const char *name, enum joint_kind wanted,
                     struct joint_cutter *cutter, char *fitted, char *why)
{
    struct plan_shop *shop = owner;
    struct client_answer answer = {0};
    const char *which = name ? name : shop->fitted;
    if (which[0] == '\0') {
        (void)snprintf(why, JOINT_JOB_WHY,
                       "it must be said which bit: 'bit NAME' of the lift's "
                       "list, or its width: 'bit 1/2'; none that is named is "
                       "fitted");
        return false;
    }
    const cJSON *item = shop->connected ? find(shop, "bits", which, &answer) : NULL;
    bool good = item && joint_bit_read(item, wanted, cutter, why, JOINT_JOB_WHY);
    if (!item) {
        (void)not_there(shop, "bit", which, why);
    } else if (fitted) {
        (void)snprintf(fitted, JOINT_NAME_SIZE, "%s", which);
    }
    client_answer_free(&answer);
    return good;
}

struct joint_shelf plan_shop_shelf(struct plan_shop *shop)
{
    return (struct joint_shelf){.owner = shop, .stock = find_stock, .bit = find_bit};
}

struct joint_shop plan_shop_travel(const struct plan_shop *shop, const char *bit, bool second,
                                   enum length_style style)
{
    struct joint_shop travel = {style, -LENGTH_NM_MAX, LENGTH_NM_MAX};
    bool fitted = bit[0] == '\0' || strcmp(bit, shop->fitted) == 0;
    if (shop->reach_known && fitted && !second) {
        travel.lowest_nm = shop->lowest_nm - 1; /* both ends can be asked for */
        travel.highest_nm = shop->highest_nm + 1;
    }
    return travel;
}
