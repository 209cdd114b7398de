/* SPDX-License-Identifier: MIT
 *
 * Reads a frame's bits as a teacher would: which frame it is, who sends it, and why an error was raised where it was. It sees
 * no more than the plot shows.
 */
#include "view_bench_bits.h"

#include "loomwatch/bench/mac.h"

#include <stdio.h>
#include <string.h>

enum { BASE_BITS = 11, WITH_RTR = 12, EXTENSION_BITS = 18, STUFF_RUN = 6 };

unsigned lw_bits_count(const struct lw_bench_trace *trace)
{
    return trace->n < LW_TRACE_BITS ? trace->n : LW_TRACE_BITS;
}

int lw_bits_error(const struct lw_bench_trace *trace)
{
    for (unsigned i = 0; i < lw_bits_count(trace); i++)
        if (trace->bits[i].has_error)
            return (int)i;
    return -1;
}

/* IDE belongs to the control field: the identifier's bits are 11, then RTR or SRR, then 18 more. */
char *lw_bits_identifier(const struct lw_bench_trace *trace, char buf[LW_ID_TEXT])
{
    struct lw_id_key key = { 0 };
    unsigned n = 0;
    for (unsigned i = 0; i < lw_bits_count(trace); i++) {
        const struct lw_trace_bit *bit = &trace->bits[i];
        if (bit->field != LW_IN_ID || bit->is_stuff)
            continue;
        n++;
        if (n != WITH_RTR && n <= WITH_RTR + EXTENSION_BITS)
            key.id = key.id << 1 | !bit->is_dominant;
    }
    key.is_extended = n > WITH_RTR;
    bool is_whole = n >= BASE_BITS && (!key.is_extended || n >= WITH_RTR + EXTENSION_BITS);
    snprintf(buf, LW_ID_TEXT, "?");
    return is_whole ? lw_id_text(key, buf) : buf;
}

/* Behind the arbitration only the sender drives; the acknowledge slot, where receivers do, comes later. Returns the bit at
 * which it gave way, 0 for none. */
static unsigned gave_way_at(const struct lw_bench_trace *trace, bool *is_sender)
{
    unsigned last_driven = 0;
    bool starts = lw_bits_count(trace) > 0 && trace->bits[0].is_driven, goes_on = false, has_later = false;
    for (unsigned i = 0; i < lw_bits_count(trace); i++) {
        const struct lw_trace_bit *bit = &trace->bits[i];
        bool is_later = bit->field == LW_IN_CONTROL || bit->field == LW_IN_DATA || bit->field == LW_IN_CRC;
        if (bit->field <= LW_IN_ID && bit->is_driven)
            last_driven = i;
        has_later = has_later || is_later;
        goes_on = goes_on || (is_later && bit->is_driven);
    }
    *is_sender = starts && (goes_on || !has_later);
    for (unsigned i = last_driven + 1; starts && !*is_sender && i < lw_bits_count(trace); i++)
        if (trace->bits[i].is_dominant && trace->bits[i].field == LW_IN_ID)
            return i;
    return 0;
}

static unsigned run_before(const struct lw_bench_trace *trace, unsigned i)
{
    unsigned n = 1;
    while (n <= i && trace->bits[i - n].is_dominant == trace->bits[i].is_dominant)
        n++;
    return n;
}

static bool is_fixed(unsigned field)
{
    return field == LW_IN_CRC_DELIMITER || field == LW_IN_ACK_DELIMITER || field == LW_IN_EOF
        || field == LW_IN_ERROR_DELIMITER;
}

/* The rules are those of ISO 11898-1, in the order in which one would rule them out. */
static const char *words_of_error(const struct lw_bench_trace *trace, unsigned i, bool is_sender)
{
    const struct lw_trace_bit *bit = &trace->bits[i];
    if (bit->is_driven && !bit->is_dominant)
        return "it drives dominant and reads recessive, a bit error: what it sends does not come back to it";
    if (bit->field == LW_IN_ACK && !bit->is_dominant)
        return "the slot stays recessive, nobody acknowledges, an acknowledge error: nobody else hears the frame";
    if (is_fixed(bit->field) && bit->is_dominant)
        return "dominant where the format demands recessive, a form error: somebody counts the bits otherwise";
    if (bit->field == LW_IN_ACK_DELIMITER)
        return "the checksum does not fit what was read, a CRC error";
    if (bit->field <= LW_IN_CRC && run_before(trace, i) >= STUFF_RUN)
        return "six equal bits, where the sixth must differ, a stuff error: a bit was misread, or somebody cries error";
    if (is_sender && bit->is_dominant)
        return "it sends recessive and reads dominant, a bit error: somebody else drives";
    if (bit->field == LW_IN_ERROR_FLAG)
        return "its error flag is disturbed as well";
    return "the bit is not what the rules demand there";
}

static void add_error(const struct lw_bench_trace *trace, unsigned i, bool is_sender, char buf[LW_BITS_WORDS])
{
    size_t n = strlen(buf);
    bool is_last = i + 1 == trace->n && trace->n < LW_TRACE_BITS;
    snprintf(buf + n, LW_BITS_WORDS - n, "It raises an error at bit %u (%s): %s.%s", i + 1,
             lw_bits_field_name(trace->bits[i].field), words_of_error(trace, i, is_sender),
             is_last ? " No flag follows: bus off." : "");
}

char *lw_bits_words(const struct lw_bench_trace *trace, const char *unit, char buf[LW_BITS_WORDS])
{
    unsigned n_stuff = 0, count = lw_bits_count(trace);
    char id[LW_ID_TEXT];
    bool is_sender = false, is_acknowledged = false;
    unsigned lost_at = gave_way_at(trace, &is_sender);
    int error = lw_bits_error(trace);
    for (unsigned i = 0; i < count; i++) {
        n_stuff += trace->bits[i].is_stuff;
        is_acknowledged = is_acknowledged || (trace->bits[i].field == LW_IN_ACK && trace->bits[i].is_driven);
    }
    bool has_identifier = lw_bits_identifier(trace, id)[0] != '?';
    char stuffed[40] = "";
    if (n_stuff > 0)
        snprintf(stuffed, sizeof(stuffed), ", %u of them stuff bits", n_stuff);
    snprintf(buf, LW_BITS_WORDS, "%s %s %s, %u bit%s%s. ", unit, is_sender ? "sends" : "hears",
             has_identifier ? id : "a broken frame", count, count == 1 ? "" : "s", stuffed);
    size_t n = strlen(buf);
    if (error >= 0)
        add_error(trace, (unsigned)error, is_sender, buf);
    else if (lost_at > 0)
        snprintf(buf + n, LW_BITS_WORDS - n, "It wanted to send too, and gave way at bit %u: the lower identifier wins.",
                 lost_at + 1);
    else if (is_sender)
        snprintf(buf + n, LW_BITS_WORDS - n, "Another unit drives the acknowledge slot: somebody has heard it.");
    else if (is_acknowledged)
        snprintf(buf + n, LW_BITS_WORDS - n, "It drives the acknowledge slot: it has read the frame without error.");
    else
        snprintf(buf + n, LW_BITS_WORDS - n, "It does not acknowledge.");
    return buf;
}
