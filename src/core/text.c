/* SPDX-License-Identifier: MIT
 *
 * Numbers to text. The dash for "unknown" is the same everywhere.
 */
#include "loomwatch/core/text.h"

#include <inttypes.h>
#include <stdio.h>

#define DASH "—"

/* Three significant digits, which is what a period is good for. */
static char *scaled(char *buf, double value, const char *unit)
{
    int decimals = value >= 99.95 ? 0 : value >= 9.995 ? 1 : 2;
    snprintf(buf, LW_NUMBER_TEXT, "%.*f %s", decimals, value, unit);
    return buf;
}

char *lw_text_duration(uint64_t ns, char buf[LW_NUMBER_TEXT])
{
    if (ns == 0) {
        snprintf(buf, LW_NUMBER_TEXT, DASH);
        return buf;
    }
    if (ns < 999500)
        return scaled(buf, (double)ns / 1e3, "µs");
    return ns < UINT64_C(999500000) ? scaled(buf, (double)ns / 1e6, "ms") : scaled(buf, (double)ns / 1e9, "s");
}

char *lw_text_jitter(uint64_t jitter_ns, uint64_t period_ns, char buf[LW_NUMBER_TEXT])
{
    if (jitter_ns > 0 || period_ns == 0)
        return lw_text_duration(jitter_ns, buf);
    snprintf(buf, LW_NUMBER_TEXT, "<1 µs");
    return buf;
}

char *lw_text_clock(uint64_t ns, char buf[LW_NUMBER_TEXT])
{
    uint64_t s = ns / UINT64_C(1000000000);
    if (s < 3600)
        snprintf(buf, LW_NUMBER_TEXT, "%" PRIu64 ":%02" PRIu64, s / 60, s % 60);
    else
        snprintf(buf, LW_NUMBER_TEXT, "%" PRIu64 ":%02" PRIu64 ":%02" PRIu64, s / 3600, s / 60 % 60, s % 60);
    return buf;
}

char *lw_text_clock_tenths(uint64_t ns, char buf[LW_NUMBER_TEXT])
{
    char whole[LW_NUMBER_TEXT];
    lw_text_clock(ns, whole);
    snprintf(buf, LW_NUMBER_TEXT, "%.20s.%u", whole, (unsigned)(ns / 100000000 % 10));
    return buf;
}

char *lw_text_bit_rate(struct lw_reading bps, char buf[LW_NUMBER_TEXT])
{
    if (!bps.is_known)
        snprintf(buf, LW_NUMBER_TEXT, DASH " bit/s");
    else if (bps.value >= 1000000)
        snprintf(buf, LW_NUMBER_TEXT, "%g Mbit/s", bps.value / 1e6);
    else
        snprintf(buf, LW_NUMBER_TEXT, "%g kbit/s", bps.value / 1e3);
    return buf;
}

char *lw_text_reading(struct lw_reading reading, char buf[LW_NUMBER_TEXT])
{
    if (reading.is_known)
        snprintf(buf, LW_NUMBER_TEXT, "%" PRIu32, reading.value);
    else
        snprintf(buf, LW_NUMBER_TEXT, DASH);
    return buf;
}

char *lw_text_permille(struct lw_reading permille, char buf[LW_NUMBER_TEXT])
{
    if (permille.is_known)
        snprintf(buf, LW_NUMBER_TEXT, "%.1f %%", permille.value / 10.0);
    else
        snprintf(buf, LW_NUMBER_TEXT, DASH);
    return buf;
}

char *lw_text_lengths(uint16_t dlc_seen, char buf[3 * LW_NUMBER_TEXT])
{
    size_t n = 0, size = 3 * LW_NUMBER_TEXT;
    snprintf(buf, size, DASH);
    for (unsigned dlc = 0; dlc < LW_N_DLC; dlc++)
        if (dlc_seen >> dlc & 1)
            n += (size_t)snprintf(buf + n, size - n, "%s%u", n > 0 ? " " : "", lw_len_from_dlc(dlc));
    return buf;
}
