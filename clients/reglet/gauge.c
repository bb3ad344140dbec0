/* SPDX-License-Identifier: MIT */
/* Measures the screw, says what was found, and sets it on request. */
#include "clients/reglet/gauge.h"

#include <argp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/bench/gauge_csv.h"
#include "clients/bench/gauge_plot.h"
#include "clients/common/said.h"
#include "clients/reglet/ask.h"
#include "clients/reglet/clear.h"
#include "clients/reglet/file.h"
#include "protocol/error_table_json.h"

/* The words that begin a value; it goes on to the next of them. */
enum field { TARGETS, RUNS, LOW, HIGH, BY, READ, WRITE, DRAW, FIELDS };

static const char *const names[FIELDS] = {"targets", "runs", "low",   "high",
                                          "by",      "read", "write", "draw"};

struct wish {
    struct run *run;
    struct said said;
    int targets;
    int runs;
    bool low_known;
    int64_t low_nm;
    bool high_known;
    int64_t high_nm;
    bool by_readout;
    bool by_typed;
};

/* Large ones, of one run. */
static struct gauge_lift lift;
static struct gauge_readings readings;
static struct gauge_result result;

/* --- The words --- */

static bool number(struct wish *wish, enum field field, int least, int most, int *value)
{
    char *end;
    const char *text = wish->said.value[field];
    if (text[0] == '\0') {
        return true;
    }
    long asked = strtol(text, &end, 10);
    if (*end != '\0' || asked < least || asked > most) {
        return said_wrong(&wish->said, "'%s %.40s' can be a number from %d to %d", names[field],
                          text, least, most);
    }
    *value = (int)asked;
    return true;
}

static bool position(struct wish *wish, enum field field, bool *known, int64_t *nm)
{
    *known = said_is(&wish->said, field);
    return said_length(&wish->said, field, words_bare(wish->run->style),
                       "a position of the lift, such as -40mm", nm);
}

static bool take_words(struct wish *wish)
{
    wish->targets = GAUGE_TARGETS;
    wish->runs = GAUGE_RUNS;
    if (!said_take(&wish->said, wish->run->count, wish->run->word,
                   "targets, runs, low, high, by, read, write or draw") ||
        !number(wish, TARGETS, GAUGE_TARGETS_MIN, GAUGE_TARGETS_MAX, &wish->targets) ||
        !number(wish, RUNS, GAUGE_RUNS_MIN, GAUGE_RUNS_MAX, &wish->runs) ||
        !position(wish, LOW, &wish->low_known, &wish->low_nm) ||
        !position(wish, HIGH, &wish->high_known, &wish->high_nm)) {
        return false;
    }
    wish->by_readout = strcmp(wish->said.value[BY], "readout") == 0;
    wish->by_typed = strcmp(wish->said.value[BY], "typed") == 0;
    if (wish->said.value[BY][0] != '\0' && !wish->by_readout && !wish->by_typed) {
        return said_wrong(&wish->said, "'by %.40s' can be readout or typed", wish->said.value[BY]);
    }
    if (wish->run->apply && !wish->run->yes && !ask_possible(wish->run)) {
        return said_wrong(&wish->said,
                          "nobody can be asked whether it is to be set; look at the figures, then "
                          "say --apply --yes");
    }
    return true;
}

/* --- Files --- */

static enum client_exit read_csv(struct wish *wish)
{
    size_t size;
    char why[GAUGE_CSV_WHY];
    const char *path = wish->said.value[READ];
    char *text = file_read(path, GAUGE_CSV_SIZE - 1, &size);
    if (!text) {
        return CLIENT_USAGE;
    }
    bool whole = size < GAUGE_CSV_SIZE;
    bool good = whole && gauge_csv_read(text, words_bare(wish->run->style), &readings, why);
    free(text);
    if (!good) {
        (void)said_wrong(&wish->said, "%.60s: %.200s", path, whole ? why : "it is over 64 KiB");
        return run_usage(wish->run, wish->said.why);
    }
    return CLIENT_DONE;
}

static enum client_exit write_csv(const struct wish *wish)
{
    static char text[GAUGE_CSV_SIZE];
    if (gauge_csv_write(&readings, text, sizeof text) == 0) {
        return run_trouble(wish->run, CLIENT_NO_MEMORY);
    }
    return file_write(wish->said.value[WRITE], text, wish->run->replace) ? CLIENT_DONE
                                                                         : CLIENT_USAGE;
}

static enum client_exit draw(const struct wish *wish)
{
    char title[80];
    static char text[GAUGE_PLOT_SIZE];
    (void)snprintf(title, sizeof title, "The lift gauged: %d targets, %d runs up and down",
                   result.readings.targets, result.readings.runs);
    if (gauge_plot(&result, title, wish->run->style, text, sizeof text) == 0) {
        return run_trouble(wish->run, CLIENT_NO_MEMORY);
    }
    return file_write(wish->said.value[DRAW], text, wish->run->replace) ? CLIENT_DONE
                                                                        : CLIENT_USAGE;
}

