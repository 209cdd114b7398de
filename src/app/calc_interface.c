/* SPDX-License-Identifier: MIT
 *
 * What the calculator `timing` wants to know of an interface: asked of the kernel, or why there is nothing to know.
 */
#include "calc_interface.h"

#include "loomwatch/sources/link_watch.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

__attribute__((format(printf, 2, 3)))
static int refuse(char error[LW_CALC_ERROR], const char *format, ...)
{
    va_list args;
    size_t n = (size_t)snprintf(error, LW_CALC_ERROR, "timing: ");
    va_start(args, format);
    vsnprintf(error + n, LW_CALC_ERROR - n, format, args);
    va_end(args);
    return -EINVAL;
}

static int refuse_absent(const char *interface, int reason, char error[LW_CALC_ERROR])
{
    char names[8][16], list[160] = "none";
    size_t n = lw_link_list(names, 8), used = 0;
    if (reason != -ENODEV)
        return refuse(error, "%s: the kernel does not tell: %s", interface, strerror(-reason));
    for (size_t i = 0; i < n; i++)
        used += (size_t)snprintf(list + used, sizeof(list) - used, "%s%.15s", i > 0 ? ", " : "", names[i]);
    return refuse(error, "there is no interface %.15s; CAN interfaces here: %s", interface, list);
}

static int refuse_without_limits(const char *interface, const struct lw_link_timing *link, char error[LW_CALC_ERROR])
{
    static const char instead[] = "write clock=, rate= and what else is known of the controller instead";
    if (!link->is_can)
        return refuse(error, "%s is no CAN interface", interface);
    if (link->controller == LW_CONTROLLER_NONE)
        return refuse(error, "%s is a virtual interface: no controller, so no bit timing; %s", interface, instead);
    if (link->bit_rate_bps.is_known)
        return refuse(error, "%s tells its bit rate, %u bit/s, but neither clock nor segments: its adapter chooses them itself; %s", interface,
                      link->bit_rate_bps.value, instead);
    return refuse(error, "%s tells no bit timing; %s", interface, instead);
}

int lw_calc_ask_interface(const char *interface, struct lw_timing_told *out, char error[LW_CALC_ERROR])
{
    struct lw_link_timing link;
    int rc = strlen(interface) < sizeof(out->interface) ? lw_link_ask_timing(interface, &link) : -ENODEV;
    if (rc != 0)
        return refuse_absent(interface, rc, error);
    if (!link.has_limits)
        return refuse_without_limits(interface, &link, error);
    *out = (struct lw_timing_told){
        .limits = link.limits, .has_setting = link.bit_rate_bps.is_known, .timing = link.timing,
        .data_rate_bps = link.data_bit_rate_bps.is_known ? link.data_bit_rate_bps.value : 0,
    };
    snprintf(out->interface, sizeof(out->interface), "%s", interface);
    return 0;
}
