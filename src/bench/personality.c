/* SPDX-License-Identifier: MIT
 *
 * How the families of adapter drivers report, as a table; named by what they tell. Read through bench/adapter.h.
 * Source: drivers of Linux 6.12, named in the comment of each row.
 */
#include "loomwatch/bench/adapter.h"

#include <string.h>

enum { RESTART_MS = 100 };

const struct lw_personality lw_personalities[LW_N_PERSONALITIES] = {
    /* sja1000, sun4i, esd_usb. The controller names the bit of the frame. */
    { .name = "each-error", .has_each_error = true, .has_ack_place = true, .has_places = true, .has_directions = true,
      .has_states = true, .counters_in_frames = LW_COUNTERS_EACH, .reporting = LW_REPORTING_ON,
      .has_counters_by_netlink = true, .has_state_by_netlink = true, .has_listen_only = true, .restart_ms = RESTART_MS },
    /* usb_8dev, cc770, at91_can */
    { .name = "each-error-by-class", .has_each_error = true, .has_ack_class = true, .has_states = true,
      .counters_in_frames = LW_COUNTERS_EACH, .reporting = LW_REPORTING_NO_SWITCH, .has_counters_by_netlink = true,
      .has_state_by_netlink = true, .has_listen_only = true, .restart_ms = RESTART_MS },
    /* kvaser_usb (leaf) */
    { .name = "each-error-always", .has_each_error = true, .has_ack_place = true, .has_states = true,
      .counters_in_frames = LW_COUNTERS_EACH, .reporting = LW_REPORTING_NO_SWITCH, .has_counters_by_netlink = true,
      .has_state_by_netlink = true, .has_listen_only = true, .restart_ms = RESTART_MS },
    /* flexcan */
    { .name = "each-error-no-counters", .has_each_error = true, .has_ack_class = true, .has_ack_place = true,
      .has_states = true, .counters_in_frames = LW_COUNTERS_NEVER, .reporting = LW_REPORTING_ON,
      .has_counters_by_netlink = true, .has_state_by_netlink = true, .has_listen_only = true, .restart_ms = RESTART_MS },
    /* bxcan, rcar_canfd, xilinx_can */
    { .name = "ack-both-ways", .has_each_error = true, .has_ack_class = true, .has_ack_place = true, .has_states = true,
      .counters_in_frames = LW_COUNTERS_WITH_STATE, .reporting = LW_REPORTING_ON, .has_counters_by_netlink = true,
      .has_state_by_netlink = true, .has_listen_only = true, .restart_ms = RESTART_MS },
    /* mcp251xfd */
    { .name = "ack-by-class", .has_each_error = true, .has_ack_class = true, .has_directions = true, .has_states = true,
      .counters_in_frames = LW_COUNTERS_WITH_STATE, .reporting = LW_REPORTING_ON, .has_counters_by_netlink = true,
      .has_state_by_netlink = true, .has_listen_only = true, .restart_ms = RESTART_MS },
    /* m_can, c_can */
    { .name = "ack-by-place", .has_each_error = true, .has_ack_place = true, .has_states = true,
      .counters_in_frames = LW_COUNTERS_WITH_STATE, .reporting = LW_REPORTING_ON, .has_counters_by_netlink = true,
      .has_state_by_netlink = true, .has_listen_only = true, .restart_ms = RESTART_MS },
    /* the same as they come: error reporting is off until somebody switches it on */
    { .name = "reporting-off", .has_each_error = true, .has_ack_place = true, .has_states = true,
      .counters_in_frames = LW_COUNTERS_WITH_STATE, .reporting = LW_REPORTING_OFF, .has_counters_by_netlink = true,
      .has_state_by_netlink = true, .has_listen_only = true, .restart_ms = RESTART_MS },
    /* peak_usb family */
    { .name = "states-only", .has_states = true, .counters_in_frames = LW_COUNTERS_NEVER, .reporting = LW_REPORTING_NO_SWITCH,
      .has_counters_by_netlink = true, .has_state_by_netlink = true, .has_listen_only = true, .restart_ms = RESTART_MS },
    /* mcp251x */
    { .name = "states-only-no-counters", .has_states = true, .counters_in_frames = LW_COUNTERS_NEVER,
      .reporting = LW_REPORTING_NO_SWITCH, .has_state_by_netlink = true, .has_listen_only = true, .restart_ms = RESTART_MS },
    /* slcan with an adapter that sends no error lines */
    { .name = "blind", .counters_in_frames = LW_COUNTERS_NEVER, .reporting = LW_REPORTING_NO_SWITCH, .has_listen_only = true },
    /* gs_usb with old firmware, which keeps the last error code */
    { .name = "old-firmware", .has_each_error = true, .has_states = true, .repeats_last_error = true,
      .counters_in_frames = LW_COUNTERS_WITH_STATE, .reporting = LW_REPORTING_NO_SWITCH, .has_state_by_netlink = true,
      .has_listen_only = true, .restart_ms = RESTART_MS },
};

const struct lw_personality *lw_personality_find(const char *name)
{
    for (unsigned i = 0; i < LW_N_PERSONALITIES; i++)
        if (strcmp(lw_personalities[i].name, name) == 0)
            return &lw_personalities[i];
    return NULL;
}
