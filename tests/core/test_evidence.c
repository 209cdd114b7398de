/* SPDX-License-Identifier: MIT
 *
 * The facts at their edges: what makes each of them yes, no, or unknown. Error frames by the names of linux/can/error.h;
 * counters by the rules of ISO 11898-1.
 */
#include "loomwatch/core/evidence.h"

#include "cases.h"

#include <linux/can/error.h>
#include <stdio.h>
#include <string.h>

static const uint64_t ms = 1000000;

struct rig {
    struct lw_evidence evidence;
    struct lw_controller controller;
    struct lw_surroundings around;
    uint64_t t_ns;
};

static struct rig rig;

static void begin(void)
{
    memset(&rig, 0, sizeof(rig));
    rig.t_ns = 1000 * ms;
    lw_evidence_init(&rig.evidence);
    lw_controller_init(&rig.controller);
    rig.around = (struct lw_surroundings){ .controller = &rig.controller, .start_ns = rig.t_ns, .silence_ns = 1000 * ms };
}

static void pass(unsigned duration_ms)
{
    for (unsigned i = 0; i < duration_ms; i += LW_EVIDENCE_TICK_MS) {
        rig.t_ns += LW_EVIDENCE_TICK_MS * ms;
        lw_evidence_tick(&rig.evidence, &rig.around, rig.t_ns);
    }
}

static void report(uint32_t class_bits, uint8_t told, uint8_t violation, uint8_t place)
{
    struct lw_error error = { class_bits, { [1] = told, [2] = violation, [3] = place } };
    rig.t_ns += ms / 2;
    lw_controller_error(&rig.controller, &error, rig.t_ns);
    lw_evidence_error(&rig.evidence, &error, &rig.controller, rig.t_ns);
}

static void link_says(enum lw_bus_state state, struct lw_reading tec, struct lw_reading rec)
{
    struct lw_link link = lw_link_unknown();
    link.controller = LW_CONTROLLER_REAL;
    link.state = state;
    link.tec = tec;
    link.rec = rec;
    link.error_reporting = LW_KNOWN(1);
    link.listen_only = LW_KNOWN(0);
    lw_controller_link(&rig.controller, &link, rig.t_ns);
    lw_evidence_link(&rig.evidence, &rig.controller, rig.t_ns);
}

static void heard(uint32_t id, uint8_t first_byte)
{
    struct lw_frame frame = { .id = id, .len = 8, .data = { first_byte } };
    rig.t_ns += ms;
    lw_evidence_frame(&rig.evidence, &frame, 0, 230000, 500000, rig.t_ns);
}

static void heard_many(unsigned n)
{
    for (unsigned i = 0; i < n; i++)
        heard(0x100 + i % 5, (uint8_t)i);
}

static void play_nothing(void) { pass(50); }
static void play_link(void) { link_says(LW_STATE_ERROR_ACTIVE, LW_KNOWN(0), LW_KNOWN(0)); pass(50); }
static void play_frames(void) { link_says(LW_STATE_ERROR_ACTIVE, LW_KNOWN(0), LW_KNOWN(0)); heard_many(30); pass(50); }
static void play_few_frames(void) { heard_many(19); pass(50); }
static void play_frames_then_none(void) { heard_many(30); pass(1500); }

static void play_gone(void)
{
    struct lw_link link = { .is_present = false };
    lw_controller_link(&rig.controller, &link, rig.t_ns);
    pass(50);
}

static void play_down(void)
{
    struct lw_link link = { .is_present = true, .is_up = false };
    lw_controller_link(&rig.controller, &link, rig.t_ns);
    pass(50);
}

static void play_listen_only(void)
{
    play_link();
    rig.controller.link.listen_only = LW_KNOWN(1);
    pass(50);
}

static void play_states_that_exclude(void) { report(CAN_ERR_CRTL | CAN_ERR_BUSOFF, CAN_ERR_CRTL_ACTIVE | CAN_ERR_CRTL_RX_WARNING, 0, 0); pass(50); }
static void play_one_warning(void) { report(CAN_ERR_CRTL, CAN_ERR_CRTL_RX_WARNING, 0, 0); pass(50); }
static void play_overrun(void) { play_frames(); report(CAN_ERR_CRTL, CAN_ERR_CRTL_RX_OVERFLOW, 0, 0); pass(50); }
static void play_old_overrun(void) { play_overrun(); pass(2500); }

