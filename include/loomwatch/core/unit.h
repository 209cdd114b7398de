/* SPDX-License-Identifier: MIT
 *
 * The units that people write behind a number, and what they are worth. The one table of them: faults of the bench and
 * calculators read by it.
 */
#ifndef LOOMWATCH_CORE_UNIT_H
#define LOOMWATCH_CORE_UNIT_H

#include <stdbool.h>

/* What one `word` is in `base`: "cm" in "mm" gives 10, "k" in "bit/s" 1000. Returns false, and leaves *factor, where one
 * of them is no unit or they measure different things. */
bool lw_unit_factor(const char *word, const char *base, double *factor);

/* What a unit measures, in the plural: "volts" for "mV". A word of two meanings ("k") has the first of the table. NULL: no unit. */
const char *lw_unit_measures(const char *word);

#endif
