/* SPDX-License-Identifier: MIT
 *
 * Entries of the monitor's diary.
 */
#include "monitor_state.h"

uint64_t lw_monitor_elapsed_ns(const struct lw_monitor *monitor)
{
    uint64_t most = 0;
    for (unsigned i = 0; i < monitor->config.n_buses; i++) {
        uint64_t here = monitor->buses[i].now_ns - monitor->buses[i].start_ns;
        most = here > most ? here : most;
    }
    return most;
}

void lw_monitor_note(struct lw_monitor *monitor, enum lw_happening_kind kind, struct lw_id_key key, uint64_t t_ns,
                     uint64_t value)
{
    const struct bus *bus = &monitor->buses[key.bus];
    struct lw_happening happening = {
        .t_ns = t_ns, .elapsed_ns = t_ns > bus->start_ns ? t_ns - bus->start_ns : 0, .key = key,
        .kind = (uint8_t)kind, .count = 1, .value = value,
    };
    lw_diary_add(&monitor->diary, &happening);
}
