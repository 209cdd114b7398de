/* SPDX-License-Identifier: MIT
 *
 * Collects evidence event by event. What the numbers mean is in evidence_judge.c.
 */
#include "loomwatch/core/evidence.h"

#include <string.h>

static const uint64_t ms = UINT64_C(1000000);

enum {
    RUN_PAUSE_MS = 200,          /* error reports further apart are two troubles */
    VICTIM_WITHIN_MS = 20,       /* the frame after an error is the repeated one only if it comes soon */
    REPEAT_UNTIMED_US = 2500,    /* without a bit rate: identical frames closer than this follow each other */
    REPEAT_LOOSE_US = 1500,      /* a slow sender takes up to 1 ms to try again, whatever the bit rate (reported cases) */
    AFTER_EACH_US = 300,         /* an error report that belongs to the good frame before it */
    STANDING_MS = 3000,          /* counters that did not move for so long stand still */
    OVER_MS = 2000,              /* trouble is over when none came for so long */
    LONG_AGO = 255,
    PLACE_DATA = 0x0A,
};

void lw_evidence_init(struct lw_evidence *evidence)
{
    memset(evidence, 0, sizeof(*evidence));
    memset(evidence->place_age, LONG_AGO, sizeof(evidence->place_age));
    evidence->off_after_ns = evidence->change_before_trouble_ns = UINT64_MAX;
}

static uint32_t hash_of(const struct lw_frame *frame)
{
    uint32_t hash = 2166136261u ^ frame->flags;
    for (unsigned i = 0; i < frame->len; i++)
        hash = (hash ^ frame->data[i]) * 16777619u;
    return hash;
}

/* A sender whom nobody acknowledges sends one frame over and over: between two of them lies an error flag and its delimiter,
 * where a mere hurry leaves nothing. */
static void follow_repeats(struct lw_evidence *evidence, const struct lw_frame *frame, struct lw_id_key key, uint64_t wire_ns,
                           uint32_t bit_rate_bps, uint64_t t_ns)
{
    uint32_t hash = hash_of(frame);
    double gap_us = (double)(t_ns - evidence->last_frame_ns) / 1e3;
    double bits = wire_ns != 0 ? (double)wire_ns * bit_rate_bps / 1e9 : 0;
    double extra = bits > 0 ? gap_us * bit_rate_bps / 1e6 - bits : 0;
    bool is_tight = bits > 0 ? extra < bits / 2 + 65 : gap_us < REPEAT_UNTIMED_US;
    bool is_close = is_tight || gap_us < REPEAT_LOOSE_US;
    bool is_same = evidence->n_heard > 0 && hash == evidence->repeat_hash && lw_id_key_equal(key, evidence->repeat_key);
    if (is_same && is_close) {
        evidence->repeat_run++;
        evidence->n_repeats_loose += !is_tight;
        evidence->repeat_extra_bits += (extra - evidence->repeat_extra_bits) / (evidence->repeat_run < 32 ? evidence->repeat_run : 32);
        return;
    }
    evidence->repeat_run = evidence->n_repeats_loose = 0;
    evidence->repeat_extra_bits = 0;
    evidence->repeat_hash = hash;
    evidence->repeat_key = key;
}

static void note_victim(struct lw_evidence *evidence, struct lw_id_key key)
{
    struct lw_victim *least = &evidence->victims[0];
    for (unsigned i = 0; i < LW_VICTIMS; i++) {
        struct lw_victim *victim = &evidence->victims[i];
        if (victim->weight > 0 && lw_id_key_equal(victim->key, key)) {
            victim->weight += 1;
            return;
        }
        if (victim->weight < least->weight)
            least = victim;
    }
    *least = (struct lw_victim){ key, 1 };
}

