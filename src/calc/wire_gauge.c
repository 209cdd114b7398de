/* SPDX-License-Identifier: MIT
 *
 * Copper wire.
 */
#include "wire_gauge.h"

#include <math.h>

double lw_awg_mm2(double gauge)
{
    double diameter_mm = 0.127 * pow(92, (36 - gauge) / 39);
    return acos(-1) / 4 * diameter_mm * diameter_mm;
}

double lw_copper_ohm_per_m(double mm2)
{
    return 1.0 / 58 / mm2;
}
