/* SPDX-License-Identifier: MIT
 *
 * Cases in which somebody posted what his adapter reported and then found the cause: the evidence as quoted, byte for byte,
 * and then as it would have looked at other bit rates, with other settings and after other traffic. The true cause must be
 * among those named, and nothing may be called certain that the evidence leaves open.
 */
#include "case_plays.h"

#define P(picture) (UINT32_C(1) << LW_PICTURE_##picture)
#define C(cause) (UINT32_C(1) << LW_CAUSE_##cause)

enum { ANY_RATE = 1, COLD = 2, WARM = 4, ALL = ANY_RATE | COLD | WARM };

struct confirmed {
    const char *what, *driver, *source;
    void (*play)(struct player *);
    unsigned how;                    /* which variations the case allows */
    bool is_listening_only;
    uint32_t bit_rate_bps;
    uint32_t pictures;               /* one of these at the end */
    uint32_t causes;                 /* each of these among the named */
    uint32_t cold_causes;            /* these too, where nothing good was heard before */
    const char *must, *must_not;     /* words of the sentence; NULL = any */
};

#define ALONE_LIST C(ALONE) | C(WIRE_OPEN), C(OWN_RATE) | C(SWAPPED) | C(TIMING)
static const char alone[] = "Nobody acknowledges what this adapter sends", repeating[] = "over and over";
static const char dominant[] = "does not come back to it";

