/* SPDX-License-Identifier: MIT */
/*
 * What the daemon costs the machine, and what the machine can do to it, in real time: a crowd that
 * floods while both cores are busy and the lift makes full travels; memory; how soon it answers and
 * ends, against the bare echo (echo.c) where that can be compared; how often it wakes.
 */
#include <dirent.h>
#include <math.h>
#include <sys/resource.h>

#include "tests/bench/peers.h"
#include "tests/rig/harness.h"

enum { CROWD = 64, TRAVELS = 20, STILL_S = 10, AFTER_MS = 5000 };

static const char status_line[] = "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"status\"}\n";
static const char hello_line[] = "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"hello\"}\n";

static void touch_off(struct rig *rig)
{
    static const char *const asked[][2] = {{"find-top", "{}"},
                                           {"by", "{\"distance\":\"-12mm\"}"},
                                           {"by", "{\"distance\":\"-4mm\"}"},
                                           {"by", "{\"distance\":\"2mm\"}"}};
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        cJSON *answer = rig_insist(rig, asked[i][0], asked[i][1]);
        char *text = cJSON_PrintUnformatted(answer);
        ck_assert_msg(rig_done(answer), "%s: %s", asked[i][0], text);
        cJSON_free(text);
        cJSON_Delete(answer);
    }
    rig_tell(rig, "bit 0");
    cJSON *answer = rig_call(rig, "touch", "{\"height\":\"0mm\"}");
    ck_assert_msg(rig_done(answer), "touch was refused: %s", rig_reason(answer));
    cJSON_Delete(answer);
}

/* --- The crowd --- */

/* For ever: asks for more than is ever answered, on each of its connections. */
static void flood(const char *path)
{
    static struct peer crowd[CROWD];
    static char sink[PEER_LINE];
    for (int i = 0; i < CROWD; i++) {
        peer_open(&crowd[i], path);
        fcntl(crowd[i].fd, F_SETFL, O_NONBLOCK);
    }
    for (;;) {
        for (int i = 0; i < CROWD; i++) {
            (void)!write(crowd[i].fd, status_line, sizeof status_line - 1);
            if (read(crowd[i].fd, sink, sizeof sink) == 0) {
                close(crowd[i].fd); /* dropped, as it should be */
                peer_open(&crowd[i], path);
                fcntl(crowd[i].fd, F_SETFL, O_NONBLOCK);
            }
        }
    }
}

static void spin(const char *path)
{
    (void)path;
    for (volatile unsigned long turn = 0;; turn++) {
    }
}

static pid_t start_child(void (*task)(const char *path), const char *path)
{
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        prctl(PR_SET_PDEATHSIG, SIGKILL);
        signal(SIGPIPE, SIG_IGN);
        task(path);
    }
    return child;
}

static void end_child(pid_t child)
{
    ck_assert_int_eq(kill(child, SIGKILL), 0);
    ck_assert_int_eq(waitpid(child, NULL, 0), child);
}

/* One travel from end to end: true when it ended as it was asked, said as it is. */
static bool travel(struct rig *rig, bool up)
{
    cJSON *answer = rig_call(rig, "to", up ? "{\"height\":\"12mm\"}" : "{\"height\":\"-58mm\"}");
    cJSON *truth = rig_ask(rig, "truth");
    bool done = rig_done(answer);
    if (done) {
        double said_nm = rig_number(cJSON_GetObjectItem(answer, "result"), "height_nm");
        done = fabs(said_nm - rig_number(truth, "height_nm")) <= rig_number(truth, "step_nm") / 2;
    } else {
        cJSON *error = cJSON_GetObjectItem(answer, "error");
        fprintf(stderr, "a travel ended: %s\n", cJSON_GetObjectItem(error, "message")->valuestring);
    }
    cJSON_Delete(answer);
    cJSON_Delete(truth);
    return done;
}

/* The daemon of the rig as contrib/service/regletd.service starts it (Nice=-15). */
static void start_as_service(struct rig *rig)
{
    int own = getpriority(PRIO_PROCESS, 0);
    if (setpriority(PRIO_PROCESS, 0, -15) != 0) {
        fprintf(stderr, "without the right to raise a priority the daemon has none\n");
    }
    rig_start(rig, false, 1);
    ck_assert_int_eq(setpriority(PRIO_PROCESS, 0, own), 0);
}

/* The practice lift stands for a board that shares its processor with nobody. */
static void give_board_its_own(const struct rig *rig)
{
    if (setpriority(PRIO_PROCESS, (id_t)rig->practice, -20) != 0) {
        fprintf(stderr, "without the right to raise a priority the simulated board starves too\n");
    }
}

