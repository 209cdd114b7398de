/* SPDX-License-Identifier: MIT
 *
 * The Harrow 40, an invented street sweeper: the body bus of its sweeping equipment as tables. Identifiers, names and
 * numbers are made up for this bench and belong to no real machine. Read through bench_machine.h only.
 */
#include "bench_machine.h"

enum unit {
    SWEEP, HOPPER, PUMP, PANEL, LIGHTING, GATEWAY,      /* the six that are always there */
    LOAD_SENSOR,                                        /* the one the fitter adds */
    SECOND_PANEL,                                       /* the one that should not be there */
};

static const struct lw_bench_unit units[] = {
    [SWEEP] = { "sweep control", 12, 60, true },
    [HOPPER] = { "hopper control", -31, 45, true },
    [PUMP] = { "water pump unit", 48, 90, true },
    [PANEL] = { "operator panel", -8, 120, true },
    [LIGHTING] = { "lighting", 75, 35, true },
    [GATEWAY] = { "body gateway", 3, 20, true },
    [LOAD_SENSOR] = { "hopper load sensor", -55, 150, false },
    [SECOND_PANEL] = { "second operator panel", 21, 120, false },
};

#define COUNTER(at, bits) { LW_BENCH_COUNTER, .byte = (at), .mask = (bits) }
#define DRIFT(at, bits, by, ms) { LW_BENCH_DRIFT, .byte = (at), .mask = (bits), .swing = (by), .every_ms = (ms) }
#define TOGGLE(at, bits, ms) { LW_BENCH_TOGGLE, .byte = (at), .mask = (bits), .every_ms = (ms) }
#define PRESENCE(at, bits, of) { LW_BENCH_PRESENCE, .byte = (at), .mask = (bits), .unit = (of) }
#define CHECKSUM(at) { LW_BENCH_CHECKSUM, .byte = (at) }

