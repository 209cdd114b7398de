/* SPDX-License-Identifier: MIT
 *
 * Causes of voltages, as spans of averages: (1 - d) x recessive + d x dominant, where d is the share of the time in which the
 * bus is dominant.
 */
#include "meter_volts.h"

#include <math.h>

/* Source: TI data sheets of transceivers. typical: TCAN1465 (recessive with termination) and SLOA101B (1 V up and down); limits:
 * TCAN1145, the limits of ISO 11898-2. */
static const struct {
    struct lw_span recessive, dominant_h, dominant_l, recessive_difference, dominant_difference;
} typical = { { 2.256, 2.756 }, { 3.256, 3.756 }, { 1.256, 1.756 }, { -0.05, 0.05 }, { 1.5, 2.5 } },
  limits = { { 2.0, 3.0 }, { 2.75, 4.5 }, { 0.5, 2.25 }, { -0.12, 0.05 }, { 1.5, 3.0 } };

static const struct lw_span none = { 1, 0 };

static double mix(double share, double recessive, double dominant)
{
    return (1 - share) * recessive + share * dominant;
}

/* H rises with the share, L falls, so the ends of the share give the ends of the average. */
static struct lw_span average(struct lw_span share, struct lw_span recessive, struct lw_span dominant)
{
    return (struct lw_span){ fmin(mix(share.low, recessive.low, dominant.low), mix(share.high, recessive.low, dominant.low)),
                             fmax(mix(share.low, recessive.high, dominant.high), mix(share.high, recessive.high, dominant.high)) };
}

static struct lw_volt_spans typical_spans(const struct lw_volt_bus *bus)
{
    struct lw_volt_spans spans = {
        average(bus->share, typical.recessive, typical.dominant_h), average(bus->share, typical.recessive, typical.dominant_l),
        average(bus->share, typical.recessive_difference, typical.dominant_difference),
    };
    /* On a bus with a load worth the name the wires part: frames are dominant for a quarter of their time at least. Rule of
     * thumb, no source. */
    if (bus->has_traffic && bus->load >= 0.2)
        spans.difference.low = fmax(spans.difference.low, 2.0 * 0.25 * bus->load);
    return spans;
}

static struct lw_volt_spans limit_spans(struct lw_span share)
{
    return (struct lw_volt_spans){ average(share, limits.recessive, limits.dominant_h), average(share, limits.recessive, limits.dominant_l),
                                   average(share, limits.recessive_difference, limits.dominant_difference) };
}

/* Both wires moved up or down together: the difference stays what the bus makes of it. */
static struct lw_volt_spans moved(const struct lw_volt_bus *bus, double low, double high)
{
    double share = bus->share.high;
    return (struct lw_volt_spans){ { low, fmax(high, mix(share, high, limits.dominant_h.high)) },
                                   { fmin(low, mix(share, low, limits.dominant_l.low)), high }, limit_spans(bus->share).difference };
}

/* Published behaviour of each short: Ford, CAN fault tolerance (2024). With L at the supply the text is known in part only. */
struct lw_volt_spans lw_volt_spans_of(enum lw_volt_cause cause, const struct lw_volt_bus *bus)
{
    double u = bus->supply_v, at_most = bus->share.high;
    struct lw_span any = { -INFINITY, INFINITY }, ground = { -0.1, 0.3 };
    switch (cause) {
    case LW_VOLT_TYPICAL: return typical_spans(bus);
    case LW_VOLT_LIMITS: return limit_spans(bus->share);
    case LW_VOLT_LEAK_UP: return moved(bus, 2.756, fmax(2.756, u - 1.5));
    case LW_VOLT_OFFSET: return lw_volt_spans_of(LW_VOLT_LEAK_UP, bus);
    case LW_VOLT_DOMINANT: return (struct lw_volt_spans){ limits.dominant_h, limits.dominant_l, limits.dominant_difference };
    case LW_VOLT_H_SUPPLY: return (struct lw_volt_spans){ { u - 1.5, u + 1 }, { fmin(5, u - 1.5), u + 0.5 }, any };
    case LW_VOLT_L_SUPPLY: return (struct lw_volt_spans){ { 0.6 * u, u + 1 }, { u - 1.5, u + 1 }, { -u, 0.1 } };
    case LW_VOLT_SWAPPED: return (struct lw_volt_spans){ { mix(at_most, 2.0, 0.5), 3.0 }, { 2.0, mix(at_most, 3.0, 4.5) }, { -3.0 * at_most, -0.12 } };
    case LW_VOLT_TOUCH:
        if (!bus->has_traffic)
            return (struct lw_volt_spans){ none, none, none };
        return (struct lw_volt_spans){ limits.recessive, limits.recessive, { -0.05, 0.05 } };
    case LW_VOLT_LEAK_DOWN: return moved(bus, 0.3, 2.256);
    case LW_VOLT_L_GROUND: return (struct lw_volt_spans){ { -0.1, fmax(0.3, 3.0 * at_most) }, ground, any };
    case LW_VOLT_H_GROUND: return (struct lw_volt_spans){ ground, ground, any };
    default: return (struct lw_volt_spans){ { -0.1, 0.5 }, { -0.1, 0.5 }, { -0.2, 0.2 } };
    }
}

