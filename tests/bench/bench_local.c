/* SPDX-License-Identifier: MIT */
/*
 * The socket against a bare echo (echo.c), in real time and in turns, so that both meet the same
 * machine: requests a second and the slowest in a hundred, for 1, 8 and 50 clients of which each
 * sends the next when it is answered; and how long a message for 50 watchers is under way from the
 * first to the last of them. Ratios are medians over the rounds.
 */
#include "tests/bench/peers.h"
#include "tests/rig/harness.h"

enum { REQUESTS = 20000, WATCHERS = 50, TOLD = 40 };

static const char status_line[] = "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"status\"}\n";
static const char watch_line[] = "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"watch\"}\n";

static struct peer peers[PEERS_MOST];

struct round {
    double rate_hz;
    double p99_ms;
    double cpu_ms; /* of the peer */
};

struct side {
    const char *path;
    pid_t pid;
};

static double cpu_ms(pid_t pid)
{
    clockid_t clock;
    struct timespec used;
    ck_assert_int_eq(clock_getcpuclockid(pid, &clock), 0);
    ck_assert_int_eq(clock_gettime(clock, &used), 0);
    return (double)used.tv_sec * 1e3 + (double)used.tv_nsec / 1e6;
}

static void open_all(const char *path, int clients, struct pollfd *wanted)
{
    for (int i = 0; i < clients; i++) {
        peer_open(&peers[i], path);
        wanted[i] = (struct pollfd){.fd = peers[i].fd, .events = POLLIN};
    }
}

static void close_all(int clients)
{
    for (int i = 0; i < clients; i++) {
        close(peers[i].fd);
    }
}

/* Each client has one request under way, always. */
static struct round ask(const struct side *side, int clients)
{
    static double taken_ms[REQUESTS];
    struct pollfd wanted[PEERS_MOST];
    double sent_ms[PEERS_MOST];
    int asked = clients;
    int answered = 0;
    open_all(side->path, clients, wanted);
    double cpu_before_ms = cpu_ms(side->pid);
    double begin_ms = measure_now_ms();
    for (int i = 0; i < clients; i++) {
        sent_ms[i] = measure_now_ms();
        peer_say(&peers[i], status_line);
    }
    while (answered < REQUESTS) {
        peer_require(poll(wanted, (nfds_t)clients, 10000) > 0, "no answer in 10 s");
        for (int i = 0; i < clients && answered < REQUESTS; i++) {
            if ((wanted[i].revents & POLLIN) == 0 || peer_take(&peers[i], NULL, NULL) == 0) {
                continue;
            }
            double now_ms = measure_now_ms();
            taken_ms[answered++] = now_ms - sent_ms[i];
            if (asked < REQUESTS) {
                asked++;
                sent_ms[i] = now_ms;
                peer_say(&peers[i], status_line);
            }
        }
    }
    double whole_ms = measure_now_ms() - begin_ms;
    close_all(clients);
    return (struct round){REQUESTS / whole_ms * 1e3, measure_quantile(taken_ms, REQUESTS, 0.99),
                          cpu_ms(side->pid) - cpu_before_ms};
}

static void print_requests(const struct side *daemon, const struct side *echo, int clients)
{
    double rate[MEASURE_ROUNDS];
    double late[MEASURE_ROUNDS];
    double cpu[MEASURE_ROUNDS];
    double hz[2][MEASURE_ROUNDS];
    double ms[2][MEASURE_ROUNDS];
    for (int i = 0; i < MEASURE_ROUNDS; i++) {
        struct round bare = ask(echo, clients);
        struct round ours = ask(daemon, clients);
        rate[i] = ours.rate_hz / bare.rate_hz;
        late[i] = ours.p99_ms / bare.p99_ms;
        cpu[i] = ours.cpu_ms / bare.cpu_ms;
        hz[0][i] = bare.rate_hz;
        hz[1][i] = ours.rate_hz;
        ms[0][i] = bare.p99_ms;
        ms[1][i] = ours.p99_ms;
    }
    printf("local.status.ratio.%d\t%.2f\t1\n", clients, measure_median(rate, MEASURE_ROUNDS));
    printf("local.status.hz.%d\t%.0f\t1/s\n", clients, measure_median(hz[1], MEASURE_ROUNDS));
    printf("local.echo.hz.%d\t%.0f\t1/s\n", clients, measure_median(hz[0], MEASURE_ROUNDS));
    printf("local.cpu.ratio.%d\t%.2f\t1\n", clients, measure_median(cpu, MEASURE_ROUNDS));
    printf("local.p99.ratio.%d\t%.2f\t1\n", clients, measure_median(late, MEASURE_ROUNDS));
    printf("local.p99.ms.%d\t%.3f\tms\n", clients, measure_median(ms[1], MEASURE_ROUNDS));
    printf("local.echo.p99.ms.%d\t%.3f\tms\n", clients, measure_median(ms[0], MEASURE_ROUNDS));
}