void lw_evidence_frame(struct lw_evidence *evidence, const struct lw_frame *frame, unsigned bus, uint64_t wire_ns,
                       uint32_t bit_rate_bps, uint64_t t_ns)
{
    if (frame->flags & LW_FRAME_OWN) {
        evidence->recent.own += 1;
        evidence->last_own_ns = t_ns;
        return;
    }
    struct lw_id_key key = lw_frame_key(frame, bus);
    follow_repeats(evidence, frame, key, wire_ns, bit_rate_bps, t_ns);
    if (evidence->is_error_pending && t_ns < evidence->last_error_ns + VICTIM_WITHIN_MS * ms)
        note_victim(evidence, key);
    evidence->is_error_pending = false;
    evidence->recent.frames += 1;
    evidence->n_heard++;
    evidence->last_frame_ns = t_ns;
}

static void begin_trouble(struct lw_evidence *evidence, uint64_t t_ns)
{
    evidence->trouble_last_ns = t_ns;
    if (evidence->is_in_trouble)
        return;
    evidence->is_in_trouble = true;
    evidence->trouble_since_ns = t_ns;
    evidence->n_heard_at_trouble = evidence->n_heard;
    evidence->tec_max = (uint8_t)(evidence->tec_told > UINT8_MAX ? UINT8_MAX : evidence->tec_told);   /* told just before */
    evidence->change_before_trouble_ns = evidence->last_change_ns != 0 ? t_ns - evidence->last_change_ns : UINT64_MAX;
}

/* One error frame that says more than one thing that exclude each other, or says the same after each good frame although the
 * controller counts nothing: old adapter software. */
static void follow_contradictions(struct lw_evidence *evidence, const struct lw_error *error,
                                  const struct lw_controller *controller, uint64_t t_ns)
{
    uint8_t told = error->class_bits & LW_CLASS_CONTROLLER ? error->data[1] : 0;
    bool is_off = error->class_bits & LW_CLASS_BUS_OFF;
    bool says_active = told & lw_error_fields[LW_FIELD_BACK_TO_ACTIVE].value;
    bool says_passive = told & (lw_error_fields[LW_FIELD_RX_PASSIVE].value | lw_error_fields[LW_FIELD_TX_PASSIVE].value
                                | lw_error_fields[LW_FIELD_RX_WARNING].value | lw_error_fields[LW_FIELD_TX_WARNING].value);
    if ((says_active && (says_passive || is_off)) || (is_off && (told & ~0x03u) != 0)) {
        evidence->n_impossible++;
        evidence->last_contradiction_ns = t_ns;
    }
    bool is_equal = memcmp(error->data, evidence->last_error.data, 5) == 0 && error->class_bits == evidence->last_error.class_bits;
    bool is_after_frame = evidence->n_heard > 0 && t_ns < evidence->last_frame_ns + AFTER_EACH_US * UINT64_C(1000)
        && evidence->last_frame_ns > evidence->last_report_ns;
    bool is_counting = controller->tec.is_known && (controller->tec.value > 0 || controller->rec.value > 0);
    /* One that listens reports the missing acknowledge of a frame that is repeated so, and is right. */
    evidence->n_after_each = is_equal && is_after_frame && evidence->repeat_run == 0 && !is_counting && controller->state <= LW_STATE_ERROR_ACTIVE
        ? evidence->n_after_each + 1 : 0;
    /* A driver that tells a spoilt frame sets the class for it; old software repeats without it. */
    if (evidence->n_after_each >= (error->class_bits & LW_CLASS_BUS_ERROR ? 40u : 10u))
        evidence->last_contradiction_ns = t_ns;
    evidence->last_error = *error;
}

