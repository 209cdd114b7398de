/* SPDX-License-Identifier: MIT
 *
 * What the collected numbers mean: each fact is yes, no or unknown.
 */
#include "loomwatch/core/evidence.h"

#include <math.h>

static const uint64_t ms = UINT64_C(1000000);

enum {
    RECENT_MS = 2000,            /* an event this old still counts as now */
    AT_ONCE_MS = 40,             /* 32 errors in a row take a few milliseconds even at 50 kbit/s */
    STUCK_MS = 250, RISE_MS = 3000,
    REPEATS = 8, REPEATS_LOOSE = 100, REPEATS_FOR_MS = 300, REPEAT_EXTRA_BITS = 8,
    AFTER_CHANGE_MS = 20000,
    FEW_FRAMES = 20,
    JUST_BEGUN_S = 3,
    SOME = 2, SOME_OF_LATE = 4,  /* one spoilt frame is no trouble: errors in a second, or in ten */
    COMES_AND_GOES = LW_WENT,    /* times in a minute: more often than people plug and unplug */
    SKIPS_OF_LATE = 4, LOSS_EXPLAINS_MS = 15000,
    GOING_ON = 5,                /* errors a second */
    MUTE_MS = 2500,              /* a unit that is well has booted and spoken by then */
    DIAGNOSED = 3,               /* so many errors before their distribution means anything */
    FULL_PERMILLE = 850, HOG_PERMILLE = 400,
};

struct scene {
    struct lw_evidence *evidence;
    const struct lw_surroundings *around;
    const struct lw_controller *controller;
    uint64_t t_ns;
    bool tells_errors, tells_counters;
};

static void set(const struct scene *scene, enum lw_fact fact, enum lw_answer answer, double value, uint64_t last_ns)
{
    struct lw_fact_value *was = &scene->evidence->facts[fact];
    uint64_t since_ns = was->answer == answer ? was->since_ns : scene->t_ns;
    *was = (struct lw_fact_value){ (uint8_t)answer, value, since_ns, last_ns };
}

static void say(const struct scene *scene, enum lw_fact fact, bool is_known, bool is_so, double value, uint64_t last_ns)
{
    set(scene, fact, !is_known ? LW_ANSWER_UNKNOWN : is_so ? LW_ANSWER_YES : LW_ANSWER_NO, value, last_ns);
}

static bool is_recent(const struct scene *scene, uint64_t t_ns, unsigned within_ms)
{
    return t_ns != 0 && scene->t_ns <= t_ns + within_ms * ms;
}

/* Most transceivers tell nothing, so that there is no answer no. */
static void say_told(const struct scene *scene, enum lw_fact fact, const unsigned *fields, size_t n)
{
    uint64_t last_ns = 0;
    for (size_t i = 0; i < n; i++)
        last_ns = scene->controller->fields[fields[i]].last_ns > last_ns ? scene->controller->fields[fields[i]].last_ns : last_ns;
    bool is_told = is_recent(scene, last_ns, RECENT_MS);
    say(scene, fact, is_told, is_told, 0, last_ns);
}

/* The order of the fields is that of linux/can/error.h: open, battery, supply, ground, and for L the other wire. */
static void judge_told_wires(const struct scene *scene)
{
    enum { H = LW_FIELD_WIRE_H_FIRST, L = LW_FIELD_WIRE_L_FIRST };
    static const unsigned any[] = { LW_FIELD_TRANSCEIVER }, open[] = { H, L }, shorted[] = { L + 4 };
    static const unsigned rail[] = { H + 1, H + 2, H + 3, L + 1, L + 2, L + 3 };
    say_told(scene, LW_FACT_WIRE_TOLD, any, 1);
    say_told(scene, LW_FACT_OPEN_TOLD, open, 2);
    say_told(scene, LW_FACT_RAIL_TOLD, rail, 6);
    say_told(scene, LW_FACT_SHORT_TOLD, shorted, 1);
}