/* Before an hour of readings is taken, not behind it. */
static bool files_free(const struct wish *wish)
{
    return file_free(wish->said.value[WRITE], wish->run->replace) &&
           file_free(wish->said.value[DRAW], wish->run->replace);
}

/* --- What the lift goes by --- */

static bool read_nm(const cJSON *object, const char *name, int64_t *nm)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    *nm = cJSON_IsNumber(item) ? (int64_t)item->valuedouble : 0;
    return cJSON_IsNumber(item);
}

/* Without one it goes by none. */
static bool read_table(const cJSON *object)
{
    lift.table.count = 0;
    return !object || error_table_read(object, &lift.table);
}

static bool read_finish(const cJSON *object)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, "finish");
    const char *word = cJSON_IsString(item) ? item->valuestring : "";
    (void)snprintf(lift.finish, sizeof lift.finish, "%s", word);
    return word[0] != '\0';
}

static enum client_exit ask_lift(struct run *run, int64_t *take_up_nm)
{
    struct client_answer answer = {0};
    enum client_exit code = run_call(run, "calibration", NULL, &answer);
    if (code == CLIENT_DONE && answer.error) {
        code = run_tell(run, &answer);
    } else if (code == CLIENT_DONE &&
               (!read_nm(answer.result, "lead_nm", &lift.lead_nm) ||
                !read_nm(answer.result, "lash_nm", &lift.lash_nm) ||
                !read_nm(answer.result, "lowest_nm", &lift.lowest_nm) ||
                !read_nm(answer.result, "highest_nm", &lift.highest_nm) ||
                !read_nm(answer.result, "take_up_nm", take_up_nm) || !read_finish(answer.result) ||
                !read_table(cJSON_GetObjectItemCaseSensitive(answer.result, "table")))) {
        code = run_trouble(run, CLIENT_GARBLED);
    }
    client_answer_free(&answer);
    return code;
}

/* Has it a readout? */
static enum client_exit ask_readout(struct wish *wish)
{
    struct client_answer answer = {0};
    enum client_exit code = run_call(wish->run, "status", NULL, &answer);
    bool fitted = cJSON_GetObjectItemCaseSensitive(answer.result, "readout") != NULL;
    client_answer_free(&answer);
    if (code != CLIENT_DONE || wish->by_typed) {
        return code;
    }
    if (wish->by_readout && !fitted) {
        run_say("This lift has no readout that tells its height. Nothing has moved. Gauge with an "
                "indicator: 'gauge by typed'.");
        return CLIENT_REFUSED;
    }
    wish->by_readout = fitted;
    return CLIENT_DONE;
}

/* --- Measuring --- */

static enum client_exit set_targets(struct wish *wish, int64_t take_up_nm)
{
    int64_t low_nm = lift.lowest_nm + 2 * take_up_nm;
    int64_t high_nm = lift.highest_nm - 2 * take_up_nm;
    if (wish->low_known && wish->low_nm > low_nm) {
        low_nm = wish->low_nm;
    }
    if (wish->high_known && wish->high_nm < high_nm) {
        high_nm = wish->high_nm;
    }
    readings.targets = wish->targets;
    readings.runs = wish->runs;
    if (gauge_targets(low_nm, high_nm, (double)lift.lead_nm, wish->targets, readings.target_nm)) {
        return CLIENT_DONE;
    }
    return run_usage(wish->run, "between low and high there is no room for so many targets");
}

static void show_caution(bool by_readout)
{
    struct say say = {0};
    say_wrap(&say, "", 0, "%s",
             "Caution: disconnect the router from its supply (pull the plug), let it run down, and "
             "take the bit out; put a pin without a cutter in the collet for the indicator to "
             "stand on. The lift moves by itself between the readings, up and down over its "
             "travel: fingers away from collet, screw and ring while it does. This program is no "
             "safety device.");
    if (!by_readout) {
        say_wrap(&say, "", 0, "%s",
                 "At each target, when the lift stands, read the indicator and type what it shows, "
                 "such as 12.503mm. 'stop' ends it; Ctrl-C stops the lift.");
    }
    run_complain(&say);
}

