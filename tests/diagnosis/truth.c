/* SPDX-License-Identifier: MIT
 *
 * The truth of truth.h, a row a damage.
 */
#include "truth.h"

#define C(cause) (UINT32_C(1) << LW_CAUSE_##cause)

/* In whose stub or unit it is matters little to the words; that a unit whose wire is off the bus is also a unit that is gone
 * is no contradiction, nor that a wrong clock far enough off is another bit rate. */
static const struct truth truths[LW_N_DAMAGES] = {
    [LW_DAMAGE_OPEN_H] = { C(WIRE_OPEN), false },
    [LW_DAMAGE_OPEN_L] = { C(WIRE_OPEN), false },
    [LW_DAMAGE_OPEN_BOTH] = { C(WIRE_OPEN) | C(UNIT_GONE) | C(ALONE), false },
    [LW_DAMAGE_SHORT_H_L] = { C(SHORT), false },
    [LW_DAMAGE_H_TO_SUPPLY] = { C(TO_RAIL), false },
    [LW_DAMAGE_L_TO_SUPPLY] = { C(TO_RAIL), false },
    [LW_DAMAGE_H_TO_GROUND] = { C(TO_RAIL), false },
    [LW_DAMAGE_L_TO_GROUND] = { C(TO_RAIL), false },
    [LW_DAMAGE_SWAPPED] = { C(SWAPPED), false },
    [LW_DAMAGE_NO_TERMINATOR] = { C(TERMINATOR_MISSING), false },
    [LW_DAMAGE_EXTRA_TERMINATOR] = { C(TERMINATOR_EXTRA), false },
    [LW_DAMAGE_LOOSE] = { C(LOOSE), false },
    [LW_DAMAGE_LONG_STUB] = { C(LONG_STUB), false },
    [LW_DAMAGE_UNPLUGGED] = { C(UNIT_GONE) | C(WIRE_OPEN) | C(ALONE), false },
    [LW_DAMAGE_UNPOWERED] = { C(UNIT_GONE) | C(ALONE) | C(TRANSCEIVER), false },
    [LW_DAMAGE_STANDBY] = { C(TRANSCEIVER), false },
    [LW_DAMAGE_ASLEEP] = { C(UNIT_GONE) | C(ASLEEP) | C(ALONE), false },
    [LW_DAMAGE_BIT_RATE] = { C(OWN_RATE) | C(OTHER_RATE), false },
    [LW_DAMAGE_CRYSTAL] = { C(TIMING), false },
    [LW_DAMAGE_SJW] = { C(TIMING), false },
    [LW_DAMAGE_SAMPLE_POINT] = { C(TIMING), false },
    [LW_DAMAGE_LISTEN_ONLY] = { C(UNIT_GONE) | C(OTHERS_LISTEN), false },
    [LW_DAMAGE_FD_SENDER] = { C(FD_FRAMES), false },
    [LW_DAMAGE_DUPLICATE] = { C(DUPLICATE), true },
    [LW_DAMAGE_FOREIGN] = { C(FOREIGN) | C(UNIT_GONE), true },
    [LW_DAMAGE_BABBLE] = { C(BABBLE), true },
    [LW_DAMAGE_RESET] = { C(UNIT_RESET), false },
    [LW_DAMAGE_OVERRUN] = { C(HOST_LATE), true },
};

struct truth truth_of(const struct scenario *scenario, const struct lw_plant *plant)
{
    const struct lw_damage *damage = &scenario->damage;
    if (damage->kind >= LW_N_DAMAGES)
        return (struct truth){ C(WELL) | C(PAST) | C(CANNOT_TELL), true };
    struct truth truth = truths[damage->kind];
    bool is_own = damage->place == LW_AT_UNIT && (int)damage->index == lw_plant_adapter(plant);
    if (damage->kind == LW_DAMAGE_BIT_RATE)
        truth.causes = is_own ? C(OWN_RATE) | C(OTHER_RATE) : C(OTHER_RATE);
    if (damage->kind == LW_DAMAGE_ASLEEP && damage->place == LW_AT_NOWHERE)
        truth.causes = C(ASLEEP) | C(ALONE);
    /* That our own adapter acknowledges nothing harms nobody where others do: its own messages cease, and the bus is well. */
    if (damage->kind == LW_DAMAGE_LISTEN_ONLY && is_own)
        truth.causes |= C(WELL);
    /* Our own adapter off the bus hears nothing, whatever the reason is called. */
    bool is_cut = damage->kind == LW_DAMAGE_UNPLUGGED || damage->kind == LW_DAMAGE_UNPOWERED || damage->kind == LW_DAMAGE_OPEN_BOTH;
    if (is_own && is_cut)
        truth.causes |= C(WIRE_OPEN) | C(TRANSCEIVER);
    /* A unit that babbles while nobody acknowledges it is one that is alone. */
    if (damage->kind == LW_DAMAGE_BABBLE && scenario->is_listening_only && plant->n_units == 2)
        truth = (struct truth){ truth.causes | C(ALONE), false };
    /* Old adapter software lies, whatever else there is. */
    if (plant->units[lw_plant_adapter(plant)].personality.repeats_last_error)
        truth.causes |= C(ADAPTER_LIES);
    return truth;
}

static unsigned difference(uint64_t a, uint64_t b)
{
    return (unsigned)(a > b ? a - b : b - a);
}

bool truth_is_visible(const struct scenario_run *run, const struct scenario_run *healthy)
{
    if (run->n_errors_after > healthy->n_errors_after)
        return true;
    if (run->scenario.role == ROLE_FROM_START && !run->baseline)
        return run->n_frames_after == 0;     /* nobody can miss what he never knew */
    uint64_t n = healthy->n_frames_after;
    return difference(run->n_frames_after, n) > 3 + n / 50;
}
