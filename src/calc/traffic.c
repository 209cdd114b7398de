/* SPDX-License-Identifier: MIT
 *
 * From baseline and module to demands, and from the responses before and after to what became of each message.
 */
#include "loomwatch/calc/traffic.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Rounded up: a bound must not be short by a fraction. */
static uint64_t bits_ns(unsigned n_bits, uint32_t bit_rate_bps)
{
    return (n_bits * UINT64_C(1000000000) + bit_rate_bps - 1) / bit_rate_bps;
}

/* 0 where a rate that the frame needs is unknown. */
static uint64_t longest_ns(const struct lw_wire_length *length, const struct lw_traffic_question *question)
{
    if (length->data_bits > 0 && question->data_bit_rate_bps == 0)
        return 0;
    uint64_t data = length->data_bits > 0 ? bits_ns(length->data_bits, question->data_bit_rate_bps) : 0;
    return bits_ns(length->nominal_bits + LW_INTERMISSION_BITS, question->bit_rate_bps) + data;
}

static unsigned longest_len(uint16_t dlc_seen)
{
    unsigned dlc = 0;
    for (unsigned i = 0; i < LW_N_DLC; i++)
        if (dlc_seen >> i & 1)
            dlc = i;
    return lw_len_from_dlc(dlc);
}

/* How close together: a cyclic message by its period and jitter, any other by the shortest gap that was met. */
static void take_rhythm(struct lw_traffic_message *out, const struct lw_expected *id, const struct lw_traffic_question *question)
{
    out->is_cyclic = id->rhythm == LW_RHYTHM_CYCLIC && id->period_ns != 0;
    if (lw_rhythm_has_period(id->rhythm))
        out->deadline_ns = out->usual_period_ns = id->period_ns;
    if (out->is_cyclic) {
        bool is_jitter_known = id->jitter_ns != 0 || id->shortest_gap_ns != 0;
        out->demand.period_ns = id->period_ns;
        out->demand.jitter_ns = is_jitter_known ? id->jitter_ns : id->tolerance_ns;
        out->assumed |= is_jitter_known ? 0 : LW_ASSUMED_JITTER;
    } else if (id->rhythm == LW_RHYTHM_BOTH && id->period_ns != 0) {
        /* Again and again as many as came within most of a period. */
        out->demand.period_ns = (id->period_ns * LW_AT_ONCE_PCT + 99) / 100;
        out->demand.n_more = id->most_at_once > 0 ? id->most_at_once - 1u : 1;
        out->assumed |= id->most_at_once > 0 ? LW_ASSUMED_AT_ONCE : LW_ASSUMED_TWO_AT_ONCE;
    } else if (id->shortest_gap_ns != 0) {
        out->demand.period_ns = id->shortest_gap_ns;
        out->assumed |= LW_ASSUMED_SHORTEST_GAP;
    } else {
        out->demand.period_ns = question->assumed_gap_ns;
        out->assumed |= LW_ASSUMED_GAP;
    }
}

static struct lw_traffic_message of_bus(const struct lw_expected *id, const struct lw_traffic_question *question)
{
    struct lw_traffic_message out = { .key = id->key, .format = id->format };
    out.key.bus = 0;
    memcpy(out.name, id->name, sizeof(out.name));
    unsigned most = id->format & LW_FRAME_FD ? LW_FRAME_MAX_LEN : LW_CLASSIC_MAX_LEN;
    out.len = (uint8_t)(id->dlc_seen != 0 ? longest_len(id->dlc_seen) : most);
    out.assumed |= id->dlc_seen != 0 ? 0 : LW_ASSUMED_LENGTH;
    take_rhythm(&out, id, question);
    out.worst = lw_wire_worst_length(id->format | (id->key.is_extended ? LW_FRAME_EXTENDED : 0), out.len);
    out.usual_ns = lw_wire_time_ns(id->heard.nominal_bits > 0 ? &id->heard : &out.worst, question->bit_rate_bps,
                                   question->data_bit_rate_bps);
    return out;
}

static struct lw_traffic_message of_module(const struct lw_module_message *message, const struct lw_traffic_question *question)
{
    struct lw_traffic_message out = { .key = message->key, .is_module = true, .format = message->format, .len = message->len };
    memcpy(out.name, message->name, sizeof(out.name));
    out.is_cyclic = message->shortest_gap_ns == 0;
    out.usual_period_ns = message->period_ns;
    out.demand.period_ns = out.is_cyclic ? message->period_ns : message->shortest_gap_ns;
    out.demand.jitter_ns = message->jitter_ns;
    out.deadline_ns = message->deadline_ns;
    if (out.deadline_ns == 0)
        out.deadline_ns = message->period_ns != 0 ? message->period_ns : message->shortest_gap_ns;
    out.worst = lw_wire_worst_length(message->format | (message->key.is_extended ? LW_FRAME_EXTENDED : 0), message->len);
    out.usual_ns = lw_wire_time_ns(&out.worst, question->bit_rate_bps, question->data_bit_rate_bps);
    return out;
}

