/* SPDX-License-Identifier: MIT */
/* A port that has gone: it takes no byte any more, and says so only when it is read. */
#include <errno.h>
#include <unistd.h>
#include <uv.h>

#include "daemon/link/wire.h"
#include "tests/suite.h"

struct serial {
    int ends[2];
};

struct end {
    struct wire wire;
    int tries;
    bool gone;
};

static struct serial only;

static struct serial *open_it(const char *path, int baud, char *why, size_t why_size)
{
    (void)path;
    (void)baud;
    (void)why;
    (void)why_size;
    return pipe(only.ends) == 0 ? &only : NULL;
}

static int fd_of(const struct serial *serial)
{
    return serial->ends[0];
}

static ssize_t fail_to_read(struct serial *serial, void *bytes, size_t size)
{
    (void)serial;
    (void)bytes;
    (void)size;
    errno = EIO;
    return -1;
}

static ssize_t fail_to_write(struct serial *serial, const void *bytes, size_t size)
{
    (void)serial;
    (void)bytes;
    (void)size;
    errno = EIO;
    return -1;
}

static void close_it(struct serial *serial)
{
    close(serial->ends[0]);
}

static const struct serial_operations gone_port = {open_it, fd_of, fail_to_read, fail_to_write,
                                                   close_it};

static void on_line(void *owner, const struct link_line *line)
{
    (void)owner;
    (void)line;
}

/* Says again what there was no room for, as the link does. */
static void on_room(void *owner)
{
    struct end *end = owner;
    const struct link_line hail = {.word = LINK_HAIL};
    ck_assert(!wire_send(&end->wire, &hail));
    if (end->tries++ == 1) {
        close(only.ends[1]); /* hung up */
    }
}

static void on_gone(void *owner, const char *why)
{
    struct end *end = owner;
    ck_assert_ptr_nonnull(why);
    end->gone = true;
}

START_TEST(what_it_does_not_take_is_tried_again_and_that_it_is_gone_is_read_meanwhile)
{
    static const struct wire_events events = {on_line, on_room, on_gone};
    static struct end end;
    char why[100];
    uv_loop_t loop;
    ck_assert_int_eq(uv_loop_init(&loop), 0);
    struct clock *clock = clock_open(&loop);
    ck_assert_ptr_nonnull(clock);
    wire_init(&end.wire, &loop, clock, &gone_port, &events, &end);
    ck_assert(wire_open(&end.wire, "a port", 115200, why, sizeof why));
    on_room(&end);
    while (!end.gone) {
        uv_run(&loop, UV_RUN_ONCE); /* if it never is, the test's time limit ends it */
    }
    ck_assert_int_ge(end.tries, 2);
    clock_close(clock);
    uv_run(&loop, UV_RUN_DEFAULT);
    ck_assert_int_eq(uv_loop_close(&loop), 0);
    clock_free(clock);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("wire_gone");
    TCase *all = tcase_create("wire");
    tcase_set_timeout(all, 10);
    tcase_add_test(all, what_it_does_not_take_is_tried_again_and_that_it_is_gone_is_read_meanwhile);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
