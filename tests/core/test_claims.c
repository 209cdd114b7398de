/* SPDX-License-Identifier: MIT
 *
 * Address claims: which frames are one, who quarrels, who gives way, and when it is over. Identifier and NAME as in
 * linux/can/j1939.h; that the lower NAME wins and the wait of 250 ms as in net/can/j1939/address-claim.c (ISO 11783-5).
 */
#include "loomwatch/core/claims.h"

#include "traffic.h"

static const uint64_t low_name = UINT64_C(0xA03282009A412345), high_name = UINT64_C(0xC03282009A412346);

static struct lw_frame claim_of(uint64_t name, unsigned address)
{
    struct lw_frame frame = { .id = 0x18EEFF00 | address, .flags = LW_FRAME_EXTENDED, .len = 8 };
    for (unsigned i = 0; i < 8; i++)
        frame.data[i] = (uint8_t)(name >> 8 * i);
    return frame;
}

static enum lw_clash_kind claim(struct lw_claims *claims, uint64_t name, unsigned address, unsigned at_ms)
{
    struct lw_frame frame = claim_of(name, address);
    return (enum lw_clash_kind)lw_claims_frame(claims, &frame, at_ms * ms + ms).kind;
}

static void claims_name_is_read_lowest_byte_first(void **state)
{
    /* Calculated from the bit positions of linux/can/j1939.h: arbitrary address, group 2, system 25, function 130, maker
     * 1234, identity 0x12345. */
    static const struct lw_frame frame = { .id = 0x18EEFF80, .flags = LW_FRAME_EXTENDED, .len = 8,
                                           .data = { 0x45, 0x23, 0x41, 0x9A, 0x00, 0x82, 0x32, 0xA0 } };
    struct lw_claims claims;
    (void)state;
    lw_claims_init(&claims);
    lw_claims_frame(&claims, &frame, 1);
    assert_int_equal(claims.n, 1);
    assert_true(claims.all[0].name == low_name);
    assert_int_equal(claims.all[0].address, 128);
}

static void claims_other_frames_are_ignored(void **state)
{
    struct lw_frame good = claim_of(low_name, 22), rows[8];
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++)
        rows[i] = good;
    rows[0].flags = 0;                                    /* 11 bits */
    rows[1].flags |= LW_FRAME_REMOTE;
    rows[2].len = 7;
    rows[3].id = 0x18EEFFFF;                              /* from nobody */
    rows[4].id = 0x18EE2216;                              /* to one unit */
    rows[5].id = 0x18EAFF16;                              /* a request */
    rows[6].id = 0x19EEFF16;                              /* data page 1 */
    rows[7].id = 0x1AEEFF16;                              /* extended data page */
    struct lw_claims claims;
    lw_claims_init(&claims);
    for (size_t i = 0; i < N_ROWS(rows); i++)
        lw_claims_frame(&claims, &rows[i], 1);
    assert_int_equal(claims.n, 0);
    assert_false(lw_claims_trouble(&claims, 1).is_known);
    good.id = 0x00EEFF16;                                 /* whatever its priority */
    lw_claims_frame(&claims, &good, 1);
    assert_int_equal(claims.n, 1);
}

struct step { uint64_t name; unsigned address, at_ms; enum lw_clash_kind told; };

