/* SPDX-License-Identifier: MIT */
/*
 * What the readout shows of every state, on the smallest terminal that has figures. The statuses
 * are of the shape that protocol/LOCAL.md gives them. 36.5887 mm are 1-7/16 in + .003 in, by
 * 1 in = 25.4 mm exactly (NIST SP 811 appendix B).
 */
#include <check.h>
#include <stdio.h>
#include <string.h>

#include "clients/readout/verdict.h"
#include "tests/suite.h"
#include "tests/unit/test_readout_face.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

#define STILL "{\"activity\":\"still\",\"play\":\"taken-up\",\"age_ms\":94,"
#define SURE "\"table_zero\":\"sure\","
#define UNCHECKED "\"table_zero\":\"unchecked\","
#define LOST "\"table_zero\":\"lost\","
#define HEIGHT "\"height_nm\":36588700"

/* clang-format off */
#define KEYS "space or s: stop the lift   q: leave\n"
#define FIGURES \
    "###      #######     ##\n" \
    " ##           ##    ##   ###   #######\n" \
    " ##           ##    ##    ##   ##\n" \
    " ##           ##   ##     ##   #######\n" \
    " ##           ##   ##     ##   ##   ##\n" \
    "####              ##     ####  #######\n"
#define MOVING_FIGURES \
    "##    #####   #\n" \
    " #        #   # ##  #####\n" \
    " #        #  #   #  #\n" \
    " #        #  #   #  #####\n" \
    " #        # #    #  #   #\n" \
    "###         #   ### #####\n"
#define LOST_WORD \
    "##      ######  ######  ####\n" \
    "##      ##  ##  ##       ##\n" \
    "##      ##  ##  ######   ##\n" \
    "##      ##  ##      ##   ##\n" \
    "######  ######  ######   ##\n"
#define BARRED_WORD \
    "####  ##### ##### ##### ##### ####\n" \
    "#   # #   # #   # #   # #     #   #\n" \
    "####  ##### ####  ####  ####  #   #\n" \
    "#   # #   # #   # #   # #     #   #\n" \
    "####  #   # #   # #   # ##### ####\n"
#define NO_ANSWER_WORD \
    "#   # ###   ### #   # ### #   # ### ###\n" \
    "##  # # #   # # ##  # #   #   # #   # #\n" \
    "# # # # #   ### # # # ### # # # ##  ##\n" \
    "#  ## # #   # # #  ##   # ## ## #   # #\n" \
    "#   # ###   # # #   # ### #   # ### # #\n"
#define OLD_WORD \
    "######  ##      ####\n" \
    "##  ##  ##      ##  ##\n" \
    "##  ##  ##      ##  ##\n" \
    "##  ##  ##      ##  ##\n" \
    "######  ######  ####\n"
#define SILENT_WORD \
    "##### ### #     ##### #   # ###\n" \
    "#      #  #     #     ##  #  #\n" \
    "#####  #  #     ####  # # #  #\n" \
    "    #  #  #     #     #  ##  #\n" \
    "##### ### ##### ##### #   #  #\n"
#define AWAY_WORD \
    "######  ##    ##  ######  ##    ##\n" \
    "##  ##  ##    ##  ##  ##    #  #\n" \
    "######  ## ## ##  ######     ##\n" \
    "##  ##  ###  ###  ##  ##     ##\n" \
    "##  ##  ##    ##  ##  ##     ##\n"
/* clang-format on */