static void add(struct lw_traffic *traffic, struct lw_traffic_message message, const struct lw_traffic_question *question)
{
    bool *has_fd = message.is_module ? &traffic->module_has_fd : &traffic->has_fd;
    *has_fd = *has_fd || (message.format & LW_FRAME_FD);
    message.demand.frame_ns = longest_ns(&message.worst, question);
    if (message.demand.frame_ns == 0 || message.usual_ns == 0) {
        traffic->n_untimed++;
        return;
    }
    traffic->n_module += message.is_module;
    traffic->messages[traffic->n++] = message;
}

/* The bus first where both send the same: it was there before. */
static int by_priority(const void *a, const void *b)
{
    const struct lw_traffic_message *x = a, *y = b;
    int order = lw_id_key_order(x->key, y->key);
    return order != 0 ? order : x->is_module - y->is_module;
}

static void find_twins(struct lw_traffic *traffic)
{
    for (size_t i = 1; i < traffic->n; i++)
        if (lw_id_key_equal(traffic->messages[i - 1].key, traffic->messages[i].key)) {
            traffic->messages[i - 1].is_twin = traffic->messages[i].is_twin = true;
            traffic->n_twins++;
        }
}

static void add_load(struct lw_traffic_load *load, const struct lw_traffic_message *message)
{
    if (message->usual_period_ns != 0)
        load->usual += (double)message->usual_ns / (double)message->usual_period_ns;
    load->worst += lw_demand_share(&message->demand, 1);
}

/* Works the responses out with or without the module. */
static void respond(struct lw_traffic *traffic, const struct lw_traffic_question *question, bool with_module)
{
    const struct lw_response_setting setting = { bits_ns(1, question->bit_rate_bps), question->n_faults };
    struct lw_traffic_load *load = with_module ? &traffic->after : &traffic->before;
    size_t n = 0;
    for (size_t i = 0; i < traffic->n; i++)
        if (with_module || !traffic->messages[i].is_module) {
            traffic->demands[n++] = traffic->messages[i].demand;
            add_load(load, &traffic->messages[i]);
        }
    lw_response_times(traffic->demands, n, &setting, traffic->responses);
    n = 0;
    for (size_t i = 0; i < traffic->n; i++)
        if (with_module)
            traffic->messages[i].after = traffic->responses[n++];
        else if (!traffic->messages[i].is_module)
            traffic->messages[i].before = traffic->responses[n++];
}

static bool is_late(const struct lw_traffic_message *message, const struct lw_response *response)
{
    return !response->is_bounded || (message->deadline_ns != 0 && response->response_ns > message->deadline_ns);
}

static enum lw_passage passage_of(const struct lw_traffic_message *message)
{
    if (!message->is_module && is_late(message, &message->before))
        return LW_PASSAGE_LATE_BEFORE;
    if (!is_late(message, &message->after))
        return LW_PASSAGE_FREE;
    return message->is_module ? LW_PASSAGE_LATE : LW_PASSAGE_PUSHED;
}

static void judge(struct lw_traffic *traffic)
{
    double most = -1;
    traffic->tightest = LW_NO_INDEX;
    for (size_t i = 0; i < traffic->n; i++) {
        struct lw_traffic_message *message = &traffic->messages[i];
        double share = lw_traffic_share(message);
        message->passage = (uint8_t)passage_of(message);
        traffic->n_pushed += message->passage == LW_PASSAGE_PUSHED;
        traffic->n_late += message->passage == LW_PASSAGE_LATE;
        traffic->n_late_before += message->passage == LW_PASSAGE_LATE_BEFORE;
        for (unsigned bit = 0; bit < LW_N_ASSUMED; bit++)
            traffic->n_assumed[bit] += message->assumed >> bit & 1;
        if (share > most) {
            most = share;
            traffic->tightest = (int)i;
        }
    }
}

int lw_traffic_weigh(const struct lw_traffic_question *question, struct lw_traffic *out)
{
    const struct lw_baseline *baseline = question->baseline;
    const size_t not_work = offsetof(struct lw_traffic, messages);
    memset(out, 0, not_work);
    out->tightest = LW_NO_INDEX;
    if (question->bit_rate_bps == 0)
        return -EINVAL;
    for (size_t i = 0; i < baseline->n_ids; i++)
        if (baseline->ids[i].key.bus == question->bus)
            add(out, of_bus(&baseline->ids[i], question), question);
    if (out->n + out->n_untimed == 0)
        return -EINVAL;
    for (size_t i = 0; i < question->module->n_messages; i++)
        add(out, of_module(&question->module->messages[i], question), question);
    qsort(out->messages, out->n, sizeof(out->messages[0]), by_priority);
    find_twins(out);
    respond(out, question, false);
    respond(out, question, true);
    judge(out);
    return 0;
}

double lw_traffic_share(const struct lw_traffic_message *message)
{
    if (message->deadline_ns == 0)
        return NAN;
    return message->after.is_bounded ? (double)message->after.response_ns / (double)message->deadline_ns : INFINITY;
}

size_t lw_traffic_n_beaten(const struct lw_traffic *traffic, size_t index)
{
    size_t n = 0;
    for (size_t i = index + 1; i < traffic->n; i++)
        n += !traffic->messages[i].is_module;
    return n;
}