static void claims_courses_end_as_they_should(void **state)
{
    static const struct {
        const char *what;
        struct step steps[6];
        unsigned look_ms, n_shared, n_without;
    } rows[] = {
        { "two units, two addresses", { { low_name, 22, 0, 0 }, { high_name, 23, 10, 0 } }, 1000, 0, 0 },
        { "one unit, twice", { { low_name, 22, 0, 0 }, { low_name, 22, 10, 0 } }, 1000, 0, 0 },
        { "one unit moves by itself", { { low_name, 22, 0, 0 }, { low_name, 40, 500, 0 } }, 1000, 0, 0 },
        { "the weaker moves at once", { { low_name, 22, 0, 0 }, { high_name, 22, 21, LW_CLASH_BEGAN },
            { high_name, 23, 25, LW_CLASH_MOVED } }, 1000, 0, 0 },
        { "the first one moves", { { high_name, 22, 0, 0 }, { low_name, 22, 21, LW_CLASH_BEGAN },
            { high_name, 23, 60, LW_CLASH_MOVED } }, 1000, 0, 0 },
        { "not yet: the wait is not over", { { low_name, 22, 0, 0 }, { high_name, 22, 21, LW_CLASH_BEGAN } }, 200, 0, 0 },
        { "both keep it", { { low_name, 22, 0, 0 }, { high_name, 22, 21, LW_CLASH_BEGAN } }, 300, 1, 0 },
        { "both keep it and say so", { { low_name, 22, 0, 0 }, { high_name, 22, 21, LW_CLASH_BEGAN }, { low_name, 22, 22, 0 },
            { high_name, 22, 700, 0 }, { low_name, 22, 701, 0 } }, 5000, 1, 0 },
        { "late answer of one that was there", { { low_name, 22, 0, 0 }, { high_name, 22, 60000, 0 },
            { low_name, 22, 60001, LW_CLASH_BEGAN } }, 61000, 1, 0 },
        { "exchanged module: the old one is gone", { { low_name, 22, 0, 0 }, { high_name, 22, 60000, 0 } }, 61000, 0, 0 },
        { "one of two is pulled: the other claims alone", { { low_name, 22, 0, 0 }, { high_name, 22, 21, LW_CLASH_BEGAN },
            { low_name, 22, 9000, 0 } }, 9500, 0, 0 },
        { "no address found", { { low_name, 22, 0, 0 }, { high_name, 22, 21, LW_CLASH_BEGAN },
            { high_name, 254, 25, LW_CLASH_NO_ADDRESS } }, 1000, 0, 1 },
        { "it says so again", { { high_name, 254, 0, LW_CLASH_NO_ADDRESS }, { high_name, 254, 900, 0 } }, 1000, 0, 1 },
        { "none at first, then one", { { high_name, 254, 0, LW_CLASH_NO_ADDRESS }, { high_name, 40, 900, LW_CLASH_MOVED } }, 1000, 0, 0 },
        { "two without one are no clash", { { high_name, 254, 0, LW_CLASH_NO_ADDRESS }, { low_name, 254, 9, LW_CLASH_NO_ADDRESS } }, 1000, 0, 2 },
        { "a third one too", { { low_name, 22, 0, 0 }, { high_name, 22, 1, LW_CLASH_BEGAN }, { high_name + 1, 22, 2, LW_CLASH_BEGAN },
            { high_name, 23, 3, LW_CLASH_MOVED } }, 1000, 1, 0 },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_claims claims;
        lw_claims_init(&claims);
        for (size_t k = 0; k < N_ROWS(rows[i].steps) && rows[i].steps[k].name != 0; k++) {
            const struct step *step = &rows[i].steps[k];
            if (claim(&claims, step->name, step->address, step->at_ms) != step->told)
                fail_msg("%s: claim %zu tells otherwise", rows[i].what, k);
        }
        struct lw_claim_trouble trouble = lw_claims_trouble(&claims, rows[i].look_ms * ms);
        if (trouble.n_shared != rows[i].n_shared || trouble.n_without != rows[i].n_without)
            fail_msg("%s: %u shared, %u without", rows[i].what, trouble.n_shared, trouble.n_without);
    }
}

static void claims_unplugging_settles_until_claimed_again(void **state)
{
    struct lw_claims claims;
    (void)state;
    lw_claims_init(&claims);
    claim(&claims, low_name, 22, 0);
    claim(&claims, high_name, 22, 1);
    assert_int_equal(lw_claims_trouble(&claims, 1000 * ms).n_shared, 1);
    lw_claims_settle(&claims);
    assert_int_equal(lw_claims_trouble(&claims, 1000 * ms).n_shared, 0);
    claim(&claims, low_name, 22, 1500);
    assert_int_equal(claim(&claims, high_name, 22, 1501), LW_CLASH_BEGAN);
}