static const struct state {
    const char *json;
    const char *screen;
    enum face_link link; /* 0: FACE_TOLD */
    int heard_ms;
    enum face_stop stop;
    const char *why;
    bool practice;
    bool plain; /* a terminal that cannot reverse */
} states[] = {
    {.json = STILL SURE HEIGHT "}",
     .screen = "sure: still, above the table\n" FIGURES "+ .003 in\n"
               "\n" KEYS},
    {.json = STILL SURE HEIGHT ",\"practice\":true}",
     .screen = "sure: still, above the table\n" FIGURES "+ .003 in              #P#R#A#C#T#I#C#E#\n"
               "\n" KEYS},
    {.json = STILL SURE HEIGHT
     ",\"preset\":\"drawer-groove\",\"bit\":\"straight-half\",\"riding_nm\":9525000}",
     .screen = "sure: still, above what rides\n" FIGURES "+ .003 in\n"
               "riding on 3/8in; at drawer-groove; bit\n" KEYS},
    {.json = "{\"activity\":\"still\",\"play\":\"open\"," SURE HEIGHT "}",
     .screen = "sure: still, above the table\n" FIGURES "+ .003 in\n"
               "the lash is not taken up\n" KEYS},
    {.json = STILL SURE HEIGHT ",\"why\":\"the disk is full\"}",
     .screen = "sure: still, above the table\n" FIGURES "+ .003 in\n"
               "the disk is full\n" KEYS},
    {.json = STILL SURE HEIGHT ",\"stop_open\":true}",
     .screen = "sure: still, above the table\n" FIGURES "+ .003 in\n"
               "THE STOP CIRCUIT IS OPEN\n" KEYS},
    {.json = "{\"activity\":\"moving\",\"play\":\"open\",\"age_ms\":6," SURE HEIGHT
             ",\"going_to_nm\":38100000}",
     .screen = "sure: moving to 1-1/2in (38.1mm)\n" MOVING_FIGURES "+ .003 in\n"
               "\n" KEYS},
    {.json = "{\"activity\":\"moving\",\"play\":\"open\",\"age_ms\":6," SURE HEIGHT "}",
     .screen = "sure: moving\n" MOVING_FIGURES "+ .003 in\n"
               "\n" KEYS},
    {.json = "{\"activity\":\"moving\",\"play\":\"open\",\"age_ms\":6," LOST
             "\"position_nm\":0,\"going_to_position_nm\":-6350000}",
     .screen = "no#height:#moving,#1/4in#to#go#down#####\n" LOST_WORD
               "The lift does not know where this bit\n"
               "stands. Unplug the router, and touch\n"
               "off.\n" KEYS},
    {.json = "{\"activity\":\"braking\",\"play\":\"open\",\"age_ms\":6," SURE HEIGHT
             ",\"going_to_nm\":38100000}",
     .screen = "sure: braking\n" MOVING_FIGURES "+ .003 in\n"
               "\n" KEYS},
    {.json = STILL UNCHECKED HEIGHT "}",
     .screen = "UNCHECKED:#still,#above#the#table#######\n"
               "%%%      %%%%%%%     %%\n"
               " %%           %%    %%   %%%   %%%%%%%\n"
               " %%           %%    %%    %%   %%\n"
               " %%           %%   %%     %%   %%%%%%%\n"
               " %%           %%   %%     %%   %%   %%\n"
               "%%%%              %%     %%%%  %%%%%%%\n"
               "+ .003 in\n"
               "compare it, then 'reglet confirm'\n" KEYS},
    {.json = "{\"activity\":\"unpowered\",\"play\":\"taken-up\"," UNCHECKED HEIGHT
             ",\"practice\":true}",
     .screen = "UNCHECKED:#no#motor#supply##############\n"
               "%%%      %%%%%%%     %%\n"
               " %%           %%    %%   %%%   %%%%%%%\n"
               " %%           %%    %%    %%   %%\n"
               " %%           %%   %%     %%   %%%%%%%\n"
               " %%           %%   %%     %%   %%   %%\n"
               "%%%%              %%     %%%%  %%%%%%%\n"
               "+ .003 in              #P#R#A#C#T#I#C#E#\n"
               "compare it, then 'reglet -p confirm'\n" KEYS},
    {.json = "{\"activity\":\"unpowered\",\"play\":\"taken-up\"," LOST "\"practice\":true}",
     .screen = "no#height:#no#motor#supply##############\n" LOST_WORD
               "                       #P#R#A#C#T#I#C#E#\n"
               "The lift does not know where this bit\n"
               "stands. Unplug the router, and touch\n" KEYS},
    {.json = STILL LOST HEIGHT "}",
     .screen = "no#height:#still########################\n" LOST_WORD
               "The lift does not know where this bit\n"
               "stands. Unplug the router, and touch\n"
               "off.\n" KEYS},
    {.json = STILL SURE "\"why\":\"\"}",
     .screen = "no#height:#still########################\n"
               "#   # ####   #  # #### ### #### #  # ###\n"
               "##  # #  #   #  # #     #  #    #  #  #\n"
               "# # # #  #   #### ###   #  #  # ####  #\n"
               "#  ## #  #   #  # #     #  #  # #  #  #\n"
               "#   # ####   #  # #### ### #### #  #  #\n"
               "The daemon says no height. Look where\n"
               "the bit stands.\n"
               "\n" KEYS},
    {.json = "{\"activity\":\"barred\"," SURE HEIGHT
             ",\"stop_open\":true,\"why\":\"the stop circuit was opened\"}",
     .screen = "last#known#1-7/16#+#.003in##############\n" BARRED_WORD
               "Nothing can move: the stop circuit is\n"
               "open. See why, close it, then 'reglet\n"
               "all-clear'.\n" KEYS},
    {.json = "{\"activity\":\"barred\"," SURE HEIGHT
             ",\"practice\":true,\"why\":\"the stop circuit was opened\"}",
     .screen = "last#known#1-7/16#+#.003in##############\n" BARRED_WORD
               "                       #P#R#A#C#T#I#C#E#\n"
               "Nothing can move until 'reglet -p\n"
               "all-clear': the stop circuit was opened.\n" KEYS},
    {.json = "{\"activity\":\"unplugged\"," SURE
             "\"last_height_nm\":36588700,\"why\":\"the serial port is gone\"}",
     .screen = "last#known#1-7/16#+#.003in##############\n" NO_ANSWER_WORD
               "Nothing can move: the serial port is\n"
               "gone. See to its cable and supply; it is\n"
               "found again by itself.\n" KEYS},
    {.json = "{\"activity\":\"unplugged\"," LOST "\"why\":\"\"}",
     .screen = "no#height###############################\n" NO_ANSWER_WORD
               "Nothing can move: there is no step\n"
               "generator. See to its cable and supply;\n"
               "it is found again by itself.\n" KEYS},
    {.json = "{\"activity\":\"dancing\",\"play\":\"open\",\"age_ms\":6," SURE HEIGHT "}",
     .screen = "no#present#height#######################\n"
               "#  # #   # #  # #   # #### #   # #   #\n"
               "#  # ##  # #  # ##  # #  # #   # ##  #\n"
               "#  # # # # ###  # # # #  # # # # # # #\n"
               "#  # #  ## #  # #  ## #  # ## ## #  ##\n"
               "#### #   # #  # #   # #### #   # #   #\n"
               "The daemon says 'dancing', a word that\n"
               "this readout does not know yet. Install\n"
               "both from one release.\n" KEYS},
    {.json = "{\"activity\":\"still\",\"age_ms\":1001," SURE HEIGHT "}",
     .screen = "no#present#height#######################\n" OLD_WORD
               "The step generator was last heard over a\n"
               "second ago. Look where the bit stands.\n"
               "\n" KEYS},
    {.json = "{\"activity\":\"moving\",\"play\":\"open\",\"age_ms\":6," SURE HEIGHT "}",
     .screen = "no#present#height#######################\n" OLD_WORD
               "The step generator was last heard over a\n"
               "second ago. Look where the bit stands.\n"
               "\n" KEYS,
     .heard_ms = 1495},
    {.json = STILL SURE HEIGHT ",\"practice\":true}",
     .screen = "no#height:#the#daemon#says#nothing######\n" SILENT_WORD
               "                       #P#R#A#C#T#I#C#E#\n"
               "The daemon says nothing: it hangs, or\n"
               "has too much to do. Look where the bit\n" KEYS,
     .heard_ms = 3001},
    {.json = STILL SURE HEIGHT "}",
     .screen = "no#height:#asking#the#daemon############\n"
               "##    ##  ######  ####  ####\n"
               "##    ##  ##  ##   ##    ##\n"
               "## ## ##  ######   ##    ##\n"
               "###  ###  ##  ##   ##    ##\n"
               "##    ##  ##  ##  ####   ##\n"
               "The daemon was asked where the bit is.\n"
               "\n"
               "\n" KEYS,
     .link = FACE_WAITING},
    {.json = STILL SURE HEIGHT "}",
     .screen = "no#height:#the#daemon#says#nothing######\n" SILENT_WORD
               "The daemon says nothing: it hangs, or\n"
               "has too much to do. Look where the bit\n"
               "stands.\n" KEYS,
     .link = FACE_WAITING,
     .heard_ms = 3001},
    {.json = STILL SURE HEIGHT "}",
     .screen = "no#height:#the#daemon#is#away###########\n" AWAY_WORD
               "regletd is not there: it has ended. It\n"
               "is tried again by itself:\n"
               "/run/reglet/reglet.sock\n" KEYS,
     .link = FACE_AWAY,
     .why = "regletd is not there: it has ended. It is tried again by itself: "
            "/run/reglet/reglet.sock"},
    {.json = STILL SURE HEIGHT "}",
     .screen = "no#height:#the#daemon#is#away###########\n" AWAY_WORD
               "                       #P#R#A#C#T#I#C#E#\n"
               "regletd is not there: there is no such\n"
               "socket. It is tried again by itself:\n" KEYS,
     .link = FACE_AWAY,
     .practice = true,
     .why = "regletd is not there: there is no such socket. It is tried again by itself: "
            "/tmp/practice/reglet.sock"},
    {.json = STILL UNCHECKED HEIGHT ",\"practice\":true}",
     .screen = "UNCHECKED: still, above the table ======\n"
               "???      ???????     ??\n"
               " ??           ??    ??   ???   ???????\n"
               " ??           ??    ??    ??   ??\n"
               " ??           ??   ??     ??   ???????\n"
               " ??           ??   ??     ??   ??   ??\n"
               "????              ??     ????  ???????\n"
               "+ .003 in               P R A C T I C E\n"
               "compare it, then 'reglet -p confirm'\n" KEYS,
     .plain = true},
    {.json = STILL SURE HEIGHT "}",
     .screen = "sure: still, above the table\n" FIGURES "+ .003 in\n"
               "\n"
               "STOP is asked for ======================\n",
     .plain = true,
     .stop = FACE_STOP_ASKED},
};

