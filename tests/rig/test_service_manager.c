/* SPDX-License-Identifier: MIT */
/* What goes to and fro between daemon and service manager: sd_notify(3) and sd_listen_fds(3). */
#include <check.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include "tests/rig/service.h"
#include "tests/suite.h"

/* --- What the manager is told --- */

static void tell_and_stop(struct bench *b, const char *name)
{
    int manager = bind_unix(name, SOCK_DGRAM);
    begin(b, &(struct start){.notify = name, .mask = 022});
    ck_assert_str_eq(told(manager, PATIENCE_MS), "READY=1");
    ck_assert(accepts(b));
    ck_assert_int_eq(kill(b->daemon, SIGTERM), 0);
    ck_assert_str_eq(told(manager, PATIENCE_MS), "STOPPING=1");
    ck_assert_int_eq(exit_code(b), 0);
    ck_assert_str_eq(told(manager, 0), "");
    close(manager);
}

START_TEST(the_manager_is_told_when_it_listens_and_when_it_ends)
{
    struct bench b;
    char name[PATH_SIZE];
    bench_open(&b);
    snprintf(name, sizeof name, "%s/notify", b.folder);
    tell_and_stop(&b, name);
    snprintf(name, sizeof name, "@%s/notify", b.folder); /* of the abstract kind */
    tell_and_stop(&b, name);
    bench_close(&b);
}
END_TEST

START_TEST(a_daemon_that_cannot_listen_is_never_ready)
{
    struct bench b;
    char name[PATH_SIZE];
    bench_open(&b);
    snprintf(name, sizeof name, "%s/none/none/s", b.folder);
    write_config(&b, NO_PORT, name);
    snprintf(name, sizeof name, "%s/notify", b.folder);
    int manager = bind_unix(name, SOCK_DGRAM);
    begin(&b, &(struct start){.notify = name, .mask = 022});
    ck_assert_int_eq(exit_code(&b), 1);
    ck_assert_str_eq(told(manager, 0), "");
    ck_assert(said(&b, "cannot listen at "));
    close(manager);
    bench_close(&b);
}
END_TEST

START_TEST(a_manager_that_cannot_be_told_is_no_reason_not_to_serve)
{
    struct bench b;
    char name[PATH_SIZE];
    bench_open(&b);
    snprintf(name, sizeof name, "%s/nobody-reads-this", b.folder);
    const char *const names[] = {name, "vsock:2:1"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        begin(&b, &(struct start){.notify = names[i], .mask = 022});
        FILE *client = rig_connect(&b.rig);
        expect_greeting(&b, client);
        fclose(client);
        end(&b);
    }
    ck_assert(said(&b, "could not be told READY=1"));
    ck_assert(said(&b, "NOTIFY_SOCKET is 'vsock:2:1'"));
    bench_close(&b);
}
END_TEST

/* --- What the manager passes --- */

START_TEST(it_serves_the_socket_that_it_is_given)
{
    struct bench b;
    char own[sizeof b.rig.folder];
    char path[PATH_SIZE];
    bench_open(&b);
    memcpy(own, b.rig.folder, sizeof own);
    snprintf(b.rig.folder, sizeof b.rig.folder, "%.40s/passed", b.folder);
    ck_assert_int_eq(mkdir(b.rig.folder, 0755), 0);
    snprintf(path, sizeof path, "%s/reglet.sock", b.rig.folder);
    int listener = bind_unix(path, SOCK_STREAM);
    ck_assert_int_eq(listen(listener, 8), 0);
    FILE *early = rig_connect(&b.rig); /* he waits until it is there */
    for (int life = 0; life < 2; life++) {
        begin(&b, &(struct start){.passed = listener, .mask = 022});
        FILE *client = life == 0 ? early : rig_connect(&b.rig);
        expect_greeting(&b, client);
        ck_assert_int_ne(access(own, F_OK), 0);
        fclose(client);
        end(&b);
        ck_assert(accepts(&b)); /* it is still the manager's */
    }
    memcpy(b.rig.folder, own, sizeof own);
    begin(&b, &(struct start){.passed = listener, .for_another = true, .mask = 022});
    FILE *client = rig_connect(&b.rig);
    expect_greeting(&b, client);
    fclose(client);
    end(&b);
    close(listener);
    bench_close(&b);
}
END_TEST

static void expect_refused(struct bench *b, int passed, const char *count, const char *words)
{
    char path[PATH_SIZE];
    snprintf(path, sizeof path, "%s/said", b->folder);
    unlink(path);
    begin(b, &(struct start){.passed = passed, .count = count, .mask = 022});
    ck_assert_int_eq(exit_code(b), 1);
    ck_assert_msg(said(b, words), "it did not say: %s", words);
    ck_assert_int_ne(access(b->rig.folder, F_OK), 0);
}