static void judge_adapter(const struct scene *scene)
{
    const struct lw_controller *controller = scene->controller;
    const struct lw_evidence *evidence = scene->evidence;
    const struct lw_link *link = &controller->link;
    bool has_link = controller->has_link;
    say(scene, LW_FACT_GONE, has_link, !link->is_present, 0, 0);
    say(scene, LW_FACT_DOWN, has_link, link->is_present && !link->is_up, 0, 0);
    say(scene, LW_FACT_TELLS_ERRORS, true, scene->tells_errors, 0, evidence->last_report_ns);
    bool tells_state = scene->tells_counters || (has_link && link->state != LW_STATE_UNKNOWN)
        || controller->state != LW_STATE_UNKNOWN;
    say(scene, LW_FACT_TELLS_STATE, true, tells_state, 0, 0);
    say(scene, LW_FACT_LISTENS_ONLY, has_link && link->listen_only.is_known, link->listen_only.value != 0, 0, 0);
    say(scene, LW_FACT_CONTRADICTS, evidence->last_report_ns != 0, is_recent(scene, evidence->last_contradiction_ns, 10000),
        evidence->n_impossible + evidence->n_after_each, evidence->last_contradiction_ns);
    say(scene, LW_FACT_LOSSES, true, is_recent(scene, evidence->last_loss_ns, RECENT_MS), 0, evidence->last_loss_ns);
    judge_told_wires(scene);
}

/* Which side of our controller is in trouble: its counters, or what the state report says, whichever is newer. */
static void judge_sides(const struct scene *scene)
{
    const struct lw_controller *controller = scene->controller;
    uint64_t since = controller->state_since_ns;
    bool is_disturbed = controller->state == LW_STATE_ERROR_WARNING || controller->state == LW_STATE_ERROR_PASSIVE;
    const struct lw_tally *fields = controller->fields;
    bool is_send_told = is_disturbed && (fields[LW_FIELD_TX_WARNING].last_ns >= since || fields[LW_FIELD_TX_PASSIVE].last_ns >= since);
    bool is_receive_told = is_disturbed && (fields[LW_FIELD_RX_WARNING].last_ns >= since || fields[LW_FIELD_RX_PASSIVE].last_ns >= since);
    bool is_told = is_send_told || is_receive_told || controller->state == LW_STATE_ERROR_ACTIVE;
    bool has_counters = scene->tells_counters;
    uint32_t tec = controller->tec.value, rec = controller->rec.value;
    /* A counter that only falls, or stands because nothing more is sent, tells of what was. The receive counter falls with each
     * good frame: high and standing, while nobody is heard, it tells of what is; some cores hold it at 127. */
    bool hears = scene->evidence->last_frame_ns != 0 && is_recent(scene, scene->evidence->last_frame_ns, 1000);
    bool goes_up = is_recent(scene, scene->evidence->rise_ns, RISE_MS);
    say(scene, LW_FACT_SEND_TROUBLE, has_counters || is_told, has_counters ? tec >= 96 && goes_up : is_send_told, tec, controller->counters_ns);
    say(scene, LW_FACT_RECEIVE_TROUBLE, has_counters || is_told, has_counters ? rec >= 96 && (goes_up || !hears)
        : is_receive_told, rec, controller->counters_ns);
    uint64_t at_128 = scene->evidence->at_128_since_ns;
    say(scene, LW_FACT_STUCK_AT_128, has_counters, at_128 != 0 && scene->t_ns > at_128 + STUCK_MS * ms
        && scene->evidence->tec_max <= 128, tec, controller->counters_ns);
    say(scene, LW_FACT_BEYOND_128, has_counters && scene->evidence->is_in_trouble, scene->evidence->tec_max > 128,
        scene->evidence->tec_max, controller->counters_ns);
}

static void judge_bus_off(const struct scene *scene)
{
    const struct lw_evidence *evidence = scene->evidence;
    bool tells = scene->evidence->facts[LW_FACT_TELLS_STATE].answer == LW_ANSWER_YES;
    bool is_off = scene->controller->state == LW_STATE_BUS_OFF || is_recent(scene, evidence->bus_off_ns, RECENT_MS);
    say(scene, LW_FACT_BUS_OFF, tells || is_off, is_off, 0, evidence->bus_off_ns);
    say(scene, LW_FACT_OFF_AT_ONCE, is_off && evidence->off_after_ns != UINT64_MAX, evidence->off_after_ns < AT_ONCE_MS * ms,
        (double)evidence->off_after_ns / 1e6, evidence->bus_off_ns);
}