static void tally_error(struct lw_evidence *evidence, const struct lw_error *error, uint64_t t_ns)
{
    struct lw_recent *recent = &evidence->recent;
    bool has_protocol = error->class_bits & LW_CLASS_PROTOCOL;
    uint8_t violation = has_protocol ? error->data[2] : 0, place = has_protocol ? error->data[3] & 0x1F : 0;
    if (lw_error_is_no_acknowledge(error)) {
        recent->no_ack += 1;
        evidence->last_no_ack_ns = t_ns;
        begin_trouble(evidence, t_ns);
        return;
    }
    if (!lw_error_is_bus_error(error))
        return;
    begin_trouble(evidence, t_ns);
    evidence->n_errors++;
    recent->errors += 1;
    evidence->errors_of_late += 1;
    recent->sending += (violation & 0x80) != 0;
    recent->stuff += (violation & 0x04) != 0;
    recent->form += (violation & 0x02) != 0;
    recent->bit += (violation & 0x19) != 0;
    recent->in_data += place == PLACE_DATA;
    evidence->n_directed += (violation & 0x80) != 0;
    evidence->n_placed += place != 0;
    if (place != 0)
        evidence->place_age[place] = 0;
    evidence->last_error_ns = t_ns;
    evidence->is_error_pending = true;
}

static void follow_counters(struct lw_evidence *evidence, const struct lw_controller *controller, uint64_t t_ns)
{
    if (!controller->tec.is_known) {
        evidence->tec_told = evidence->rec_told = 0;
        return;
    }
    uint32_t tec = controller->tec.value, rec = controller->rec.value;
    if (tec > evidence->tec_told || rec > evidence->rec_told)
        evidence->rise_ns = t_ns;
    evidence->tec_told = tec;
    evidence->rec_told = rec;
    if (tec > evidence->tec_max)
        evidence->tec_max = (uint8_t)(tec > UINT8_MAX ? UINT8_MAX : tec);
    if (tec != 128)
        evidence->at_128_since_ns = 0;
    else if (evidence->at_128_since_ns == 0)
        evidence->at_128_since_ns = t_ns;
}

static void enter_bus_off(struct lw_evidence *evidence, uint64_t t_ns)
{
    uint64_t after_ns = evidence->run_ns != 0 && evidence->run_ns < t_ns ? t_ns - evidence->run_ns : UINT64_MAX;
    /* The shortest of a trouble counts: after a restart it may take its time to send again. */
    if (!evidence->is_in_trouble || after_ns < evidence->off_after_ns || evidence->bus_off_ns < evidence->trouble_since_ns)
        evidence->off_after_ns = after_ns;
    evidence->bus_off_ns = t_ns;
    begin_trouble(evidence, t_ns);
}

static bool is_disturbed(const struct lw_controller *controller)
{
    return controller->state == LW_STATE_ERROR_WARNING || controller->state == LW_STATE_ERROR_PASSIVE
        || controller->state == LW_STATE_BUS_OFF;
}

/* The transmit counter stays where it is while this computer sends nothing: with frames of others coming in, and no more
 * reports, that is no trouble. */
static bool is_standing(const struct lw_evidence *evidence, const struct lw_controller *controller, uint64_t t_ns)
{
    uint64_t margin = STANDING_MS * ms, risen = evidence->rise_ns;
    bool is_hearing = evidence->last_frame_ns != 0 && t_ns < evidence->last_frame_ns + 1000 * ms;
    return is_hearing && controller->state != LW_STATE_BUS_OFF && evidence->facts[LW_FACT_RECEIVE_TROUBLE].answer != LW_ANSWER_YES
        && t_ns > controller->state_since_ns + margin && t_ns > evidence->last_report_ns + margin && t_ns > risen + margin;
}

void lw_evidence_error(struct lw_evidence *evidence, const struct lw_error *error, const struct lw_controller *controller,
                       uint64_t t_ns)
{
    if (t_ns > evidence->last_report_ns + RUN_PAUSE_MS * ms || (error->class_bits & LW_CLASS_RESTARTED))
        evidence->run_ns = t_ns;
    follow_contradictions(evidence, error, controller, t_ns);
    tally_error(evidence, error, t_ns);
    if (lw_error_is_overrun(error))
        evidence->last_loss_ns = t_ns;
    else if (is_disturbed(controller))
        begin_trouble(evidence, t_ns);
    follow_counters(evidence, controller, t_ns);
    if (error->class_bits & LW_CLASS_BUS_OFF)
        enter_bus_off(evidence, t_ns);
    evidence->last_report_ns = t_ns;
}

