/* SPDX-License-Identifier: MIT
 *
 * The table of causes: a row each. To add one: a value in enum lw_cause, a row here, a case in tests/diagnosis. Signs come from
 * the rules of ISO 11898-1, from cases reported with their cause on the kernel's CAN mailing list, and from the built-in bench.
 */
#include "loomwatch/core/verdict.h"

#define IN(picture) (UINT32_C(1) << LW_PICTURE_##picture)
#define ALWAYS(fact) { LW_FACT_##fact, LW_ALWAYS }
#define MOSTLY(fact) { LW_FACT_##fact, LW_MOSTLY }
#define HALF(fact) { LW_FACT_##fact, LW_HALF }
#define SELDOM(fact) { LW_FACT_##fact, LW_SELDOM }
#define NEVER(fact) { LW_FACT_##fact, LW_NEVER }

/* Outcomes to be expected, a bit each: readings in the ranges of reading.c, the others in the order of verdict_checks.c. */
enum { OHM_0 = 1, OHM_LOW = 2, OHM_60 = 4, OHM_120 = 8, OHM_OPEN = 16, OHM_NORMAL = OHM_60 };
enum { H_GROUND = 1, H_LOW = 2, H_OK = 4, H_HIGH = 8, H_SUPPLY = 16 };
enum { L_GROUND = 1, L_LOW = 2, L_OK = 4, L_HIGH = 8, L_SUPPLY = 16 };
enum { HEALS = 1, STAYS = 2 };

#define METER(ohms, h, l) [LW_CHECK_OHM] = (ohms), [LW_CHECK_VOLT_H] = (h), [LW_CHECK_VOLT_L] = (l)
#define UNPLUG(how) [LW_CHECK_UNPLUG] = (how)
#define WAKE(how) [LW_CHECK_WAKE] = (how)
#define WIGGLE(how) [LW_CHECK_WIGGLE] = (how)
#define RATE(how) [LW_CHECK_RATE] = (how)

static const char rules[] = "ISO 11898-1, fault confinement";
static const char reported[] = "reported with its cause on the kernel's CAN mailing list";
static const char bench[] = "the built-in bench; no reported case known";
static const char practice[] = "common practice, no source";
static const char uapi[] = "linux/can/error.h, linux/can/netlink.h";

