/* SPDX-License-Identifier: MIT
 *
 * A meter reading that a person types, as evidence: which of three measurements, its value, and into which of a few ranges it
 * falls. The ranges are those that separate causes; what a reading means in full is the business of the meter page.
 */
#ifndef LOOMWATCH_CORE_READING_H
#define LOOMWATCH_CORE_READING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum lw_measurement {
    LW_MEASURE_OHM,        /* between H and L, the supply off */
    LW_MEASURE_VOLT_H,     /* H to ground, average on the live bus */
    LW_MEASURE_VOLT_L,
    LW_N_MEASUREMENTS,
};

enum { LW_READING_NORMAL = 2 };   /* the range of a bus as it should be, of every measurement */

enum { LW_READING_RANGES = 5, LW_MAX_READINGS = 16, LW_READING_TEXT = 48 };

struct lw_range {
    double below;          /* the range reaches from the one before to here */
    const char *words;     /* how a person would read it off: "about 60" */
};

struct lw_measurement_info {
    const char *name;      /* "ohms between H and L, supply off" */
    const char *unit;      /* "ohm", "V" */
    const char *how;       /* what to do to get it, cautions first */
    double max;
    struct lw_range ranges[LW_READING_RANGES];   /* ascending; the last has below = infinity */
    const char *source;
};

extern const struct lw_measurement_info lw_measurements[LW_N_MEASUREMENTS];

struct lw_meter_reading {
    uint8_t kind;          /* enum lw_measurement */
    double value;          /* ohm or volt; infinity: the meter shows an open circuit */
    uint64_t t_ns;         /* bus time when it was entered */
};

/* Reads "120 ohm", "120", "open", "H 3.9 V", "L 2.1". Returns 0, or -EINVAL after putting what is wrong and what to write into
 * message (LW_READING_MESSAGE bytes). t_ns is left alone. */
enum { LW_READING_MESSAGE = 160 };
int lw_reading_parse(const char *text, struct lw_meter_reading *out, char message[LW_READING_MESSAGE]);

/* Into which range of its measurement a reading falls. */
unsigned lw_reading_range(const struct lw_meter_reading *reading);

/* "120 ohm", "H 3.9 V". Returns buf. */
char *lw_reading_words(const struct lw_meter_reading *reading, char buf[LW_READING_TEXT]);

#endif