static void play_last_code_after_each(void)
{
    for (unsigned i = 0; i < 12; i++) {
        heard(0x100 + i % 2, (uint8_t)i);
        rig.t_ns -= ms * 3 / 10;                        /* 0.2 ms after the frame */
        report(CAN_ERR_CRTL | CAN_ERR_PROT, 0, CAN_ERR_PROT_FORM, 0);
    }
    pass(50);
}

/* A frame that nobody acknowledges, each time told by a listener: no contradiction. */
static void play_repeats(void)
{
    for (unsigned i = 0; i < 200; i++) {
        heard(0x123, 0x11);
        rig.t_ns -= ms * 3 / 10;
        report(CAN_ERR_PROT | CAN_ERR_BUSERROR, 0, CAN_ERR_PROT_BIT0, 0);
        rig.t_ns -= ms / 2 + ms * 9 / 10;               /* 0.3 ms a turn */
        rig.t_ns += ms;
    }
    lw_evidence_judge(&rig.evidence, &rig.around, rig.t_ns);
}

static void play_wire(uint8_t wires)
{
    struct lw_error error = { CAN_ERR_TRX, { [4] = wires } };
    lw_controller_error(&rig.controller, &error, rig.t_ns);
    lw_evidence_error(&rig.evidence, &error, &rig.controller, rig.t_ns);
    pass(50);
}

static void play_wire_open(void) { play_wire(CAN_ERR_TRX_CANH_NO_WIRE); }
static void play_wire_ground(void) { play_wire(CAN_ERR_TRX_CANL_SHORT_TO_GND); }
static void play_wire_short(void) { play_wire(CAN_ERR_TRX_CANL_SHORT_TO_CANH); }

static void play_off_at_once(void) { play_link(); report(0x88, 0, 0x88, 0); report(0x88, 0, 0x88, 0); report(CAN_ERR_BUSOFF, 0, 0, 0); pass(50); }
static void play_off_slowly(void) { for (unsigned i = 0; i < 200; i++) report(0x88, 0, 0x88, 0); report(CAN_ERR_BUSOFF, 0, 0, 0); pass(50); }
static void play_off_alone(void) { report(CAN_ERR_BUSOFF, 0, 0, 0); pass(50); }
static void play_off_and_back(void) { report(CAN_ERR_BUSOFF, 0, 0, 0); report(CAN_ERR_RESTARTED, 0, 0, 0); pass(3000); }

static void counters(unsigned tec, unsigned rec)
{
    bool is_passive = tec >= 128 || rec >= 128, is_warned = tec >= 96 || rec >= 96;
    link_says(is_passive ? LW_STATE_ERROR_PASSIVE : is_warned ? LW_STATE_ERROR_WARNING : LW_STATE_ERROR_ACTIVE, LW_KNOWN(tec), LW_KNOWN(rec));
}

static void play_tec_95(void) { counters(95, 95); pass(50); }
static void play_tec_96(void) { counters(96, 0); pass(50); }
static void play_rec_96(void) { counters(0, 96); pass(50); }
static void play_tec_128(void) { counters(128, 0); pass(50); }
static void play_tec_128_stays(void) { counters(128, 0); pass(400); counters(128, 0); pass(50); }
static void play_tec_136_then_128(void) { counters(136, 0); pass(50); counters(128, 0); pass(400); }
static void play_told_send_passive(void) { report(CAN_ERR_CRTL, CAN_ERR_CRTL_TX_PASSIVE, 0, 0); pass(50); }
static void play_told_receive_passive(void) { report(CAN_ERR_CRTL, CAN_ERR_CRTL_RX_PASSIVE, 0, 0); pass(50); }