const struct lw_cause_info lw_causes[LW_N_CAUSES] = {
    [LW_CAUSE_NONE_OF_THESE] = { "none-of-these", "something that is not in our list", "go back to the last state that worked",
        .pictures = ~UINT32_C(0), .weight = 1, .source = practice },

    [LW_CAUSE_WELL] = { "well", "nothing is wrong", "nothing", .pictures = IN(WELL) | IN(UNTOLD) | IN(WAITING), .weight = 8,
        .source = rules },
    [LW_CAUSE_PAST] = { "past", "a disturbance that healed: a bus waking up, a plug put in, a unit restarting",
        "nothing, unless it comes again", .pictures = IN(HEALED) | IN(RETURNED), .weight = 8, .source = rules },
    [LW_CAUSE_ADAPTER_GONE] = { "adapter-gone", "the adapter was unplugged or lost its supply", "plug it in again; watching goes on by itself",
        .pictures = IN(GONE), .weight = 8, .proof = { ALWAYS(GONE) }, .source = uapi },
    [LW_CAUSE_INTERFACE_DOWN] = { "interface-down", "this computer's interface is set down", "set the interface up; watching goes on by itself",
        .pictures = IN(DOWN), .weight = 8, .proof = { ALWAYS(DOWN) }, .source = uapi },
    [LW_CAUSE_ADAPTER_LIES] = { "adapter-lies", "its own software mixes up error reports",
        "do not trust its errors; use another adapter or newer software", .pictures = IN(CONTRADICTORY), .weight = 8,
        .source = reported },
    [LW_CAUSE_CANNOT_TELL] = { "cannot-tell", "this adapter tells neither errors nor counters",
        "measure ohms between H and L with the supply off, or use an adapter that reports errors", .pictures = IN(UNTOLD), .weight = 4,
        .source = uapi },
    [LW_CAUSE_HOST_LATE] = { "host-late", "computer or adapter is too slow for the traffic",
        "close other programs, use another port", .pictures = IN(SKIPPING) | IN(LATE_HOST), .weight = 8,
        .signs = { ALWAYS(LOSSES), NEVER(ERRORS), NEVER(RECEIVE_TROUBLE), NEVER(SEND_TROUBLE) },
        .proof = { ALWAYS(LOSSES), NEVER(ERRORS), NEVER(NO_ACKNOWLEDGE), NEVER(BUS_OFF) }, .source = reported },

    [LW_CAUSE_ALONE] = { "alone", "no other unit is powered, awake or connected", "power and wake the other units",
        .pictures = IN(UNACKNOWLEDGED) | IN(REPEATING), .weight = 6,
        .signs = { SELDOM(ERRORS), NEVER(BEYOND_128), SELDOM(OTHERS_NOW), SELDOM(AFTER_CHANGE) },
        .outcomes = { METER(OHM_60 | OHM_120, H_OK, L_OK), UNPLUG(STAYS), WAKE(HEALS), RATE(STAYS) }, .source = reported },
    [LW_CAUSE_OTHERS_LISTEN] = { "others-listen", "the others only listen and acknowledge nothing",
        "is a unit set to listen only?", .pictures = IN(NOTHING) | IN(SILENT) | IN(MUTE) | IN(UNACKNOWLEDGED) | IN(REPEATING), .weight = 2,
        .signs = { SELDOM(ERRORS), NEVER(BEYOND_128), SELDOM(OUT_OF_THE_BLUE) },
        .outcomes = { METER(OHM_60, H_OK, L_OK), UNPLUG(STAYS), WAKE(STAYS), RATE(STAYS) }, .source = reported },
    [LW_CAUSE_ASLEEP] = { "asleep", "the machine is asleep or switched off", "switch it on, press a button, open a door",
        .pictures = IN(SILENT) | IN(NOTHING), .weight = 8,
        .signs = { NEVER(ERRORS), SELDOM(RECEIVE_TROUBLE), SELDOM(TROUBLE) },
        .outcomes = { METER(OHM_60, H_OK | H_GROUND | H_LOW, L_OK | L_GROUND | L_LOW), UNPLUG(STAYS), WAKE(HEALS), RATE(STAYS) }, .source = practice },

    [LW_CAUSE_OWN_RATE] = { "own-rate", "this adapter has the wrong bit rate", "listen at 125, 250, 500 kbit/s",
        .pictures = IN(NO_GOOD_FRAME) | IN(UNACKNOWLEDGED) | IN(BUS_OFF) | IN(NOTHING) | IN(SILENT), .weight = 4,
        .signs = { MOSTLY(FROM_START), NEVER(OUT_OF_THE_BLUE), SELDOM(OFF_AT_ONCE) },
        .outcomes = { METER(OHM_60, H_OK, L_OK), UNPLUG(STAYS), WAKE(STAYS), RATE(HEALS) }, .source = reported },
    [LW_CAUSE_OTHER_RATE] = { "other-rate", "one unit has another bit rate than the rest", "look at the newest unit's bit rate",
        .pictures = IN(RETURNED) | IN(SKIPPING) | IN(HEALED) | IN(MUTE) | IN(NO_GOOD_FRAME) | IN(SPOILT) | IN(UNACKNOWLEDGED) | IN(QUIET) | IN(BUS_OFF) | IN(SILENT) | IN(FULL) | IN(COMES_AND_GOES), .weight = 3,
        .signs = { NEVER(NEWCOMER), MOSTLY(MUTE), MOSTLY(AFTER_CHANGE), SELDOM(STUFF_ERRORS), MOSTLY(FORM_ERRORS), MOSTLY(MANY_ERRORS), NEVER(VICTIM_IN_DATA) },
        .outcomes = { METER(OHM_60, H_OK, L_OK), UNPLUG(HEALS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) }, .source = reported },
    [LW_CAUSE_TIMING] = { "timing", "one unit's bit timing or crystal does not suit this bus", "compare bit timings",
        .pictures = IN(SKIPPING) | IN(HEALED) | IN(MUTE) | IN(NO_GOOD_FRAME) | IN(SPOILT) | IN(UNACKNOWLEDGED) | IN(BUS_OFF) | IN(QUIET) | IN(COMES_AND_GOES) | IN(SILENT) | IN(FULL) | IN(RETURNED), .weight = 3,
        .signs = { HALF(MUTE), MOSTLY(SCATTERED), NEVER(VICTIM_IN_DATA), MOSTLY(OTHERS_NOW), HALF(AFTER_CHANGE), SELDOM(OUT_OF_THE_BLUE) },
        .outcomes = { METER(OHM_60, H_OK, L_OK), UNPLUG(HEALS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) }, .source = reported },
    [LW_CAUSE_SWAPPED] = { "swapped", "H and L are swapped at one unit", "compare wire colours at the new connector",
        .pictures = IN(HEALED) | IN(RETURNED) | IN(SKIPPING) | IN(ODD_READING) | IN(MUTE) | IN(NO_GOOD_FRAME) | IN(SPOILT) | IN(UNACKNOWLEDGED) | IN(BUS_OFF) | IN(REPEATING) | IN(QUIET) | IN(SILENT) | IN(FULL) | IN(NOTHING) | IN(COMES_AND_GOES), .weight = 3,
        .signs = { NEVER(NEWCOMER), MOSTLY(MUTE), MOSTLY(AFTER_CHANGE), MOSTLY(STUFF_ERRORS), SELDOM(FORM_ERRORS), NEVER(VICTIM_IN_DATA), SELDOM(OUT_OF_THE_BLUE) },
        .outcomes = { METER(OHM_60, H_LOW | H_OK, L_OK | L_HIGH), UNPLUG(HEALS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) }, .source = reported },

    [LW_CAUSE_WIRE_OPEN] = { "wire-open", "a wire is broken or a contact open", "supply off, ohms along each wire in turn",
        .pictures = IN(WIRE_TOLD) | IN(SKIPPING) | IN(HEALED) | IN(ODD_READING) | IN(MUTE) | IN(NO_GOOD_FRAME) | IN(SPOILT) | IN(UNACKNOWLEDGED) | IN(BUS_OFF) | IN(QUIET) | IN(SILENT) | IN(NOTHING) | IN(REPEATING) | IN(COMES_AND_GOES) | IN(RETURNED), .weight = 5,
        .signs = { ALWAYS(OPEN_TOLD), MOSTLY(MUTE), NEVER(VICTIM_IN_DATA), NEVER(FULL) },
        .outcomes = { METER(OHM_120 | OHM_OPEN, H_OK | H_LOW, L_OK | L_HIGH), UNPLUG(STAYS), WAKE(STAYS), WIGGLE(HEALS | STAYS), RATE(STAYS) }, .source = practice },
    [LW_CAUSE_SHORT] = { "short", "H and L touch somewhere", "supply off, unplug parts until the ohms rise",
        .pictures = IN(WIRE_TOLD) | IN(ODD_READING) | IN(MUTE) | IN(NO_GOOD_FRAME) | IN(BUS_OFF) | IN(SILENT) | IN(NOTHING) | IN(SPOILT) | IN(UNACKNOWLEDGED) | IN(QUIET), .weight = 4,
        .signs = { ALWAYS(SHORT_TOLD), NEVER(OTHERS_NOW), ALWAYS(OFF_AT_ONCE), MOSTLY(BIT_ERRORS), NEVER(NO_ACKNOWLEDGE), NEVER(STUCK_AT_128) },
        .outcomes = { METER(OHM_0 | OHM_LOW, H_OK, L_OK), UNPLUG(HEALS | STAYS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) }, .source = reported },
    [LW_CAUSE_TO_RAIL] = { "to-rail", "a wire touches the supply or ground", "volts of H and of L to ground",
        .pictures = IN(WIRE_TOLD) | IN(ODD_READING) | IN(MUTE) | IN(NO_GOOD_FRAME) | IN(BUS_OFF) | IN(SILENT) | IN(NOTHING) | IN(SPOILT) | IN(UNACKNOWLEDGED) | IN(QUIET) | IN(FULL) | IN(COMES_AND_GOES), .weight = 3,
        .signs = { ALWAYS(RAIL_TOLD), SELDOM(OTHERS_NOW), MOSTLY(OFF_AT_ONCE), MOSTLY(BIT_ERRORS), NEVER(STUCK_AT_128) },
        .outcomes = { METER(OHM_60, H_GROUND | H_HIGH | H_SUPPLY, L_GROUND | L_HIGH | L_SUPPLY), UNPLUG(HEALS | STAYS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) },
        .source = "published short-circuit tables of vehicle makers; transceiver makers' answers" },
    [LW_CAUSE_TRANSCEIVER] = { "transceiver", "a transceiver is in standby or without supply", "check supply and standby",
        .pictures = IN(MUTE) | IN(BUS_OFF) | IN(SILENT) | IN(NOTHING) | IN(QUIET) | IN(UNACKNOWLEDGED) | IN(NO_GOOD_FRAME) | IN(SPOILT) | IN(REPEATING) | IN(COMES_AND_GOES) | IN(RETURNED), .weight = 3,
        .signs = { MOSTLY(MUTE), MOSTLY(OFF_AT_ONCE), NEVER(VICTIM_IN_DATA), NEVER(FULL) },
        .outcomes = { METER(OHM_60, H_OK, L_OK), UNPLUG(STAYS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) }, .source = reported },

    [LW_CAUSE_TERMINATOR_MISSING] = { "terminator-missing", "a terminator is missing", "supply off, ohms from H to L: 60 is right",
        .pictures = IN(SKIPPING) | IN(HEALED) | IN(ODD_READING) | IN(NO_GOOD_FRAME) | IN(SPOILT) | IN(UNACKNOWLEDGED) | IN(BUS_OFF) | IN(QUIET) | IN(COMES_AND_GOES) | IN(SILENT) | IN(NOTHING), .weight = 2,
        .signs = { SELDOM(MUTE), MOSTLY(SCATTERED), SELDOM(ONE_VICTIM) },
        .outcomes = { METER(OHM_120 | OHM_OPEN, H_OK, L_OK), UNPLUG(STAYS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) }, .source = bench },
    [LW_CAUSE_TERMINATOR_EXTRA] = { "terminator-extra", "there is one terminator too many", "supply off, ohms from H to L: 40 is one more",
        .pictures = IN(ODD_READING) | IN(NO_GOOD_FRAME) | IN(SPOILT) | IN(UNACKNOWLEDGED), .weight = 1,
        .signs = { SELDOM(MUTE), SELDOM(ONE_VICTIM), MOSTLY(AFTER_CHANGE) },
        .outcomes = { METER(OHM_LOW, H_OK, L_OK), UNPLUG(HEALS | STAYS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) }, .source = practice },
    [LW_CAUSE_LONG_STUB] = { "long-stub", "a stub is too long for this bit rate", "shorten the branch to the last unit plugged in",
        .pictures = IN(SKIPPING) | IN(HEALED) | IN(MUTE) | IN(SPOILT) | IN(NO_GOOD_FRAME), .weight = 1,
        .signs = { SELDOM(MUTE), MOSTLY(AFTER_CHANGE), SELDOM(OUT_OF_THE_BLUE), MOSTLY(SCATTERED), NEVER(COMES_AND_GOES) },
        .outcomes = { METER(OHM_60, H_OK, L_OK), UNPLUG(HEALS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) }, .source = bench },

    [LW_CAUSE_DUPLICATE] = { "duplicate", "two units send the same message", "unplug the newcomer: does that cure it?",
        .pictures = IN(SKIPPING) | IN(DOUBLED) | IN(SPOILT) | IN(BUS_OFF) | IN(FULL) | IN(NO_GOOD_FRAME) | IN(COMES_AND_GOES) | IN(QUIET) | IN(RETURNED), .weight = 2,
        .signs = { MOSTLY(DOUBLED), MOSTLY(ONE_VICTIM), ALWAYS(VICTIM_IN_DATA), SELDOM(OFF_AT_ONCE), ALWAYS(OTHERS_NOW), SELDOM(SCATTERED) },
        .outcomes = { METER(OHM_60, H_OK, L_OK), UNPLUG(HEALS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) }, .source = reported },
    [LW_CAUSE_LOOSE] = { "loose", "a contact opens now and then", "wiggle each connector and watch this line",
        .pictures = IN(SKIPPING) | IN(MUTE) | IN(SPOILT) | IN(COMES_AND_GOES) | IN(QUIET) | IN(RETURNED) | IN(NO_GOOD_FRAME) | IN(SILENT) | IN(UNACKNOWLEDGED) | IN(HEALED), .weight = 3,
        .signs = { SELDOM(MUTE), MOSTLY(SCATTERED), NEVER(VICTIM_IN_DATA), HALF(COMES_AND_GOES), NEVER(MANY_ERRORS), NEVER(FULL), HALF(OUT_OF_THE_BLUE) },
        .outcomes = { METER(OHM_60 | OHM_120, H_OK, L_OK), UNPLUG(HEALS | STAYS), WAKE(STAYS), WIGGLE(HEALS), RATE(STAYS) }, .source = bench },

    [LW_CAUSE_UNIT_GONE] = { "unit-gone", "a unit lost its supply, was unplugged or sleeps", "supply and plug of that unit",
        .pictures = IN(MUTE) | IN(QUIET) | IN(RETURNED) | IN(COMES_AND_GOES) | IN(SILENT), .weight = 8,
        .signs = { SELDOM(TROUBLE), NEVER(MANY_ERRORS), SELDOM(MOST_QUIET) },
        .outcomes = { METER(OHM_60 | OHM_120, H_OK, L_OK), UNPLUG(STAYS), WAKE(HEALS | STAYS), WIGGLE(HEALS | STAYS), RATE(STAYS) }, .source = practice },
    [LW_CAUSE_UNIT_RESET] = { "unit-reset", "a unit restarted", "its supply and ground while heavy loads switch",
        .pictures = IN(SKIPPING) | IN(RETURNED) | IN(QUIET) | IN(COMES_AND_GOES) | IN(HEALED), .weight = 4,
        .signs = { SELDOM(TROUBLE), NEVER(MANY_ERRORS) },
        .outcomes = { METER(OHM_60, H_OK, L_OK), UNPLUG(STAYS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) }, .source = practice },
    [LW_CAUSE_BABBLE] = { "babble", "one unit sends without pause", "unplug the unit that sends it",
        .pictures = IN(FULL), .weight = 8,
        .signs = { ALWAYS(HOG), ALWAYS(FULL) }, .proof = { ALWAYS(HOG), ALWAYS(FULL), NEVER(REPEATS) },
        .outcomes = { METER(OHM_60, H_OK, L_OK), UNPLUG(HEALS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) }, .source = practice },
    [LW_CAUSE_FD_FRAMES] = { "fd-frames", "a unit sends FD frames, which others spoil", "set it to classic CAN",
        .pictures = IN(HEALED) | IN(SKIPPING) | IN(MUTE) | IN(NO_GOOD_FRAME) | IN(SPOILT) | IN(UNACKNOWLEDGED) | IN(BUS_OFF) | IN(QUIET) | IN(FULL) | IN(COMES_AND_GOES) | IN(SILENT), .weight = 2,
        .signs = { SELDOM(NEWCOMER), MOSTLY(MUTE), MOSTLY(AFTER_CHANGE), NEVER(SCATTERED), MOSTLY(OTHERS_NOW), SELDOM(OFF_AT_ONCE) },
        .outcomes = { METER(OHM_60, H_OK, L_OK), UNPLUG(HEALS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) }, .source = reported },
    [LW_CAUSE_FOREIGN] = { "foreign", "the newcomer is made or set up for another machine",
        "compare its part number and set-up", .pictures = IN(STRANGER) | IN(QUIET), .weight = 4,
        .signs = { ALWAYS(NEWCOMER), ALWAYS(NEVER_HEARD), NEVER(MANY_ERRORS) },
        .outcomes = { METER(OHM_60, H_OK, L_OK), UNPLUG(STAYS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) }, .source = practice },
    [LW_CAUSE_SAME_ADDRESS] = { "same-address", "two units claim the same address",
        "unplug the newcomer, or give it another address", .pictures = IN(NO_ADDRESS), .weight = 8,
        .signs = { MOSTLY(ADDRESS_SHARED), NEVER(MANY_ERRORS) }, .proof = { ALWAYS(ADDRESS_SHARED) },
        .outcomes = { METER(OHM_60, H_OK, L_OK), UNPLUG(HEALS), WAKE(STAYS), WIGGLE(STAYS), RATE(STAYS) },
        .source = "linux/can/j1939.h, which names ISO 11783-5" },
};
