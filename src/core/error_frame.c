/* SPDX-License-Identifier: MIT
 *
 * Takes error frames apart by the table in error_fields.c.
 */
#include "loomwatch/core/error_frame.h"

enum { BYTE_CONTROLLER = 1, BYTE_PROTOCOL = 2, BYTE_PLACE = 3, BYTE_WIRES = 4, BYTE_TEC = 6, BYTE_REC = 7 };
enum { OVERLOAD = 0x20, ACTIVE_AGAIN = 0x40, RX_OVERRUN = 0x01 };

/* Whether the class bits make the bytes of a group mean something. */
static bool group_counts(const struct lw_error *error, enum lw_error_group group)
{
    uint32_t classes = error->class_bits;
    switch (group) {
    case LW_ERRORS_CLASS:
        return true;
    case LW_ERRORS_CONTROLLER:
        return classes & LW_CLASS_CONTROLLER;
    case LW_ERRORS_PROTOCOL:
        return classes & LW_CLASS_PROTOCOL;
    case LW_ERRORS_PLACE:
        return (classes & LW_CLASS_PROTOCOL)
            || (error->data[BYTE_PLACE] != 0 && (classes & (LW_CLASS_BUS_ERROR | LW_CLASS_NO_ACKNOWLEDGE)));
    default:
        return classes & LW_CLASS_TRANSCEIVER;
    }
}

static bool field_is_set(const struct lw_error *error, const struct lw_error_field *field)
{
    switch (field->group) {
    case LW_ERRORS_CLASS:
        return error->class_bits & field->value;
    case LW_ERRORS_CONTROLLER:
        return error->data[BYTE_CONTROLLER] & field->value;
    case LW_ERRORS_PROTOCOL:
        return error->data[BYTE_PROTOCOL] & field->value;
    case LW_ERRORS_PLACE:
        return error->data[BYTE_PLACE] == field->value;
    case LW_ERRORS_WIRE_H:
        return (error->data[BYTE_WIRES] & 0x0F) == field->value;
    default:
        return (error->data[BYTE_WIRES] & 0xF0) == field->value;
    }
}

size_t lw_error_decode(const struct lw_error *error, uint8_t out[LW_ERROR_FIELDS_MAX])
{
    bool counts[LW_N_ERROR_GROUPS];
    for (int group = 0; group < LW_N_ERROR_GROUPS; group++)
        counts[group] = group_counts(error, (enum lw_error_group)group);
    size_t n = 0;
    for (int i = 0; i < LW_N_ERROR_FIELDS && n < LW_ERROR_FIELDS_MAX; i++) {
        const struct lw_error_field *field = &lw_error_fields[i];
        if (counts[field->group] && field_is_set(error, field))
            out[n++] = (uint8_t)i;
    }
    return n;
}

bool lw_error_is_no_acknowledge(const struct lw_error *error)
{
    if (error->class_bits & LW_CLASS_NO_ACKNOWLEDGE)
        return true;
    return (error->class_bits & (LW_CLASS_PROTOCOL | LW_CLASS_BUS_ERROR)) && error->data[BYTE_PLACE] == LW_PLACE_ACK_SLOT;
}

bool lw_error_is_overrun(const struct lw_error *error)
{
    return (error->class_bits & LW_CLASS_CONTROLLER) && (error->data[BYTE_CONTROLLER] & RX_OVERRUN);
}

bool lw_error_is_bus_error(const struct lw_error *error)
{
    /* Some drivers set the bus error classes on a mere overrun. */
    bool has_no_details = error->data[BYTE_PROTOCOL] == 0 && error->data[BYTE_PLACE] == 0;
    if (lw_error_is_overrun(error) && has_no_details && !(error->class_bits & LW_CLASS_NO_ACKNOWLEDGE))
        return false;
    if (error->class_bits & (LW_CLASS_BUS_ERROR | LW_CLASS_NO_ACKNOWLEDGE))
        return true;
    /* An overload or the announcement "active again" alone violates nothing. */
    uint8_t detail = error->data[BYTE_PROTOCOL];
    bool is_harmless = detail != 0 && (detail & ~(OVERLOAD | ACTIVE_AGAIN)) == 0;
    return (error->class_bits & LW_CLASS_PROTOCOL) && !is_harmless;
}

bool lw_error_counters(const struct lw_error *error, uint8_t *tec, uint8_t *rec)
{
    if (!(error->class_bits & LW_CLASS_COUNTERS) || (error->class_bits & LW_CLASS_BUS_OFF))
        return false;
    *tec = error->data[BYTE_TEC];
    *rec = error->data[BYTE_REC];
    return true;
}

uint32_t lw_error_unknown_classes(const struct lw_error *error)
{
    return error->class_bits & ~UINT32_C(0x3FF);
}