static void play_no_ack(void) { play_link(); for (unsigned i = 0; i < 30; i++) report(CAN_ERR_ACK, 0, 0, 0); pass(50); }
static void play_no_ack_by_place(void) { play_link(); report(0x88, 0, 0x80, CAN_ERR_PROT_LOC_ACK); pass(50); }
static void play_old_no_ack(void) { play_no_ack(); pass(2500); }

static void errors(unsigned n, uint8_t violation, const char *places)
{
    for (unsigned i = 0; i < n; i++)
        report(0x88, 0, violation, (uint8_t)places[i % strlen(places)]);
    pass(50);
}

static void play_two_errors(void) { errors(2, CAN_ERR_PROT_STUFF, "\x0A"); }
static void play_three_errors(void) { errors(3, CAN_ERR_PROT_STUFF, "\x0A"); }
static void play_stuff(void) { errors(40, CAN_ERR_PROT_STUFF, "\x0A\x08\x18"); }
static void play_form(void) { errors(40, CAN_ERR_PROT_FORM, "\x18\x1B"); }
static void play_bit_sending(void) { errors(40, CAN_ERR_PROT_BIT0 | CAN_ERR_PROT_TX, "\x0A"); }
static void play_unplaced(void) { for (unsigned i = 0; i < 40; i++) report(0x88, 0, CAN_ERR_PROT_STUFF, 0); pass(50); }
static void play_few_errors_in_traffic(void) { heard_many(100); errors(6, CAN_ERR_PROT_STUFF, "\x0A"); }
static void play_errors_over(void) { play_stuff(); pass(5000); }

static void play_victims(unsigned n_kinds)
{
    rig.around.n_cyclic = 5;
    for (unsigned i = 0; i < 20; i++) {
        report(0x88, 0, CAN_ERR_PROT_STUFF, 0x0A);
        heard(0x200 + i % n_kinds, (uint8_t)i);
    }
    pass(50);
}

static void play_one_victim(void) { play_victims(1); }
static void play_five_victims(void) { play_victims(5); }

static void play_own(void) { struct lw_frame frame = { .id = 1, .flags = LW_FRAME_OWN }; lw_evidence_frame(&rig.evidence, &frame, 0, 0, 0, rig.t_ns); pass(50); }
static void play_own_long_ago(void) { play_own(); pass(1500); }
static void play_silent(void) { heard_many(30); rig.around.silent_since_ns = rig.t_ns; pass(50); }
static void play_steady_then_slow(void) { for (unsigned i = 0; i < 200; i++) { heard_many(20); pass(50); } for (unsigned i = 0; i < 40; i++) { heard_many(4); pass(50); } }
static void play_skips(void) { rig.around.n_cyclic = 3; heard_many(30); lw_evidence_missed(&rig.evidence, 3, rig.t_ns); lw_evidence_missed(&rig.evidence, 2, rig.t_ns); pass(50); }
static void play_was_away(void) { rig.around.n_cyclic = 3; heard_many(30); lw_evidence_missed(&rig.evidence, 40, rig.t_ns); pass(50); }
static void play_steady(void) { for (unsigned i = 0; i < 200; i++) { heard_many(20); pass(50); } }

static void play_around_all(void)
{
    rig.around.load_permille = LW_KNOWN(900);
    rig.around.hog_permille = 500;
    rig.around.n_cyclic = 10;
    rig.around.n_quiet = 8;
    rig.around.n_returned = rig.around.n_doubled = rig.around.n_new = rig.around.n_never_heard = 1;
    rig.around.n_comings = LW_WENT;
    rig.around.plugged_ns = rig.t_ns;
    rig.around.claims = (struct lw_claim_trouble){ .is_known = true, .n_shared = 1, .n_without = 1, .address = 22 };
    heard_many(30);
    pass(3000);
    heard_many(30);
    pass(50);
}

static void play_around_none(void)
{
    rig.around.load_permille = LW_KNOWN(300);
    rig.around.n_cyclic = 10;
    rig.around.plugged_ns = rig.t_ns;
    rig.around.is_heard_since_plugged = true;
    rig.around.claims.is_known = true;
    heard_many(30);
    pass(50);
}