START_TEST(each_state_has_its_screen)
{
    const struct state *state = &states[_i];
    struct face face;
    cJSON *status = read_face(state->json, LENGTH_STYLE_64, &face);
    face.link = state->link ? state->link : FACE_TOLD;
    face.heard_ms = state->heard_ms;
    face.stop = state->stop;
    face.why = state->why ? state->why : "";
    face.practice = state->practice;
    face.reversible = !state->plain;
    expect_same(face_as_text(&face, FACE_ROWS_MIN, FACE_COLUMNS_MIN), state->screen);
    cJSON_Delete(status);
}
END_TEST

/* --- What became of a stop request, in the last row --- */

START_TEST(the_last_row_says_what_became_of_a_stop)
{
    static const struct {
        enum face_stop stop;
        const char *row;
    } rows[] = {
        {FACE_STOP_NONE, "space or s: stop the lift   q: leave\n"},
        {FACE_STOP_ASKED, "STOP#is#asked#for#######################\n"},
        {FACE_STOP_DONE, "stopped   space or s: stop   q: leave\n"},
        {FACE_STOP_UNSENT, "STOP#not#sent:#open#the#stop#circuit####\n"},
        {FACE_STOP_UNANSWERED, "STOP#not#answered:#open#the#stop#circuit\n"},
        {FACE_STOP_REFUSED, "STOP#refused:#open#the#stop#circuit#####\n"},
    };
    struct face face;
    cJSON *status = read_face(STILL SURE HEIGHT "}", LENGTH_STYLE_64, &face);
    for (size_t i = 0; i < COUNT(rows); i++) {
        for (int away = 0; away <= 1; away++) {
            face.stop = rows[i].stop;
            face.link = away ? FACE_AWAY : FACE_TOLD;
            const char *screen = face_as_text(&face, FACE_ROWS_MIN, FACE_COLUMNS_MIN);
            ck_assert_uint_ge(strlen(screen), strlen(rows[i].row));
            ck_assert_str_eq(screen + strlen(screen) - strlen(rows[i].row), rows[i].row);
        }
    }
    cJSON_Delete(status);
}
END_TEST

