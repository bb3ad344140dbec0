/* SPDX-License-Identifier: MIT */
#include "daemon/link/serial.h"

#include <errno.h>
#include <fcntl.h>
#include <grp.h>
#include <libserialport.h>
#include <linux/serial.h>
#include <pwd.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <termios.h>
#include <unistd.h>

struct serial {
    struct sp_port *port; /* NULL: a pseudo-terminal */
    int fd;
};

/* The majors that Linux gives to the near ends of pseudo-terminals (its devices.txt). */
static bool is_pseudo_terminal(const char *path)
{
    struct stat status;
    return stat(path, &status) == 0 && S_ISCHR(status.st_mode) && major(status.st_rdev) >= 136 &&
           major(status.st_rdev) <= 143;
}

/* Path, user, group and cure. A number stands for whoever has no name. */
static void explain_rights(const char *path, char *why, size_t size)
{
    struct stat status;
    const struct passwd *user = getpwuid(geteuid());
    char user_name[40];
    char group_name[40] = "its owner's";
    snprintf(user_name, sizeof user_name, "%u", (unsigned)geteuid());
    if (user) {
        snprintf(user_name, sizeof user_name, "%s", user->pw_name);
    }
    if (stat(path, &status) == 0) {
        const struct group *group = getgrgid(status.st_gid);
        snprintf(group_name, sizeof group_name, "%u", (unsigned)status.st_gid);
        if (group) {
            snprintf(group_name, sizeof group_name, "%s", group->gr_name);
        }
    }
    snprintf(why, size,
             "no right to open %s: the daemon runs as user %s, and the port is open to the group "
             "%s. Add that user to that group, and start the daemon again",
             path, user_name, group_name);
}

static void explain(const char *path, int error, char *why, size_t size)
{
    if (error == EACCES || error == EPERM) {
        explain_rights(path, why, size);
    } else if (error == ENOENT) {
        snprintf(why, size, "%s is not there: is the step generator plugged in?", path);
    } else if (error == EBUSY || error == EWOULDBLOCK) {
        snprintf(why, size, "another program has %s open: end it, then plug in again", path);
    } else {
        snprintf(why, size, "cannot open %s: %s", path, strerror(error));
    }
}

/* Ours alone: TIOCEXCL keeps other users out, the lock keeps out what runs as root. */
static bool make_exclusive(int fd)
{
    return ioctl(fd, TIOCEXCL) == 0 && flock(fd, LOCK_EX | LOCK_NB) == 0;
}

/* Raw, and no hang-up when it is closed: dropping the line would reset the board. */
static bool set_raw(int fd, bool pseudo)
{
    struct termios settings;
    if (tcgetattr(fd, &settings) != 0) {
        return false;
    }
    if (pseudo) {
        cfmakeraw(&settings);
    }
    settings.c_cflag &= ~(tcflag_t)HUPCL;
    return tcsetattr(fd, TCSANOW, &settings) == 0;
}

static bool open_pseudo_terminal(struct serial *serial, const char *path)
{
    serial->fd = open(path, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    return serial->fd >= 0 && make_exclusive(serial->fd) && set_raw(serial->fd, true) &&
           tcflush(serial->fd, TCIOFLUSH) == 0;
}

/* Drivers that honour it hand bytes on at once instead of collecting them for up to 16 ms. Where
 * it is not known the link works all the same, so a refusal is no fault. */
static void ask_low_latency(int fd)
{
    struct serial_struct info;
    if (ioctl(fd, TIOCGSERIAL, &info) == 0) {
        info.flags |= ASYNC_LOW_LATENCY;
        (void)ioctl(fd, TIOCSSERIAL, &info);
    }
}

static bool open_device(struct serial *serial, const char *path, int baud)
{
    if (sp_get_port_by_name(path, &serial->port) != SP_OK) {
        return false;
    }
    bool done =
        sp_open(serial->port, SP_MODE_READ_WRITE) == SP_OK &&
        sp_set_baudrate(serial->port, baud) == SP_OK && sp_set_bits(serial->port, 8) == SP_OK &&
        sp_set_parity(serial->port, SP_PARITY_NONE) == SP_OK &&
        sp_set_stopbits(serial->port, 1) == SP_OK &&
        sp_set_flowcontrol(serial->port, SP_FLOWCONTROL_NONE) == SP_OK &&
        sp_get_port_handle(serial->port, &serial->fd) == SP_OK && make_exclusive(serial->fd) &&
        set_raw(serial->fd, false) && sp_flush(serial->port, SP_BUF_BOTH) == SP_OK;
    if (done) {
        ask_low_latency(serial->fd);
    }
    return done;
}

static void real_close(struct serial *serial)
{
    if (serial->port) {
        sp_close(serial->port);
        sp_free_port(serial->port);
    } else if (serial->fd >= 0) {
        close(serial->fd);
    }
    free(serial);
}

static struct serial *real_open(const char *path, int baud, char *why, size_t why_size)
{
    struct serial *serial = calloc(1, sizeof *serial);
    if (!serial) {
        explain(path, ENOMEM, why, why_size);
        return NULL;
    }
    serial->fd = -1;
    errno = 0;
    bool done = is_pseudo_terminal(path) ? open_pseudo_terminal(serial, path)
                                         : open_device(serial, path, baud);
    if (!done) {
        explain(path, errno ? errno : ENODEV, why, why_size);
        real_close(serial);
        return NULL;
    }
    return serial;
}

static int real_fd(const struct serial *serial)
{
    return serial->fd;
}

static ssize_t moved(ssize_t size)
{
    return size < 0 && (errno == EAGAIN || errno == EINTR) ? 0 : size;
}

static ssize_t real_read(struct serial *serial, void *bytes, size_t size)
{
    ssize_t got = read(serial->fd, bytes, size);
    if (got == 0) {
        errno = EIO; /* end of file: hung up */
        return -1;
    }
    return moved(got);
}

static ssize_t real_write(struct serial *serial, const void *bytes, size_t size)
{
    return moved(write(serial->fd, bytes, size));
}

const struct serial_operations serial_real = {real_open, real_fd, real_read, real_write,
                                              real_close};