static void judge_errors(const struct scene *scene)
{
    const struct lw_evidence *evidence = scene->evidence;
    const struct lw_recent *recent = &evidence->recent;
    bool tells = scene->tells_errors, has_some = recent->errors >= DIAGNOSED;
    double n = recent->errors > 0 ? recent->errors : 1, all = recent->errors + recent->no_ack;
    say(scene, LW_FACT_NO_ACKNOWLEDGE, tells, is_recent(scene, evidence->last_no_ack_ns, RECENT_MS), recent->no_ack,
        evidence->last_no_ack_ns);
    say(scene, LW_FACT_ERRORS, tells, is_recent(scene, evidence->last_error_ns, RECENT_MS) && (recent->errors >= SOME || evidence->errors_of_late >= SOME_OF_LATE),
        recent->errors, evidence->last_error_ns);
    say(scene, LW_FACT_ERRORS_GO_ON, tells, all >= GOING_ON, all, evidence->last_error_ns);
    say(scene, LW_FACT_MANY_ERRORS, tells, all > 20 && all > recent->frames, all, evidence->last_error_ns);
    say(scene, LW_FACT_SENDING_ERRORS, has_some && evidence->n_directed > 0, recent->sending > n / 2, recent->sending / n * 100,
        evidence->last_error_ns);
    say(scene, LW_FACT_STUFF_ERRORS, has_some, recent->stuff > n / 2, recent->stuff / n * 100, evidence->last_error_ns);
    say(scene, LW_FACT_FORM_ERRORS, has_some, recent->form > n / 2, recent->form / n * 100, evidence->last_error_ns);
    say(scene, LW_FACT_BIT_ERRORS, has_some, recent->bit > n / 2, recent->bit / n * 100, evidence->last_error_ns);
    unsigned n_places = 0;
    for (unsigned i = 0; i < sizeof(evidence->place_age); i++)
        n_places += evidence->place_age[i] < RECENT_MS / LW_EVIDENCE_TICK_MS;
    say(scene, LW_FACT_SCATTERED, has_some && evidence->n_placed > DIAGNOSED, n_places >= 3, n_places, evidence->last_error_ns);
    say(scene, LW_FACT_VICTIM_IN_DATA, has_some && evidence->n_placed > DIAGNOSED, recent->in_data > 0.6 * n,
        recent->in_data / n * 100, evidence->last_error_ns);
}

static void judge_victims(const struct scene *scene)
{
    const struct lw_evidence *evidence = scene->evidence;
    const struct lw_victim *victim = lw_evidence_victim(evidence);
    double sum = 0;
    for (unsigned i = 0; i < LW_VICTIMS; i++)
        sum += evidence->victims[i].weight;
    bool is_known = victim && sum >= DIAGNOSED && scene->around->n_cyclic >= 3;
    say(scene, LW_FACT_ONE_VICTIM, is_known, is_known && victim->weight > 0.7 * sum, is_known ? victim->weight / sum * 100 : 0,
        evidence->last_error_ns);
}