static enum client_exit measure(struct wish *wish, int64_t take_up_nm)
{
    struct run *run = wish->run;
    enum client_exit code = ask_readout(wish);
    if (code == CLIENT_DONE && !wish->by_readout && !ask_possible(run)) {
        return run_usage(run, "readings are typed at a terminal, or come from a readout or by "
                              "'read FILE'");
    }
    if (code == CLIENT_DONE) {
        code = set_targets(wish, take_up_nm);
    }
    if (code != CLIENT_DONE) {
        return code;
    }
    if (!run->json) {
        show_caution(wish->by_readout);
    }
    cJSON *params = words_params("position", readings.target_nm[0]);
    if (!params || !cJSON_AddStringToObject(params, "from", "below")) {
        cJSON_Delete(params);
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    code = clear_ask(run, "approach", params);
    return code == CLIENT_DONE ? gauge_lead(run, wish->by_readout, &readings) : code;
}

/* --- Setting it --- */

static enum client_exit apply(struct wish *wish)
{
    struct run *run = wish->run;
    struct client_answer answer = {0};
    struct say say = {0};
    enum client_exit code = CLIENT_DONE;
    if (!run->yes) {
        code = ask_yes(run, "Set lead, lash and table so? The heights are lost by it.",
                       "Nothing was set. The lift goes on by what it went by.");
    }
    cJSON *params = code == CLIENT_DONE ? gauge_proposal(&result) : NULL;
    if (code != CLIENT_DONE) {
        return code;
    }
    code =
        params ? run_call(run, "calibrate", params, &answer) : run_trouble(run, CLIENT_NO_MEMORY);
    if (code == CLIENT_DONE && answer.error) {
        code = run_tell(run, &answer);
    } else if (code == CLIENT_DONE) {
        say_wrap(&say, "Set", SAY_INDENT,
                 "the lift goes by it now, and the values before are kept: '%s calibrate back' "
                 "returns to them. Find the top and touch off before you cut; then gauge once "
                 "more with a few targets, to see that it is so.",
                 run_name(run));
        if (run->json) {
            run_complain(&say);
        } else {
            run_print(&say);
        }
    }
    client_answer_free(&answer);
    return code;
}

static enum client_exit report(struct wish *wish)
{
    if (!gauge_work_out(&lift, &readings, &result)) {
        run_say("These readings tell nothing of the screw: they are all alike, or the lift did not "
                "move, or they are off by more than a twentieth. Nothing was set. Look at the "
                "indicator, its range and its mounting, and gauge again.");
        return CLIENT_REFUSED;
    }
    enum client_exit code = gauge_tell(wish->run, &lift, &result);
    if (code == CLIENT_DONE && wish->said.value[DRAW][0] != '\0') {
        code = draw(wish);
    }
    return code;
}

static enum client_exit carry_out(struct run *run)
{
    static struct wish wish;
    int64_t take_up_nm = 0;
    enum client_exit code = CLIENT_DONE;
    wish = (struct wish){.run = run, .said = {.name = names, .count = FIELDS}};
    if (!take_words(&wish)) {
        return run_usage(run, wish.said.why);
    }
    if (!files_free(&wish)) {
        return CLIENT_USAGE;
    }
    bool from_file = wish.said.value[READ][0] != '\0';
    code = from_file ? read_csv(&wish) : clear_possible(run);
    if (code == CLIENT_DONE) {
        code = run_connect(run);
    }
    if (code == CLIENT_DONE) {
        code = ask_lift(run, &take_up_nm);
    }
    if (code == CLIENT_DONE && !from_file) {
        code = measure(&wish, take_up_nm);
    }
    if (code == CLIENT_DONE && wish.said.value[WRITE][0] != '\0') {
        code = write_csv(&wish);
    }
    if (code == CLIENT_DONE) {
        code = report(&wish);
    }
    return code == CLIENT_DONE && run->apply ? apply(&wish) : code;
}

static const struct argp_option options[] = {
    {"yes", RUN_YES, 0, 0, "I have looked, and all is clear: do not ask", 0},
    {"apply", RUN_APPLY, 0, 0, "Set what is proposed; the values before are kept", 0},
    {"replace", RUN_REPLACE, 0, 0, "Take the place of a file of that name", 0},
    {0}};

const struct command command_gauge = {
    "gauge",
    "[by typed|readout] [WORD VALUE ...]",
    "measure the screw: scale, lash and error",
    "Leads the lift through targets, up and down, and takes a reading at each: typed from an "
    "indicator, or from the readout. 'targets N' and 'runs N': 21 and 5 unless said otherwise; "
    "'low "
    "POSITION' and 'high POSITION' keep it within an indicator's range. 'write FILE' keeps the "
    "readings as CSV (target,side,run,"
    "reading), 'read FILE' takes them from such a file, and moves nothing; 'draw FILE' writes a "
    "plot as SVG. "
    "It says what was found, by ISO 230-2 and by a fit, what the pattern suggests, and what to "
    "set; nothing is set without --apply, and 'calibrate back' returns. The lift must know its "
    "travel: find-top first. DISCONNECT THE ROUTER from its supply and take the bit out before "
    "your hands and an indicator go near it.",
    carry_out,
    options};
