/* SPDX-License-Identifier: MIT
 *
 * Sliding second of bus load, in buckets of 20 ms.
 */
#include "loomwatch/core/load.h"

#include <string.h>

static const uint64_t bucket_ns = LW_LOAD_BUCKET_MS * UINT64_C(1000000);
static const uint64_t window_ns = LW_LOAD_BUCKETS * LW_LOAD_BUCKET_MS * UINT64_C(1000000);

void lw_load_init(struct lw_load *load)
{
    memset(load, 0, sizeof(*load));
}

void lw_load_set_bit_rate(struct lw_load *load, uint32_t bit_rate_bps, uint32_t data_bit_rate_bps)
{
    if (load->bit_rate_bps == bit_rate_bps && load->data_bit_rate_bps == data_bit_rate_bps)
        return;
    lw_load_init(load);
    load->bit_rate_bps = bit_rate_bps;
    load->data_bit_rate_bps = data_bit_rate_bps;
}

static bool is_whole(const struct lw_load *load)
{
    return load->bucket_start_ns >= load->first_ns + window_ns;
}

static bool is_timed(const struct lw_load *load)
{
    return load->bit_rate_bps != 0
        && (load->n_untimed == 0 || load->bucket_start_ns > load->last_untimed_ns + window_ns);
}

static void note_peak(struct lw_load *load)
{
    struct lw_reading now = lw_load_permille(load);
    if (now.is_known && (!load->has_peak || now.value > load->peak_permille)) {
        load->peak_permille = now.value;
        load->has_peak = true;
    }
}

static void next_bucket(struct lw_load *load)
{
    load->current = (load->current + 1) % LW_LOAD_BUCKETS;
    load->busy_sum_ns -= load->busy_ns[load->current];
    load->busy_ns[load->current] = 0;
    load->bucket_start_ns += bucket_ns;
}

void lw_load_advance(struct lw_load *load, uint64_t now_ns)
{
    if (load->first_ns == 0)
        return;
    if (now_ns >= load->bucket_start_ns + bucket_ns + window_ns) {   /* everything is older than the window */
        note_peak(load);
        memset(load->busy_ns, 0, sizeof(load->busy_ns));
        load->busy_sum_ns = 0;
        load->bucket_start_ns += (now_ns - load->bucket_start_ns) / bucket_ns * bucket_ns;
        return;
    }
    while (now_ns >= load->bucket_start_ns + bucket_ns) {
        note_peak(load);
        next_bucket(load);
    }
}

uint64_t lw_load_add(struct lw_load *load, const struct lw_wire_length *length, uint64_t t_ns)
{
    if (load->first_ns == 0)
        load->first_ns = load->bucket_start_ns = t_ns > 0 ? t_ns : 1;
    lw_load_advance(load, t_ns);
    uint64_t ns = lw_wire_time_ns(length, load->bit_rate_bps, load->data_bit_rate_bps);
    if (ns == 0) {
        load->n_untimed++;
        load->last_untimed_ns = t_ns;
        return 0;
    }
    load->busy_ns[load->current] += ns;
    load->busy_sum_ns += ns;
    return ns;
}

struct lw_reading lw_load_permille(const struct lw_load *load)
{
    if (load->first_ns == 0 || !is_timed(load) || !is_whole(load))
        return LW_UNKNOWN;
    uint64_t permille = load->busy_sum_ns * 1000 / window_ns;
    return LW_KNOWN(permille > 1000 ? 1000 : permille);
}

struct lw_reading lw_load_peak_permille(const struct lw_load *load)
{
    return load->has_peak ? LW_KNOWN(load->peak_permille) : LW_UNKNOWN;
}