static void judge_traffic(const struct scene *scene)
{
    const struct lw_evidence *evidence = scene->evidence;
    const struct lw_surroundings *around = scene->around;
    const struct lw_recent *recent = &evidence->recent;
    /* Frames of the last moments that came before bus off tell nothing of what there is since. */
    bool is_heard = evidence->last_frame_ns != 0 && scene->t_ns <= evidence->last_frame_ns + around->silence_ns;
    bool is_now = is_heard && around->silent_since_ns == 0;
    bool is_deaf = scene->controller->state == LW_STATE_BUS_OFF && evidence->last_frame_ns <= evidence->bus_off_ns;
    say(scene, LW_FACT_OTHERS_NOW, !(is_now && is_deaf), is_now, recent->frames, evidence->last_frame_ns);
    uint64_t n_before = evidence->is_in_trouble ? evidence->n_heard_at_trouble : evidence->n_heard;
    say(scene, LW_FACT_OTHERS_BEFORE, n_before == 0 || n_before >= FEW_FRAMES, n_before >= FEW_FRAMES, (double)n_before, evidence->last_frame_ns);
    say(scene, LW_FACT_OWN_SENT, true, is_recent(scene, evidence->last_own_ns, 1000), recent->own, evidence->last_own_ns);
    say(scene, LW_FACT_SILENT, true, around->silent_since_ns != 0, 0, evidence->last_frame_ns);
    say(scene, LW_FACT_FEWER_FRAMES, evidence->usual_hz >= 2, recent->frames < 0.5 * evidence->usual_hz, recent->frames,
        evidence->last_frame_ns);
    /* With room for more than an error between, it may be a message that has so short a period: not if we acknowledge it. */
    bool is_loose = evidence->n_repeats_loose > 0, acknowledges = evidence->facts[LW_FACT_LISTENS_ONLY].answer == LW_ANSWER_NO;
    bool is_repeating = evidence->repeat_run >= (is_loose ? REPEATS_LOOSE : REPEATS) && !(is_loose && acknowledges)
        && is_recent(scene, evidence->last_frame_ns, REPEATS_FOR_MS)
        && (!around->bit_rate_bps.is_known || evidence->repeat_extra_bits >= REPEAT_EXTRA_BITS);
    say(scene, LW_FACT_REPEATS, evidence->n_heard > 0, is_repeating, evidence->repeat_run, evidence->last_frame_ns);
    bool is_loss_told = is_recent(scene, evidence->last_loss_ns, LOSS_EXPLAINS_MS);
    say(scene, LW_FACT_SKIPS, around->n_cyclic > 0 && !is_loss_told, evidence->missed_of_late >= SKIPS_OF_LATE, evidence->missed_of_late, evidence->last_frame_ns);
    say(scene, LW_FACT_DOUBLED, around->n_cyclic > 0, around->n_doubled > 0, around->n_doubled, evidence->last_frame_ns);
    bool has_load = around->load_permille.is_known;
    bool is_full = has_load && around->load_permille.value >= FULL_PERMILLE;
    say(scene, LW_FACT_FULL, has_load, is_full, around->load_permille.value / 10.0, evidence->last_frame_ns);
    say(scene, LW_FACT_HOG, recent->frames > FEW_FRAMES, around->hog_permille >= HOG_PERMILLE && is_full, around->hog_permille / 10.0,
        evidence->last_frame_ns);
}

static void judge_units(const struct scene *scene)
{
    const struct lw_surroundings *around = scene->around;
    bool can_tell = around->n_cyclic > 0;
    say(scene, LW_FACT_QUIET_GROUP, can_tell, around->n_quiet > 0, around->n_quiet, 0);
    say(scene, LW_FACT_MOST_QUIET, can_tell && around->n_cyclic >= 3, around->n_quiet * 10 >= around->n_cyclic * 7,
        around->n_quiet, 0);
    say(scene, LW_FACT_CAME_BACK, can_tell, around->n_returned > 0, around->n_returned, 0);
    say(scene, LW_FACT_COMES_AND_GOES, can_tell, around->n_comings >= COMES_AND_GOES, around->n_comings, 0);
    say(scene, LW_FACT_NEWCOMER, true, around->n_new > 0, around->n_new, 0);
    uint64_t waited_ns = scene->t_ns - around->plugged_ns;
    say(scene, LW_FACT_MUTE, around->plugged_ns != 0 && (around->is_heard_since_plugged || waited_ns > MUTE_MS * ms),
        !around->is_heard_since_plugged, (double)waited_ns / 1e9, around->plugged_ns);
    say(scene, LW_FACT_NEVER_HEARD, true, around->n_never_heard > 0, around->n_never_heard, 0);
    const struct lw_claim_trouble *claims = &around->claims;
    say(scene, LW_FACT_ADDRESS_SHARED, claims->is_known, claims->n_shared > 0, claims->address, claims->since_ns);
    say(scene, LW_FACT_NO_ADDRESS, claims->is_known, claims->n_without > 0, claims->address, claims->since_ns);
}

