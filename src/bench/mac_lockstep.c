/* SPDX-License-Identifier: MIT
 *
 * Controllers that read the same bits of one frame know the same of it: one is given the bits, the others take over what it
 * knows. Part of the controller, used by the bench's lockstep.
 */
#include "mac_state.h"

#include <stddef.h>
#include <string.h>

enum { SHARED_FROM = offsetof(struct lw_mac, value), SHARED_TO = offsetof(struct lw_mac, sending_slot) };

static char *shared(struct lw_mac *mac)
{
    return (char *)mac + SHARED_FROM;
}

static const char *shared_const(const struct lw_mac *mac)
{
    return (const char *)mac + SHARED_FROM;
}

bool lw_mac_is_in_frame(const struct lw_mac *mac)
{
    return mac->part >= PART_ID_28_21 && mac->part <= PART_LAST_STUFF;
}

bool lw_mac_sending(const struct lw_mac *mac, struct lw_mac_sending *out)
{
    if (!mac->is_transmitter || !lw_mac_is_in_frame(mac) || mac->sending_slot == NO_SLOT
        || mac->queue[mac->sending_slot].frame.flags & LW_FRAME_FD || mac->n_sent_bits >= mac->stream.n)
        return false;
    *out = (struct lw_mac_sending){ mac->stream.bit, mac->stream.n, mac->n_sent_bits - 1u };
    return true;
}

bool lw_mac_is_abreast(const struct lw_mac *a, const struct lw_mac *b)
{
    return memcmp(shared_const(a), shared_const(b), SHARED_TO - SHARED_FROM) == 0;
}

void lw_mac_catch_up(struct lw_mac *mac, const struct lw_mac *leader, unsigned n_sampled)
{
    if (mac == leader)
        return;
    memcpy(shared(mac), shared_const(leader), SHARED_TO - SHARED_FROM);
    mac->report = 0;
    if (!mac->is_transmitter)
        return;
    const struct stream *stream = &mac->stream;
    mac->n_sent_bits = (uint16_t)(n_sampled < stream->n ? n_sampled + 1 : stream->n);
    mac->sent_dominant = stream->bit[n_sampled - 1] == DOMINANT;
    mac->drives_dominant = n_sampled < stream->n && stream->bit[n_sampled] == DOMINANT;
}
