/* SPDX-License-Identifier: MIT
 *
 * The table of units.
 */
#include "loomwatch/core/unit.h"

#include <stddef.h>
#include <string.h>

static const struct lw_unit {
    const char *word, *measures;
    double factor;
} units[] = {
    { "ohm", "ohms", 1 }, { "ohms", "ohms", 1 }, { "Ohm", "ohms", 1 }, { "Ω", "ohms", 1 }, { "\u2126", "ohms", 1 }, { "R", "ohms", 1 },
    { "mohm", "ohms", 1e-3 }, { "mΩ", "ohms", 1e-3 }, { "kohm", "ohms", 1e3 }, { "kΩ", "ohms", 1e3 }, { "k\u2126", "ohms", 1e3 },
    { "Mohm", "ohms", 1e6 }, { "MΩ", "ohms", 1e6 }, { "M\u2126", "ohms", 1e6 },
    { "V", "volts", 1 }, { "v", "volts", 1 }, { "volt", "volts", 1 }, { "volts", "volts", 1 }, { "mV", "volts", 1e-3 },
    { "A", "amperes", 1 }, { "mA", "amperes", 1e-3 },
    { "mm", "metres", 1e-3 }, { "cm", "metres", 1e-2 }, { "m", "metres", 1 }, { "km", "metres", 1e3 },
    { "mm2", "square millimetres", 1 }, { "mm²", "square millimetres", 1 }, { "qmm", "square millimetres", 1 },
    { "bit/s", "bits a second", 1 }, { "k", "bits a second", 1e3 }, { "kbit/s", "bits a second", 1e3 },
    { "M", "bits a second", 1e6 }, { "Mbit/s", "bits a second", 1e6 },
    { "k", "ohms", 1e3 }, { "M", "ohms", 1e6 },
    { "ps", "nanoseconds", 1e-3 }, { "ns", "nanoseconds", 1 }, { "us", "nanoseconds", 1e3 }, { "µs", "nanoseconds", 1e3 },
    { "μs", "nanoseconds", 1e3 }, { "ms", "nanoseconds", 1e6 }, { "s", "nanoseconds", 1e9 },
    { "Hz", "hertz", 1 }, { "kHz", "hertz", 1e3 }, { "MHz", "hertz", 1e6 }, { "M", "hertz", 1e6 },
    { "ppm", "parts", 1e-6 }, { "permille", "parts", 1e-3 }, { "‰", "parts", 1e-3 }, { "%", "parts", 1e-2 },
    { "quanta", "quanta", 1 }, { "tq", "quanta", 1 }, { "bits", "bits", 1 }, { "/s", "times a second", 1 },
    { "per second", "times a second", 1 }, { "degC", "degrees", 1 }, { "°C", "degrees", 1 },
};

static const struct lw_unit *find(const char *word, const char *measures)
{
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (strcmp(word, units[i].word) == 0 && (!measures || strcmp(measures, units[i].measures) == 0))
            return &units[i];
    return NULL;
}

bool lw_unit_factor(const char *word, const char *base, double *factor)
{
    const struct lw_unit *to = find(base, NULL);
    const struct lw_unit *from = to ? find(word, to->measures) : NULL;
    if (!from)
        return false;
    *factor = from->factor / to->factor;
    return true;
}

const char *lw_unit_measures(const char *word)
{
    const struct lw_unit *unit = find(word, NULL);
    return unit ? unit->measures : NULL;
}
