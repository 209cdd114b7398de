/* SPDX-License-Identifier: MIT
 *
 * Copper wire: cross-section by gauge, resistance by cross-section and length. For this layer only.
 */
#ifndef LOOMWATCH_SRC_CALC_WIRE_GAUGE_H
#define LOOMWATCH_SRC_CALC_WIRE_GAUGE_H

/* American wire gauge to mm2. Source: ASTM B258: gauge 36 is 0.005 inch in diameter, gauge 0000 0.46 inch, and the 39 steps
 * between them have equal ratios. */
double lw_awg_mm2(double gauge);

/* Ohms a metre of one copper wire at 20 degrees. Source: IEC 60028, annealed copper: 1/58 ohm mm2/m. */
double lw_copper_ohm_per_m(double mm2);

#endif
