/* SPDX-License-Identifier: MIT */
/*
 * The real reglet-readout in a real terminal, against a daemon made of a few lines: what stands on
 * the screen, and what is left of it behind every end. readout-golden/ has the screens; there '#'
 * is a reversed blank and '%' a reversed question mark.
 */
#include <check.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>
#include <unistd.h>

#include "tests/rig/readout_pane.h"
#include "tests/suite.h"

#define PLACE "\"height\":\"36.5887mm\",\"height_nm\":36588700,\"age_ms\":12"
#define STILL "\"activity\":\"still\",\"play\":\"taken-up\",\"stop_open\":false,\"practice\":false"
#define SURE "{" STILL ",\"table_zero\":\"sure\"," PLACE "}"

/* --- A daemon as small as the readout needs --- */

struct fake {
    int listener;
    FILE *client;    /* for reading */
    char last[1024]; /* what was last said of the lift; empty: it is not to be said again */
};

static void fake_listen(struct fake *fake)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX, .sun_path = "s"};
    fake->listener = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    ck_assert_int_ge(fake->listener, 0);
    ck_assert_int_eq(bind(fake->listener, (struct sockaddr *)&address, sizeof address), 0);
    ck_assert_int_eq(listen(fake->listener, 8), 0);
}

static void fake_say(struct fake *fake, const char *line)
{
    size_t size = strlen(line);
    ck_assert_int_eq(send(fileno(fake->client), line, size, MSG_NOSIGNAL), (ssize_t)size);
    ck_assert_int_eq(send(fileno(fake->client), "\n", 1, MSG_NOSIGNAL), 1);
}

static void fake_hear(struct fake *fake, const char *expected)
{
    char line[512];
    ck_assert_msg(fgets(line, sizeof line, fake->client) != NULL, "no %s", expected);
    line[strcspn(line, "\n")] = '\0';
    ck_assert_str_eq(line, expected);
}

/* Waits for the readout, and answers its greeting with that status. */
static void fake_accept(struct fake *fake, const char *status)
{
    struct timeval most = {.tv_sec = PANE_TURNS * PANE_TURN_MS / 1000};
    ck_assert_int_eq(setsockopt(fake->listener, SOL_SOCKET, SO_RCVTIMEO, &most, sizeof most), 0);
    int fd = accept(fake->listener, NULL, NULL);
    ck_assert_int_ge(fd, 0);
    ck_assert_int_eq(setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &most, sizeof most), 0);
    fake->client = fdopen(fd, "r");
    ck_assert_ptr_nonnull(fake->client);
    fake_hear(fake, "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"hello\","
                    "\"params\":{\"client\":\"reglet-readout\"}}");
    fake_hear(fake, "{\"jsonrpc\":\"2.0\",\"id\":2,\"method\":\"watch\"}");
    fake_say(fake, "{\"jsonrpc\":\"2.0\",\"id\":1,\"result\":{\"major\":1,\"minor\":1,"
                   "\"version\":\"0.1.0\",\"practice\":false,\"may\":\"command\"}}");
    (void)snprintf(fake->last, sizeof fake->last, "{\"jsonrpc\":\"2.0\",\"id\":2,\"result\":%s}",
                   status);
    fake_say(fake, fake->last);
}

/* The sign of life of a daemon: a height stands on the screen for no more than three seconds behind
 * it, and a look at the screen may take longer. */
static void fake_live(void *owner)
{
    struct fake *fake = owner;
    if (fake->last[0] != '\0') {
        fake_say(fake, fake->last);
    }
}

static void fake_tell(struct fake *fake, const char *method, const char *params)
{
    (void)snprintf(fake->last, sizeof fake->last,
                   "{\"jsonrpc\":\"2.0\",\"method\":\"%s\",\"params\":%s}", method, params);
    fake_say(fake, fake->last);
}

static void fake_hang_up(struct fake *fake)
{
    fake->last[0] = '\0';
    ck_assert_int_eq(fclose(fake->client), 0);
}

static void fake_end(struct fake *fake)
{
    ck_assert_int_eq(unlink("s"), 0);
    ck_assert_int_eq(close(fake->listener), 0);
}

/* The readout at a lift that stands at 1-7/16 + .003. */
static void begin_in(struct pane *pane, struct fake *fake, const char *before)
{
    pane->meanwhile = fake_live;
    pane->owner = fake;
    *fake = (struct fake){0};
    fake_listen(fake);
    pane_show(pane, before, "--socket=s");
    fake_accept(fake, SURE);
    pane_expect(pane, "sure");
}

static void begin(struct pane *pane, struct fake *fake)
{
    pane_open(pane);
    begin_in(pane, fake, "");
}

static void end(struct pane *pane, struct fake *fake)
{
    fake_hang_up(fake);
    fake_end(fake);
    pane_close(pane);
}

/* --- Screens --- */

