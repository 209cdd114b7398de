/* SPDX-License-Identifier: MIT
 *
 * The doors of the protocol controller. Each sampled bit goes to the function named in the row of the part it belongs to;
 * see mac_state.h for the other files. Used by the bench, a controller a unit.
 */
#include "mac_state.h"

#include <stdlib.h>
#include <string.h>

struct lw_mac *lw_mac_create(const struct lw_mac_options *options)
{
    struct lw_mac *mac = malloc(sizeof(*mac));
    if (mac)
        lw_mac_reset(mac, options);
    return mac;
}

void lw_mac_destroy(struct lw_mac *mac)
{
    free(mac);
}

void lw_mac_reset(struct lw_mac *mac, const struct lw_mac_options *options)
{
    struct lw_mac_options kept = *options;               /* may be the controller's own */
    memset(mac, 0, sizeof(*mac));
    mac->options = kept;
    mac->sending_slot = NO_SLOT;
    mac->last_part = PART_JOINING;
    lw_mac_enter(mac, PART_JOINING);
}

/* A controller that only listens sends nothing, but reads back what it would have sent: ISO 11898-1:2003, 10.12. */
unsigned lw_mac_sample(struct lw_mac *mac, bool is_dominant)
{
    const struct row *row = &lw_mac_rows[mac->part];
    mac->sent_dominant = mac->drives_dominant;
    mac->drives_dominant = false;
    mac->report = 0;
    mac->last_part = mac->part;
    mac->last_was_stuff = false;
    bool is_heard = is_dominant || (mac->options.is_listen_only && mac->sent_dominant);
    row->sample(mac, row, is_heard ? DOMINANT : RECESSIVE);
    return mac->report;
}

bool lw_mac_drives_dominant(const struct lw_mac *mac)
{
    return mac->drives_dominant && !mac->options.is_listen_only;
}

enum lw_mac_rate lw_mac_rate(const struct lw_mac *mac)
{
    return mac->rate;
}

bool lw_mac_wants_hard_sync(const struct lw_mac *mac)
{
    switch (mac->part) {
    case PART_IDLE: case PART_SUSPEND: case PART_JOINING: case PART_BUS_OFF: case PART_SOF:
        return true;
    case PART_INTERMISSION:
        return mac->n_bits > 0;                          /* not in its first bit */
    case PART_RES:
        return !mac->is_transmitter;
    default:
        return false;
    }
}

bool lw_mac_is_idle(const struct lw_mac *mac)
{
    return (mac->part == PART_IDLE && mac->n_queued == 0) || (mac->part == PART_BUS_OFF && !mac->is_recovering);
}

void lw_mac_restart(struct lw_mac *mac)
{
    if (mac->part != PART_BUS_OFF || mac->is_recovering)
        return;
    mac->is_recovering = true;
    mac->n_sequences = 0;
    lw_mac_enter(mac, PART_BUS_OFF);
}

bool lw_mac_is_transmitter(const struct lw_mac *mac)
{
    return mac->is_transmitter;
}

const struct lw_confinement *lw_mac_confinement(const struct lw_mac *mac)
{
    return &mac->confinement;
}

const struct lw_frame *lw_mac_frame(const struct lw_mac *mac)
{
    return &mac->rx;
}

const struct lw_mac_error *lw_mac_error(const struct lw_mac *mac)
{
    return &mac->error;
}

enum lw_mac_field lw_mac_last_field(const struct lw_mac *mac)
{
    return lw_mac_rows[mac->last_part].field;
}

bool lw_mac_last_was_stuff(const struct lw_mac *mac)
{
    return mac->last_was_stuff;
}
