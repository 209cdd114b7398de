/* SPDX-License-Identifier: MIT
 *
 * What a resistance between H and L may mean: each cause as the span of readings that the network gives with it.
 */
#include "meter_parts.h"

#include <math.h>

enum { CONTACT_OHM = 5, SHORT_OHM = 10 };

static const struct lw_span nothing = { 1, 0 };

/* One terminator sits behind a contact of CONTACT_OHM up to an open one. Source of the 5 ohm: pinpoint tests of a car maker, for
 * a wire from a unit to the test socket. */
static struct lw_span contact_span(const struct lw_meter_bus *bus, unsigned n)
{
    struct lw_meter_state state = { .n_near = n - 1.0, .n_far = 1, .in_way_ohm = CONTACT_OHM, .across_ohm = INFINITY };
    struct lw_span least = lw_meter_span(bus, &state);
    state.in_way_ohm = INFINITY;
    return lw_span_join(least, lw_meter_span(bus, &state));
}

/* What is beyond the open wire is not seen: the terminators of one end, and some of the units. */
static struct lw_span open_span(const struct lw_meter_bus *bus, unsigned n)
{
    struct lw_meter_state state = { .n_near = n - 1.0, .across_ohm = INFINITY };
    return lw_meter_span(bus, &state);
}

/* From a hard one at the meter to one of SHORT_OHM at the far end. Source of the 10 ohm: learnautoelectrics.com. */
static struct lw_span short_span(const struct lw_meter_bus *bus, unsigned n)
{
    double wire = 2 * bus->wire_ohm_per_m * bus->length_m;
    return (struct lw_span){ 0, lw_parallel(SHORT_OHM + wire, lw_meter_span_of(bus, n).high) };
}

struct lw_span lw_meter_cause_span(enum lw_meter_cause cause, const struct lw_meter_bus *bus, unsigned n)
{
    switch (cause) {
    case LW_OHM_NORMAL: return lw_meter_span_of(bus, n);
    case LW_OHM_ONE_MISSING: return n >= 1 ? lw_meter_span_of(bus, n - 1) : nothing;
    case LW_OHM_OPEN_WIRE: return n >= 1 ? open_span(bus, n) : nothing;
    case LW_OHM_CONTACT: return n >= 1 ? contact_span(bus, n) : nothing;
    case LW_OHM_ALL_MISSING: return n >= 2 ? lw_meter_span_of(bus, 0) : nothing;
    case LW_OHM_NOT_BUS: return (struct lw_span){ n > 0 ? bus->unit.low : INFINITY, INFINITY };
    case LW_OHM_ONE_MORE: return lw_meter_span_of(bus, n + 1);
    case LW_OHM_TWO_MORE: return lw_meter_span_of(bus, n + 2);
    case LW_OHM_SHORT: return short_span(bus, n);
    case LW_OHM_ACROSS: return (struct lw_span){ SHORT_OHM, lw_meter_span_of(bus, n).low };
    default: return nothing;
    }
}

const char *lw_meter_cause_words(enum lw_meter_cause cause)
{
    static const char *const words[LW_N_OHMS] = {
        [LW_OHM_NORMAL] = "as it should be",
        [LW_OHM_ONE_MISSING] = "a terminator is missing",
        [LW_OHM_OPEN_WIRE] = "H or L is open on the way to a terminator",
        [LW_OHM_CONTACT] = "a bad contact on the way to a terminator",
        [LW_OHM_ALL_MISSING] = "no terminator at all",
        [LW_OHM_NOT_BUS] = "not the pair, or a stub that is open",
        [LW_OHM_ONE_MORE] = "one terminator too many",
        [LW_OHM_TWO_MORE] = "two terminators too many",
        [LW_OHM_SHORT] = "H and L touch",
        [LW_OHM_ACROSS] = "something else conducts between H and L",
    };
    return words[cause];
}

unsigned lw_meter_causes(double ohm, const struct lw_meter_bus *bus, unsigned n_terminators)
{
    struct lw_span reading = lw_meter_ohm_reading(ohm);
    unsigned causes = 0;
    for (int i = 0; i < LW_N_OHMS; i++) {
        struct lw_span span = lw_meter_cause_span((enum lw_meter_cause)i, bus, n_terminators);
        if (span.low <= span.high && lw_span_holds(span, reading))
            causes |= 1u << i;
    }
    return causes;
}