static const struct confirmed rows[] = {
    { "not acknowledged, seen by a listener", "flexcan", "listen-only, error reports on, 500 kbit/s; the only unit that acknowledged was "
      "unplugged: 20000088 00 00 08 again and again, counters 0 and 0", play_repeats_with_bit_reports, ALL, true, 0, P(REPEATING),
      C(ALONE) | C(OTHERS_LISTEN) | C(WIRE_OPEN), 0, repeating, "this adapter sends" },
    { "the same, seen by another listener", "mcp251xfd", "six 20000088 00 00 02, one without details, then none; the frame every 0.5 to 1 ms",
      play_repeats_with_few_reports, ALL, true, 0, P(REPEATING), C(ALONE) | C(OTHERS_LISTEN), 0, repeating, "this adapter sends" },
    { "the same, no report at all", "peak_usb", "states only: the repetition is the evidence", play_repeats_without_reports, ALL, true, 0,
      P(REPEATING), C(ALONE) | C(OTHERS_LISTEN), 0, repeating, NULL },
    { "alone on the bus", "at91_can", "acknowledge errors until passive, then TEC stops", play_acknowledge_errors_until_passive, ALL, false, 0,
      P(UNACKNOWLEDGED), ALONE_LIST, alone, "Certain" },
    { "alone, terminated", "mcp251xfd", "200000A8 00 00 80 without end", play_acknowledge_errors_without_end, ALL, false, 0, P(UNACKNOWLEDGED),
      ALONE_LIST, alone, "Certain" },
    { "cable unplugged, own 120 ohm on board", "c_can", "TEC to 128 and stops, REC 0", play_unplugged_while_sending, ALL, false, 0, P(UNACKNOWLEDGED),
      C(ALONE) | C(WIRE_OPEN), C(OWN_RATE), alone, "Certain" },
    { "the same, and each frame echoed", "c_can", "an echo of an own frame proves no acknowledge", play_echoed_though_unacknowledged, ALL, false, 0,
      P(UNACKNOWLEDGED), C(ALONE) | C(WIRE_OPEN), C(OWN_RATE), alone, "Certain" },
    { "50 kbit/s on a bus of 500", "m_can", "error passive, 128 and 0: the numbers of an empty bus", play_unplugged_while_sending, COLD, false, 50000,
      P(UNACKNOWLEDGED), C(ALONE), C(OWN_RATE), alone, "Certain" },
    { "FD frames, classic units", "m_can", "1 Mbit/s, passive, 128 and 0, acknowledge missing every 85 us", play_acknowledge_errors_fast,
      ALL, false, 1000000, P(UNACKNOWLEDGED), C(ALONE), C(FD_FRAMES), alone, "Certain" },
    { "H and L swapped, own side", "bxcan", "250 kbit/s, TEC 128, last code acknowledge, REC 0", play_unplugged_while_sending, ALL, false, 250000,
      P(UNACKNOWLEDGED), C(ALONE), C(SWAPPED), alone, "Certain" },
    { "H and L swapped, the other side", "bxcan", "the peer is bus off and received nothing", play_one_frame_and_off, ANY_RATE | COLD, false, 250000,
      P(BUS_OFF), C(TRANSCEIVER) | C(SHORT), C(SWAPPED), dominant, "Certain" },
    { "transceiver in standby", "m_can", "rcar_canfd: one frame, then bus off", play_one_frame_and_off, ALL, false, 0, P(BUS_OFF),
      C(TRANSCEIVER) | C(SHORT), 0, dominant, "Certain" },
    { "H and L shorted by hand", "m_can", "bus off; comes back only where a restart time is set", play_off_by_restarts, ALL, false, 0, P(BUS_OFF),
      C(SHORT) | C(TRANSCEIVER), 0, dominant, "Certain" },
    { "nothing connected", "bxcan", "on-chip controller: bus off, TEC printed as 248", play_one_frame_and_off, ALL, false, 0, P(BUS_OFF),
      C(WIRE_OPEN) | C(TERMINATOR_MISSING), 0, dominant, "Certain" },
    { "jump width 1 too small", "flexcan", "500 kbit/s, sample point 0.875: 20000004 00 04, 1 ms later 20000004 00 10; TEC 0, REC 136",
      play_receive_errors_on_joining, ANY_RATE | COLD, false, 0, P(NO_GOOD_FRAME), C(TIMING) | C(OWN_RATE), 0, NULL, "Certain" },
    { "two rates back to back", "m_can", "REC 127, as this core holds it there, and a storm; a bad wire looks the same", play_receive_storm, ALL,
      false, 0, P(NO_GOOD_FRAME), C(OTHER_RATE) | C(WIRE_OPEN), 0, NULL, "Certain" },
    { "connector pulled while receiving", "sja1000", "bit 1 and form, stuffing, bit 1 and form, crc and stuffing; REC 97, 114, 131",
      play_pulled_while_receiving, ANY_RATE | WARM, false, 0, P(NO_GOOD_FRAME), C(WIRE_OPEN), 0, NULL, "Certain" },
    { "wrong crystal, seen by its peer", "flexcan", "crc, data and crc delimiter in turn: many places, not one", play_scattered, ALL, false, 0,
      P(SPOILT), C(TIMING), 0, NULL, "Certain" },
    { "two senders of one identifier", "c_can", "1 Mbit/s, different data: both senders' queues end full", play_two_senders_of_one_identifier, ALL,
      false, 1000000, P(SPOILT) | P(NO_GOOD_FRAME), C(DUPLICATE), 0, NULL, "Certain" },
    { "one terminator missing", "gs_usb", "usb_8dev: own frames by local echo, then silence; another adapter works", play_echo_then_silence, ALL, false, 0,
      P(NOTHING) | P(SILENT), C(TERMINATOR_MISSING), 0, "cannot tell", "Certain" },
    { "the computer was late", "c_can", "385802 received, 1246 errors, 1246 overruns, active, 0 and 0", play_overruns, ALL, false, 0, P(LATE_HOST),
      C(HOST_LATE), 0, "not on the bus", NULL },
    { "firmware keeps the last code", "gs_usb", "2000000C 00 00 02 after each good frame", play_last_code_after_each_frame, ALL, false, 0,
      P(CONTRADICTORY), C(ADAPTER_LIES), 0, "contradicts", NULL },
    { "states that exclude each other", "gs_usb", "active, warning and bus off in one frame", play_states_that_exclude_each_other, ALL, false, 0,
      P(CONTRADICTORY), C(ADAPTER_LIES), 0, "contradicts", NULL },
    { "a bus that wakes up, sending", "mcp251xfd", "TEC 8, 16, 24 … then one less with each good frame", play_ladder_that_heals, ALL, false, 0,
      P(HEALED) | P(RETURNED) | P(WELL), 0, 0, NULL, "Certain" },
    { "a bus that wakes up, receiving", "m_can", "REC to passive within ms, then one less with each good frame", play_receive_ladder_that_heals, ALL,
      false, 0, P(HEALED) | P(RETURNED) | P(WELL), 0, 0, NULL, "Certain" },
    { "a counter left standing", "m_can", "TEC stays up only because this node sends nothing more", play_counter_left_standing, ALL, false, 0,
      P(HEALED) | P(WELL), 0, 0, NULL, "Certain" },
};