static void play_just_plugged(void) { rig.around.plugged_ns = rig.t_ns; pass(1000); }
static void play_four_seconds(void) { pass(4000); }
static void play_change_then_trouble(void) { heard_many(30); lw_evidence_change(&rig.evidence, rig.t_ns); pass(1000); play_stuff(); }
static void play_trouble_then_mark(void) { heard_many(30); play_stuff(); lw_evidence_change(&rig.evidence, rig.t_ns); pass(50); }
static void play_trouble_in_traffic(void) { heard_many(30); play_stuff(); }
static void play_old_change(void) { heard_many(30); lw_evidence_change(&rig.evidence, rig.t_ns); pass(21000); play_stuff(); }

enum { U = LW_ANSWER_UNKNOWN, N = LW_ANSWER_NO, Y = LW_ANSWER_YES };

static const struct { enum lw_fact fact; const char *play_name; void (*play)(void); int answer; } rows[] = {
#define ROW(fact, play, answer) { LW_FACT_##fact, #play, play_##play, answer }
    ROW(GONE, nothing, U), ROW(GONE, link, N), ROW(GONE, gone, Y), ROW(DOWN, nothing, U), ROW(DOWN, link, N), ROW(DOWN, down, Y), ROW(DOWN, gone, N),
    ROW(TELLS_ERRORS, nothing, N), ROW(TELLS_ERRORS, link, Y), ROW(TELLS_ERRORS, no_ack, Y), ROW(TELLS_ERRORS, one_warning, N),
    ROW(TELLS_STATE, nothing, N), ROW(TELLS_STATE, link, Y), ROW(TELLS_STATE, one_warning, Y), ROW(LISTENS_ONLY, nothing, U), ROW(LISTENS_ONLY, link, N),
    ROW(LISTENS_ONLY, listen_only, Y), ROW(CONTRADICTS, nothing, U), ROW(CONTRADICTS, one_warning, N), ROW(CONTRADICTS, states_that_exclude, Y),
    ROW(CONTRADICTS, last_code_after_each, Y), ROW(CONTRADICTS, repeats, N), ROW(CONTRADICTS, stuff, N), ROW(LOSSES, nothing, N), ROW(LOSSES, overrun, Y),
    ROW(LOSSES, old_overrun, N), ROW(WIRE_TOLD, link, U), ROW(WIRE_TOLD, wire_open, Y), ROW(OPEN_TOLD, wire_open, Y), ROW(RAIL_TOLD, wire_open, U),
    ROW(RAIL_TOLD, wire_ground, Y), ROW(SHORT_TOLD, wire_short, Y), ROW(OPEN_TOLD, wire_short, U),
    ROW(BUS_OFF, nothing, U), ROW(BUS_OFF, link, N), ROW(BUS_OFF, off_alone, Y), ROW(BUS_OFF, off_and_back, N), ROW(OFF_AT_ONCE, link, U),
    ROW(OFF_AT_ONCE, off_at_once, Y), ROW(OFF_AT_ONCE, off_slowly, N), ROW(OFF_AT_ONCE, off_alone, U),
    ROW(SEND_TROUBLE, nothing, U), ROW(SEND_TROUBLE, tec_95, N), ROW(SEND_TROUBLE, tec_96, Y), ROW(SEND_TROUBLE, rec_96, N), ROW(SEND_TROUBLE, told_send_passive, Y),
    ROW(SEND_TROUBLE, told_receive_passive, N), ROW(SEND_TROUBLE, off_alone, U), ROW(RECEIVE_TROUBLE, nothing, U), ROW(RECEIVE_TROUBLE, tec_95, N),
    ROW(RECEIVE_TROUBLE, rec_96, Y), ROW(RECEIVE_TROUBLE, told_receive_passive, Y), ROW(RECEIVE_TROUBLE, told_send_passive, N),
    ROW(STUCK_AT_128, nothing, U), ROW(STUCK_AT_128, tec_96, N), ROW(STUCK_AT_128, tec_128, N), ROW(STUCK_AT_128, tec_128_stays, Y),
    ROW(STUCK_AT_128, tec_136_then_128, N), ROW(STUCK_AT_128, told_send_passive, U), ROW(BEYOND_128, link, U), ROW(BEYOND_128, tec_128_stays, N),
    ROW(BEYOND_128, tec_136_then_128, Y), ROW(BEYOND_128, off_alone, U),
    ROW(NO_ACKNOWLEDGE, nothing, U), ROW(NO_ACKNOWLEDGE, link, N), ROW(NO_ACKNOWLEDGE, no_ack, Y), ROW(NO_ACKNOWLEDGE, no_ack_by_place, Y),
    ROW(NO_ACKNOWLEDGE, old_no_ack, N), ROW(ERRORS, nothing, U), ROW(ERRORS, link, N), ROW(ERRORS, no_ack, N), ROW(ERRORS, two_errors, N), ROW(ERRORS, three_errors, Y), ROW(ERRORS, errors_over, N),
    ROW(ERRORS_GO_ON, two_errors, N), ROW(ERRORS_GO_ON, stuff, Y), ROW(MANY_ERRORS, nothing, U), ROW(MANY_ERRORS, few_errors_in_traffic, N), ROW(MANY_ERRORS, stuff, Y),
    ROW(SENDING_ERRORS, two_errors, U), ROW(SENDING_ERRORS, stuff, U), ROW(SENDING_ERRORS, bit_sending, Y), ROW(STUFF_ERRORS, two_errors, U), ROW(STUFF_ERRORS, stuff, Y),
    ROW(STUFF_ERRORS, form, N), ROW(FORM_ERRORS, stuff, N), ROW(FORM_ERRORS, form, Y), ROW(BIT_ERRORS, stuff, N), ROW(BIT_ERRORS, bit_sending, Y),
    ROW(SCATTERED, unplaced, U), ROW(SCATTERED, stuff, Y), ROW(SCATTERED, form, N), ROW(VICTIM_IN_DATA, unplaced, U), ROW(VICTIM_IN_DATA, bit_sending, Y),
    ROW(VICTIM_IN_DATA, form, N), ROW(ONE_VICTIM, stuff, U), ROW(ONE_VICTIM, one_victim, Y), ROW(ONE_VICTIM, five_victims, N),
    ROW(OTHERS_NOW, nothing, N), ROW(OTHERS_NOW, frames, Y), ROW(OTHERS_NOW, frames_then_none, N), ROW(OTHERS_NOW, own, N), ROW(OTHERS_NOW, silent, N),
    ROW(OTHERS_BEFORE, nothing, N), ROW(OTHERS_BEFORE, few_frames, U), ROW(OTHERS_BEFORE, frames, Y), ROW(OTHERS_BEFORE, stuff, N), ROW(OWN_SENT, nothing, N),
    ROW(OWN_SENT, own, Y), ROW(OWN_SENT, own_long_ago, N), ROW(SILENT, frames, N), ROW(SILENT, silent, Y), ROW(FEWER_FRAMES, frames, U), ROW(FEWER_FRAMES, steady, N),
    ROW(FEWER_FRAMES, steady_then_slow, Y), ROW(REPEATS, nothing, U), ROW(REPEATS, frames, N), ROW(REPEATS, repeats, Y),
    ROW(SKIPS, nothing, U), ROW(SKIPS, skips, Y), ROW(SKIPS, was_away, N), ROW(DOUBLED, nothing, U), ROW(DOUBLED, around_none, N), ROW(DOUBLED, around_all, Y), ROW(FULL, nothing, U), ROW(FULL, around_none, N), ROW(FULL, around_all, Y),
    ROW(HOG, nothing, U), ROW(HOG, around_none, N), ROW(HOG, around_all, Y), ROW(QUIET_GROUP, nothing, U), ROW(QUIET_GROUP, around_none, N), ROW(QUIET_GROUP, around_all, Y),
    ROW(MOST_QUIET, nothing, U), ROW(MOST_QUIET, around_none, N), ROW(MOST_QUIET, around_all, Y), ROW(CAME_BACK, around_none, N), ROW(CAME_BACK, around_all, Y),
    ROW(COMES_AND_GOES, around_none, N), ROW(COMES_AND_GOES, around_all, Y), ROW(NEWCOMER, nothing, N), ROW(NEWCOMER, around_all, Y), ROW(MUTE, nothing, U),
    ROW(MUTE, just_plugged, U), ROW(MUTE, around_none, N), ROW(MUTE, around_all, Y), ROW(NEVER_HEARD, nothing, N), ROW(NEVER_HEARD, around_all, Y),
    ROW(ADDRESS_SHARED, nothing, U), ROW(ADDRESS_SHARED, around_none, N), ROW(ADDRESS_SHARED, around_all, Y), ROW(NO_ADDRESS, nothing, U), ROW(NO_ADDRESS, around_none, N),
    ROW(NO_ADDRESS, around_all, Y), ROW(JUST_BEGUN, nothing, Y), ROW(JUST_BEGUN, four_seconds, N), ROW(TROUBLE, frames, N), ROW(TROUBLE, stuff, Y), ROW(TROUBLE, one_warning, Y),
    ROW(TROUBLE, errors_over, N), ROW(FROM_START, nothing, U), ROW(FROM_START, stuff, Y), ROW(FROM_START, trouble_in_traffic, N),
    ROW(AFTER_CHANGE, nothing, U), ROW(AFTER_CHANGE, stuff, U), ROW(AFTER_CHANGE, trouble_in_traffic, N), ROW(AFTER_CHANGE, change_then_trouble, Y),
    ROW(AFTER_CHANGE, trouble_then_mark, Y), ROW(AFTER_CHANGE, old_change, N), ROW(OUT_OF_THE_BLUE, stuff, N), ROW(OUT_OF_THE_BLUE, trouble_in_traffic, Y),
    ROW(OUT_OF_THE_BLUE, change_then_trouble, N), ROW(HEALED, nothing, N), ROW(HEALED, stuff, N), ROW(HEALED, errors_over, Y),
#undef ROW
};

