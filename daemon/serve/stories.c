/* SPDX-License-Identifier: MIT */
/* Stories over the socket: kept, listed, loaded, and gone through mark by mark. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/serve/method.h"

enum { PAGE_BYTES = 12000 };

static struct stories *stories_of(const struct call *call)
{
    return call->exchange->session->server->stories;
}

/* --- The list --- */

static cJSON *story_object(const struct story *story)
{
    cJSON *object = cJSON_CreateObject();
    cJSON_AddStringToObject(object, "name", story->name);
    cJSON_AddNumberToObject(object, "marks", (double)story->count);
    return object;
}

/* All of them fit a line: a hundred names. */
static void list(struct call *call)
{
    const struct stories *stories = stories_of(call);
    cJSON *object = cJSON_CreateObject();
    cJSON *array = cJSON_AddArrayToObject(object, "stories");
    for (size_t i = 0; i < stories_count(stories); i++) {
        cJSON_AddItemToArray(array, story_object(stories_at(stories, i)));
    }
    call_result(call, object);
}

static const struct story *named(struct call *call, const char *name)
{
    const struct story *story = stories_find(stories_of(call), name);
    if (!story) {
        method_refuse(call, REASON_NO_SUCH_STORY,
                      "There is no story of that name. Nothing has changed. 'story' lists them.");
    }
    return story;
}

static void marks(struct call *call)
{
    double from = call->found[1] ? call->found[1]->valuedouble : 1;
    const struct story *story = named(call, call->found[0]->valuestring);
    size_t bytes = 0;
    if (!story) { /* answered: the call is no more */
        return;
    }
    cJSON *object = story_object(story);
    cJSON *array = cJSON_CreateArray();
    size_t first = from >= 1 && from <= STORY_MARKS_MAX ? (size_t)from : 1;
    size_t i = first - 1;
    for (; i < story->count; i++) {
        cJSON *mark = story_mark_print(&story->marks[i], true);
        char *text = mark ? cJSON_PrintUnformatted(mark) : NULL;
        bytes += text ? strlen(text) : PAGE_BYTES;
        cJSON_free(text);
        if (bytes > PAGE_BYTES && i >= first) {
            cJSON_Delete(mark);
            break;
        }
        cJSON_AddItemToArray(array, mark);
    }
    if (story->made_by[0] != '\0') {
        cJSON_AddStringToObject(object, "made_by", story->made_by);
    }
    cJSON_AddNumberToObject(object, "from", (double)first);
    cJSON_AddItemToObject(object, "list", array);
    cJSON_AddBoolToObject(object, "more", i < story->count);
    call_result(call, object);
}

/* --- Keeping --- */

static void on_kept(void *owner, enum reason reason, const char *sentence)
{
    struct call *call = owner;
    const struct story *story = stories_find(stories_of(call), call->name);
    if (reason != REASON_NONE) {
        method_refuse(call, reason, sentence);
    } else if (story) {
        call_result(call, story_object(story));
    } else {
        cJSON *object = cJSON_CreateObject();
        cJSON_AddStringToObject(object, "forgotten", call->name);
        call_result(call, object);
    }
}

/* Every bit that a mark names is in the list. */
static bool bits_known(struct call *call, const struct story_mark *mark, size_t number)
{
    char sentence[LIFT_SENTENCE];
    if (mark->bit[0] == '\0' || shop_find(call_shop(call), SHOP_BIT, mark->bit)) {
        return true;
    }
    snprintf(sentence, sizeof sentence,
             "Mark %zu: there is no bit named '%s'. Nothing has changed. Keep that bit first, or "
             "name another.",
             number, mark->bit);
    method_refuse(call, REASON_NO_SUCH_BIT, sentence);
    return false;
}

/* False, and answered, when a mark cannot be. */
static bool read_marks(struct call *call, const cJSON *array, struct story_mark *list_of)
{
    const cJSON *item;
    size_t number = 0;
    cJSON_ArrayForEach(item, array)
    {
        char why[STORY_WHY_SIZE];
        number++;
        if (!story_mark_read(item, number, &list_of[number - 1], why, sizeof why)) {
            method_invalid(call, "%s", why);
            return false;
        }
        if (!bits_known(call, &list_of[number - 1], number)) {
            return false;
        }
    }
    return true;
}

