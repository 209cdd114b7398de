/* SPDX-License-Identifier: MIT
 *
 * The picture of our own CAN controller, put together from error frames and link reports. Each value carries
 * when it was told; what was never told is unknown.
 */
#ifndef LOOMWATCH_CORE_CONTROLLER_H
#define LOOMWATCH_CORE_CONTROLLER_H

#include "loomwatch/core/event.h"

struct lw_tally {
    uint64_t n;
    uint64_t last_ns;   /* 0 = never */
};

struct lw_controller {
    enum lw_bus_state state;
    uint64_t state_since_ns;
    struct lw_reading tec, rec;
    uint64_t counters_ns;                        /* when tec and rec were last told */
    struct lw_tally fields[LW_N_ERROR_FIELDS];   /* by index into lw_error_fields */
    struct lw_tally error_frames;                /* all */
    struct lw_tally bus_errors;                  /* those that report a violation on the wire */
    struct lw_tally no_acknowledge;
    uint64_t n_unknown_class;                    /* frames with class bits no kernel we know defines */
    struct lw_link link;                         /* the last report */
    bool has_link;
};

void lw_controller_init(struct lw_controller *controller);

/* Takes an error frame. Returns true if the state changed. */
bool lw_controller_error(struct lw_controller *controller, const struct lw_error *error, uint64_t t_ns);

/* Takes a link report; a state it does not know leaves the known one alone, except that an interface which is
 * down or gone has no state. Returns true if the state changed. */
bool lw_controller_link(struct lw_controller *controller, const struct lw_link *link, uint64_t t_ns);

/* A frame arrived. A controller that is bus off hears nothing: frames half a second after that report mean that it came
 * back untold, and its state is unknown. Where the link tells a state, that counts and this does nothing; frames of this
 * computer (is_own) prove nothing where there is a real controller, since some drivers echo them unsent. Returns true if
 * it came back now. */
bool lw_controller_heard(struct lw_controller *controller, bool is_own, uint64_t t_ns);

const char *lw_bus_state_name(enum lw_bus_state state);   /* ISO 11898-1 term; "unknown" */

#endif