static void evidence_facts_have_their_edges(void **state)
{
    static const char *const names[] = { "unknown", "no", "yes" };
    uint64_t seen[3] = { 0 };
    unsigned n_wrong = 0;
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        begin();
        rows[i].play();
        unsigned is = rig.evidence.facts[rows[i].fact].answer;
        seen[rows[i].answer] |= UINT64_C(1) << rows[i].fact;
        if ((int)is == rows[i].answer)
            continue;
        print_message("  %s after %s: %s, not %s\n", lw_facts[rows[i].fact].name, rows[i].play_name, names[is], names[rows[i].answer]);
        n_wrong++;
    }
    assert_int_equal(n_wrong, 0);
    for (int fact = 0; fact < LW_N_FACTS; fact++)        /* none is forgotten here */
        if (!(seen[Y] >> fact & 1))
            fail_msg("%s is never yes", lw_facts[fact].name);
}

static void evidence_since_is_when_the_answer_came(void **state)
{
    (void)state;
    begin();
    play_link();
    uint64_t before = rig.evidence.facts[LW_FACT_ERRORS].since_ns;
    pass(1000);
    assert_int_equal(rig.evidence.facts[LW_FACT_ERRORS].since_ns, before);
    uint64_t at = rig.t_ns;
    play_three_errors();
    assert_in_range(rig.evidence.facts[LW_FACT_ERRORS].since_ns, at, rig.t_ns);
    assert_in_range(rig.evidence.facts[LW_FACT_ERRORS].last_ns, at, rig.t_ns);
}

/* Sums fade to nothing and never below it. */
static void evidence_sums_fade(void **state)
{
    (void)state;
    begin();
    play_stuff();
    assert_in_range((unsigned)rig.evidence.recent.errors, 30, 40);
    pass(1000);
    assert_in_range((unsigned)(rig.evidence.recent.errors * 10), 120, 160);   /* 0.95 to the twentieth: 0.36 */
    pass(20000);
    assert_true(rig.evidence.recent.errors >= 0 && rig.evidence.recent.errors < 0.01);
    assert_null(rig.evidence.victims[0].weight > 0.5 ? &rig : NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(evidence_facts_have_their_edges),
        cmocka_unit_test(evidence_since_is_when_the_answer_came),
        cmocka_unit_test(evidence_sums_fade),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