/* A story that is under way is not changed under it. */
static bool is_loaded(struct call *call, const char *name)
{
    struct lift_status status;
    const struct story *story = stories_find(stories_of(call), name);
    lift_status(call_lift(call), &status);
    if (!story || status.place.story != story->id) {
        return false;
    }
    method_refuse(call, REASON_IN_USE,
                  "That story is loaded. Nothing has changed. Finish or abandon it first.");
    return true;
}

/* False, and answered, when name, number of marks or maker's words are none. */
static bool head_is_sound(struct call *call, const char *name, size_t count, const char *made_by)
{
    if (!things_name_valid(name)) {
        method_invalid_name(call, name);
        return false;
    }
    if (count == 0 || count > STORY_MARKS_MAX) {
        method_invalid(call, "Found %zu marks; from 1 to %d would do.", count, STORY_MARKS_MAX);
        return false;
    }
    if (strlen(made_by) >= STORY_MADE_SIZE || strpbrk(made_by, "\n\r\t")) {
        method_invalid(call,
                       "Found %zu bytes for 'made_by', or more than one line; one line of at most "
                       "%d bytes would do.",
                       strlen(made_by), STORY_MADE_SIZE - 1);
        return false;
    }
    return true;
}

static void keep(struct call *call)
{
    struct shop_refusal refusal;
    const char *name = call->found[0]->valuestring;
    const cJSON *array = call->found[1];
    size_t count = (size_t)cJSON_GetArraySize(array);
    bool behind = cJSON_IsTrue(call->found[2]);
    bool there = stories_find(stories_of(call), name) != NULL;
    const char *made_by = call->found[4] ? call->found[4]->valuestring : "";
    if (!head_is_sound(call, name, count, made_by)) {
        return;
    }
    if (is_loaded(call, name)) {
        return;
    }
    if (there && !behind && !cJSON_IsTrue(call->found[3])) {
        method_refuse(call, REASON_NAME_TAKEN,
                      "There is a story of that name already. Nothing has changed. Say to replace "
                      "it, or take another name.");
        return;
    }
    struct story_mark *list_of = calloc(count, sizeof *list_of);
    if (!list_of) {
        call_error(call, LOCAL_INTERNAL_ERROR, "There is no memory left.", NULL);
        return;
    }
    if (read_marks(call, array, list_of)) {
        snprintf(call->name, sizeof call->name, "%s", name);
        const struct stories_kept kept = {name, made_by, list_of, count, behind};
        if (!stories_keep(stories_of(call), &kept, on_kept, call, &refusal)) {
            method_refuse(call, refusal.reason, refusal.sentence);
        }
    }
    free(list_of);
}

static void forget(struct call *call)
{
    struct shop_refusal refusal;
    const char *name = call->found[0]->valuestring;
    if (is_loaded(call, name)) {
        return;
    }
    snprintf(call->name, sizeof call->name, "%s", name);
    if (!stories_forget(stories_of(call), name, on_kept, call, &refusal)) {
        method_refuse(call, refusal.reason, refusal.sentence);
    }
}

/* --- Going through one --- */

/* Every height that the fitted bit is to be sent to can be reached as it is fitted now; those of
 * another bit are looked at when that is in. */
static bool within_reach(struct call *call, const struct story *story)
{
    struct lift_status status;
    char sentence[LIFT_SENTENCE];
    char height[96];
    lift_status(call_lift(call), &status);
    for (size_t i = 0; i < story->count && status.reach_known; i++) {
        const struct story_mark *mark = &story->marks[i];
        const struct thing *bit =
            mark->bit[0] != '\0' ? shop_find(call_shop(call), SHOP_BIT, mark->bit) : NULL;
        bool fitted = mark->bit[0] == '\0' || (bit && bit->id == status.bit);
        bool above = mark->height_nm > status.highest_nm;
        if (!mark->has_height || !fitted || (!above && mark->height_nm >= status.lowest_nm)) {
            continue;
        }
        method_length_text(above ? status.highest_nm : status.lowest_nm, height, sizeof height);
        snprintf(sentence, sizeof sentence,
                 "Mark %zu is out of reach: this bit goes %s %s. Nothing has changed. Take another "
                 "height or a %s bit: router unplugged, the shank in as deep as its maker asks; "
                 "touch off, load again.",
                 i + 1, above ? "up to" : "down to", height, above ? "longer" : "shorter");
        method_refuse(call, above ? REASON_ABOVE_TRAVEL : REASON_BELOW_TRAVEL, sentence);
        return false;
    }
    return true;
}