START_TEST(what_is_no_listening_unix_stream_socket_is_refused)
{
    struct bench b;
    char path[PATH_SIZE];
    static const char *const sentence = "is not a Unix stream socket that listens";
    bench_open(&b);
    snprintf(path, sizeof path, "%s/deaf", b.folder);
    int deaf = bind_unix(path, SOCK_STREAM);
    expect_refused(&b, deaf, "1", sentence);
    snprintf(path, sizeof path, "%s/datagrams", b.folder);
    int datagrams = bind_unix(path, SOCK_DGRAM);
    expect_refused(&b, datagrams, "1", sentence);
    snprintf(path, sizeof path, "%s/packets", b.folder);
    int packets = bind_unix(path, SOCK_SEQPACKET);
    ck_assert_int_eq(listen(packets, 8), 0);
    expect_refused(&b, packets, "1", sentence);
    int file = open(b.config, O_RDONLY | O_CLOEXEC);
    expect_refused(&b, file, "1", sentence);
    int network = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (network >= 0 && listen(network, 8) == 0) { /* at a port that the kernel picks */
        expect_refused(&b, network, "1", sentence);
    } else {
        printf("left out: no listening socket of the network can be made here\n");
    }
    ck_assert_int_eq(listen(deaf, 8), 0);
    expect_refused(&b, deaf, "2", "passed 2 sockets");
    expect_refused(&b, deaf, "1x", "LISTEN_FDS is '1x'");
    close(deaf);
    close(datagrams);
    close(packets);
    close(file);
    if (network >= 0) {
        close(network);
    }
    bench_close(&b);
}
END_TEST

/* --- The practice lift --- */

static void expect_clean_child(pid_t child, int passed)
{
    static char environment[65536];
    char path[PATH_SIZE];
    char mine[64];
    struct stat status;
    snprintf(path, sizeof path, "/proc/%d/environ", (int)child);
    FILE *file = fopen(path, "re");
    ck_assert_ptr_nonnull(file);
    size_t size = fread(environment, 1, sizeof environment - 1, file);
    fclose(file);
    ck_assert_ptr_nonnull(memmem(environment, size, "REGLET_PRACTICE=", 16));
    ck_assert_ptr_null(memmem(environment, size, "NOTIFY_SOCKET=", 14));
    ck_assert_ptr_null(memmem(environment, size, "LISTEN_", 7));
    ck_assert_int_eq(fstat(passed, &status), 0);
    snprintf(mine, sizeof mine, "socket:[%ju]", (uintmax_t)status.st_ino);
    for (int fd = 0; fd < HIGH_FD; fd++) {
        char target[PATH_SIZE] = "";
        snprintf(path, sizeof path, "/proc/%d/fd/%d", (int)child, fd);
        (void)!readlink(path, target, sizeof target - 1);
        ck_assert_str_ne(target, mine);
    }
}

START_TEST(practice_keeps_to_its_own_socket_and_its_child_inherits_nothing)
{
    struct bench b;
    char name[PATH_SIZE];
    struct ucred lift;
    socklen_t size = sizeof lift;
    bench_open(&b);
    snprintf(name, sizeof name, "%s/notify", b.folder);
    int manager = bind_unix(name, SOCK_DGRAM);
    snprintf(b.rig.folder, sizeof b.rig.folder, "%.40s/practice", b.folder);
    char path[PATH_SIZE];
    snprintf(path, sizeof path, "%s/passed.sock", b.folder);
    int listener = bind_unix(path, SOCK_STREAM);
    ck_assert_int_eq(listen(listener, 8), 0);
    begin(&b, &(struct start){.notify = name, .passed = listener, .practice = true, .mask = 022});
    ck_assert_str_eq(told(manager, PATIENCE_MS), "READY=1");
    ck_assert(accepts(&b));
    ck_assert_uint_eq(mode_of(b.rig.folder, "reglet.sock"), 0600);
    ck_assert_uint_eq(mode_of(b.folder, "practice"), 0700);
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    snprintf(address.sun_path, sizeof address.sun_path, "%s/lift.sock", b.rig.folder);
    int control = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    ck_assert_int_eq(connect(control, (struct sockaddr *)&address, sizeof address), 0);
    ck_assert_int_eq(getsockopt(control, SOL_SOCKET, SO_PEERCRED, &lift, &size), 0);
    expect_clean_child(lift.pid, listener);
    end(&b);
    ck_assert_str_eq(told(manager, 0), "STOPPING=1");
    ck_assert_int_eq(write(control, "end\n", 4), 4);
    while (read(control, path, sizeof path) > 0) { /* until it has gone */
    }
    close(control);
    close(listener);
    close(manager);
    bench_close(&b);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("service manager");
    TCase *cases = tcase_create("service manager");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, the_manager_is_told_when_it_listens_and_when_it_ends);
    tcase_add_test(cases, a_daemon_that_cannot_listen_is_never_ready);
    tcase_add_test(cases, a_manager_that_cannot_be_told_is_no_reason_not_to_serve);
    tcase_add_test(cases, it_serves_the_socket_that_it_is_given);
    tcase_add_test(cases, what_is_no_listening_unix_stream_socket_is_refused);
    tcase_add_test(cases, practice_keeps_to_its_own_socket_and_its_child_inherits_nothing);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
