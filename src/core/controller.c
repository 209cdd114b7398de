/* SPDX-License-Identifier: MIT
 *
 * Joins error frames and link reports into one picture of our own controller.
 */
#include "loomwatch/core/controller.h"

#include <string.h>

enum { BYTE_CONTROLLER = 1 };

void lw_controller_init(struct lw_controller *controller)
{
    memset(controller, 0, sizeof(*controller));
}

static void tally(struct lw_tally *tally, uint64_t t_ns)
{
    tally->n++;
    tally->last_ns = t_ns;
}

static bool enter_state(struct lw_controller *controller, enum lw_bus_state state, uint64_t t_ns)
{
    if (controller->state == state)
        return false;
    controller->state = state;
    controller->state_since_ns = t_ns;
    return true;
}

/* The state an error frame tells, LW_STATE_UNKNOWN if it tells none. The worst of several counts: contradictory adapters
 * exist, and it is safer to look at a bus that is well than the other way round. */
static enum lw_bus_state told_state(const struct lw_error *error)
{
    uint8_t detail = error->data[BYTE_CONTROLLER];
    if (error->class_bits & LW_CLASS_BUS_OFF)
        return LW_STATE_BUS_OFF;
    if (error->class_bits & LW_CLASS_CONTROLLER) {
        if (detail & (lw_error_fields[LW_FIELD_RX_PASSIVE].value | lw_error_fields[LW_FIELD_TX_PASSIVE].value))
            return LW_STATE_ERROR_PASSIVE;
        if (detail & (lw_error_fields[LW_FIELD_RX_WARNING].value | lw_error_fields[LW_FIELD_TX_WARNING].value))
            return LW_STATE_ERROR_WARNING;
        if (detail & lw_error_fields[LW_FIELD_BACK_TO_ACTIVE].value)
            return LW_STATE_ERROR_ACTIVE;
    }
    return error->class_bits & LW_CLASS_RESTARTED ? LW_STATE_ERROR_ACTIVE : LW_STATE_UNKNOWN;
}

static void tally_fields(struct lw_controller *controller, const struct lw_error *error, uint64_t t_ns)
{
    uint8_t fields[LW_ERROR_FIELDS_MAX];
    size_t n = lw_error_decode(error, fields);
    for (size_t i = 0; i < n; i++)
        tally(&controller->fields[fields[i]], t_ns);
    tally(&controller->error_frames, t_ns);
    if (lw_error_is_bus_error(error))
        tally(&controller->bus_errors, t_ns);
    if (lw_error_is_no_acknowledge(error))
        tally(&controller->no_acknowledge, t_ns);
    if (lw_error_unknown_classes(error) != 0)
        controller->n_unknown_class++;
}

bool lw_controller_error(struct lw_controller *controller, const struct lw_error *error, uint64_t t_ns)
{
    uint8_t tec, rec;
    tally_fields(controller, error, t_ns);
    if (lw_error_counters(error, &tec, &rec)) {
        controller->tec = LW_KNOWN(tec);
        controller->rec = LW_KNOWN(rec);
        controller->counters_ns = t_ns;
    }
    enum lw_bus_state state = told_state(error);
    if (state == LW_STATE_UNKNOWN)
        return false;
    if (state == LW_STATE_BUS_OFF || (error->class_bits & LW_CLASS_RESTARTED))
        controller->tec = controller->rec = LW_UNKNOWN;   /* what they stood at before no longer holds */
    return enter_state(controller, state, t_ns);
}

bool lw_controller_link(struct lw_controller *controller, const struct lw_link *link, uint64_t t_ns)
{
    controller->link = *link;
    controller->has_link = true;
    if (!link->is_present || !link->is_up) {
        controller->tec = controller->rec = LW_UNKNOWN;
        return enter_state(controller, LW_STATE_UNKNOWN, t_ns);
    }
    if (link->tec.is_known && link->rec.is_known && link->state != LW_STATE_BUS_OFF) {
        controller->tec = link->tec;
        controller->rec = link->rec;
        controller->counters_ns = t_ns;
    }
    if (link->state == LW_STATE_UNKNOWN)
        return false;
    return enter_state(controller, link->state, t_ns);
}

bool lw_controller_heard(struct lw_controller *controller, bool is_own, uint64_t t_ns)
{
    enum { MS_UNTIL_BELIEVED = 500 };   /* frames queued before the report may come after it */
    uint64_t believed_ns = controller->state_since_ns + MS_UNTIL_BELIEVED * UINT64_C(1000000);
    bool is_proof = !is_own || controller->link.controller == LW_CONTROLLER_NONE;
    if (controller->link.state != LW_STATE_UNKNOWN || controller->state != LW_STATE_BUS_OFF || !is_proof
        || t_ns < believed_ns)
        return false;
    return enter_state(controller, LW_STATE_UNKNOWN, t_ns);
}

const char *lw_bus_state_name(enum lw_bus_state state)
{
    static const char *const names[] = {
        [LW_STATE_UNKNOWN] = "unknown", [LW_STATE_ERROR_ACTIVE] = "error active",
        [LW_STATE_ERROR_WARNING] = "error warning", [LW_STATE_ERROR_PASSIVE] = "error passive",
        [LW_STATE_BUS_OFF] = "bus off", [LW_STATE_STOPPED] = "stopped", [LW_STATE_SLEEPING] = "sleeping",
    };
    return (size_t)state < sizeof(names) / sizeof(names[0]) ? names[state] : "unknown";
}
