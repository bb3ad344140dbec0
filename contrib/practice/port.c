/* SPDX-License-Identifier: MIT */
#include "contrib/practice/practice.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

/* Raw, or the terminal would answer its own echo. */
static bool make_raw(const char *name)
{
    int fd = open(name, O_RDWR | O_NOCTTY | O_CLOEXEC);
    if (fd < 0) {
        return false;
    }
    struct termios settings;
    bool done = tcgetattr(fd, &settings) == 0;
    if (done) {
        cfmakeraw(&settings);
        done = tcsetattr(fd, TCSANOW, &settings) == 0;
    }
    close(fd);
    return done;
}

bool port_open(struct port *port, const char *link_path)
{
    snprintf(port->link_path, sizeof port->link_path, "%s", link_path);
    port->connected = false;
    port->master_fd = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (port->master_fd < 0) {
        return false;
    }
    char name[64];
    if (grantpt(port->master_fd) == 0 && unlockpt(port->master_fd) == 0 &&
        ptsname_r(port->master_fd, name, sizeof name) == 0 && make_raw(name)) {
        unlink(link_path);
        if (symlink(name, link_path) == 0) {
            return true;
        }
    }
    close(port->master_fd);
    port->master_fd = -1;
    return false;
}

void port_close(struct port *port)
{
    if (port->master_fd >= 0) {
        close(port->master_fd);
        unlink(port->link_path);
    }
    port->master_fd = -1;
    port->connected = false;
}

void port_opened(struct practice *p)
{
    if (!p->port.connected) {
        wire_clear(&p->machine.to_host);
    }
    p->port.connected = p->port.master_fd >= 0;
    p->port.bytes_read = 0;
    p->port.bytes_written = 0;
}

void port_hear(struct practice *p)
{
    uint8_t bytes[512];
    ssize_t size;
    while ((size = read(p->port.master_fd, bytes, sizeof bytes)) > 0) {
        p->port.bytes_read += (uint64_t)size;
        for (ssize_t i = 0; i < size; i++) {
            machine_write(&p->machine, bytes[i]);
        }
    }
}

void port_tell(struct practice *p)
{
    uint8_t bytes[512];
    size_t size = 0;
    int byte;
    while (size < sizeof bytes && (byte = machine_read(&p->machine)) >= 0) {
        bytes[size++] = (uint8_t)byte;
    }
    if (size == 0 || !p->port.connected) {
        return; /* nobody has the port open: what is said goes nowhere */
    }
    ssize_t written = write(p->port.master_fd, bytes, size);
    if (written > 0) {
        p->port.bytes_written += (uint64_t)written;
    } /* a host that does not read loses bytes, as with any serial port */
}