/* Whether what began then began after something was changed. A change may also be marked just after its harm began. */
static bool is_after_change(const struct lw_evidence *evidence, uint64_t began_ns, uint64_t before_ns)
{
    uint64_t change = evidence->last_change_ns;
    return before_ns < AFTER_CHANGE_MS * ms || (change >= began_ns && change < began_ns + RECENT_MS * ms);
}

/* How anything that is not trouble on the wires began: messages gone quiet, or the whole bus. */
static void judge_quiet_course(const struct scene *scene)
{
    uint64_t silent = scene->around->silent_since_ns, quiet = scene->around->quiet_since_ns;
    uint64_t began = silent != 0 ? silent : quiet, change = scene->evidence->last_change_ns;
    uint64_t before = change != 0 && change <= began ? began - change : UINT64_MAX;
    bool is_after = is_after_change(scene->evidence, began, before), is_from_start = scene->evidence->n_heard < FEW_FRAMES;
    if (is_from_start)               /* nobody can say what was done before */
        began = 0;
    say(scene, LW_FACT_AFTER_CHANGE, began != 0, is_after, before == UINT64_MAX ? INFINITY : (double)before / 1e9, began);
    say(scene, LW_FACT_OUT_OF_THE_BLUE, began != 0, !is_after, 0, began);
}

static void judge_course(const struct scene *scene)
{
    const struct lw_evidence *evidence = scene->evidence;
    bool had_trouble = evidence->trouble_since_ns != 0, is_in = evidence->is_in_trouble;
    uint64_t since = evidence->trouble_since_ns, last = evidence->trouble_last_ns;
    bool is_from_start = had_trouble && evidence->n_heard_at_trouble < FEW_FRAMES;
    uint64_t before = evidence->change_before_trouble_ns;
    bool is_after = had_trouble && is_after_change(evidence, since, before);
    double watched_s = (double)(scene->t_ns - scene->around->start_ns) / 1e9;
    say(scene, LW_FACT_JUST_BEGUN, true, watched_s < JUST_BEGUN_S, watched_s, 0);
    say(scene, LW_FACT_TROUBLE, true, is_in, is_in ? (double)(scene->t_ns - since) / 1e9 : 0, last);
    say(scene, LW_FACT_FROM_START, is_in, is_from_start, 0, since);
    if (is_in) {
        say(scene, LW_FACT_AFTER_CHANGE, is_after || !is_from_start, is_after, before == UINT64_MAX ? INFINITY : (double)before / 1e9, since);
        say(scene, LW_FACT_OUT_OF_THE_BLUE, true, !is_from_start && !is_after, 0, since);
    } else {
        judge_quiet_course(scene);
    }
    say(scene, LW_FACT_HEALED, true, had_trouble && !is_in, had_trouble && !is_in ? (double)(scene->t_ns - last) / 1e9 : 0, last);
}

/* Silence about errors counts only where the driver is known to tell them: it told one, or it has a switch for it that is on. */
static bool tells_errors(const struct lw_evidence *evidence, const struct lw_controller *controller)
{
    const struct lw_link *link = &controller->link;
    bool is_off = link->error_reporting.is_known && link->error_reporting.value == 0;
    return evidence->n_errors + controller->no_acknowledge.n > 0
        || (controller->has_link && link->controller == LW_CONTROLLER_REAL && link->error_reporting.is_known && !is_off);
}

void lw_evidence_judge(struct lw_evidence *evidence, const struct lw_surroundings *around, uint64_t t_ns)
{
    const struct lw_controller *controller = around->controller;
    struct scene scene = { evidence, around, controller, t_ns, tells_errors(evidence, controller), controller->tec.is_known };
    judge_adapter(&scene);
    judge_bus_off(&scene);
    judge_sides(&scene);
    judge_errors(&scene);
    judge_victims(&scene);
    judge_traffic(&scene);
    judge_units(&scene);
    judge_course(&scene);
}
