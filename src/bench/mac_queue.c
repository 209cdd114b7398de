/* SPDX-License-Identifier: MIT
 *
 * Frames that wait to be sent, in places that never move, so that the one on the wire keeps its own. Part of the controller.
 */
#include "mac_state.h"

#include <errno.h>

static bool is_before(const struct slot *a, const struct slot *b)
{
    int order = lw_id_key_order(lw_frame_key(&a->frame, 0), lw_frame_key(&b->frame, 0));
    return order < 0 || (order == 0 && (int32_t)(a->order - b->order) < 0);
}

int lw_mac_next_slot(const struct lw_mac *mac)
{
    int first = NO_SLOT;
    for (int i = 0; i < LW_MAC_QUEUE; i++)
        if (mac->queue[i].is_used && (first == NO_SLOT || is_before(&mac->queue[i], &mac->queue[first])))
            first = i;
    return first;
}

void lw_mac_free_sending_slot(struct lw_mac *mac)
{
    if (mac->sending_slot == NO_SLOT)
        return;
    mac->queue[mac->sending_slot].is_used = false;
    mac->n_queued--;
    mac->sending_slot = NO_SLOT;
}

static bool can_send(const struct lw_mac *mac, const struct lw_frame *frame)
{
    bool is_extended = frame->flags & LW_FRAME_EXTENDED;
    if (mac->options.is_listen_only || (frame->flags & LW_FRAME_FD && !mac->options.has_fd))
        return false;
    return frame->id <= (is_extended ? LW_EXTENDED_ID_MAX : LW_STANDARD_ID_MAX) && frame->len <= LW_FRAME_MAX_LEN;
}

int lw_mac_send(struct lw_mac *mac, const struct lw_frame *frame)
{
    if (!can_send(mac, frame))
        return -EINVAL;
    for (int i = 0; i < LW_MAC_QUEUE; i++) {
        if (mac->queue[i].is_used)
            continue;
        mac->queue[i] = (struct slot){ .frame = *frame, .order = mac->next_order++, .is_used = true };
        mac->n_queued++;
        return 0;
    }
    return -ENOBUFS;
}

bool lw_mac_has_to_send(const struct lw_mac *mac)
{
    return mac->n_queued > 0;
}

void lw_mac_drop_queue(struct lw_mac *mac)
{
    for (int i = 0; i < LW_MAC_QUEUE; i++)
        mac->queue[i].is_used = false;
    mac->n_queued = 0;
    mac->sending_slot = NO_SLOT;
}
