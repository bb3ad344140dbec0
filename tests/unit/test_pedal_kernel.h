/* SPDX-License-Identifier: MIT */
/*
 * What stands in for evdev devices where no uinput is there: a named pipe for each, into which a
 * test writes the struct input_event records that the kernel would give, and this program's own
 * ioctl(), which answers for those pipes what the evdev driver would, and hands all other calls to
 * the kernel. libevdev itself is the real one: it opens, asks, reads, and compares behind
 * SYN_DROPPED. What is not shown by it: the driver's own queue and time stamps, udev, and what a
 * grab does to other programs.
 *
 * Include it in one file of a program.
 */
#ifndef REGLET_TESTS_UNIT_PEDAL_KERNEL_H
#define REGLET_TESTS_UNIT_PEDAL_KERNEL_H

#include <check.h>
#include <errno.h>
#include <fcntl.h>
#include <linux/input.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

enum { KERNEL_DEVICES = 8, KERNEL_KEY_BYTES = KEY_MAX / 8 + 1 };

struct kernel_device {
    bool used;
    char path[160];
    dev_t dev;
    ino_t ino;
    int writer; /* the test's end */
    char name[64];
    struct input_id id;
    unsigned char has[KERNEL_KEY_BYTES];  /* keys that it has */
    unsigned char down[KERNEL_KEY_BYTES]; /* as the driver knows them */
    bool grabbed;
    bool refuse_grab; /* another program has it */
    int clock;
};

static struct kernel_device kernel_device[KERNEL_DEVICES];

static struct kernel_device *kernel_find(int fd)
{
    struct stat node;
    if (fstat(fd, &node) == 0 && S_ISFIFO(node.st_mode)) {
        for (int i = 0; i < KERNEL_DEVICES; i++) {
            struct kernel_device *device = &kernel_device[i];
            if (device->used && device->dev == node.st_dev && device->ino == node.st_ino) {
                return device;
            }
        }
    }
    return NULL;
}

static int kernel_refuse(int error)
{
    errno = error;
    return -1;
}

/* As drivers/input/evdev.c: bits or text, cut to the caller's size; the number of bytes. */
static int kernel_copy(void *to, size_t room, const void *from, size_t size)
{
    size_t copied = size < room ? size : room;
    memcpy(to, from, copied);
    return (int)copied;
}

static int kernel_bits(const struct kernel_device *device, unsigned type, void *to, size_t room)
{
    unsigned char bits[KERNEL_KEY_BYTES] = {0};
    if (type == 0) {
        bits[0] = 1 << EV_SYN;
        for (size_t i = 0; i < sizeof device->has; i++) {
            bits[0] = (unsigned char)(bits[0] | (device->has[i] ? 1 << EV_KEY : 0));
        }
    } else if (type == EV_KEY) {
        memcpy(bits, device->has, sizeof bits);
    }
    return kernel_copy(to, room, bits, sizeof bits);
}

static int kernel_grab(struct kernel_device *device, bool wanted)
{
    if (wanted && (device->grabbed || device->refuse_grab)) {
        return kernel_refuse(EBUSY);
    }
    device->grabbed = wanted;
    return 0;
}

static int kernel_answer(struct kernel_device *device, unsigned long request, void *to)
{
    unsigned number = _IOC_NR(request);
    size_t room = _IOC_SIZE(request);
    if (number >= _IOC_NR(EVIOCGBIT(0, 0)) && number <= _IOC_NR(EVIOCGBIT(EV_MAX, 0))) {
        return kernel_bits(device, number - _IOC_NR(EVIOCGBIT(0, 0)), to, room);
    }
    switch (number) {
    case _IOC_NR(EVIOCGVERSION):
        *(int *)to = EV_VERSION;
        return 0;
    case _IOC_NR(EVIOCGID):
        *(struct input_id *)to = device->id;
        return 0;
    case _IOC_NR(EVIOCGNAME(0)):
        return kernel_copy(to, room, device->name, strlen(device->name) + 1);
    case _IOC_NR(EVIOCGPHYS(0)):
    case _IOC_NR(EVIOCGUNIQ(0)):
        return kernel_refuse(ENOENT);
    case _IOC_NR(EVIOCGPROP(0)):
        return kernel_copy(to, room, &(unsigned char){0}, 1);
    case _IOC_NR(EVIOCGKEY(0)):
        return kernel_copy(to, room, device->down, sizeof device->down);
    case _IOC_NR(EVIOCGLED(0)): /* it has neither lamps nor sounds nor switches */
    case _IOC_NR(EVIOCGSND(0)):
    case _IOC_NR(EVIOCGSW(0)):
        memset(to, 0, room);
        return (int)room;
    case _IOC_NR(EVIOCGRAB):
        return kernel_grab(device, to != NULL);
    case _IOC_NR(EVIOCSCLOCKID):
        device->clock = *(const int *)to;
        return 0;
    default:
        return kernel_refuse(EINVAL);
    }
}

