/* SPDX-License-Identifier: MIT
 *
 * Words and commands for an interface that cannot be watched as it is. Called by socketcan.c; separate because it is
 * text, not I/O on the bus.
 */
#include "socketcan_advice.h"

#include <errno.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "loomwatch/sources/link_watch.h"

enum { LISTED = 6 };   /* names: more would push the commands out of the message */

/* Appends, as far as there is room. */
__attribute__((format(printf, 3, 4)))
static void say(char *buf, size_t size, const char *format, ...)
{
    size_t used = strlen(buf);
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(buf + used, size - used, format, arguments);
    va_end(arguments);
}

static bool is_virtual(const char *interface)
{
    return strncmp(interface, "vcan", 4) == 0;
}

static void say_up(const char *interface, char *buf, size_t size)
{
    say(buf, size,
        "  sudo ip link set %s type can bitrate 500000 listen-only on && sudo ip link set %s up\n"
        "The bit rate must be the bus's own: a wrong one disturbs the machine. Listen-only is the safe way to look "
        "first; leave it out to acknowledge frames.", interface, interface);
}

static void say_existing(char *buf, size_t size)
{
    char names[LISTED + 1][16];
    size_t n = lw_link_list(names, LISTED + 1);

    say(buf, size, n ? "CAN interfaces here:" : "This computer has no CAN interface now");
    for (size_t i = 0; i < n && i < LISTED; i++)
        say(buf, size, " %s", names[i]);
    say(buf, size, n > LISTED ? " and more." : ".");
}

void lw_advise_absent(const char *interface, char *buf, size_t size)
{
    buf[0] = '\0';
    say(buf, size, "There is no interface %.15s. ", interface);
    say_existing(buf, size);
    say(buf, size, "\n");
    if (strlen(interface) > 15) {
        say(buf, size, "A name has at most 15 characters.");
    } else if (is_virtual(interface)) {
        say(buf, size, "To make it:\n  sudo ip link add dev %s type vcan && sudo ip link set %s up", interface, interface);
    } else {
        say(buf, size, "Plug the adapter in; then bring it up:\n");
        say_up(interface, buf, size);
    }
}

void lw_advise_down(const char *interface, char *buf, size_t size)
{
    buf[0] = '\0';
    say(buf, size, "%s is down. To bring it up:\n", interface);
    if (is_virtual(interface))
        say(buf, size, "  sudo ip link set %s up", interface);
    else
        say_up(interface, buf, size);
}

void lw_advise_not_can(const char *interface, char *buf, size_t size)
{
    buf[0] = '\0';
    say(buf, size, "%s is not a CAN interface. ", interface);
    say_existing(buf, size);
}

void lw_advise_error(const char *interface, int error, char *buf, size_t size)
{
    buf[0] = '\0';
    if (error == -EAFNOSUPPORT)
        say(buf, size, "This kernel has no CAN: sudo modprobe -a can can_raw\n"
                       "(if that fails, its modules are not installed)");
    else if (error == -EPROTONOSUPPORT)
        say(buf, size, "This kernel has CAN but no raw sockets: sudo modprobe can_raw");
    else
        say(buf, size, "%s can't be watched: %s", interface, strerror(-error));
}
