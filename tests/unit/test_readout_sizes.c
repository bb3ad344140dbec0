/* SPDX-License-Identifier: MIT */
/*
 * The readout's screens at several sizes and in every unit. Heights by 1 in = 25.4 mm exactly (NIST
 * SP 811 appendix B): 36.5887 mm are 1-7/16 + .003 in, 37.901563 mm are 1-63/128 in,
 * 18.18005 mm are 23/32 - .003 in.
 */
#include <check.h>
#include <stdio.h>
#include <string.h>

#include "tests/suite.h"
#include "tests/unit/test_readout_face.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

static const struct size {
    const char *json;
    enum length_style style;
    int rows;
    int columns;
    const char *screen;
    int heard_ms;
    enum face_stop stop;
} sizes[] = {
    {.json = "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"sure\",\"height_nm\":"
             "36588700,\"practice\":true,\"preset\":\"drawer-groove\"}",
     .style = LENGTH_STYLE_64,
     .rows = 24,
     .columns = 80,
     .screen = " sure: still, above the table\n"
               "\n"
               " #######           ###############         ####\n"
               " #######           ###############         ####\n"
               "    ####                      ####        ####\n"
               "    ####                      ####        ####    #######      ###############\n"
               "    ####                      ####       ####     #######      ###############\n"
               "    ####                      ####       ####        ####      ####\n"
               "    ####                      ####      ####         ####      ####\n"
               "    ####                      ####      ####         ####      ###############\n"
               "    ####                      ####     ####          ####      ###############\n"
               "    ####                      ####     ####          ####      ####       ####\n"
               "    ####                              ####           ####      ####       ####\n"
               " ##########                           ####        ##########   ###############\n"
               " ##########                          ####         ##########   ###############\n"
               "\n"
               "         #### #### ####   ### #   #       #### #### #### #### ### ### #### ####\n"
               "  #      #  # #  #    #    #  ##  #       #  # #  # #  # #     #   #  #    #\n"
               " ###     #  # #  #  ###    #  # # #       #### ###  #### #     #   #  #    ###\n"
               "  #      #  # #  #    #    #  #  ##       #    #  # #  # #     #   #  #    #\n"
               "       # #### #### ####   ### #   #       #    #  # #  # ####  #  ### #### ####\n"
               " at drawer-groove\n"
               "\n"
               " space or s: stop the lift   q: leave\n"},
    {.json = "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"unchecked\",\"height_"
             "nm\":-12345000}",
     .style = LENGTH_STYLE_MM,
     .rows = 24,
     .columns = 80,
     .screen = "#UNCHECKED:#still,#below#the#table##############################################\n"
               "\n"
               "          %%%%%    %%%%%%%%%%%       %%%%%%%%%%%  %%%     %%%  %%%%%%%%%%%\n"
               "          %%%%%    %%%%%%%%%%%       %%%%%%%%%%%  %%%     %%%  %%%%%%%%%%%\n"
               "            %%%            %%%               %%%  %%%     %%%  %%%\n"
               "            %%%            %%%               %%%  %%%     %%%  %%%\n"
               "            %%%            %%%               %%%  %%%     %%%  %%%\n"
               " %%%%%%%    %%%    %%%%%%%%%%%          %%%%%%%%  %%%%%%%%%%%  %%%%%%%%%%%\n"
               " %%%%%%%    %%%    %%%%%%%%%%%          %%%%%%%%  %%%%%%%%%%%  %%%%%%%%%%%\n"
               "            %%%    %%%                       %%%          %%%          %%%\n"
               "            %%%    %%%                       %%%          %%%          %%%\n"
               "            %%%    %%%                       %%%          %%%          %%%\n"
               "            %%%    %%%                       %%%          %%%          %%%\n"
               "          %%%%%%%  %%%%%%%%%%%  %%%  %%%%%%%%%%%          %%%  %%%%%%%%%%%\n"
               "          %%%%%%%  %%%%%%%%%%%  %%%  %%%%%%%%%%%          %%%  %%%%%%%%%%%\n"
               "\n"
               " %%    %%  %%    %%               #  # #   # #### #  # #### #### #  # #### ###\n"
               " %%%  %%%  %%%  %%%               #  # ##  # #    #  # #    #    #  # #    #  #\n"
               " %% %% %%  %% %% %%               #  # # # # #    #### ###  #    ###  ###  #  #\n"
               " %%    %%  %%    %%               #  # #  ## #    #  # #    #    #  # #    #  #\n"
               " %%    %%  %%    %%               #### #   # #### #  # #### #### #  # #### ###\n"
               " compare it, then 'reglet confirm'\n"
               "\n"
               " space or s: stop the lift   q: leave\n"},
    {.json = "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"sure\",\"height_nm\":"
             "9525000}",
     .style = LENGTH_STYLE_IN,
     .rows = 24,
     .columns = 80,
     .screen = " sure: still, above the table\n"
               "\n"
               "        #################   #################   #################\n"
               "        #################   #################   #################\n"
               "                     ####                ####   ####\n"
               "                     ####                ####   ####\n"
               "                     ####                ####   ####\n"
               "            #############                ####   #################\n"
               "            #############                ####   #################\n"
               "                     ####                ####                ####\n"
               "                     ####                ####                ####\n"
               "                     ####                ####                ####\n"
               "                     ####                ####                ####\n"
               " ####   #################                ####   #################\n"
               " ####   #################                ####   #################\n"
               "\n"
               " ####  ##    ##\n"
               "  ##   ###   ##\n"
               "  ##   ## ## ##\n"
               "  ##   ##   ###\n"
               " ####  ##    ##\n"
               "\n"
               "\n"
               " space or s: stop the lift   q: leave\n"},
    {.json = "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"sure\",\"height_nm\":-"
             "37901563}",
     .style = LENGTH_STYLE_128,
     .rows = 24,
     .columns = 80,
     .screen = " sure: still, below the table\n"
               "\n"
               "        ####      #########  #########      ###\n"
               "        ####      #########  #########      ###\n"
               "         ###      ###              ###     ###\n"
               "         ###      ###              ###     ###   ####   #########  #########\n"
               "         ###      #########     ######     ###   ####   #########  #########\n"
               " #####   ###      #########     ######    ###     ###         ###  ###   ###\n"
               " #####   ###      ###   ###        ###    ###     ###         ###  ###   ###\n"
               "         ###      ###   ###        ###    ###     ###   #########  #########\n"
               "         ###      #########  #########   ###      ###   #########  #########\n"
               "         ###      #########  #########   ###      ###   ###        ###   ###\n"
               "         ###                             ###      ###   ###        ###   ###\n"
               "        #####                           ###      #####  #########  #########\n"
               "        #####                           ###      #####  #########  #########\n"
               "\n"
               " ####  ##    ##\n"
               "  ##   ###   ##\n"
               "  ##   ## ## ##\n"
               "  ##   ##   ###\n"
               " ####  ##    ##\n"
               "\n"
               "\n"
               " space or s: stop the lift   q: leave\n"},
    {.json = "{\"activity\":\"moving\",\"play\":\"open\",\"table_zero\":\"sure\",\"height_nm\":-"
             "18180050,\"going_to_nm\":9525000}",
     .style = LENGTH_STYLE_32,
     .rows = 24,
     .columns = 80,
     .screen = " sure: moving to 3/8in (9.525mm)\n"
               "\n"
               "        #########  #########      ###\n"
               "        #########  #########      ###\n"
               "              ###        ###     ###\n"
               "              ###        ###     ###   #########  #########\n"
               "        #########     ######     ###   #########  #########\n"
               " #####  #########     ######    ###          ###        ###\n"
               " #####  ###              ###    ###          ###        ###\n"
               "        ###              ###    ###       ######  #########\n"
               "        #########  #########   ###        ######  #########\n"
               "        #########  #########   ###           ###  ###\n"
               "                               ###           ###  ###\n"
               "                              ###      #########  #########\n"
               "                              ###      #########  #########\n"
               "\n"
               "         #### #### ####   ### #   #      ####  ######      ######    ##  ######\n"
               "  #      #  # #  #    #    #  ##  #       ##   ##  ##          ##    ##  ##  ##\n"
               " ###     #  # #  #  ###    #  # # #       ##   ##  ##        ####   ##   ######\n"
               "  #      #  # #  #    #    #  #  ##       ##   ##  ##          ##   ##   ##  ##\n"
               "       # #### #### ####   ### #   #       ##   ######      ######  ##    ######\n"
               "\n"
               "\n"
               " space or s: stop the lift   q: leave\n"},
    {.json =
         "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"sure\",\"height_nm\":0}",
     .style = LENGTH_STYLE_64,
     .rows = 24,
     .columns = 80,
     .screen = " sure: still, flush with the table\n"
               "\n"
               " #################\n"
               " #################\n"
               " ####         ####\n"
               " ####         ####\n"
               " ####         ####\n"
               " ####         ####\n"
               " ####         ####\n"
               " ####         ####\n"
               " ####         ####\n"
               " ####         ####\n"
               " ####         ####\n"
               " #################\n"
               " #################\n"
               "\n"
               " ####  ##    ##\n"
               "  ##   ###   ##\n"
               "  ##   ## ## ##\n"
               "  ##   ##   ###\n"
               " ####  ##    ##\n"
               "\n"
               "\n"
               " space or s: stop the lift   q: leave\n"},
    {.json = "{\"activity\":\"barred\",\"table_zero\":\"sure\",\"height_nm\":9525000,\"stop_open\":"
             "true,\"bit\":\"straight-half\",\"practice\":true}",
     .style = LENGTH_STYLE_64,
     .rows = 24,
     .columns = 80,
     .screen = "#no#present#height;#last#known#3/8in#(9.525mm),#sure#then#######################\n"
               "\n"
               " ########     ###########  ###########  ###########  ###########  ########\n"
               " ########     ###########  ###########  ###########  ###########  ########\n"
               " ###     ###  ###     ###  ###     ###  ###     ###  ###          ###     ###\n"
               " ###     ###  ###     ###  ###     ###  ###     ###  ###          ###     ###\n"
               " ########     ###########  ########     ########     ########     ###     ###\n"
               " ########     ###########  ########     ########     ########     ###     ###\n"
               " ###     ###  ###     ###  ###     ###  ###     ###  ###          ###     ###\n"
               " ###     ###  ###     ###  ###     ###  ###     ###  ###          ###     ###\n"
               " ########     ###     ###  ###     ###  ###     ###  ###########  ########\n"
               " ########     ###     ###  ###     ###  ###     ###  ###########  ########\n"
               "\n"
               "                     ######  ######  ######  ######  ####  ####  ######  ######\n"
               "                     ##  ##  ##  ##  ##  ##  ##       ##    ##   ##      ##\n"
               "                     ######  ####    ######  ##       ##    ##   ##      ####\n"
               "                     ##      ##  ##  ##  ##  ##       ##    ##   ##      ##\n"
               "                     ##      ##  ##  ##  ##  ######   ##   ####  ######  ######\n"
               "\n"
               " Nothing can move: the stop circuit is open. See why, close it, then 'reglet -p\n"
               " all-clear'.\n"
               " bit straight-half\n"
               "\n"
               " space or s: stop the lift   q: leave\n"},
    {.json = "{\"activity\":\"moving\",\"play\":\"open\",\"table_zero\":\"sure\",\"height_nm\":"
             "36588700,\"going_to_nm\":38100000,\"practice\":true}",
     .style = LENGTH_STYLE_64,
     .rows = 43,
     .columns = 132,
     .screen = " sure: moving to 1-1/2in (38.1mm)\n"
               "\n"
               " ########            #################           #####\n"
               " ########            #################           #####\n"
               " ########            #################          #####\n"
               "    #####                        #####          #####\n"
               "    #####                        #####          #####\n"
               "    #####                        #####          #####\n"
               "    #####                        #####         #####\n"
               "    #####                        #####         #####     ########      "
               "#################\n"
               "    #####                        #####         #####     ########      "
               "#################\n"
               "    #####                        #####        #####      ########      "
               "#################\n"
               "    #####                        #####        #####         #####      #####\n"
               "    #####                        #####        #####         #####      #####\n"
               "    #####                        #####        #####         #####      #####\n"
               "    #####                        #####       #####          #####      #####\n"
               "    #####                        #####       #####          #####      #####\n"
               "    #####                        #####       #####          #####      #####\n"
               "    #####                        #####      #####           #####      "
               "#################\n"
               "    #####                        #####      #####           #####      "
               "#################\n"
               "    #####                        #####      #####           #####      "
               "#################\n"
               "    #####                        #####      #####           #####      #####       "
               "#####\n"
               "    #####                        #####     #####            #####      #####       "
               "#####\n"
               "    #####                        #####     #####            #####      #####       "
               "#####\n"
               "    #####                                  #####            #####      #####       "
               "#####\n"
               "    #####                                 #####             #####      #####       "
               "#####\n"
               "    #####                                 #####             #####      #####       "
               "#####\n"
               "    #####                                 #####             #####      #####       "
               "#####\n"
               " ###########                              #####          ###########   "
               "#################\n"
               " ###########                             #####           ###########   "
               "#################\n"
               " ###########                             #####           ###########   "
               "#################\n"
               "\n"
               "               ######  ######  ######      ####  ##    ##          #######  "
               "#######  #######  #######  ####  ####  #######  #######\n"
               "  ##           ##  ##  ##  ##      ##       ##   ###   ##          ##   ##  ##   "
               "##  ##   ##  ##        ##    ##   ##       ##\n"
               "  ##           ##  ##  ##  ##      ##       ##   ###   ##          ##   ##  ##   "
               "##  ##   ##  ##        ##    ##   ##       ##\n"
               " ####          ##  ##  ##  ##    ####       ##   ## ## ##          #######  #####  "
               "  #######  ##        ##    ##   ##       #####\n"
               "  ##           ##  ##  ##  ##      ##       ##   ##   ###          ##       ##   "
               "##  ##   ##  ##        ##    ##   ##       ##\n"
               "  ##           ##  ##  ##  ##      ##       ##   ##   ###          ##       ##   "
               "##  ##   ##  ##        ##    ##   ##       ##\n"
               "  ##           ##  ##  ##  ##      ##       ##   ##   ###          ##       ##   "
               "##  ##   ##  ##        ##    ##   ##       ##\n"
               "           ##  ######  ######  ######      ####  ##    ##          ##       ##   "
               "##  ##   ##  #######   ##   ####  #######  #######\n"
               "\n"
               "\n"
               " space or s: stop the lift   q: leave\n"},
    {.json = "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"sure\",\"height_nm\":"
             "36588700}",
     .style = LENGTH_STYLE_64,
     .rows = 5,
     .columns = 20,
     .screen = "sure 1-7/16+.003in,\n"
               "still. Too small for\n"
               "figures: 40x10 would\n"
               "do.\n"
               "\n"},
    {.json = "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"unchecked\",\"height_"
             "nm\":36588700,\"practice\":true}",
     .style = LENGTH_STYLE_64,
     .rows = 5,
     .columns = 20,
     .screen = "PRACTICE: UNCHECKED\n"
               "1-7/16+.003in,\n"
               "still. Too small for\n"
               "figures: 40x10 would\n"
               "do.\n"},
    {.json = "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"sure\",\"height_nm\":"
             "36588700,\"practice\":true}",
     .style = LENGTH_STYLE_64,
     .rows = 3,
     .columns = 20,
     .screen = "PRACTICE: sure\n"
               "1-7/16+.003in,\n"
               "still.\n"},
    {.json = "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"sure\",\"height_nm\":"
             "36588700,\"practice\":true}",
     .style = LENGTH_STYLE_64,
     .rows = 2,
     .columns = 20,
     .screen = "Too small: 40x10\n"
               "would do.\n"},
    {.json = "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"sure\",\"height_nm\":"
             "9525000,\"stop_open\":true}",
     .style = LENGTH_STYLE_MM,
     .rows = 9,
     .columns = 200,
     .screen = "sure 9.525mm, still. Too small for figures: 40x10 would do.\n"
               "\n"
               "\n"
               "\n"
               "\n"
               "\n"
               "\n"
               "\n"
               "\n"},
    {.json = "{\"activity\":\"still\",\"table_zero\":\"lost\"}",
     .style = LENGTH_STYLE_64,
     .rows = 5,
     .columns = 20,
     .screen = "no height, LOST. Too\n"
               "small for figures:\n"
               "40x10 would do.\n"
               "\n"
               "\n"},
    {.json = "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"sure\",\"height_nm\":"
             "36588700}",
     .style = LENGTH_STYLE_64,
     .rows = 5,
     .columns = 20,
     .screen = "no height, SILENT.\n"
               "Too small for\n"
               "figures: 40x10 would\n"
               "do.\n"
               "\n",
     .heard_ms = 3001},
    {.json = "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"sure\",\"height_nm\":"
             "36588700}",
     .style = LENGTH_STYLE_64,
     .rows = 5,
     .columns = 20,
     .screen = "STOP not sent: open\n"
               "the stop circuit.\n"
               "sure 1-7/16+.003in,\n"
               "still.\n"
               "\n",
     .stop = FACE_STOP_UNSENT},
    {.json = "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"sure\",\"height_nm\":-"
             "9999999999}",
     .style = LENGTH_STYLE_128,
     .rows = 10,
     .columns = 40,
     .screen = "sure: still, below the table\n"
               "    ### ### ###  # # ###   #\n"
               "      # # #   #  # # #     # ### # #\n"
               "###  ## ###  ##  ### ###  #  #   # #\n"
               "      #   #   #    #   #  #  ### ###\n"
               "      #   #   #    # ### #   # #   #\n"
               "    ### ### ###          #   ###   #\n"
               "+ .002 in\n"
               "\n"
               "space or s: stop the lift   q: leave\n"},
    {.json = "{\"activity\":\"still\",\"play\":\"taken-up\",\"table_zero\":\"sure\",\"height_nm\":-"
             "9999999999}",
     .style = LENGTH_STYLE_128,
     .rows = 24,
     .columns = 80,
     .screen = " sure: still, below the table\n"
               "\n"
               "       #######  #######  #######     ##   ##  #######     ##\n"
               "            ##  ##   ##       ##     ##   ##  ##          ##\n"
               "            ##  ##   ##       ##     ##   ##  ##         ##\n"
               "            ##  ##   ##       ##     ##   ##  ##         ##   #######  ##   ##\n"
               "            ##  ##   ##       ##     #######  #######    ##   ##       ##   ##\n"
               " ####    #####  #######    #####          ##       ##    ##   ##       ##   ##\n"
               "            ##       ##       ##          ##       ##   ##    ##       ##   ##\n"
               "            ##       ##       ##          ##       ##   ##    #######  #######\n"
               "            ##       ##       ##          ##  #######   ##    ##   ##       ##\n"
               "            ##       ##       ##                        ##    ##   ##       ##\n"
               "            ##       ##       ##                       ##     ##   ##       ##\n"
               "       #######  #######  #######                       ##     #######       ##\n"
               "\n"
               "\n"
               "         #### #### ####   ### #   #\n"
               "  #      #  # #  #    #    #  ##  #\n"
               " ###     #  # #  # ####    #  # # #\n"
               "  #      #  # #  # #       #  #  ##\n"
               "       # #### #### ####   ### #   #\n"
               "\n"
               "\n"
               " space or s: stop the lift   q: leave\n"},
};

START_TEST(a_screen_fills_its_terminal)
{
    const struct size *size = &sizes[_i];
    struct face face;
    cJSON *status = read_face(size->json, size->style, &face);
    face.heard_ms = size->heard_ms;
    face.stop = size->stop;
    expect_same(face_as_text(&face, size->rows, size->columns), size->screen);
    cJSON_Delete(status);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("readout_sizes");
    TCase *screens = tcase_create("screens");
    tcase_add_loop_test(screens, a_screen_fills_its_terminal, 0, COUNT(sizes));
    suite_add_tcase(suite, screens);
    return run_suite(suite);
}
