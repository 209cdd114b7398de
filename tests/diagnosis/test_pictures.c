/* SPDX-License-Identifier: MIT
 *
 * One trouble, told by every driver in its own way: what is wrong must be the same whoever reports it, as far as he can.
 * What each driver tells is in the table of player.c; the rules of the counters are those of ISO 11898-1.
 */
#include "player.h"

#define P(picture) (UINT32_C(1) << LW_PICTURE_##picture)
#define C(cause) (UINT32_C(1) << LW_CAUSE_##cause)

struct trouble {
    const char *what;
    void (*play)(struct player *);
    uint32_t pictures, of_states, of_nothing;   /* as told by each error, by states only, by nothing at all */
    uint32_t causes, cold_causes;    /* each of them named, by whoever tells anything */
};

static void play_alone(struct player *player)
{
    player_silence(player);
    for (unsigned i = 0; i < 4000; i++) {
        player_no_acknowledge(player);
        player_pass(player, 1000);
    }
}

/* Watching begins when the counters have long stopped; only netlink or a late state tells of it. */
static void play_alone_before_watching(struct player *player)
{
    player_silence(player);
    player->tec = 128;
    player->state = LW_STATE_ERROR_PASSIVE;
    player_link(player);
    player_pass(player, 100000);
    for (unsigned i = 0; i < 3000; i++) {
        player_no_acknowledge(player);
        player_pass(player, 1500);
    }
}

static void play_off_at_once(struct player *player)
{
    player_silence(player);
    for (unsigned i = 1; i <= 32; i++) {
        player_count(player, i * 8 < 255 ? i * 8 : 255, 0);
        if (player_tells_each(player))
            traffic_error(player->traffic, 0, (struct lw_error){ 0x88, { [2] = 0x88, [3] = 0x03 } });
        player_pass(player, 60);
    }
    player_bus_off(player);
    bool is_early = player->setting.restart_ms > 0 && !player->driver->tells_nothing;
    player_pass(player, is_early ? 1000 : 4000000);
}

static void play_misread(struct player *player)
{
    static const uint8_t places[] = { 0x02, 0x0A, 0x08, 0x0F, 0x0B };
    player_silence(player);
    for (unsigned i = 0; i < 6000; i++) {
        player_spoilt(player, i % 3 ? 0x04 : 0x02, places[i % N_ROWS(places)]);
        player_pass(player, 700);
    }
}

/* A bus that wakes up: our frames fail until the first unit is there, then each good frame takes one away. */
static void play_healing(struct player *player)
{
    for (unsigned i = 0; i < 16; i++) {
        player_no_acknowledge(player);
        player_pass(player, 400);
    }
    for (unsigned i = 0; i < 900; i++) {
        player_heard(player, 0x500 + i % 7, (uint8_t)i);
        if (i % 5 == 0) {
            player_own(player);
            player_count(player, player->tec > 0 ? player->tec - 1 : 0, 0);
        }
        player_pass(player, 10000);
    }
}

static void play_well(struct player *player)
{
    for (unsigned i = 0; i < 600; i++) {
        player_heard(player, 0x500 + i % 7, (uint8_t)i);
        player_pass(player, 10000);
    }
}

static const struct trouble rows[] = {
    { "alone", play_alone, P(UNACKNOWLEDGED), P(UNACKNOWLEDGED), P(NOTHING) | P(SILENT), C(ALONE) | C(WIRE_OPEN) | C(OTHERS_LISTEN),
      C(OWN_RATE) | C(SWAPPED) | C(TIMING) },
    { "alone since before the watch", play_alone_before_watching, P(UNACKNOWLEDGED), P(UNACKNOWLEDGED) | P(SILENT) | P(NOTHING), P(NOTHING) | P(SILENT), 0, 0 },
    { "off at once", play_off_at_once, P(BUS_OFF), P(BUS_OFF), P(NOTHING) | P(SILENT), C(SHORT) | C(TRANSCEIVER), 0 },
    { "misread", play_misread, P(NO_GOOD_FRAME), P(NO_GOOD_FRAME), P(NOTHING) | P(SILENT), C(WIRE_OPEN) | C(TIMING), C(OWN_RATE) },
    { "healing", play_healing, P(HEALED) | P(WELL), P(HEALED) | P(WELL), P(UNTOLD) | P(WELL), 0, 0 },
    { "well", play_well, P(WELL) | P(UNTOLD), P(WELL) | P(UNTOLD), P(UNTOLD), 0, 0 },
};

static unsigned complain(const struct trouble *row, struct player *player, const char *what)
{
    char words[LW_VERDICT_TEXT];
    const struct lw_verdict *verdict = player_verdict(player);
    print_message("  %s, %s, %u bit/s%s, REC at most %u: %s\n    %s\n   ", row->what, player->driver->name, (unsigned)player->setting.bit_rate_bps,
                  player->setting.is_warm ? ", after good traffic" : "", player->setting.rec_max, what, player_words(player, words));
    for (unsigned i = 0; i < verdict->n_named; i++)
        print_message(" %s %.3f", lw_causes[verdict->named[i].cause].name, verdict->named[i].probability);
    print_message("\n");
    return 1;
}

static unsigned judge(const struct trouble *row, struct player *player)
{
    const struct lw_verdict *verdict = player_verdict(player);
    const struct driver *driver = player->driver;
    uint32_t pictures = driver->tells_nothing ? row->of_nothing : player_tells_each(player) ? row->pictures : row->of_states;
    uint32_t causes = driver->tells_nothing ? 0 : row->causes | (player->setting.is_warm ? 0 : row->cold_causes);
    if (!(pictures >> verdict->picture & 1))
        return complain(row, player, lw_pictures[verdict->picture].name);
    for (int cause = 0; cause < LW_N_CAUSES; cause++)
        if (causes >> cause & 1 && !player_names(player, (enum lw_cause)cause))
            return complain(row, player, lw_causes[cause].name);
    if (player->was_certain)
        return complain(row, player, player->certain);
    if (verdict->confidence >= LW_LIKELY && verdict->named[0].cause == LW_CAUSE_ALONE)
        return complain(row, player, "as if it were known that there is no other unit");
    return 0;
}

static void pictures_are_told_whoever_reports_them(void **state)
{
    static const uint32_t rates[] = { 125000, 250000, 500000, 1000000 };
    unsigned n_wrong = 0, n = 0;
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++)
        for (size_t d = 0; d < N_ROWS(drivers); d++)
            for (unsigned k = 0; k < 8; k++, n++) {
                struct setting setting = { .bit_rate_bps = rates[n % 4], .is_warm = k >= 3 && k < 7, .has_baseline = k == 5, .is_reporting_off = k >= 6, .restart_ms = k % 2 ? 100 : 0,
                                           .rec_max = k % 3 == 1 ? 127 : 255, .netlink_ms = k % 2 ? 500 : 50 };
                struct player *player = player_create(&drivers[d], &setting);
                rows[i].play(player);
                n_wrong += judge(&rows[i], player);
                player_destroy(player);
            }
    assert_int_equal(n_wrong, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pictures_are_told_whoever_reports_them),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
