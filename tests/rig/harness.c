/* SPDX-License-Identifier: MIT */
#include "tests/rig/harness.h"

#include <check.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <signal.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/random.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum {
    LINE_SIZE = 20000,
    WAIT_TURNS = 1000,
    WAIT_TURN_MS = 10,
    INSIST_ROUNDS = 20,
    SETTLE_ROUNDS = 600
};

static void pause_ms(long ms)
{
    struct timespec time = {.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000};
    nanosleep(&time, NULL);
}

/* What programs say goes into a file of the rig's. */
static void prepare_child(const struct rig *rig)
{
    char path[512];
    snprintf(path, sizeof path, "%s/said", rig->folder);
    int log = open(path, O_WRONLY | O_CREAT | O_APPEND, 0600);
    dup2(log, STDERR_FILENO);
    dup2(log, STDOUT_FILENO);
    setenv("REGLET_PRACTICE", rig->folder, 1);
    if (rig->crash_at_sync > 0) {
        snprintf(path, sizeof path, "%d", rig->crash_at_sync);
        setenv("REGLET_CRASH_AT", path, 1);
        setenv("REGLET_CRASH_AFTER", rig->crash_after_sync ? "1" : "0", 1);
        setenv("LD_PRELOAD", REGLET_CRASH_LIBRARY, 1);
        setenv("ASAN_OPTIONS", "verify_asan_link_order=0:detect_leaks=0", 1);
    }
}

/* A child that dies with us, so that a failed assertion leaves nothing behind. */
static pid_t spawn(struct rig *rig, const char *program, char *const words[])
{
    char path[512];
    snprintf(path, sizeof path, "%s/%s", REGLET_BIN, program);
    pid_t parent = getpid();
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        prctl(PR_SET_PDEATHSIG, SIGKILL);
        if (getppid() != parent) {
            _exit(126);
        }
        prepare_child(rig);
        execv(path, words);
        _exit(127);
    }
    return child;
}

static int try_connect(const struct rig *rig, const char *name)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    snprintf(address.sun_path, sizeof address.sun_path, "%s/%s", rig->folder, name);
    int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    ck_assert_int_ge(fd, 0);
    if (connect(fd, (struct sockaddr *)&address, sizeof address) != 0) {
        close(fd);
        return -1;
    }
    return fd;
}

/* Waits for a program that was just started to listen. The stream is for reading alone: what is
 * written goes to its descriptor, since a stream that has lines left to read cannot be turned. */
static FILE *open_socket(const struct rig *rig, const char *name)
{
    int fd = -1;
    for (int turn = 0; turn < WAIT_TURNS && fd < 0; turn++) {
        fd = try_connect(rig, name);
        if (fd < 0) {
            pause_ms(WAIT_TURN_MS);
        }
    }
    ck_assert_msg(fd >= 0, "nothing listens at %s/%s", rig->folder, name);
    FILE *stream = fdopen(fd, "r");
    ck_assert_ptr_nonnull(stream);
    return stream;
}

static cJSON *read_line(FILE *stream)
{
    static char line[LINE_SIZE];
    ck_assert_msg(fgets(line, sizeof line, stream) != NULL, "the other side hung up");
    cJSON *answer = cJSON_Parse(line);
    ck_assert_msg(answer != NULL, "no JSON: %s", line);
    return answer;
}

static pid_t spawn_daemon(struct rig *rig)
{
    char name[] = "regletd";
    char practice[] = "--practice";
    char lockstep[] = "--lockstep";
    char config[300];
    char *words[6] = {name, practice};
    int count = 2;
    if (rig->lockstep) {
        words[count++] = lockstep;
    }
    if (rig->config) {
        snprintf(config, sizeof config, "--config=%s", rig->config);
        words[count++] = config;
    }
    words[count] = NULL;
    return spawn(rig, "regletd", words);
}

void rig_spawn_daemon(struct rig *rig)
{
    rig->daemon = spawn_daemon(rig);
}

void rig_start_daemon(struct rig *rig)
{
    rig_spawn_daemon(rig);
    if (rig->crash_at_sync == 0) {
        rig->client = open_socket(rig, "reglet.sock");
        return;
    }
    /* It may be dead before it listens; its end is left to rig_crashed. */
    siginfo_t end = {.si_pid = 0};
    int fd = -1;
    while (fd < 0 && end.si_pid == 0) {
        pause_ms(WAIT_TURN_MS);
        fd = try_connect(rig, "reglet.sock");
        waitid(P_PID, (id_t)rig->daemon, &end, WEXITED | WNOHANG | WNOWAIT);
    }
    rig->client = fd >= 0 ? fdopen(fd, "r") : NULL;
}