/* name, unit, 29 bits?, boot?, identifier, length, period ms, jitter us, event ms, constant data, patterns */
static const struct lw_bench_message messages[] = {
    { "brush speed", SWEEP, false, false, 0x0A0, 8, 10, 250, 0, { 0, 0, 0x03, 0xE8, 0x10 },
      { DRIFT(0, 0, 620, 9000), COUNTER(6, 0x0F), CHECKSUM(7) } },
    { "brush pressure", SWEEP, false, false, 0x0A4, 8, 10, 250, 0, { 0, 0, 0, 0, 0x22, 0x41 },
      { DRIFT(0, 0, 380, 4100), DRIFT(2, 0, 300, 5300), COUNTER(6, 0xFF), CHECKSUM(7) } },
    { "brush arm", SWEEP, false, false, 0x120, 6, 20, 400, 0, { 0x5A, 0, 0, 0x80 },
      { DRIFT(1, 0xFF, 90, 15000), COUNTER(4, 0x0F), CHECKSUM(5) } },
    { "suction fan", SWEEP, false, false, 0x1C0, 8, 20, 400, 0, { 0x0B, 0xB8, 0, 0, 0x7F, 0xFF },
      { DRIFT(2, 0, 2100, 12000), COUNTER(6, 0xF) } },
    { "sweep status", SWEEP, false, false, 0x2E0, 4, 100, 1000, 0, { 0x40, 0x01, 0x00, 0x11 },
      { TOGGLE(0, 0x01, 7000) } },

    { "hopper lift", HOPPER, false, false, 0x0B0, 8, 10, 300, 0, { 0, 0, 0x01, 0xF4, 0x00, 0x55 },
      { DRIFT(0, 0, 900, 20000), COUNTER(6, 0x0F), CHECKSUM(7) } },
    { "hopper hydraulics", HOPPER, false, false, 0x128, 8, 20, 500, 0, { 0, 0, 0x3C, 0x00, 0x64 },
      { DRIFT(0, 0, 1800, 6500), DRIFT(5, 0xFF, 60, 45000), COUNTER(7, 0xFF) } },
    { "hopper door", HOPPER, false, false, 0x1C8, 4, 50, 700, 0, { 0x02, 0x00, 0x00, 0x00 },
      { TOGGLE(0, 0x10, 11000), COUNTER(3, 0x0F) } },
    { "hopper status", HOPPER, false, false, 0x2E8, 5, 100, 1000, 0, { 0x20, 0x00, 0x00, 0x07 },
      { PRESENCE(1, 0x01, LOAD_SENSOR), DRIFT(2, 0xFF, 40, 60000) } },
    { "hopper fault", HOPPER, false, false, 0x540, 8, 0, 0, 9000, { 0x01, 0x0C, 0x00, 0x2F }, { COUNTER(7, 0xFF) } },

    { "pump drive", PUMP, false, false, 0x0C8, 6, 10, 200, 0, { 0, 0, 0x0A, 0x00 },
      { DRIFT(0, 0, 450, 3700), COUNTER(4, 0x0F), CHECKSUM(5) } },
    { "water flow", PUMP, false, false, 0x130, 8, 20, 400, 0, { 0x00, 0x96, 0, 0, 0x00, 0x1E },
      { DRIFT(2, 0, 140, 8200), COUNTER(7, 0xFF) } },
    { "nozzle pressures", PUMP, false, false, 0x1D0, 8, 50, 700, 0, { 0x2A, 0x2B, 0x2A, 0x29, 0x2C, 0x2A, 0x00, 0x00 },
      { DRIFT(0, 0x07, 7, 2600), DRIFT(3, 0x07, 7, 3100), COUNTER(7, 0x0F) } },
    { "water tank", PUMP, false, false, 0x2F0, 3, 200, 1500, 0, { 0xB4, 0x00, 0x01 }, { DRIFT(1, 0xFF, 30, 120000) } },
    { "low water", PUMP, false, false, 0x548, 2, 0, 0, 14000, { 0x01, 0x00 }, { COUNTER(1, 0xFF) } },

    { "joystick", PANEL, false, false, 0x090, 8, 10, 350, 0, { 0x7F, 0xFF, 0, 0, 0x00, 0x08 },
      { DRIFT(2, 0, 1000, 5100), COUNTER(6, 0x0F), CHECKSUM(7) } },
    { "levers", PANEL, false, false, 0x138, 6, 20, 500, 0, { 0x32, 0x32, 0x00, 0x00, 0x00, 0x00 },
      { DRIFT(2, 0xFF, 100, 7300), COUNTER(4, 0x0F), CHECKSUM(5) } },
    { "keys", PANEL, false, false, 0x200, 4, 100, 900, 350, { 0x00, 0x00, 0x00, 0x0F },
      { TOGGLE(0, 0x04, 1300), TOGGLE(1, 0x20, 2900) } },
    { "display request", PANEL, false, false, 0x300, 8, 250, 2000, 0, { 0x01, 0x00, 0x20, 0x20, 0x34, 0x30 },
      { COUNTER(7, 0xFF) } },
    { "driver acknowledged", PANEL, false, false, 0x550, 2, 0, 0, 6000, { 0x0A, 0x00 }, { COUNTER(1, 0xFF) } },

    { "lamp currents", LIGHTING, false, false, 0x210, 8, 50, 800, 0, { 0x31, 0x30, 0x00, 0x00, 0x18, 0x18, 0x00, 0x00 },
      { DRIFT(0, 0x03, 3, 1700), DRIFT(4, 0x03, 3, 2300), COUNTER(7, 0x0F) } },
    { "beacon", LIGHTING, false, false, 0x218, 3, 50, 800, 0, { 0x80, 0x00, 0x05 }, { TOGGLE(0, 0x01, 500) } },
    { "lamp state", LIGHTING, false, false, 0x308, 4, 200, 1500, 0, { 0x15, 0x00, 0x00, 0x40 }, { TOGGLE(1, 0x80, 19000) } },
    { "lighting status", LIGHTING, false, false, 0x3F0, 8, 1000, 4000, 0, { 0x04, 0x01, 0x00, 0x00, 0x00, 0x1B, 0x58 },
      { COUNTER(7, 0xFF) } },

    { "chassis speed", GATEWAY, false, false, 0x088, 8, 10, 150, 0, { 0, 0, 0x00, 0x00, 0xFF, 0xFF },
      { DRIFT(0, 0, 1250, 25000), COUNTER(6, 0x0F), CHECKSUM(7) } },
    { "engine speed", GATEWAY, false, false, 0x140, 8, 20, 200, 0, { 0, 0, 0x4B, 0x50, 0x00, 0x00, 0xFF },
      { DRIFT(0, 0, 1400, 17000), COUNTER(7, 0x0F) } },
    { "steering", GATEWAY, false, false, 0x1D8, 5, 50, 400, 0, { 0, 0, 0x01 },
      { DRIFT(0, 0, 720, 13000), COUNTER(4, 0x0F) } },
    { "brakes", GATEWAY, false, false, 0x1E0, 4, 50, 400, 0, { 0x00, 0x10, 0x00, 0x00 },
      { TOGGLE(0, 0x02, 4700), COUNTER(3, 0xFF) } },
    { "equipment present", GATEWAY, false, false, 0x310, 8, 100, 500, 0, { 0x00, 0x00, 0x28, 0x00, 0x00, 0x00, 0x00, 0x01 },
      { PRESENCE(0, 0x02, HOPPER), PRESENCE(0, 0x04, PUMP), PRESENCE(0, 0x80, LOAD_SENSOR), COUNTER(1, 0x0F) } },
    { "clock", GATEWAY, false, false, 0x400, 8, 1000, 3000, 0, { 0x18, 0x05, 0x0B, 0x09, 0x00, 0x00, 0x00, 0x00 },
      { DRIFT(4, 0, 0xFFFF, 131070000) } },
    { "operating hours", GATEWAY, true, false, 0x10A20310, 8, 1000, 3000, 0, { 0x00, 0x00, 0x2C, 0x4F, 0x00, 0x09 },
      { COUNTER(7, 0xFF) } },
    { "distance swept", GATEWAY, true, false, 0x10A20420, 8, 500, 2000, 0, { 0x00, 0x01, 0x86, 0x00 },
      { DRIFT(3, 0, 4000, 600000), COUNTER(7, 0x0F) } },

    { "load sensor started", LOAD_SENSOR, false, true, 0x6D0, 8, 0, 0, 0,
      { 0x4C, 0x34, 0x30, 0x01, 0x02, 0x00, 0x00, 0x01 }, { { LW_BENCH_STILL } } },
    { "hopper load", LOAD_SENSOR, false, false, 0x2D0, 6, 100, 800, 0, { 0, 0, 0x00, 0x00, 0x00, 0x00 },
      { DRIFT(0, 0, 3200, 40000), COUNTER(4, 0x0F), CHECKSUM(5) } },
    { "load sensor status", LOAD_SENSOR, false, false, 0x3D0, 4, 500, 2000, 0, { 0x01, 0x18, 0x00, 0x00 },
      { COUNTER(3, 0xFF) } },

    { "levers, second panel", SECOND_PANEL, false, false, 0x138, 6, 20, 500, 0, { 0x00, 0x00, 0x64, 0x00, 0x00, 0x00 },
      { COUNTER(4, 0x0F), CHECKSUM(5) } },
};

