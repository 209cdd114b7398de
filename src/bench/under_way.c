/* SPDX-License-Identifier: MIT
 *
 * Sending a change costs one entry, not one in each receiver's queue; and where a crowd has begun or ended to send, each
 * receiver looks only at those whose order matters to it.
 */
#include "under_way.h"

#include <string.h>

void lw_under_way_clear(struct lw_under_way *under_way)
{
    under_way->n = under_way->run = 0;
    memset(under_way->n_handed, 0, sizeof(under_way->n_handed));
}

void lw_under_way_measured(struct lw_under_way *under_way, unsigned n_units)
{
    for (unsigned u = 0; u < n_units; u++) {
        uint64_t least_ps = LW_NEVER, most_ps = 0;
        for (unsigned sender = 0; sender < n_units; sender++) {
            uint64_t way_ps = under_way->way_ps[u][sender];
            least_ps = way_ps < least_ps ? way_ps : least_ps;
            most_ps = way_ps > most_ps ? way_ps : most_ps;
        }
        under_way->least_way_ps[u] = least_ps;
        under_way->most_way_ps[u] = most_ps;
    }
}

void lw_under_way_send(struct lw_under_way *under_way, struct lw_arrival change)
{
    unsigned at = under_way->n++;
    uint32_t bit = UINT32_C(1) << change.sender, before = at > under_way->run ? under_way->senders[at - 1] : 0;
    if (before & bit || (at > under_way->run && under_way->changes[at - 1].is_dominant != change.is_dominant)) {
        under_way->run = at;
        before = 0;
    }
    under_way->changes[at] = change;
    under_way->senders[at] = before | bit;
}

void lw_under_way_queue(struct lw_under_way *under_way, struct lw_receiver *receiver)
{
    unsigned unit = receiver->unit;
    for (unsigned i = under_way->n_handed[unit]; i < under_way->n; i++) {
        struct lw_arrival arrival = under_way->changes[i];
        arrival.t_ps += under_way->way_ps[unit][arrival.sender];
        lw_receiver_expect(receiver, arrival);
    }
    under_way->n_handed[unit] = under_way->n;
}

/* All that is kept for a receiver, if it makes a crowd and has arrived by t_ps. */
static bool find_crowd(const struct lw_under_way *under_way, unsigned unit, uint64_t t_ps, struct lw_crowd *crowd)
{
    unsigned from = under_way->n_handed[unit], n = under_way->n;
    if (n - from < 2 || from < under_way->run || under_way->changes[n - 1].t_ps + under_way->most_way_ps[unit] > t_ps)
        return false;
    uint32_t before = from > under_way->run ? under_way->senders[from - 1] : 0;
    *crowd = (struct lw_crowd){ under_way->changes + from, n - from, under_way->senders[n - 1] & ~before,
                                under_way->way_ps[unit], under_way->least_way_ps[unit], under_way->most_way_ps[unit] };
    return true;
}

void lw_under_way_advance(struct lw_under_way *under_way, struct lw_receiver *receiver, uint64_t t_ps)
{
    struct lw_crowd crowd;
    if (lw_under_way_soonest_ps(under_way, receiver->unit) <= t_ps) {
        if (receiver->first == receiver->end && find_crowd(under_way, receiver->unit, t_ps, &crowd)
            && lw_receiver_take_crowd(receiver, &crowd))
            under_way->n_handed[receiver->unit] = under_way->n;
        else
            lw_under_way_queue(under_way, receiver);
    }
    lw_receiver_advance(receiver, t_ps);
}
