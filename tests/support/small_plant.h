/* SPDX-License-Identifier: MIT
 *
 * A small bench for tests: four points, three units with messages of every kind, our adapter. Invented.
 */
#ifndef LOOMWATCH_TEST_SMALL_PLANT_H
#define LOOMWATCH_TEST_SMALL_PLANT_H

#include "loomwatch/bench/plant.h"

enum { SMALL_PUMP, SMALL_PUMP_LIGHT, SMALL_SENSOR, SMALL_ADAPTER, SMALL_N_UNITS };
enum { SMALL_CYCLIC, SMALL_BOTH, SMALL_EVENT, SMALL_BOOT, SMALL_LONG, SMALL_N_MESSAGES };

static const struct lw_plant small_plant = {
    .name = "small", .title = "a bench for tests", .bit_rate_bps = 500000, .supply_mv = 12000, .mohm_per_m = 70,
    .ps_per_mm = 5, .pf_per_m = 40, .pf_per_unit = 50, .n_points = 4, .n_terminators = 1, .n_units = SMALL_N_UNITS,
    .n_messages = SMALL_N_MESSAGES,
    .points = { { "front end", 2000 }, { "pump", 3000 }, { "", 4000 }, { "rear end", 0 } },
    .terminators = { { .point = 0, .ohm = 120 } },
    .units = {
        { .name = "pump control", .point = 0, .is_plugged = true, .boot_ms = 50, .crystal_ppm = 40 },
        { .name = "pump light", .point = 1, .is_plugged = true, .boot_ms = 20, .crystal_ppm = -30 },
        { .name = "hopper load sensor", .point = 2, .stub_mm = 300, .boot_ms = 150, .crystal_ppm = -55 },
        { .name = "our adapter", .point = 3, .is_plugged = true, .own_ohm = 120, .is_adapter = true },
    },
    .messages = {
        { .name = "speed", .unit = SMALL_PUMP, .id = 0x120, .len = 8, .period_ms = 10, .jitter_us = 250,
          .constant = { 1, 2, 3, 4, 5, 6, 7, 8 },
          .patterns = { { LW_PATTERN_DRIFT, .byte = 0, .swing = 1000, .every_ms = 4000 },
                        { LW_PATTERN_COUNTER, .byte = 6, .mask = 0x0F }, { LW_PATTERN_CHECKSUM, .byte = 7 } } },
        { .name = "lights", .unit = SMALL_PUMP_LIGHT, .id = 0x210, .len = 3, .period_ms = 50, .event_ms = 400,
          .patterns = { { LW_PATTERN_TOGGLE, .byte = 0, .mask = 0x81, .every_ms = 500 },
                        { LW_PATTERN_PRESENCE, .byte = 1, .mask = 0x10, .unit = SMALL_SENSOR } } },
        { .name = "alarm", .unit = SMALL_PUMP, .id = 0x540, .len = 2, .event_ms = 900,
          .patterns = { { LW_PATTERN_COUNTER, .byte = 1, .mask = 0xFF } } },
        { .name = "sensor started", .unit = SMALL_SENSOR, .id = 0x6D0, .len = 1, .is_boot = true },
        { .name = "load", .unit = SMALL_SENSOR, .id = 0x10A20310, .flags = LW_FRAME_EXTENDED, .len = 4, .period_ms = 100,
          .patterns = { { LW_PATTERN_DRIFT, .byte = 0, .mask = 0x3F, .swing = 63, .every_ms = 1000 } } },
    },
};

#endif