bool rig_hung_up(struct rig *rig)
{
    static char line[LINE_SIZE];
    int id = ++rig->next_id;
    char mark[32];
    if (!rig->client) {
        return true;
    }
    snprintf(mark, sizeof mark, "\"id\":%d,", id);
    if (dprintf(fileno(rig->client), "{\"jsonrpc\":\"2.0\",\"id\":%d,\"method\":\"hello\"}\n", id) <
        0) {
        return true;
    }
    while (fgets(line, sizeof line, rig->client)) {
        if (strstr(line, mark)) {
            return false;
        }
    }
    return true;
}

bool rig_crashed(struct rig *rig)
{
    int status;
    if (rig->client) {
        fclose(rig->client);
    }
    rig->client = NULL;
    ck_assert_int_eq(waitpid(rig->daemon, &status, 0), rig->daemon);
    rig->daemon = 0;
    return WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL;
}

void rig_refuses_to_start(struct rig *rig)
{
    int status;
    pid_t daemon = spawn_daemon(rig);
    ck_assert_int_eq(waitpid(daemon, &status, 0), daemon);
    ck_assert_msg(WIFEXITED(status) && WEXITSTATUS(status) == 1, "it ended with %d", status);
}

bool rig_log_has(const struct rig *rig, const char *text)
{
    static char said[200000];
    char path[512];
    snprintf(path, sizeof path, "%s/said", rig->folder);
    FILE *file = fopen(path, "re");
    ck_assert_ptr_nonnull(file);
    size_t size = fread(said, 1, sizeof said - 1, file);
    fclose(file);
    said[size] = '\0';
    return strstr(said, text) != NULL;
}

static void make_folder(struct rig *rig)
{
    enum { DRAWN = 6 }; /* letters that mkdtemp draws */
    *rig = (struct rig){.next_id = 0};
    int size = snprintf(rig->folder, sizeof rig->folder, "/tmp/reglet-rig-");
    memset(rig->folder + size, 'X', DRAWN); /* the rest is NUL */
    ck_assert_ptr_nonnull(mkdtemp(rig->folder));
}

/* In real time a busy machine may give neither lift nor daemon a turn for long. */
static void write_patient_config(struct rig *rig)
{
    snprintf(rig->patient, sizeof rig->patient, "%s/patient.json", rig->folder);
    FILE *file = fopen(rig->patient, "we");
    ck_assert_ptr_nonnull(file);
    fputs("{\"screw\": {\"lead\": \"2mm\", \"full_steps\": 200, \"microsteps\": 8},"
          "\"travel\": {\"length\": \"77mm\", \"top_margin\": \"1mm\"}, \"speeds\": "
          "{\"move\": \"10mm/s\", \"search\": \"5mm/s\", \"brake\": \"125mm/s2\"},"
          "\"lash\": {\"measured\": \"0.20mm\"}, \"inputs\": {\"top_switch\": \"active-high\"},"
          "\"link\": {\"port\": \"/dev/null\", \"silence_ms\": 1000}}",
          file);
    ck_assert_int_eq(fclose(file), 0);
    rig->config = rig->patient;
}

static void start(struct rig *rig, bool lockstep, int latency_ms)
{
    char latency[32];
    rig->lockstep = lockstep;
    signal(SIGPIPE, SIG_IGN);
    snprintf(latency, sizeof latency, "--latency-ms=%d", latency_ms);
    char *const stepped[] = {(char[]){"reglet-practice"}, latency, (char[]){"--lockstep"},
                             rig->folder, NULL};
    char *const real[] = {(char[]){"reglet-practice"}, latency, rig->folder, NULL};
    const char *program = getenv("REGLET_RIG_LIFT");
    rig->practice = spawn(rig, program ? program : "reglet-practice", lockstep ? stepped : real);
    rig->control = open_socket(rig, "lift.sock");
    rig_start_daemon(rig);
    rig_run(rig, 1000);
}

void rig_start(struct rig *rig, bool lockstep, int latency_ms)
{
    make_folder(rig);
    start(rig, lockstep, latency_ms);
}