START_TEST(what_the_daemon_says_stands_on_the_screen)
{
    static const struct {
        const char *method;
        const char *params;
        const char *screen;
    } steps[] = {
        {"changed", SURE, "sure"},
        {"position", "{\"activity\":\"still\",\"height_nm\":9525000,\"age_ms\":1001}", "old"},
        {"changed", "{" STILL ",\"table_zero\":\"unchecked\"," PLACE "}", "unchecked"},
        {"changed", "{" STILL ",\"table_zero\":\"lost\"}", "lost"},
        {"changed",
         "{\"activity\":\"barred\",\"table_zero\":\"sure\",\"stop_open\":true,"
         "\"why\":\"the stop circuit was opened\"," PLACE "}",
         "barred"},
        {"changed",
         "{\"activity\":\"unplugged\",\"table_zero\":\"sure\",\"last_height_nm\":36588700,"
         "\"why\":\"the serial port is gone\"}",
         "unplugged"},
        {"changed",
         "{\"activity\":\"moving\",\"table_zero\":\"sure\",\"going_to_nm\":38100000," PLACE "}",
         "moving"},
        {"changed", "{\"activity\":\"braking\",\"table_zero\":\"sure\"," PLACE "}", "braking"},
        {"changed",
         "{\"activity\":\"unpowered\",\"play\":\"unknown\",\"table_zero\":\"unchecked\"," PLACE "}",
         "unpowered"},
        {"changed",
         "{" STILL ",\"table_zero\":\"sure\",\"bit\":\"straight-half\",\"riding\":\"3/8in\","
         "\"riding_nm\":9525000," PLACE "}",
         "riding"},
    };
    struct pane pane;
    struct fake fake;
    begin(&pane, &fake);
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        fake_tell(&fake, steps[i].method, steps[i].params);
        pane_expect(&pane, steps[i].screen);
    }
    end(&pane, &fake);
}
END_TEST

START_TEST(a_daemon_that_goes_takes_the_height_with_it_and_is_found_again)
{
    struct pane pane;
    struct fake fake;
    begin(&pane, &fake);
    fake_end(&fake);
    fake_hang_up(&fake);
    pane_expect(&pane, "away");
    fake_listen(&fake);
    fake_accept(&fake, SURE);
    pane_expect(&pane, "sure");
    end(&pane, &fake);
}
END_TEST

START_TEST(a_daemon_that_is_silent_is_said_to_be_so)
{
    struct pane pane;
    struct fake fake;
    begin(&pane, &fake);
    fake.last[0] = '\0';
    pane_expect(&pane, "silent");
    fake_tell(&fake, "position", "{\"activity\":\"still\"," PLACE "}");
    pane_expect(&pane, "sure");
    end(&pane, &fake);
}
END_TEST

START_TEST(figures_follow_the_size_of_the_terminal)
{
    static const struct {
        const char *size;
        const char *screen;
    } steps[] = {{"-x 40 -y 10", "small"}, {"-x 132 -y 43", "large"}, {"-x 20 -y 5", "tiny"}};
    struct pane pane;
    struct fake fake;
    begin(&pane, &fake);
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        pane_tmux(&pane, "resize-window %s", steps[i].size);
        fake_tell(&fake, "changed", SURE);
        pane_expect(&pane, steps[i].screen);
    }
    end(&pane, &fake);
}
END_TEST

START_TEST(a_terminal_that_cannot_reverse_has_figures_of_hashes)
{
    struct pane pane;
    struct fake fake;
    int status;
    pane_open(&pane);
    pane_shell(pane.text, sizeof pane.text, &status,
               "infocmp -1 screen | grep -Ev '^\t(rev|smso|rmso|sgr|bold)=' | "
               "sed 's/^screen|/bare|/' >bare.ti && tic -o . bare.ti 2>&1");
    ck_assert_msg(status == 0, "%s", pane.text);
    begin_in(&pane, &fake, "TERMINFO=. TERM=bare"); /* a '#' is one, or a reversed blank */
    pane_shell(pane.text, sizeof pane.text, &status, "tmux -N -L pane capture-pane -p");
    ck_assert_msg(strstr(pane.text, "#######") != NULL, "%s", pane.text);
    end(&pane, &fake);
}
END_TEST

/* --- Keys --- */

START_TEST(space_and_s_ask_to_stop)
{
    static const char *const keys[] = {"Space", "s"};
    struct pane pane;
    struct fake fake;
    begin(&pane, &fake);
    for (int i = 0; i < 2; i++) {
        char request[100];
        char answer[400];
        (void)snprintf(request, sizeof request,
                       "{\"jsonrpc\":\"2.0\",\"id\":%d,\"method\":\"stop\"}", 3 + i);
        (void)snprintf(answer, sizeof answer, "{\"jsonrpc\":\"2.0\",\"id\":%d,\"result\":%s}",
                       3 + i, SURE);
        pane_tmux(&pane, "send-keys Up"); /* no key of ours */
        pane_tmux(&pane, "send-keys %s", keys[i]);
        fake_hear(&fake, request);
        pane_expect_words(&pane, "#STOP#");
        fake_say(&fake, answer);
        pane_expect_words(&pane, "stopped   space or s: stop");
    }
    fake_end(&fake);
    fake_hang_up(&fake);
    pane_expect_words(&pane, "#the#daemon#is#away");
    pane_tmux(&pane, "send-keys s");
    pane_expect_words(&pane, "#STOP#not#sent:#open#the#stop#circuit#");
    pane_close(&pane);
}
END_TEST