const char *lw_volt_words(enum lw_volt_cause cause)
{
    static const char *const words[LW_N_VOLTS] = {
        [LW_VOLT_TYPICAL] = "as it should be",
        [LW_VOLT_LIMITS] = "at the limits of the standard",
        [LW_VOLT_LEAK_UP] = "a leak from the pair to a supply",
        [LW_VOLT_OFFSET] = "a ground that is off, the meter's or a unit's",
        [LW_VOLT_DOMINANT] = "held dominant by a unit",
        [LW_VOLT_H_SUPPLY] = "H touches the supply",
        [LW_VOLT_L_SUPPLY] = "L touches the supply",
        [LW_VOLT_SWAPPED] = "H and L are swapped",
        [LW_VOLT_TOUCH] = "H and L touch, or no traffic comes here",
        [LW_VOLT_LEAK_DOWN] = "a leak to ground, or a ground that is off",
        [LW_VOLT_L_GROUND] = "L touches ground",
        [LW_VOLT_H_GROUND] = "H touches ground",
        [LW_VOLT_DEAD] = "no unit has supply",
    };
    return words[cause];
}

const char *lw_volt_next(enum lw_volt_cause cause)
{
    static const char *const next[LW_N_VOLTS] = {
        [LW_VOLT_LEAK_UP] = "Next: supply off, read H and L to the supply wire (h-supply, l-supply); look for wet connectors and chafed wires.",
        [LW_VOLT_OFFSET] = "Next: read volts between the meter's ground and the ground pin of a unit: above 0.5 V is too much.",
        [LW_VOLT_DOMINANT] = "Next: unplug unit by unit until the bus comes back: that one holds it.",
        [LW_VOLT_H_SUPPLY] = "Next: supply off, read H to the supply wire (h-supply), unplug unit by unit.",
        [LW_VOLT_L_SUPPLY] = "Next: supply off, read L to the supply wire (l-supply), unplug unit by unit.",
        [LW_VOLT_SWAPPED] = "Next: check by the maker's diagram which wire is H, first where you connected last.",
        [LW_VOLT_TOUCH] = "Next: supply off, read between H and L (between).",
        [LW_VOLT_LEAK_DOWN] = "Next: supply off, read H and L to ground (h-ground, l-ground).",
        [LW_VOLT_L_GROUND] = "Next: supply off, read L to ground (l-ground), unplug unit by unit.",
        [LW_VOLT_H_GROUND] = "Next: supply off, read H to ground (h-ground), unplug unit by unit.",
        [LW_VOLT_DEAD] = "Next: look whether the units have supply, and whether the meter's ground is good.",
    };
    return next[cause] ? next[cause] : "";
}

struct lw_span lw_volt_reading(double v)
{
    double slack = 0.01 * fabs(v) + 0.02;
    return (struct lw_span){ v - slack, v + slack };
}

static bool holds(struct lw_span span, double v)
{
    return isnan(v) || (span.low <= span.high && lw_span_holds(span, lw_volt_reading(v)));
}

unsigned lw_volt_causes(double h_v, double l_v, const struct lw_volt_bus *bus)
{
    unsigned causes = 0;
    for (int i = 0; i < LW_N_VOLTS; i++) {
        struct lw_volt_spans spans = lw_volt_spans_of((enum lw_volt_cause)i, bus);
        /* The error of a meter is the same for both readings, and falls out of their difference but for its last digits. */
        if (holds(spans.h, h_v) && holds(spans.l, l_v) && holds(spans.difference, h_v - l_v))
            causes |= 1u << i;
    }
    return causes;
}
