/* SPDX-License-Identifier: MIT
 *
 * What adapter.c and adapter_errors.c share; nobody else includes this.
 */
#ifndef LOOMWATCH_SRC_BENCH_ADAPTER_PARTS_H
#define LOOMWATCH_SRC_BENCH_ADAPTER_PARTS_H

#include "loomwatch/bench/adapter.h"

/* Queues an error frame; one without class bits is none. */
void lw_adapter_append_error(struct lw_adapter *adapter, const struct lw_error *error, uint64_t t_ns);

/* The link differs from what was told: the driver, asked twice a second, will tell it next time. */
void lw_adapter_note_news(struct lw_adapter *adapter, uint64_t t_ns);

/* One more of something the link counts, where it does. */
void lw_adapter_count_up(struct lw_adapter *adapter, struct lw_reading *reading, uint64_t t_ns);

/* A new state, known to the driver. */
void lw_adapter_set_state(struct lw_adapter *adapter, enum lw_bus_state state, uint64_t t_ns);

/* Tells a change of state, and the error if reports has LW_MAC_ERROR. adapter->tec and rec are the new ones. */
void lw_adapter_tell_errors(struct lw_adapter *adapter, unsigned reports, const struct lw_mac_error *error, bool is_bus_off,
                            uint64_t t_ns);

#endif