void rig_start_patient(struct rig *rig)
{
    make_folder(rig);
    write_patient_config(rig);
    start(rig, false, 1);
}

void rig_end_daemon(struct rig *rig, int signal_number)
{
    int status;
    fclose(rig->client);
    rig->client = NULL;
    ck_assert_int_eq(kill(rig->daemon, signal_number), 0);
    if (signal_number == SIGTERM && rig->lockstep) {
        rig_tell(rig, "free"); /* it may have to brake first, which takes time */
    }
    ck_assert_int_eq(waitpid(rig->daemon, &status, 0), rig->daemon);
    if (signal_number == SIGKILL) {
        ck_assert(WIFSIGNALED(status));
    } else {
        ck_assert_msg(WIFEXITED(status) && WEXITSTATUS(status) == 0, "the daemon ended with %d",
                      status);
    }
    if (signal_number == SIGTERM && rig->lockstep) {
        rig_tell(rig, "hold");
    }
    rig->daemon = 0;
}

void rig_end(struct rig *rig)
{
    int status;
    char command[96];
    if (rig->daemon) {
        rig_end_daemon(rig, SIGTERM);
    }
    rig_tell(rig, "end");
    fclose(rig->control);
    ck_assert_int_eq(waitpid(rig->practice, &status, 0), rig->practice);
    ck_assert_msg(WIFEXITED(status) && WEXITSTATUS(status) == 0, "the practice lift ended with %d",
                  status);
    snprintf(command, sizeof command, "rm -r %s", rig->folder);
    ck_assert_int_eq(system(command), 0);
}

static cJSON *command(struct rig *rig, const char *text)
{
    ck_assert_int_gt(dprintf(fileno(rig->control), "%s\n", text), 0);
    cJSON *answer = read_line(rig->control);
    ck_assert_msg(!cJSON_HasObjectItem(answer, "wrong"), "the practice lift refused: %s", text);
    return answer;
}

cJSON *rig_ask(struct rig *rig, const char *format, ...)
{
    char text[200];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    return command(rig, text);
}

void rig_tell(struct rig *rig, const char *format, ...)
{
    char text[200];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    cJSON_Delete(command(rig, text));
}

double rig_number(const cJSON *object, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    ck_assert_msg(cJSON_IsNumber(item), "there is no number %s", name);
    return item->valuedouble;
}

FILE *rig_connect(struct rig *rig)
{
    return open_socket(rig, "reglet.sock");
}

/* To a daemon that was just killed nothing can be sent; whoever reads finds that out. */
int rig_send(struct rig *rig, FILE *client, const char *method, const char *params)
{
    int id = ++rig->next_id;
    dprintf(fileno(client), "{\"jsonrpc\":\"2.0\",\"id\":%d,\"method\":\"%s\"%s%s}\n", id, method,
            params ? ",\"params\":" : "", params ? params : "");
    return id;
}

cJSON *rig_answer(FILE *client, int id)
{
    for (;;) {
        cJSON *answer = read_line(client);
        const cJSON *answered = cJSON_GetObjectItemCaseSensitive(answer, "id");
        if (cJSON_IsNumber(answered) && answered->valueint == id) {
            return answer;
        }
        cJSON_Delete(answer);
    }
}

cJSON *rig_heard(struct rig *rig, FILE *client)
{
    int barrier = rig_send(rig, client, "hello", NULL);
    cJSON *heard = cJSON_CreateArray();
    for (;;) {
        cJSON *message = read_line(client);
        const cJSON *id = cJSON_GetObjectItemCaseSensitive(message, "id");
        if (!id) {
            cJSON_AddItemToArray(heard, message);
            continue;
        }
        bool last = cJSON_IsNumber(id) && id->valueint == barrier;
        cJSON_Delete(message);
        if (last) {
            return heard;
        }
    }
}

/* The daemon takes a connection's requests in order: when the hello is answered, all before it has
 * been taken up, and what could be answered without time going on has been. The answer to `id`, if
 * it has come by then; others are dropped. */
static cJSON *answer_before_barrier(struct rig *rig, FILE *client, int id)
{
    int barrier = rig_send(rig, client, "hello", NULL);
    cJSON *wanted = NULL;
    for (;;) {
        cJSON *answer = read_line(client);
        int answered = cJSON_GetObjectItemCaseSensitive(answer, "id")->valueint;
        if (answered == id) {
            wanted = answer;
            continue;
        }
        cJSON_Delete(answer);
        if (answered == barrier) {
            return wanted;
        }
    }
}

