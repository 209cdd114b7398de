/* SPDX-License-Identifier: MIT
 *
 * Entries of the monitor's diary.
 */
#include "monitor_state.h"

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