/* Stands before the C library's. */
int ioctl(int fd, unsigned long request, ...)
{
    va_list arguments;
    va_start(arguments, request);
    void *argument = va_arg(arguments, void *);
    va_end(arguments);
    struct kernel_device *device = _IOC_TYPE(request) == 'E' ? kernel_find(fd) : NULL;
    return device ? kernel_answer(device, request, argument)
                  : (int)syscall(SYS_ioctl, fd, request, argument);
}

/* --- What a test does --- */

static inline void kernel_set(unsigned char *bits, unsigned code, bool on)
{
    unsigned char bit = (unsigned char)(1u << code % 8);
    bits[code / 8] = (unsigned char)(on ? bits[code / 8] | bit : bits[code / 8] & ~bit);
}

/* Plugs one in: FOLDER/NODE, with the keys of a list that ends with 0. */
static inline struct kernel_device *kernel_plug(const char *folder, const char *node,
                                                const char *name, uint16_t vendor, uint16_t product,
                                                const unsigned *keys)
{
    struct stat status;
    struct kernel_device *device = kernel_device;
    while (device->used) {
        device++;
        ck_assert(device < kernel_device + KERNEL_DEVICES);
    }
    memset(device, 0, sizeof *device);
    (void)snprintf(device->path, sizeof device->path, "%s/%s", folder, node);
    (void)snprintf(device->name, sizeof device->name, "%s", name);
    device->id = (struct input_id){BUS_USB, vendor, product, 1};
    for (; *keys; keys++) {
        kernel_set(device->has, *keys, true);
    }
    /* Made aside: it comes into the folder with everything known about it. */
    char aside[200];
    (void)snprintf(aside, sizeof aside, "%s/new-%s", folder, node);
    ck_assert_int_eq(mkfifo(aside, 0600), 0);
    ck_assert_int_eq(stat(aside, &status), 0);
    device->dev = status.st_dev;
    device->ino = status.st_ino;
    device->writer = open(aside, O_RDWR | O_CLOEXEC);
    ck_assert_int_ge(device->writer, 0);
    device->clock = CLOCK_REALTIME;
    device->used = true;
    ck_assert_int_eq(rename(aside, device->path), 0);
    return device;
}

/* As unplugging: the node goes, and whoever has it open hears of its end. */
static inline void kernel_unplug(struct kernel_device *device)
{
    ck_assert_int_eq(unlink(device->path), 0);
    ck_assert_int_eq(close(device->writer), 0);
    device->used = false;
}

static inline void kernel_write(struct kernel_device *device, unsigned type, unsigned code,
                                int value, int64_t at_ms)
{
    struct input_event event = {.type = (uint16_t)type, .code = (uint16_t)code, .value = value};
    event.input_event_sec = at_ms / 1000;
    event.input_event_usec = at_ms % 1000 * 1000;
    ck_assert_int_eq(write(device->writer, &event, sizeof event), sizeof event);
}

static inline int64_t kernel_now_ms(void)
{
    struct timespec now;
    ck_assert_int_eq(clock_gettime(CLOCK_MONOTONIC, &now), 0);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* One edge with its report, as a keyboard sends it: the scan code, the key, SYN_REPORT. */
static inline void kernel_key_at(struct kernel_device *device, unsigned code, int value,
                                 int64_t at_ms)
{
    kernel_set(device->down, code, value != 0);
    kernel_write(device, EV_MSC, MSC_SCAN, 0x70000 + (int)code, at_ms);
    kernel_write(device, EV_KEY, code, value, at_ms);
    kernel_write(device, EV_SYN, SYN_REPORT, 0, at_ms);
}

static inline void kernel_key(struct kernel_device *device, unsigned code, int value)
{
    kernel_key_at(device, code, value, kernel_now_ms());
}

/* The driver's queue ran over: SYN_DROPPED, and then the next report. */
static inline void kernel_drop(struct kernel_device *device)
{
    kernel_write(device, EV_SYN, SYN_DROPPED, 0, kernel_now_ms());
    kernel_write(device, EV_SYN, SYN_REPORT, 0, kernel_now_ms());
}

#endif