/* What it asks for is wired to an output. */
static bool outputs_wired(struct call *call, const struct story_mark *mark, size_t number)
{
    struct lift_status status;
    char sentence[LIFT_SENTENCE];
    lift_status(call_lift(call), &status);
    bool dust = mark->dust != STORY_DUST_ANY && !status.dust_fitted;
    if (!dust && !(mark->lock && !status.lock_fitted)) {
        return true;
    }
    snprintf(
        sentence, sizeof sentence,
        "Mark %zu asks for %s, and none is wired to an output of this lift. Nothing has moved. "
        "The configuration, under outputs, says what is; or keep the story without it.",
        number, dust ? "dust extraction" : "the carriage's clamp");
    method_refuse(call, dust ? REASON_NO_DUST : REASON_NO_LOCK, sentence);
    return false;
}

static void load(struct call *call)
{
    struct lift_refusal refusal;
    const struct story *story = named(call, call->found[0]->valuestring);
    if (!story) {
        return;
    }
    for (size_t i = 0; i < story->count; i++) {
        if (!bits_known(call, &story->marks[i], i + 1) ||
            !outputs_wired(call, &story->marks[i], i + 1)) {
            return;
        }
    }
    if (!within_reach(call, story)) {
        return;
    }
    struct lift_place place = {.story = story->id};
    if (!lift_set_place(call_lift(call), &place, method_done, call, &refusal)) {
        call_refused(call, &refusal);
    }
}

static void abandon(struct call *call)
{
    struct lift_refusal refusal;
    struct lift_place place = {.story = 0};
    if (!lift_set_place(call_lift(call), &place, method_done, call, &refusal)) {
        call_refused(call, &refusal);
    }
}

/* The story that is loaded, and where in it the lift is. NULL, and answered, when there is none. */
static const struct story *loaded(struct call *call, struct lift_place *place)
{
    struct lift_status status;
    lift_status(call_lift(call), &status);
    *place = status.place;
    const struct story *story =
        place->story != 0 ? stories_find_id(stories_of(call), place->story) : NULL;
    if (!story) {
        method_refuse(call, REASON_NO_SUCH_STORY,
                      "No story is loaded. Nothing has moved. Load one first.");
    }
    return story;
}

/* Its bit is in the collet. */
static bool bit_fits(struct call *call, const struct story_mark *mark, unsigned number)
{
    struct lift_status status;
    char sentence[LIFT_SENTENCE];
    const struct thing *bit =
        mark->bit[0] != '\0' ? shop_find(call_shop(call), SHOP_BIT, mark->bit) : NULL;
    lift_status(call_lift(call), &status);
    if (mark->bit[0] == '\0' || (bit && bit->id == status.bit)) {
        return true;
    }
    snprintf(sentence, sizeof sentence,
             "Mark %u is cut by the bit '%s', which is not in the collet. Nothing has moved. Say "
             "change, fit it, touch off, then go on.",
             number, mark->bit);
    method_refuse(call, REASON_WRONG_BIT, sentence);
    return false;
}

/* The mark that is so many forward, which may be gone to with the bit that is fitted. NULL, and
 * answered, when there is none. */
static const struct story_mark *find_mark(struct call *call, int by, struct lift_mark *there)
{
    static const enum lift_dust dusts[] = {[STORY_DUST_AUTO] = LIFT_DUST_AUTO,
                                           [STORY_DUST_ON] = LIFT_DUST_ON,
                                           [STORY_DUST_OFF] = LIFT_DUST_OFF};
    const struct story *story = loaded(call, &there->place);
    if (!story) {
        return NULL;
    }
    int wanted = (int)there->place.mark + by;
    if (wanted < 1 || (size_t)wanted > story->count) {
        method_refuse(call, REASON_STORY_END,
                      wanted < 1 ? "The story is before its first mark. Nothing has moved. Say "
                                   "next."
                                 : "The story is at its last mark. Nothing has moved. Abandon it, "
                                   "or go back.");
        return NULL;
    }
    const struct story_mark *mark = &story->marks[wanted - 1];
    *there = (struct lift_mark){.place = {.story = there->place.story, .mark = (uint16_t)wanted},
                                .height_nm = mark->height_nm,
                                .router_off = mark->router == STORY_ROUTER_OFF,
                                .dust = dusts[mark->dust]};
    bool may =
        bit_fits(call, mark, there->place.mark) && outputs_wired(call, mark, there->place.mark);
    return may ? mark : NULL;
}