/* --- Many who watch --- */

/* When the first and the last of the watchers had the message of each number. */
struct told {
    double first_ms[TOLD];
    double last_ms[TOLD];
    int count[PEERS_MOST]; /* how many this watcher has had */
    int watcher;
};

static void note(void *owner, const char *line)
{
    struct told *told = owner;
    if (!strstr(line, "\"method\":\"position\"")) {
        return;
    }
    int number = told->count[told->watcher]++;
    if (number < TOLD) {
        double now_ms = measure_now_ms();
        told->first_ms[number] = told->first_ms[number] > 0 ? told->first_ms[number] : now_ms;
        told->last_ms[number] = now_ms;
    }
}

static void note_answer(void *owner, const char *line)
{
    bool *answered = owner;
    *answered = *answered || strstr(line, "\"id\":1,") != NULL;
}

static bool all_told(const struct told *told)
{
    for (int i = 0; i < WATCHERS; i++) {
        if (told->count[i] < TOLD) {
            return false;
        }
    }
    return true;
}

/* All watch before `move` (NULL: the peer tells them anyway). The slowest in a hundred. */
static double fan_out(const char *path, const struct peer *mover, const char *move)
{
    static struct told told;
    struct pollfd wanted[PEERS_MOST];
    double late_ms[TOLD];
    told = (struct told){.watcher = 0};
    open_all(path, WATCHERS, wanted);
    for (int i = 0; i < WATCHERS; i++) {
        bool answered = false;
        peer_say(&peers[i], watch_line);
        while (!answered) {
            peer_take(&peers[i], note_answer, &answered);
        }
    }
    if (move) {
        peer_say(mover, move);
    }
    while (!all_told(&told)) {
        peer_require(poll(wanted, WATCHERS, 10000) > 0, "nothing was told in 10 s");
        for (told.watcher = 0; told.watcher < WATCHERS; told.watcher++) {
            if ((wanted[told.watcher].revents & POLLIN) != 0) {
                peer_take(&peers[told.watcher], note, &told);
            }
        }
    }
    close_all(WATCHERS);
    for (int i = 0; i < TOLD; i++) {
        late_ms[i] = told.last_ms[i] - told.first_ms[i];
    }
    return measure_quantile(late_ms, TOLD, 0.99);
}

static void print_fan_out(struct rig *rig, const char *daemon, const char *echo)
{
    static struct peer mover;
    double ratio[MEASURE_ROUNDS];
    double ours[MEASURE_ROUNDS];
    double bare[MEASURE_ROUNDS];
    peer_open(&mover, daemon);
    for (int i = 0; i < MEASURE_ROUNDS; i++) {
        char move[100];
        snprintf(
            move, sizeof move,
            "{\"jsonrpc\":\"2.0\",\"id\":7,\"method\":\"by\",\"params\":{\"distance\":\"%smm\"}}\n",
            i % 2 ? "12" : "-12");
        bare[i] = fan_out(echo, NULL, NULL);
        ours[i] = fan_out(daemon, &mover, move);
        peer_await_line(&mover);
        ratio[i] = ours[i] / bare[i];
        rig_run(rig, 200);
    }
    close(mover.fd);
    printf("local.fanout.p99.ratio\t%.2f\t1\n", measure_median(ratio, MEASURE_ROUNDS));
    printf("local.fanout.p99.ms\t%.3f\tms\n", measure_median(ours, MEASURE_ROUNDS));
    printf("local.fanout.echo.ms\t%.3f\tms\n", measure_median(bare, MEASURE_ROUNDS));
}

START_TEST(print_local)
{
    static const int clients[] = {1, 8, 50};
    struct rig rig;
    char daemon[PATH_SIZE];
    char echo[PATH_SIZE];
    measure_go_first();
    rig_start(&rig, false, 1);
    snprintf(daemon, sizeof daemon, "%s/reglet.sock", rig.folder);
    snprintf(echo, sizeof echo, "%s/echo.sock", rig.folder);
    pid_t bare = echo_start(echo);
    /* A table zero, so that a status has all that it has in use. */
    cJSON_Delete(rig_call(&rig, "by", "{\"distance\":\"-2mm\"}"));
    cJSON_Delete(rig_call(&rig, "by", "{\"distance\":\"2mm\"}"));
    cJSON_Delete(rig_call(&rig, "touch", "{\"height\":\"0mm\"}"));
    for (size_t i = 0; i < sizeof clients / sizeof *clients; i++) {
        print_requests(&(struct side){daemon, rig.daemon}, &(struct side){echo, bare}, clients[i]);
    }
    print_fan_out(&rig, daemon, echo);
    echo_end(bare);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    return rig_alone(print_local);
}
