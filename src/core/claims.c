/* SPDX-License-Identifier: MIT
 *
 * The table of address claims.
 */
#include "loomwatch/core/claims.h"

#include <string.h>

static const uint64_t ms_ns = UINT64_C(1000000);

/* Identifier of an address claim without priority and sender: PGN 60928 to everybody. Source: linux/can/j1939.h */
enum { CLAIM_ID = 0x0EEFF00, CLAIM_MASK = 0x3FFFF00, CLAIM_LEN = 8 };

void lw_claims_init(struct lw_claims *claims)
{
    memset(claims, 0, sizeof(*claims));
}

static bool is_claim(const struct lw_frame *frame)
{
    return (frame->flags & LW_FRAME_EXTENDED) && !(frame->flags & LW_FRAME_REMOTE) && frame->len == CLAIM_LEN
        && (frame->id & CLAIM_MASK) == CLAIM_ID && (frame->id & 0xFF) != LW_ADDRESS_ALL;
}

/* Lowest byte first. */
static uint64_t name_of(const struct lw_frame *frame)
{
    uint64_t name = 0;
    for (unsigned i = CLAIM_LEN; i-- > 0;)
        name = name << 8 | frame->data[i];
    return name;
}

static bool is_held(uint8_t address)
{
    return address < LW_ADDRESS_NONE;
}

static struct lw_claim *place(struct lw_claims *claims, uint64_t name, bool *has_overflowed)
{
    struct lw_claim *oldest = &claims->all[0];
    for (unsigned i = 0; i < claims->n; i++) {
        if (claims->all[i].name == name)
            return &claims->all[i];
        if (claims->all[i].last_ns < oldest->last_ns)
            oldest = &claims->all[i];
    }
    *has_overflowed = claims->n == LW_MAX_CLAIMS;
    claims->n_forgotten += *has_overflowed;
    struct lw_claim *claim = *has_overflowed ? oldest : &claims->all[claims->n++];
    *claim = (struct lw_claim){ .name = name, .address = LW_ADDRESS_ALL, .wanted = LW_ADDRESS_ALL };
    return claim;
}

/* What claim wants is what somebody else held: gone by now, or in its way. */
static bool begins_clash(struct lw_claims *claims, struct lw_claim *claim, uint64_t t_ns)
{
    bool has_begun = false, has_rival = false;
    for (unsigned i = 0; i < claims->n; i++) {
        struct lw_claim *other = &claims->all[i];
        if (other == claim || other->address != claim->address || !is_held(claim->address))
            continue;
        if (t_ns > other->last_ns + LW_CLAIM_ANSWER_MS * ms_ns) {
            other->wanted = other->address;
            other->address = LW_ADDRESS_ALL;
            other->clash_ns = 0;
            continue;
        }
        has_rival = true;
        has_begun |= claim->clash_ns == 0;
        claim->clash_ns = claim->clash_ns != 0 ? claim->clash_ns : t_ns;
        other->clash_ns = other->clash_ns != 0 ? other->clash_ns : t_ns;
    }
    if (!has_rival)
        claim->clash_ns = 0;
    return has_begun;
}

/* Where only one is left, there is no quarrel any more. */
static void end_clash(struct lw_claims *claims, uint8_t address)
{
    struct lw_claim *last = NULL;
    unsigned n = 0;
    for (unsigned i = 0; i < claims->n; i++)
        if (claims->all[i].address == address) {
            last = &claims->all[i];
            n++;
        }
    if (n == 1)
        last->clash_ns = 0;
}

struct lw_clash lw_claims_frame(struct lw_claims *claims, const struct lw_frame *frame, uint64_t t_ns)
{
    struct lw_clash clash = { LW_CLASH_NONE, LW_ADDRESS_ALL, LW_ADDRESS_ALL };
    bool has_overflowed = false;
    if (!is_claim(frame))
        return clash;
    struct lw_claim *claim = place(claims, name_of(frame), &has_overflowed);
    uint8_t before = claim->address, now = frame->id & 0xFF;
    bool was_clashing = claim->clash_ns != 0;
    claim->last_ns = t_ns;
    if (before != now) {
        claim->wanted = is_held(before) ? before : claim->wanted;
        claim->address = now;
        claim->clash_ns = 0;
        end_clash(claims, before);
    }
    if (now == LW_ADDRESS_NONE && before != now)
        clash = (struct lw_clash){ LW_CLASH_NO_ADDRESS, claim->wanted, LW_ADDRESS_ALL };
    else if (begins_clash(claims, claim, t_ns))
        clash = (struct lw_clash){ LW_CLASH_BEGAN, now, LW_ADDRESS_ALL };
    else if (before != now && (was_clashing || before == LW_ADDRESS_NONE))
        clash = (struct lw_clash){ LW_CLASH_MOVED, claim->wanted, now };
    else if (has_overflowed && claims->n_forgotten == 1)
        clash.kind = LW_CLASH_TABLE_FULL;
    return clash;
}

/* Both were heard to claim it one after the other, or nobody has had the time to answer yet. */
static bool is_shared(const struct lw_claim *a, const struct lw_claim *b, uint64_t t_ns)
{
    if (a->clash_ns == 0 || b->clash_ns == 0 || a->address != b->address)
        return false;
    uint64_t newer = a->last_ns > b->last_ns ? a->last_ns : b->last_ns;
    uint64_t older = a->last_ns > b->last_ns ? b->last_ns : a->last_ns;
    bool is_young = t_ns < a->clash_ns + LW_CLAIM_WAIT_MS * ms_ns || t_ns < b->clash_ns + LW_CLAIM_WAIT_MS * ms_ns;
    return !is_young && newer - older <= LW_CLAIM_ANSWER_MS * ms_ns;
}

/* Compared with those before it in the table, so that of two the one counts. */
static bool keeps_anothers(const struct lw_claims *claims, unsigned index, uint64_t t_ns)
{
    bool is = false;
    for (unsigned i = 0; claims->all[index].clash_ns != 0 && i < index; i++)
        is |= is_shared(&claims->all[index], &claims->all[i], t_ns);
    return is;
}

static void add_trouble(struct lw_claim_trouble *trouble, uint8_t address, uint64_t since_ns)
{
    if (trouble->n_shared + trouble->n_without == 0) {
        trouble->address = address;
        trouble->since_ns = since_ns;
    }
}

struct lw_claim_trouble lw_claims_trouble(const struct lw_claims *claims, uint64_t t_ns)
{
    struct lw_claim_trouble trouble = { .is_known = claims->n > 0, .address = LW_ADDRESS_ALL };
    for (unsigned i = 0; i < claims->n; i++)
        if (keeps_anothers(claims, i, t_ns)) {
            add_trouble(&trouble, claims->all[i].address, claims->all[i].clash_ns);
            trouble.n_shared++;
        }
    for (unsigned i = 0; i < claims->n; i++)
        if (claims->all[i].address == LW_ADDRESS_NONE) {
            add_trouble(&trouble, claims->all[i].wanted, claims->all[i].last_ns);
            trouble.n_without++;
        }
    return trouble;
}

void lw_claims_settle(struct lw_claims *claims)
{
    for (unsigned i = 0; i < claims->n; i++) {
        struct lw_claim *claim = &claims->all[i];
        if (claim->clash_ns == 0 && claim->address != LW_ADDRESS_NONE)
            continue;
        claim->clash_ns = 0;
        claim->address = LW_ADDRESS_ALL;
    }
}