/* A note alone: nothing moves. */
static bool take_note(struct call *call, const struct lift_mark *there, lift_done *done,
                      void *owner, struct lift_refusal *refusal)
{
    bool taken = lift_set_place(call_lift(call), &there->place, done, owner, refusal);
    if (taken && there->dust != 0) {
        lift_set_dust(call_lift(call), there->dust);
    }
    return taken;
}

/* By so many marks forward. */
static void step(struct call *call, int by)
{
    struct method_asker asker;
    struct lift_refusal refusal;
    struct lift_mark there;
    if (!method_asker(call, call->found[0], &asker)) {
        return;
    }
    const struct story_mark *mark = find_mark(call, by, &there);
    if (!mark) {
        return;
    }
    if (!mark->has_height) {
        if (!take_note(call, &there, method_done, call, &refusal)) {
            call_refused(call, &refusal);
        }
        return;
    }
    bool taken = lift_to_mark(call_lift(call), &there, asker.done, asker.owner, &refusal);
    method_asked(call, taken, &asker, &refusal);
}

bool stories_hold_next(struct call *call, lift_done *done, void *owner)
{
    struct lift_refusal refusal;
    struct lift_mark there;
    const struct story_mark *mark = find_mark(call, 1, &there);
    if (!mark) {
        return false;
    }
    struct lift *lift = call_lift(call);
    bool taken = mark->has_height ? lift_hold_to_mark(lift, &there, done, owner, &refusal)
                                  : take_note(call, &there, done, owner, &refusal);
    if (!taken) {
        call_refused(call, &refusal);
    }
    return taken;
}

static void next(struct call *call)
{
    step(call, 1);
}

static void back(struct call *call)
{
    step(call, -1);
}

static void again(struct call *call)
{
    step(call, 0);
}

static void cut(struct call *call)
{
    struct lift_place place;
    struct lift_refusal refusal;
    const struct story *story = loaded(call, &place);
    if (!story) {
        return;
    }
    if (place.mark == 0 || place.cut == UINT16_MAX) {
        method_refuse(call, REASON_STORY_END,
                      "The story is before its first mark: no piece is cut there. Nothing has "
                      "changed. Say next.");
        return;
    }
    place.cut++;
    if (!lift_set_place(call_lift(call), &place, method_done, call, &refusal)) {
        call_refused(call, &refusal);
    }
}

void stories_add_status(cJSON *object, const struct server *server, const struct lift_status *s)
{
    const struct story *story =
        s->place.story != 0 ? stories_find_id(server->stories, s->place.story) : NULL;
    if (!story) {
        return;
    }
    cJSON *place = cJSON_AddObjectToObject(object, "story");
    cJSON_AddStringToObject(place, "name", story->name);
    cJSON_AddNumberToObject(place, "mark", s->place.mark);
    cJSON_AddNumberToObject(place, "marks", (double)story->count);
    if (s->place.mark > 0 && s->place.mark <= story->count) {
        const struct story_mark *mark = &story->marks[s->place.mark - 1];
        cJSON_AddNumberToObject(place, "cut", s->place.cut);
        cJSON_AddItemToObject(place, "at", story_mark_print(mark, true));
    }
    if (s->place.mark < story->count) {
        cJSON_AddItemToObject(place, "next", story_mark_print(&story->marks[s->place.mark], true));
    }
}

static const struct local_param keep_params[] = {
    {"name", LOCAL_STRING, true},     {"marks", LOCAL_ARRAY, true},
    {"behind", LOCAL_BOOLEAN, false}, {"replace", LOCAL_BOOLEAN, false},
    {"made_by", LOCAL_STRING, false}, {NULL, 0, false}};
static const struct local_param marks_params[] = {
    {"name", LOCAL_STRING, true}, {"from", LOCAL_INTEGER, false}, {NULL, 0, false}};
static const struct local_param name_params[] = {{"name", LOCAL_STRING, true}, {NULL, 0, false}};
static const struct local_param wait_params[] = {{"wait", LOCAL_BOOLEAN, false}, {NULL, 0, false}};

const struct method methods_stories[] = {{"abandon", method_no_params, abandon, false},
                                         {"again", wait_params, again, false},
                                         {"back", wait_params, back, false},
                                         {"cut", method_no_params, cut, false},
                                         {"forget-story", name_params, forget, false},
                                         {"keep-story", keep_params, keep, false},
                                         {"load", name_params, load, false},
                                         {"marks", marks_params, marks, true},
                                         {"next", wait_params, next, false},
                                         {"stories", method_no_params, list, true},
                                         {NULL, NULL, NULL, false}};
