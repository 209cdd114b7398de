/* SPDX-License-Identifier: MIT
 *
 * Error frames of Linux, taken apart into named fields. One table row a field: where it sits in the frame, its
 * name and its plain words. Source of every position and value: linux/can/error.h (6.1); the tests hold the
 * table against that header.
 */
#ifndef LOOMWATCH_CORE_ERROR_FRAME_H
#define LOOMWATCH_CORE_ERROR_FRAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* As delivered: the class bits of the identifier, and eight data bytes. */
struct lw_error {
    uint32_t class_bits;   /* identifier without flag bits; bits no kernel defines are kept */
    uint8_t data[8];
};

enum lw_error_class {
    LW_CLASS_TX_TIMEOUT = 0x001,
    LW_CLASS_ARBITRATION_LOST = 0x002,
    LW_CLASS_CONTROLLER = 0x004,
    LW_CLASS_PROTOCOL = 0x008,
    LW_CLASS_TRANSCEIVER = 0x010,
    LW_CLASS_NO_ACKNOWLEDGE = 0x020,
    LW_CLASS_BUS_OFF = 0x040,
    LW_CLASS_BUS_ERROR = 0x080,
    LW_CLASS_RESTARTED = 0x100,
    LW_CLASS_COUNTERS = 0x200,
};

enum lw_error_group {
    LW_ERRORS_CLASS,         /* what kind of report */
    LW_ERRORS_CONTROLLER,    /* data[1]: overruns and state changes */
    LW_ERRORS_PROTOCOL,      /* data[2]: which rule was violated */
    LW_ERRORS_PLACE,         /* data[3]: where in the frame */
    LW_ERRORS_WIRE_H,        /* data[4] low nibble: CANH */
    LW_ERRORS_WIRE_L,        /* data[4] high nibble: CANL */
    LW_N_ERROR_GROUPS,
};

/* Index into lw_error_fields. Those that the core itself acts upon are named; the rest are reached by table. */
enum lw_error_field_index {
    LW_FIELD_TX_TIMEOUT, LW_FIELD_ARBITRATION_LOST, LW_FIELD_CONTROLLER, LW_FIELD_PROTOCOL, LW_FIELD_TRANSCEIVER,
    LW_FIELD_NO_ACKNOWLEDGE, LW_FIELD_BUS_OFF, LW_FIELD_BUS_ERROR, LW_FIELD_RESTARTED, LW_FIELD_COUNTERS,
    LW_FIELD_RX_OVERRUN, LW_FIELD_TX_OVERRUN, LW_FIELD_RX_WARNING, LW_FIELD_TX_WARNING, LW_FIELD_RX_PASSIVE,
    LW_FIELD_TX_PASSIVE, LW_FIELD_BACK_TO_ACTIVE,
    LW_FIELD_PROTOCOL_FIRST,                              /* eight violations */
    LW_FIELD_PLACE_FIRST = LW_FIELD_PROTOCOL_FIRST + 8,   /* twenty places */
    LW_FIELD_WIRE_H_FIRST = LW_FIELD_PLACE_FIRST + 20,    /* four */
    LW_FIELD_WIRE_L_FIRST = LW_FIELD_WIRE_H_FIRST + 4,    /* five */
    LW_N_ERROR_FIELDS = LW_FIELD_WIRE_L_FIRST + 5,
};

enum { LW_PLACE_ACK_SLOT = 0x19, LW_ERROR_FIELDS_MAX = 32 };

struct lw_error_field {
    enum lw_error_group group;
    uint32_t value;          /* bit of the class, bit of the byte, or value of the byte or nibble */
    const char *name;        /* short, for a table: "no acknowledge" */
    const char *words;       /* one sentence for a fitter */
};

extern const struct lw_error_field lw_error_fields[LW_N_ERROR_FIELDS];

/* Lists the fields present in an error frame, in table order. A detail byte counts only if its class bit is set,
 * except the place, which also counts with LW_CLASS_BUS_ERROR or LW_CLASS_NO_ACKNOWLEDGE alone, as drivers
 * send it. Any bytes are accepted. Returns the number written, at most LW_ERROR_FIELDS_MAX. */
size_t lw_error_decode(const struct lw_error *error, uint8_t out[LW_ERROR_FIELDS_MAX]);

/* True where the frame says that nobody acknowledged: as class, or as a place (acknowledge slot), since many
 * drivers tell it only so. */
bool lw_error_is_no_acknowledge(const struct lw_error *error);

/* True where the frame reports a violation on the wire, not only a state change or an overrun. */
bool lw_error_is_bus_error(const struct lw_error *error);

/* True where the adapter or its driver lost received frames: the computer was late, the bus is not at fault. */
bool lw_error_is_overrun(const struct lw_error *error);

/* Counters, where the frame carries them (LW_CLASS_COUNTERS, kernel 6.0 and later). A bus-off frame's zeros are
 * not counters. Returns false and leaves both alone otherwise. */
bool lw_error_counters(const struct lw_error *error, uint8_t *tec, uint8_t *rec);

/* Bits of the class that no kernel we know defines. */
uint32_t lw_error_unknown_classes(const struct lw_error *error);

#endif