void lw_evidence_link(struct lw_evidence *evidence, const struct lw_controller *controller, uint64_t t_ns)
{
    follow_counters(evidence, controller, t_ns);
    if (controller->state == LW_STATE_BUS_OFF && evidence->bus_off_ns < controller->state_since_ns)
        enter_bus_off(evidence, t_ns);
    else if (is_disturbed(controller) && !is_standing(evidence, controller, t_ns))
        begin_trouble(evidence, t_ns);
}

void lw_evidence_loss(struct lw_evidence *evidence, uint64_t t_ns)
{
    evidence->missed_of_late = 0;    /* what was missed before may well have been lost here too */
    evidence->last_loss_ns = t_ns;
}

/* More in a row is a unit that was away, not a frame that was lost. */
void lw_evidence_missed(struct lw_evidence *evidence, uint64_t n_cycles, uint64_t t_ns)
{
    enum { AWAY = 4, LOSS_EXPLAINS_MS = 1000 };
    bool is_lost_here = evidence->last_loss_ns != 0 && t_ns < evidence->last_loss_ns + LOSS_EXPLAINS_MS * ms;
    evidence->missed_of_late += n_cycles < AWAY && !is_lost_here ? (double)n_cycles : 0;
}

void lw_evidence_change(struct lw_evidence *evidence, uint64_t t_ns)
{
    evidence->last_change_ns = t_ns;
}

const struct lw_victim *lw_evidence_victim(const struct lw_evidence *evidence)
{
    const struct lw_victim *most = &evidence->victims[0];
    for (unsigned i = 1; i < LW_VICTIMS; i++)
        if (evidence->victims[i].weight > most->weight)
            most = &evidence->victims[i];
    return most->weight > 0 ? most : NULL;
}

static void fade(struct lw_evidence *evidence)
{
    static const double kept = 1 - LW_EVIDENCE_TICK_MS / 1000.0;
    double *sums[] = { &evidence->recent.frames, &evidence->recent.own, &evidence->recent.no_ack, &evidence->recent.errors,
        &evidence->recent.sending, &evidence->recent.stuff, &evidence->recent.form, &evidence->recent.bit,
        &evidence->recent.in_data };
    for (size_t i = 0; i < sizeof(sums) / sizeof(sums[0]); i++)
        *sums[i] *= kept;
    evidence->errors_of_late *= 1 - (1 - kept) / 10;
    evidence->missed_of_late *= 1 - (1 - kept) / 10;
    for (unsigned i = 0; i < LW_VICTIMS; i++)
        evidence->victims[i].weight *= 1 - (1 - kept) / 4;   /* victims are remembered for four seconds */
    for (unsigned i = 0; i < sizeof(evidence->place_age); i++)
        evidence->place_age[i] += evidence->place_age[i] < LONG_AGO;
}

void lw_evidence_tick(struct lw_evidence *evidence, const struct lw_surroundings *around, uint64_t t_ns)
{
    fade(evidence);
    if (is_disturbed(around->controller) && !is_standing(evidence, around->controller, t_ns))
        begin_trouble(evidence, t_ns);
    if (evidence->is_in_trouble && t_ns > evidence->trouble_last_ns + OVER_MS * ms)
        evidence->is_in_trouble = false;
    /* What is usual is learnt slowly, and only while all is well. */
    if (!evidence->is_in_trouble && around->silent_since_ns == 0 && around->n_quiet == 0 && evidence->n_heard > 0)
        evidence->usual_hz += (evidence->recent.frames - evidence->usual_hz) * LW_EVIDENCE_TICK_MS / 3000.0;
    lw_evidence_judge(evidence, around, t_ns);
}