static void print_starved(struct rig *rig, const char *path)
{
    int starved = 0;
    pid_t child[3] = {start_child(flood, path), start_child(spin, path), start_child(spin, path)};
    double begin_ms = measure_now_ms();
    for (int i = 0; i < TRAVELS; i++) {
        starved += travel(rig, i % 2 == 0) ? 0 : 1;
    }
    double whole_ms = measure_now_ms() - begin_ms;
    for (size_t i = 0; i < sizeof child / sizeof *child; i++) {
        end_child(child[i]);
    }
    printf("daemon.starved\t%d\ttravels\n", starved);
    printf("daemon.travels.s\t%.0f\ts\n", whole_ms / 1e3);
}

/* --- Memory, and waking --- */

static void print_memory(const struct rig *rig)
{
    char path[64];
    snprintf(path, sizeof path, "/proc/%d/smaps_rollup", (int)rig->daemon);
    printf("daemon.rss\t%.0f\tKiB\n", measure_proc(path, "Rss:"));
    printf("daemon.pss\t%.0f\tKiB\n", measure_proc(path, "Pss:"));
}

/* How often its threads have gone to wait of their own will. */
static double waits(const struct rig *rig)
{
    char folder[64];
    double sum = 0;
    snprintf(folder, sizeof folder, "/proc/%d/task", (int)rig->daemon);
    DIR *list = opendir(folder);
    ck_assert_ptr_nonnull(list);
    for (const struct dirent *entry; (entry = readdir(list)) != NULL;) {
        char path[400];
        snprintf(path, sizeof path, "%s/%s/status", folder, entry->d_name);
        if (entry->d_name[0] != '.') {
            sum += measure_proc(path, "voluntary_ctxt_switches:");
        }
    }
    closedir(list);
    return sum;
}

static void print_wakeups(struct rig *rig, const char *name)
{
    rig_run(rig, AFTER_MS);
    double before = waits(rig);
    rig_run(rig, STILL_S * 1000);
    printf("daemon.wakeups.%s\t%.1f\t1/s\n", name, (waits(rig) - before) / STILL_S);
}

/* --- Beginning and ending --- */

static double until_answer_ms(double begin_ms, const char *path)
{
    static struct peer peer;
    peer_open(&peer, path);
    peer_say(&peer, hello_line);
    peer_await_line(&peer);
    double whole_ms = measure_now_ms() - begin_ms;
    close(peer.fd);
    return whole_ms;
}

static void print_start_and_exit(struct rig *rig, const char *path, const char *echo)
{
    double ratio[MEASURE_ROUNDS];
    double ours[MEASURE_ROUNDS];
    double bare[MEASURE_ROUNDS];
    double exits[MEASURE_ROUNDS];
    for (int i = 0; i < MEASURE_ROUNDS; i++) {
        rig_run(rig, 1500); /* still, and all that was to be written is */
        double begin_ms = measure_now_ms();
        rig_end_daemon(rig, SIGTERM);
        exits[i] = measure_now_ms() - begin_ms;
        begin_ms = measure_now_ms();
        pid_t peer = echo_start(echo);
        bare[i] = until_answer_ms(begin_ms, echo);
        echo_end(peer);
        begin_ms = measure_now_ms();
        rig_spawn_daemon(rig);
        ours[i] = until_answer_ms(begin_ms, path);
        rig->client = rig_connect(rig);
        ratio[i] = ours[i] / bare[i];
    }
    printf("daemon.start.ratio\t%.2f\t1\n", measure_median(ratio, MEASURE_ROUNDS));
    printf("daemon.start.ms\t%.1f\tms\n", measure_median(ours, MEASURE_ROUNDS));
    printf("daemon.start.echo.ms\t%.1f\tms\n", measure_median(bare, MEASURE_ROUNDS));
    printf("daemon.exit.ms\t%.1f\tms\n", measure_median(exits, MEASURE_ROUNDS));
}

START_TEST(print_daemon)
{
    struct rig rig;
    char path[PATH_SIZE];
    char echo[PATH_SIZE];
    start_as_service(&rig);
    snprintf(path, sizeof path, "%s/reglet.sock", rig.folder);
    snprintf(echo, sizeof echo, "%s/echo.sock", rig.folder);
    give_board_its_own(&rig);
    touch_off(&rig);
    print_wakeups(&rig, "still");
    print_memory(&rig);
    print_starved(&rig, path);
    print_start_and_exit(&rig, path, echo);
    rig_tell(&rig, "unplug");
    print_wakeups(&rig, "unplugged");
    rig_tell(&rig, "plug");
    rig_end(&rig);
}
END_TEST

int main(void)
{
    return rig_alone(print_daemon);
}