/* What has not been read is not looked at: nothing of it can be on the screen. */
START_TEST(without_a_status_there_is_a_screen_as_well)
{
    static const enum face_link links[] = {FACE_AWAY, FACE_WAITING};
    for (size_t i = 0; i < COUNT(links); i++) {
        struct face face = {.style = LENGTH_STYLE_64, .link = links[i], .why = "x", .bit = ""};
        const char *screen = face_as_text(&face, FACE_ROWS_MIN, FACE_COLUMNS_MIN);
        ck_assert_int_eq(strncmp(screen, "no height: ", 11), 0);
        screen = face_as_text(&face, 5, 20);
        ck_assert_int_eq(strncmp(screen, "no height, ", 11), 0);
    }
}
END_TEST

/* --- Bounds of time, to the millisecond --- */

START_TEST(a_height_is_present_up_to_its_bounds_of_time)
{
    static const struct {
        const char *activity;
        int age_ms;
        int heard_ms;
        const char *word;
    } times[] = {
        {"still", 1000, 0, NULL},        {"still", 1001, 0, "OLD"},
        {"still", 1000, 3000, NULL},     {"still", 1000, 3001, "SILENT"},
        {"still", 0, 3001, "SILENT"},    {"moving", 0, 1500, NULL},
        {"moving", 0, 1501, "OLD"},      {"moving", 1000, 500, NULL},
        {"moving", 1000, 501, "OLD"},    {"moving", 1001, 0, "OLD"},
        {"braking", 6, 1495, "OLD"},     {"moving", 0, 3001, "SILENT"},
        {"unpowered", 1000, 3000, NULL}, {"unpowered", 1001, 0, "OLD"},
    };
    for (size_t i = 0; i < COUNT(times); i++) {
        char json[200];
        struct face face;
        struct verdict verdict;
        (void)snprintf(json, sizeof json, "{\"activity\":\"%s\",\"age_ms\":%d," SURE HEIGHT "}",
                       times[i].activity, times[i].age_ms);
        cJSON *status = read_face(json, LENGTH_STYLE_64, &face);
        face.heard_ms = times[i].heard_ms;
        verdict_reach(&face, &verdict);
        ck_assert_pstr_eq(verdict.word, times[i].word);
        cJSON_Delete(status);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("readout_face");
    TCase *screens = tcase_create("screens");
    tcase_add_loop_test(screens, each_state_has_its_screen, 0, COUNT(states));
    tcase_add_test(screens, the_last_row_says_what_became_of_a_stop);
    tcase_add_test(screens, without_a_status_there_is_a_screen_as_well);
    tcase_add_test(screens, a_height_is_present_up_to_its_bounds_of_time);
    suite_add_tcase(suite, screens);
    return run_suite(suite);
}