/* --- Ends --- */

START_TEST(every_end_gives_the_terminal_back)
{
    static const struct {
        const char *key;
        int signal_number; /* where there is no key */
        int code;
    } ends[] = {{"q", 0, 0},       {"C-c", 0, 4},    {NULL, SIGTERM, 4},
                {NULL, SIGHUP, 4}, {"C-\\\\", 0, 4}, {NULL, SIGABRT, 128 + SIGABRT}};
    struct pane pane;
    struct fake fake;
    begin(&pane, &fake);
    fake.last[0] = '\0';
    if (ends[_i].key) {
        pane_tmux(&pane, "send-keys %s", ends[_i].key);
    } else {
        int status;
        pane_shell(pane.text, sizeof pane.text, &status, "kill -%d $(cat pid)",
                   ends[_i].signal_number);
        ck_assert_int_eq(status, 0);
    }
    pane_expect_end(&pane, ends[_i].code);
    end(&pane, &fake);
}
END_TEST

START_TEST(while_it_is_suspended_no_height_stands_there)
{
    struct pane pane;
    struct fake fake;
    int status;
    pane_open(&pane);
    begin_in(&pane, &fake, "set -m;");
    fake.last[0] = '\0';
    pane_tmux(&pane, "send-keys C-z");
    pane_expect_words(&pane, "left "); /* the shell has its terminal again */
    ck_assert_ptr_null(strchr(pane.text, '#'));
    pane_shell(pane.text, sizeof pane.text, &status, "kill -KILL $(cat pid)");
    ck_assert_int_eq(status, 0);
    end(&pane, &fake);
}
END_TEST

/* It goes on in the unit that the shop changes to while it runs. */
START_TEST(the_shop_s_unit_is_followed)
{
    static const char *const steps[][2] = {
        {"mm", "millimetres"},
        {"64", "sure"},
        {"mm", "millimetres"},
        {"ell", "millimetres"}, /* not known here: as it was */
    };
    struct pane pane;
    struct fake fake;
    begin(&pane, &fake);
    pane_expect(&pane, "sure");
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        char status[256];
        snprintf(status, sizeof status,
                 "{" STILL ",\"table_zero\":\"sure\",\"unit\":\"%s\"," PLACE "}", steps[i][0]);
        fake_tell(&fake, "changed", status);
        pane_expect(&pane, steps[i][1]);
    }
    end(&pane, &fake);
}
END_TEST

START_TEST(what_is_no_terminal_is_told_so)
{
    static const struct {
        const char *before;
        const char *behind;
        const char *words;
    } runs[] = {
        {"", "</dev/null", "this is none"},
        {"", "| cat >out", "this is none"},
    };
    struct pane pane;
    int status;
    pane_open(&pane);
    for (size_t i = 0; i < sizeof runs / sizeof *runs; i++) {
        pane_shell(pane.text, sizeof pane.text, &status,
                   "{ %s %s --socket=s; echo code $? >code; } 2>&1 %s; cat code", runs[i].before,
                   pane.program, runs[i].behind);
        ck_assert_ptr_nonnull(strstr(pane.text, "code 2"));
    }
    pane_show(&pane, "TERM=dumb", "--socket=s");
    pane_expect_words(&pane, "left 2");
    pane_shell(pane.text, sizeof pane.text, &status, "cat said");
    ck_assert_ptr_nonnull(strstr(pane.text, "The terminal is named 'dumb' (TERM)"));
    pane_close(&pane);
}
END_TEST

int main(void)
{
    const char *missing = pane_missing();
    if (missing) {
        printf("left out: %s\n", missing);
        return EXIT_SUCCESS;
    }
    Suite *suite = suite_create("readout_tmux");
    TCase *pane = tcase_create("pane");
    tcase_set_timeout(pane, 240);
    tcase_add_test(pane, what_the_daemon_says_stands_on_the_screen);
    tcase_add_test(pane, a_daemon_that_goes_takes_the_height_with_it_and_is_found_again);
    tcase_add_test(pane, a_daemon_that_is_silent_is_said_to_be_so);
    tcase_add_test(pane, figures_follow_the_size_of_the_terminal);
    tcase_add_test(pane, a_terminal_that_cannot_reverse_has_figures_of_hashes);
    tcase_add_test(pane, space_and_s_ask_to_stop);
    tcase_add_loop_test(pane, every_end_gives_the_terminal_back, 0, 6);
    tcase_add_test(pane, while_it_is_suspended_no_height_stands_there);
    tcase_add_test(pane, the_shop_s_unit_is_followed);
    tcase_add_test(pane, what_is_no_terminal_is_told_so);
    suite_add_tcase(suite, pane);
    return run_suite(suite);
}