static void tell(const struct confirmed *row, const struct setting *setting, struct player *player, const char *what)
{
    char words[LW_VERDICT_TEXT];
    const struct lw_verdict *verdict = player_verdict(player);
    print_message("  %s (%s; %s), %u bit/s%s, restart %u ms%s%s: %s\n    %s\n   ", row->what, row->driver, row->source, (unsigned)setting->bit_rate_bps,
                  setting->is_unrated ? " untold" : "", setting->restart_ms, setting->is_warm ? ", after good traffic" : "",
                  setting->has_baseline ? ", baseline" : "", what, player_words(player, words));
    for (unsigned i = 0; i < verdict->n_named; i++)
        print_message(" %s %.2f", lw_causes[verdict->named[i].cause].name, verdict->named[i].probability);
    print_message("\n");
}

/* Returns the number of things that are wrong. */
static unsigned check(const struct confirmed *row, const struct setting *setting)
{
    char words[LW_VERDICT_TEXT], what[600] = "";
    struct player *player = player_create(driver_named(row->driver), setting);
    row->play(player);
    const struct lw_verdict *verdict = player_verdict(player);
    player_words(player, words);
    if (!(row->pictures >> verdict->picture & 1))
        snprintf(what, sizeof(what), "another picture, %s", lw_pictures[verdict->picture].name);
    uint32_t causes = row->causes | (setting->is_warm ? 0 : row->cold_causes);
    for (int cause = 0; cause < LW_N_CAUSES && !*what; cause++)
        if (causes >> cause & 1 && !player_names(player, (enum lw_cause)cause))
            snprintf(what, sizeof(what), "%s is not named", lw_causes[cause].name);
    if (!*what && row->must && !strstr(words, row->must))
        snprintf(what, sizeof(what), "does not say \"%s\"", row->must);
    if (!*what && row->must_not && strstr(words, row->must_not))
        snprintf(what, sizeof(what), "says \"%s\"", row->must_not);
    bool is_alone_claimed = verdict->confidence == LW_LIKELY && verdict->named[0].cause == LW_CAUSE_ALONE;
    if (!*what && is_alone_claimed)
        snprintf(what, sizeof(what), "says that there is no other unit, as if it were known");
    if (!*what && row->must_not && strcmp(row->must_not, "Certain") == 0 && player->was_certain)
        snprintf(what, sizeof(what), "claimed on the way: %s", player->certain);
    if (*what)
        tell(row, setting, player, what);
    player_destroy(player);
    return *what ? 1 : 0;
}

static unsigned check_variations(const struct confirmed *row)
{
    static const uint32_t rates[] = { 0, 125000, 250000, 500000, 1000000 };
    static const unsigned restarts_ms[] = { 0, 100, 1000 };
    unsigned n_wrong = 0, n = 0;
    for (unsigned warmth = 0; warmth < 3; warmth++) {
        bool is_warm = warmth > 0;
        if (!(row->how & (is_warm ? WARM : COLD)))
            continue;
        for (size_t rate = 0; rate < (row->how & ANY_RATE ? N_ROWS(rates) : 1); rate++, n++) {
            struct setting setting = {
                .bit_rate_bps = rates[rate] != 0 ? rates[rate] : row->bit_rate_bps, .is_unrated = n % 4 == 3, .is_warm = is_warm,
                .has_baseline = warmth == 2, .is_listening_only = row->is_listening_only, .restart_ms = restarts_ms[n % N_ROWS(restarts_ms)],
                .rec_max = strcmp(row->driver, "m_can") == 0 ? 127 : 0, .netlink_ms = n % 2 ? 500 : 100,
            };
            n_wrong += check(row, &setting);
        }
    }
    return n_wrong;
}

static void cases_confirmed_by_their_owners_are_told(void **state)
{
    unsigned n_wrong = 0;
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++)
        n_wrong += check_variations(&rows[i]);
    assert_int_equal(n_wrong, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cases_confirmed_by_their_owners_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
