/* SPDX-License-Identifier: MIT
 *
 * Part of a receiver: many senders that begin or end at nearly the same time, as they do when they acknowledge. The order of
 * arrival matters only while few of them are seen, so only those few are sorted and computed.
 */
#include "receiver.h"

static struct lw_arrival arrival_of(const struct lw_crowd *crowd, unsigned i)
{
    struct lw_arrival arrival = crowd->changes[i];
    arrival.t_ps += crowd->way_ps[arrival.sender];
    return arrival;
}

/* The first n to arrive that are not among the taken, in order; of equal ones that sent first. Returns how many there are. */
static unsigned find_first(const struct lw_crowd *crowd, uint32_t taken, struct lw_arrival *first, unsigned n)
{
    unsigned n_found = 0;
    for (unsigned i = 0; i < crowd->n; i++) {
        struct lw_arrival arrival = arrival_of(crowd, i);
        if (n_found == n && crowd->changes[i].t_ps + crowd->least_way_ps >= first[n - 1].t_ps)
            break;
        if (taken >> arrival.sender & 1 || (n_found == n && arrival.t_ps >= first[n - 1].t_ps))
            continue;
        unsigned at = n_found < n ? n_found++ : n - 1;
        for (; at > 0 && first[at - 1].t_ps > arrival.t_ps; at--)
            first[at] = first[at - 1];
        first[at] = arrival;
    }
    return n_found;
}

/* One after the other until they are plenty. With more of the good they stay plenty, in whatever order those come. */
static bool take_beginning(struct lw_receiver *receiver, const struct lw_crowd *crowd)
{
    enum { AT_ONCE = 8 };
    struct lw_seen *now = &receiver->now;
    uint32_t all = now->senders | crowd->senders, taken = 0;
    if (!lw_receiver_are_plenty(receiver, all))
        return false;
    while (taken != crowd->senders && !now->is_plenty) {
        struct lw_arrival first[AT_ONCE];
        unsigned n = find_first(crowd, taken, first, AT_ONCE);
        for (unsigned i = 0; i < n && !now->is_plenty; i++) {
            lw_receiver_take(receiver, now, &first[i], i + 1 < n ? first[i + 1].t_ps : LW_NEVER);
            taken |= UINT32_C(1) << first[i].sender;
        }
    }
    now->senders = all;
    return true;
}

/* The last n of these senders to arrive, in order; there are as many. The list grows towards its beginning. */
static void find_last(const struct lw_crowd *crowd, uint32_t senders, struct lw_arrival *last, unsigned n)
{
    unsigned begin = n;
    for (unsigned i = crowd->n; i-- > 0;) {
        struct lw_arrival arrival = arrival_of(crowd, i);
        if (begin == 0 && crowd->changes[i].t_ps + crowd->most_way_ps <= last[0].t_ps)
            break;
        if (!(senders >> arrival.sender & 1) || (begin == 0 && arrival.t_ps <= last[0].t_ps))
            continue;
        begin -= begin > 0;
        unsigned at = begin;
        for (; at + 1 < n && last[at + 1].t_ps < arrival.t_ps; at++)
            last[at] = last[at + 1];
        last[at] = arrival;
    }
}

/* As long as enough are left they are plenty, whoever goes first. So only the last ones count, and their order. */
static bool take_ending(struct lw_receiver *receiver, const struct lw_crowd *crowd)
{
    struct lw_seen *now = &receiver->now;
    struct lw_arrival last[LW_LEVELS_PLENTY];
    uint32_t left = now->senders & ~crowd->senders;
    unsigned n_left = (unsigned)__builtin_popcount(left);
    if (!now->is_plenty)
        return false;
    unsigned n = n_left < LW_LEVELS_PLENTY ? LW_LEVELS_PLENTY - n_left : 0;
    if (n > 0)
        find_last(crowd, now->senders, last, n);
    now->senders = left;
    for (unsigned i = 0; i < n; i++)
        now->senders |= UINT32_C(1) << last[i].sender;
    for (unsigned i = 0; i < n; i++)
        lw_receiver_take(receiver, now, &last[i], i + 1 < n ? last[i + 1].t_ps : LW_NEVER);
    return true;
}

bool lw_receiver_take_crowd(struct lw_receiver *receiver, const struct lw_crowd *crowd)
{
    if (!(crowd->changes[0].is_dominant ? take_beginning : take_ending)(receiver, crowd))
        return false;
    receiver->is_next_known = false;
    return true;
}
