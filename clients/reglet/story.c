/* SPDX-License-Identifier: MIT */
#include <argp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/stories.h"
#include "clients/common/words.h"
#include "clients/reglet/ask.h"
#include "clients/reglet/file.h"
#include "clients/reglet/shelf.h"

static struct story_file story; /* of this run; too large for the stack */

/* --- The list --- */

static void show_list(const struct run *run, const cJSON *list)
{
    const cJSON *item;
    if (cJSON_GetArraySize(list) == 0) {
        struct say say = {0};
        say_wrap(&say, "", 0,
                 "There are no stories yet. Make one from a joint, '%s joint', from passes, '%s "
                 "passes', or from a file: '%s story keep FILE'.",
                 run_name(run), run_name(run), run_name(run));
        run_print(&say);
    }
    cJSON_ArrayForEach(item, list)
    {
        struct say say = {0};
        const cJSON *name = cJSON_GetObjectItemCaseSensitive(item, "name");
        const cJSON *marks = cJSON_GetObjectItemCaseSensitive(item, "marks");
        say_add(&say, "  ");
        say_harmless(&say, cJSON_IsString(name) ? name->valuestring : "?");
        say_add(&say, "   %d marks\n", cJSON_IsNumber(marks) ? marks->valueint : 0);
        run_print(&say);
    }
}

static enum client_exit list(struct run *run)
{
    struct client_answer answer = {0};
    enum client_exit code = run_ask(run, "stories", NULL, &answer);
    if (code == CLIENT_DONE && (run->json || answer.error)) {
        code = run_tell(run, &answer);
    } else if (code == CLIENT_DONE && !stories_list(answer.result, "stories")) {
        code = run_trouble(run, CLIENT_GARBLED);
    } else if (code == CLIENT_DONE) {
        show_list(run, stories_list(answer.result, "stories"));
    }
    client_answer_free(&answer);
    return code;
}

/* --- One of them --- */

static enum client_exit named(struct run *run, const char **name)
{
    char why[WORDS_WHY];
    *name = words_only_name(run->count - 1, run->word + 1, why);
    if (!*name) {
        return run_usage(run, run->count > 1 ? why
                                             : "expected the name of a story behind it; "
                                               "'reglet story' lists them");
    }
    return CLIENT_DONE;
}

static enum client_exit fetch(struct run *run)
{
    const char *name;
    enum client_exit code = named(run, &name);
    if (code == CLIENT_DONE) {
        code = run_connect(run);
    }
    return code == CLIENT_DONE ? shelf_read(run, name, &story) : code;
}

/* NULL is no memory. Freed here. */
static enum client_exit print(const struct run *run, char *text)
{
    if (!text) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    (void)fputs(text, stdout); /* main looks at ferror */
    free(text);
    return CLIENT_DONE;
}

static enum client_exit show(struct run *run)
{
    enum client_exit code = fetch(run);
    if (code == CLIENT_DONE && run->json) {
        return print(run, story_file_print(&story, STORY_FORM_JSON, run->style));
    }
    for (size_t i = 0; code == CLIENT_DONE && i < story.count; i++) {
        struct say say = {0};
        say_add(&say, "  ");
        stories_mark_head(&say, &story.mark[i], (int)i + 1, (int)story.count, run->style);
        if (story.mark[i].pieces > 0) {
            say_add(&say, "   %d piece%s", (int)story.mark[i].pieces,
                    story.mark[i].pieces == 1 ? "" : "s");
        }
        say_add(&say, "\n");
        stories_mark_notes(&say, &story.mark[i], 6);
        run_print(&say);
    }
    return code;
}

static enum client_exit ticket(struct run *run)
{
    enum client_exit code = fetch(run);
    return code == CLIENT_DONE ? print(run, story_ticket(&story, run->style)) : code;
}

static enum client_exit forget(struct run *run)
{
    const char *name;
    char question[160];
    struct client_answer answer = {0};
    enum client_exit code = named(run, &name);
    if (code == CLIENT_DONE && !run->yes && !ask_possible(run)) {
        return run_usage(run, "nobody can be asked whether you mean it; say --yes");
    }
    if (code == CLIENT_DONE) {
        code = run_connect(run);
    }
    if (code == CLIENT_DONE && !run->yes) {
        (void)snprintf(question, sizeof question, "Forget the story %.63s?", name);
        code = ask_yes(run, question, "It is still on the list; nothing has changed.");
    }
    if (code != CLIENT_DONE) {
        return code;
    }
    cJSON *params = words_params_text("name", name);
    code = params ? run_call(run, "forget-story", params, &answer)
                  : run_trouble(run, CLIENT_NO_MEMORY);
    if (code == CLIENT_DONE) {
        code = run_tell(run, &answer);
    }
    if (code == CLIENT_DONE && !run->json) {
        struct say say = {0};
        say_add(&say, "Forgotten: ");
        say_harmless(&say, name);
        say_add(&say, "\n");
        run_print(&say);
    }
    client_answer_free(&answer);
    return code;
}