static void claims_a_full_table_gives_up_the_oldest_and_says_so_once(void **state)
{
    struct lw_claims claims;
    (void)state;
    lw_claims_init(&claims);
    unsigned n_told = 0;
    for (unsigned i = 0; i < 1000; i++)
        n_told += claim(&claims, i, i % 254, i * 3000) == LW_CLASH_TABLE_FULL;
    assert_int_equal(claims.n, LW_MAX_CLAIMS);
    assert_int_equal(claims.n_forgotten, 1000 - LW_MAX_CLAIMS);
    assert_int_equal(n_told, 1);
}

/* What both claim is told at once, as trouble only while it lasts. */
static void feed_claim(struct traffic *traffic, uint64_t name, unsigned address)
{
    traffic_feed(traffic, 0, (struct lw_event){ .kind = LW_EVENT_FRAME, .frame = claim_of(name, address) });
}

static bool is_told(struct traffic *traffic, const char *words)
{
    char text[LW_HAPPENING_TEXT];
    const struct lw_snapshot *snapshot = traffic_look(traffic);
    for (size_t i = 0; i < snapshot->n_diary; i++)
        if (strcmp(lw_happening_words(&snapshot->diary[i], text), words) == 0)
            return true;
    return false;
}

static void monitor_clash_is_trouble_while_both_keep_the_address(void **state)
{
    struct traffic *traffic = traffic_create(1, 1000 * ms);
    (void)state;
    traffic_add_machine(traffic, 10, 0);
    traffic_run(traffic, 4000);
    feed_claim(traffic, low_name, 22);
    traffic_run(traffic, 20);
    feed_claim(traffic, high_name, 22);
    traffic_run(traffic, 100);
    assert_true(is_told(traffic, "two units claim address 22 (16)"));
    assert_int_not_equal(traffic_look(traffic)->buses[0].verdict.picture, LW_PICTURE_NO_ADDRESS);
    traffic_run(traffic, 900);
    const struct lw_verdict *verdict = &traffic_look(traffic)->buses[0].verdict;
    assert_int_equal(verdict->picture, LW_PICTURE_NO_ADDRESS);
    assert_int_equal(verdict->confidence, LW_CERTAIN);
    assert_int_equal(verdict->named[0].cause, LW_CAUSE_SAME_ADDRESS);
    assert_int_equal(traffic->snapshot.buses[0].facts[LW_FACT_ADDRESS_SHARED].value, 22);
    feed_claim(traffic, high_name, 23);
    assert_true(is_told(traffic, "of the units that claimed address 22 (16) one moved to 23 (17)"));
    traffic_run(traffic, 3000);
    assert_int_equal(traffic_look(traffic)->buses[0].verdict.picture, LW_PICTURE_UNTOLD);
    traffic_destroy(traffic);
}

static void monitor_unit_without_address_is_trouble_but_why_is_not_certain(void **state)
{
    struct traffic *traffic = traffic_create(1, 1000 * ms);
    (void)state;
    traffic_add_machine(traffic, 10, 0);
    traffic_run(traffic, 4000);
    feed_claim(traffic, high_name, 254);
    traffic_run(traffic, 1000);
    const struct lw_verdict *verdict = &traffic_look(traffic)->buses[0].verdict;
    assert_int_equal(verdict->picture, LW_PICTURE_NO_ADDRESS);
    assert_true(verdict->confidence < LW_CERTAIN);
    assert_true(is_told(traffic, "a unit found no free address"));
    lw_monitor_mark(traffic->monitor, LW_MARK_UNPLUGGED);
    traffic_run(traffic, 3000);
    assert_int_not_equal(traffic_look(traffic)->buses[0].verdict.picture, LW_PICTURE_NO_ADDRESS);
    traffic_destroy(traffic);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(claims_name_is_read_lowest_byte_first),
        cmocka_unit_test(claims_other_frames_are_ignored),
        cmocka_unit_test(claims_courses_end_as_they_should),
        cmocka_unit_test(claims_unplugging_settles_until_claimed_again),
        cmocka_unit_test(claims_a_full_table_gives_up_the_oldest_and_says_so_once),
        cmocka_unit_test(monitor_clash_is_trouble_while_both_keep_the_address),
        cmocka_unit_test(monitor_unit_without_address_is_trouble_but_why_is_not_certain),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
