/* SPDX-License-Identifier: MIT
 *
 * The table of everything an error frame can say. Positions and values: linux/can/error.h; words: ours.
 */
#include "loomwatch/core/error_frame.h"

#define FIRST_VIOLATION LW_FIELD_PROTOCOL_FIRST
#define FIRST_PLACE LW_FIELD_PLACE_FIRST
#define FIRST_H LW_FIELD_WIRE_H_FIRST
#define FIRST_L LW_FIELD_WIRE_L_FIRST

const struct lw_error_field lw_error_fields[LW_N_ERROR_FIELDS] = {
    [LW_FIELD_TX_TIMEOUT] = { LW_ERRORS_CLASS, 0x001, "send timeout", "A frame could not be sent in time." },
    [LW_FIELD_ARBITRATION_LOST] = { LW_ERRORS_CLASS, 0x002, "gave way",
        "Our frame gave way to one of higher priority: normal on a busy bus." },
    [LW_FIELD_CONTROLLER] = { LW_ERRORS_CLASS, 0x004, "controller", "Our controller reports its condition." },
    [LW_FIELD_PROTOCOL] = { LW_ERRORS_CLASS, 0x008, "rule broken", "A rule of the bus was broken on the wire." },
    [LW_FIELD_TRANSCEIVER] = { LW_ERRORS_CLASS, 0x010, "transceiver", "The transceiver reports a wire fault." },
    [LW_FIELD_NO_ACKNOWLEDGE] = { LW_ERRORS_CLASS, 0x020, "no acknowledge",
        "Nobody acknowledged a frame that this adapter sent." },
    [LW_FIELD_BUS_OFF] = { LW_ERRORS_CLASS, 0x040, "bus off", "Our controller has taken itself off the bus." },
    [LW_FIELD_BUS_ERROR] = { LW_ERRORS_CLASS, 0x080, "bus error", "A frame was spoilt on the bus." },
    [LW_FIELD_RESTARTED] = { LW_ERRORS_CLASS, 0x100, "restarted", "Our controller has come back from bus off." },
    [LW_FIELD_COUNTERS] = { LW_ERRORS_CLASS, 0x200, "counters", "The report carries both error counters." },

    [LW_FIELD_RX_OVERRUN] = { LW_ERRORS_CONTROLLER, 0x01, "receive overrun",
        "The adapter lost frames because they were not fetched in time." },
    [LW_FIELD_TX_OVERRUN] = { LW_ERRORS_CONTROLLER, 0x02, "send overrun", "The adapter's send store ran over." },
    [LW_FIELD_RX_WARNING] = { LW_ERRORS_CONTROLLER, 0x04, "receive warning", "Receive error counter at 96 or more." },
    [LW_FIELD_TX_WARNING] = { LW_ERRORS_CONTROLLER, 0x08, "send warning", "Transmit error counter at 96 or more." },
    [LW_FIELD_RX_PASSIVE] = { LW_ERRORS_CONTROLLER, 0x10, "receive passive", "Receive error counter at 128 or more." },
    [LW_FIELD_TX_PASSIVE] = { LW_ERRORS_CONTROLLER, 0x20, "send passive", "Transmit error counter at 128 or more." },
    [LW_FIELD_BACK_TO_ACTIVE] = { LW_ERRORS_CONTROLLER, 0x40, "error active again", "The error counters have healed." },

    [FIRST_VIOLATION + 0] = { LW_ERRORS_PROTOCOL, 0x01, "one bit wrong", "A single bit was not as sent." },
    [FIRST_VIOLATION + 1] = { LW_ERRORS_PROTOCOL, 0x02, "form", "A bit of fixed value had the wrong one." },
    [FIRST_VIOLATION + 2] = { LW_ERRORS_PROTOCOL, 0x04, "stuffing", "Six equal bits where at most five may be." },
    [FIRST_VIOLATION + 3] = { LW_ERRORS_PROTOCOL, 0x08, "dominant not seen",
        "We sent dominant and saw recessive: what we drive does not come back." },
    [FIRST_VIOLATION + 4] = { LW_ERRORS_PROTOCOL, 0x10, "recessive not seen",
        "We sent recessive and saw dominant: somebody or something drives the bus." },
    [FIRST_VIOLATION + 5] = { LW_ERRORS_PROTOCOL, 0x20, "overload", "A unit asked for a pause." },
    [FIRST_VIOLATION + 6] = { LW_ERRORS_PROTOCOL, 0x40, "active again", "A unit announced that it is error active." },
    [FIRST_VIOLATION + 7] = { LW_ERRORS_PROTOCOL, 0x80, "while sending", "It happened while this adapter was sending." },

    [FIRST_PLACE + 0] = { LW_ERRORS_PLACE, 0x02, "identifier 28-21", "In the identifier." },
    [FIRST_PLACE + 1] = { LW_ERRORS_PLACE, 0x03, "start of frame", "In the start of frame." },
    [FIRST_PLACE + 2] = { LW_ERRORS_PLACE, 0x04, "SRR or RTR", "In the SRR or RTR bit." },
    [FIRST_PLACE + 3] = { LW_ERRORS_PLACE, 0x05, "IDE", "In the IDE bit." },
    [FIRST_PLACE + 4] = { LW_ERRORS_PLACE, 0x06, "identifier 20-18", "In the identifier." },
    [FIRST_PLACE + 5] = { LW_ERRORS_PLACE, 0x07, "identifier 17-13", "In the identifier." },
    [FIRST_PLACE + 6] = { LW_ERRORS_PLACE, 0x08, "CRC", "In the CRC sequence." },
    [FIRST_PLACE + 7] = { LW_ERRORS_PLACE, 0x09, "r0", "In the reserved bit r0." },
    [FIRST_PLACE + 8] = { LW_ERRORS_PLACE, 0x0A, "data", "In the data." },
    [FIRST_PLACE + 9] = { LW_ERRORS_PLACE, 0x0B, "DLC", "In the data length code." },
    [FIRST_PLACE + 10] = { LW_ERRORS_PLACE, 0x0C, "RTR", "In the RTR bit." },
    [FIRST_PLACE + 11] = { LW_ERRORS_PLACE, 0x0D, "r1", "In the reserved bit r1." },
    [FIRST_PLACE + 12] = { LW_ERRORS_PLACE, 0x0E, "identifier 4-0", "In the identifier." },
    [FIRST_PLACE + 13] = { LW_ERRORS_PLACE, 0x0F, "identifier 12-5", "In the identifier." },
    [FIRST_PLACE + 14] = { LW_ERRORS_PLACE, 0x12, "intermission", "In the pause between two frames." },
    [FIRST_PLACE + 15] = { LW_ERRORS_PLACE, 0x18, "CRC delimiter", "In the CRC delimiter." },
    [FIRST_PLACE + 16] = { LW_ERRORS_PLACE, 0x19, "acknowledge slot", "In the slot in which others acknowledge." },
    [FIRST_PLACE + 17] = { LW_ERRORS_PLACE, 0x1A, "end of frame", "In the end of frame." },
    [FIRST_PLACE + 18] = { LW_ERRORS_PLACE, 0x1B, "acknowledge delimiter", "In the acknowledge delimiter." },
    [FIRST_PLACE + 19] = { LW_ERRORS_PLACE, 0x00, "place not told", "The driver does not tell where." },

    [FIRST_H + 0] = { LW_ERRORS_WIRE_H, 0x04, "CANH open", "CANH is not connected." },
    [FIRST_H + 1] = { LW_ERRORS_WIRE_H, 0x05, "CANH to battery", "CANH touches battery supply." },
    [FIRST_H + 2] = { LW_ERRORS_WIRE_H, 0x06, "CANH to supply", "CANH touches the transceiver's supply." },
    [FIRST_H + 3] = { LW_ERRORS_WIRE_H, 0x07, "CANH to ground", "CANH touches ground." },
    [FIRST_L + 0] = { LW_ERRORS_WIRE_L, 0x40, "CANL open", "CANL is not connected." },
    [FIRST_L + 1] = { LW_ERRORS_WIRE_L, 0x50, "CANL to battery", "CANL touches battery supply." },
    [FIRST_L + 2] = { LW_ERRORS_WIRE_L, 0x60, "CANL to supply", "CANL touches the transceiver's supply." },
    [FIRST_L + 3] = { LW_ERRORS_WIRE_L, 0x70, "CANL to ground", "CANL touches ground." },
    [FIRST_L + 4] = { LW_ERRORS_WIRE_L, 0x80, "CANL to CANH", "The two wires touch." },
};