cJSON *rig_settle(struct rig *rig, FILE *client, int id)
{
    if (!rig->lockstep) {
        return rig_answer(client, id);
    }
    /* A motor at rest is not yet the end: a noisy link may pause between two legs. */
    for (int round = 0; round < SETTLE_ROUNDS; round++) {
        cJSON *answer = answer_before_barrier(rig, client, id);
        if (answer) {
            return answer;
        }
        rig_tell(rig, "run-rest 200");
    }
    ck_abort_msg("no answer, though the motor has come to rest %d times", SETTLE_ROUNDS);
    return NULL;
}

cJSON *rig_call(struct rig *rig, const char *method, const char *params)
{
    return rig_settle(rig, rig->client, rig_send(rig, rig->client, method, params));
}

cJSON *rig_length(struct rig *rig, const char *method, const char *name, int64_t nm)
{
    char params[80];
    snprintf(params, sizeof params, "{\"%s_nm\":%" PRId64 "}", name, nm);
    return rig_call(rig, method, params);
}

bool rig_done(const cJSON *answer)
{
    return cJSON_HasObjectItem(answer, "result");
}

const char *rig_reason(const cJSON *answer)
{
    const cJSON *error = cJSON_GetObjectItemCaseSensitive(answer, "error");
    const cJSON *data = cJSON_GetObjectItemCaseSensitive(error, "data");
    const cJSON *reason = cJSON_GetObjectItemCaseSensitive(data, "reason");
    return cJSON_IsString(reason) ? reason->valuestring : "";
}

void rig_run(struct rig *rig, int ms)
{
    if (rig->lockstep) {
        rig_tell(rig, "run %d", ms);
    } else {
        pause_ms(ms);
    }
}

/* Was it stopped because the daemon came too late with the next strides? */
static bool ran_empty(const cJSON *answer)
{
    const cJSON *error = cJSON_GetObjectItemCaseSensitive(answer, "error");
    const cJSON *message = cJSON_GetObjectItemCaseSensitive(error, "message");
    return cJSON_IsString(message) && strstr(message->valuestring, "queue ran empty") != NULL;
}

cJSON *rig_insist(struct rig *rig, const char *method, const char *params)
{
    cJSON *answer = rig_call(rig, method, params);
    for (int i = 0; !rig->lockstep && ran_empty(answer) && i < INSIST_ROUNDS; i++) {
        cJSON_Delete(answer);
        cJSON_Delete(rig_call(rig, "all-clear", NULL));
        answer = rig_call(rig, method, params);
    }
    return answer;
}

static void must(cJSON *answer)
{
    char *text = cJSON_PrintUnformatted(answer);
    ck_assert_msg(rig_done(answer), "refused: %s", text);
    free(text);
    cJSON_Delete(answer);
}

void rig_touch_off(struct rig *rig)
{
    must(rig_insist(rig, "find-top", NULL));
    for (int i = 0; i < 3; i++) {
        must(rig_insist(rig, "by", "{\"distance\":\"-1/2in\"}"));
    }
    must(rig_insist(rig, "by", "{\"distance\":\"-1/4in\"}"));
    must(rig_insist(rig, "by", "{\"distance\":\"1/4in\"}"));
    rig_tell(rig, "bit 0");
    must(rig_insist(rig, "touch", "{\"height\":\"0in\"}"));
}

uint64_t rig_seed(const char *test)
{
    uint64_t seed = 0;
    const char *given = getenv("REGLET_SEED");
    if (given) {
        seed = strtoull(given, NULL, 0);
    } else {
        ck_assert_int_eq(getrandom(&seed, sizeof seed, 0), sizeof seed);
        seed >>= 32;
    }
    printf("%s: REGLET_SEED=%" PRIu64 "\n", test, seed);
    fflush(stdout);
    return seed;
}

uint64_t rig_draw(uint64_t *seed, uint64_t below)
{
    uint64_t z = *seed += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ z >> 27) * UINT64_C(0x94d049bb133111eb);
    return (z ^ z >> 31) % below;
}

int rig_alone(const TTest *test)
{
    Suite *suite = suite_create("alone");
    TCase *alone = tcase_create("alone");
    tcase_add_test(alone, test);
    suite_add_tcase(suite, alone);
    SRunner *runner = srunner_create(suite);
    srunner_set_fork_status(runner, CK_NOFORK);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