static const struct lw_source_action actions[] = {
    { "plug-sensor", "plug the hopper load sensor in" },
    { "unplug-sensor", "unplug the hopper load sensor" },
    { "hopper-off", "take the hopper control off the bus" },
    { "hopper-on", "put the hopper control back" },
    { "error-burst", "disturb the bus for a third of a second" },
    { "bus-off", "short the bus until our adapter goes bus off" },
    { "no-acknowledge", "leave our adapter without acknowledge for 2 s" },
    { "overrun", "let our adapter lose frames" },
    { "second-sender", "plug in, or take off, a second operator panel" },
};

static const struct lw_bench_deed_row deeds[] = {
    { LW_BENCH_PLUG, LOAD_SENSOR }, { LW_BENCH_UNPLUG, LOAD_SENSOR },
    { LW_BENCH_UNPLUG, HOPPER },    { LW_BENCH_PLUG, HOPPER },
    { LW_BENCH_ERROR_BURST, 0 },    { LW_BENCH_BUS_OFF, 0 },
    { LW_BENCH_NO_ACKNOWLEDGE, 0 }, { LW_BENCH_OVERRUN, 0 },
    { LW_BENCH_SWAP, SECOND_PANEL },
};

_Static_assert(sizeof actions / sizeof *actions == sizeof deeds / sizeof *deeds, "each action has its deed");

const struct lw_bench_machine lw_bench_harrow40 = {
    .name = "harrow40", .title = "body bus of the invented street sweeper Harrow 40",
    .bit_rate_bps = 500000, .sample_point_permille = 875, .restart_ms = 3000,
    .units = units, .n_units = sizeof units / sizeof *units,
    .messages = messages, .n_messages = sizeof messages / sizeof *messages,
    .actions = actions, .deeds = deeds, .n_actions = sizeof actions / sizeof *actions,
    .joining_unit = LOAD_SENSOR, .join_ms = 8000,
};
