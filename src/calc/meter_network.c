/* SPDX-License-Identifier: MIT
 *
 * The bus at rest as resistors.
 */
#include "meter_network.h"

#include <math.h>

bool lw_span_holds(struct lw_span span, struct lw_span reading)
{
    return reading.high >= span.low && reading.low <= span.high;
}

struct lw_span lw_span_join(struct lw_span a, struct lw_span b)
{
    return (struct lw_span){ fmin(a.low, b.low), fmax(a.high, b.high) };
}

double lw_parallel(double a, double b)
{
    if (a <= 0 || b <= 0)
        return 0;
    return 1 / (1 / a + 1 / b);
}

/* n equal ones in parallel. */
static double of_n(double ohm, double n)
{
    return n > 0 ? ohm / n : INFINITY;
}

double lw_meter_reads(const struct lw_meter_bus *bus, const struct lw_meter_state *state, double terminator_ohm, double units_ohm,
                      double position_m)
{
    double near_m = position_m, far_m = bus->length_m - position_m, loop = 2 * bus->wire_ohm_per_m;
    double near = of_n(terminator_ohm, state->n_near) + loop * near_m;
    double far = of_n(terminator_ohm, state->n_far) + loop * far_m + state->in_way_ohm;
    double here = lw_parallel(of_n(terminator_ohm, state->n_here), units_ohm);
    return lw_parallel(lw_parallel(near, far), lw_parallel(here, state->across_ohm));
}

/* Every resistance only raises the reading, so the ends of the tolerances give its ends. Over the position the reading is a
 * curve with one bend at most: its ends, and the middle, where a line with equal ends has its bend. */
struct lw_span lw_meter_span(const struct lw_meter_bus *bus, const struct lw_meter_state *state)
{
    double units_low = of_n(bus->unit.low, bus->units_most);
    double units_high = of_n(bus->unit.high, state->has_all_units ? bus->units_least : 0);
    double where[3] = { bus->position_m, bus->position_m, bus->position_m };
    struct lw_span span = { INFINITY, 0 };
    if (isnan(bus->position_m)) {
        where[0] = 0;
        where[1] = bus->length_m / 2;
        where[2] = bus->length_m;
    }
    for (int i = 0; i < 3; i++) {
        span.low = fmin(span.low, lw_meter_reads(bus, state, bus->terminator.low, units_low, where[i]));
        span.high = fmax(span.high, lw_meter_reads(bus, state, bus->terminator.high, units_high, where[i]));
    }
    return span;
}

struct lw_span lw_meter_span_of(const struct lw_meter_bus *bus, unsigned n_terminators)
{
    struct lw_meter_state state = { .has_all_units = true, .across_ohm = INFINITY };
    if (n_terminators == 0)
        return lw_meter_span(bus, &state);
    state.n_near = 1;
    if (n_terminators == 1) {
        struct lw_span span = lw_meter_span(bus, &state);
        state.n_near = 0;
        state.n_far = 1;
        return lw_span_join(span, lw_meter_span(bus, &state));
    }
    double n_more = n_terminators - 2.0;
    state.n_here = n_more;
    state.n_far = 1;
    struct lw_span span = lw_meter_span(bus, &state);
    state.n_here = 0;
    state.n_near = 1 + n_more;
    span = lw_span_join(span, lw_meter_span(bus, &state));
    state.n_near = 1;
    state.n_far = 1 + n_more;
    return lw_span_join(span, lw_meter_span(bus, &state));
}

double lw_meter_contact_ohm(double reading_ohm, double terminator_ohm)
{
    return reading_ohm >= terminator_ohm ? INFINITY : fmax(0, 1 / (1 / reading_ohm - 1 / terminator_ohm) - terminator_ohm);
}

double lw_meter_across_ohm(double reading_ohm, double without_ohm)
{
    return reading_ohm >= without_ohm ? INFINITY : 1 / (1 / reading_ohm - 1 / without_ohm);
}

struct lw_span lw_meter_ohm_reading(double ohm)
{
    return (struct lw_span){ fmax(0, ohm * 0.99 - 0.3), ohm * 1.01 };
}