/* --- Files --- */

static enum client_exit read_file(const char *path)
{
    size_t size;
    struct story_fault fault;
    char *text = file_read(path, STORY_FILE_SIZE_MAX, &size);
    if (!text) {
        return CLIENT_USAGE;
    }
    bool good = story_file_read(text, size, story_file_form(path, text), &story, &fault);
    free(text);
    if (!good) {
        struct say say = {0};
        say_wrap(&say, "", 0, "%.200s, line %u: %s", path, fault.line, fault.text);
        say_wrap(&say, "", 0, "Nothing was kept, and nothing was asked of the lift.");
        run_complain(&say);
    }
    return good ? CLIENT_DONE : CLIENT_USAGE;
}

/* The name behind the file, else the one in it, else the file's own without its ending. */
static enum client_exit settle_name(struct run *run, const char *path)
{
    char why[WORDS_WHY];
    char word[STORY_NAME_SIZE + 1];
    char *words[] = {word};
    const char *base = strrchr(path, '/') ? strrchr(path, '/') + 1 : path;
    if (run->count > 2) {
        (void)snprintf(word, sizeof word, "%s", run->word[2]);
    } else if (story.name[0] != '\0') {
        return CLIENT_DONE;
    } else if (strcmp(path, "-") == 0) {
        return run_usage(run, "expected a name for the story behind '-'");
    } else {
        (void)snprintf(word, sizeof word, "%.*s", (int)strcspn(base, "."), base);
    }
    const char *name = words_only_name(1, words, why);
    if (!name) {
        return run_usage(run, why);
    }
    (void)snprintf(story.name, sizeof story.name, "%s", name);
    return CLIENT_DONE;
}

static enum client_exit keep(struct run *run)
{
    if (run->count < 2 || run->count > 3) {
        return run_usage(run, "expected a file and, if it is to have another one, a name: story "
                              "keep sides.json sides");
    }
    enum client_exit code = read_file(run->word[1]);
    if (code == CLIENT_DONE) {
        code = settle_name(run, run->word[1]);
    }
    if (code == CLIENT_DONE) {
        code = run_connect(run);
    }
    if (code == CLIENT_DONE) {
        code = shelf_keep(run, &story, run->replace);
    }
    if (code == CLIENT_DONE && !run->json) {
        struct say say = {0};
        say_wrap(&say, "", 0, "Kept the story %.63s, %zu marks. Next: '%s load %.63s'.", story.name,
                 story.count, run_name(run), story.name);
        run_print(&say);
    }
    return code;
}

static enum client_exit save(struct run *run)
{
    char name[STORY_NAME_SIZE];
    if (run->count != 3) {
        return run_usage(run, "expected the name of a story and of a file: story save sides "
                              "sides.json (or .csv, .txt)");
    }
    const char *path = run->word[2];
    (void)snprintf(name, sizeof name, "%s", run->word[1]);
    enum client_exit code = run_connect(run);
    if (code == CLIENT_DONE) {
        code = shelf_read(run, name, &story);
    }
    if (code != CLIENT_DONE) {
        return code;
    }
    enum story_form form = story_file_form(path, strcmp(path, "-") == 0 ? "{" : "");
    char *text = story_file_print(&story, form, run->style);
    if (!text) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    code = file_write(path, text, run->replace) ? CLIENT_DONE : CLIENT_USAGE;
    free(text);
    return code;
}

static enum client_exit carry_out(struct run *run)
{
    static const struct {
        const char *word;
        enum client_exit (*carry_out)(struct run *run);
    } words[] = {{"list", list}, {"show", show},     {"print", ticket},
                 {"keep", keep}, {"forget", forget}, {"save", save}};
    char why[WORDS_WHY];
    if (run->count == 0) {
        return list(run);
    }
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (strcmp(run->word[0], words[i].word) == 0) {
            return words[i].carry_out(run);
        }
    }
    (void)snprintf(why, sizeof why,
                   "'%.64s' is none of: list, show, print, keep, save, forget; 'reglet load STORY' "
                   "begins one",
                   run->word[0]);
    return run_usage(run, why);
}

static const struct argp_option options[] = {
    {"replace", RUN_REPLACE, 0, 0, "Take the place of a story or file of that name", 0},
    {"yes", RUN_YES, 0, 0, "Do not ask whether you mean it", 0},
    {0}};

const struct command command_story = {
    "story",
    "[show|print|forget STORY | keep FILE [NAME] | save STORY FILE]",
    "list stories; show, keep, print or forget one",
    "A story is an ordered list of heights, each a mark. Without words: lists them. 'show' says "
    "the "
    "marks of one; 'print' writes it as a cutting ticket; 'keep' takes one from a file, and 'save' "
    "writes it to one: JSON, or CSV (.csv) or plain text (.txt); '-' is standard input or output. "
    "Nothing moves by it.",
    carry_out,
    options};
