/* SPDX-License-Identifier: MIT
 *
 * When a capture hands its events out, with a clock of the test's own: paces, ends, and times that make no
 * sense.
 */
#include "capture_session.h"

#include <errno.h>

#define MS UINT64_C(1000000)
#define S (1000 * MS)

static const struct lw_capture_options full = { .pace.kind = LW_PACE_FULL };
static const struct lw_capture_options real = { .pace.kind = LW_PACE_REAL };

static void read_without_any_event_ends(void **state)
{
    (void)state;
    const struct lw_capture_options *options[] = { &full, &real };
    for (int i = 0; i < 2; i++) {
        struct capture_bytes bytes = capture_of_times(NULL, 0);
        struct capture_session session = session_open_bytes(&bytes, options[i]);
        struct lw_event event;
        assert_int_equal(session_due(&session, 5), 5);
        assert_int_equal(session_now(&session, 5), 0);
        assert_int_equal(session_read(&session, 5, &event, 1), -ENODATA);
        assert_int_equal(session_read(&session, 6, &event, 1), -ENODATA);
        assert_true(session_due(&session, 6) == UINT64_MAX);
        session_close(&session);
    }
}

static void read_full_pace_gives_time_of_last_event(void **state)
{
    (void)state;
    struct capture_bytes bytes = capture_of_times((int[]){ 0, 10, 5000 }, 3);
    struct capture_session session = session_open_bytes(&bytes, &full);
    struct lw_event events[3];
    assert_int_equal(session_read(&session, 1, events, 2), 2);
    assert_int_equal(session_now(&session, 9 * S), 1000 * S + 10 * MS);
    assert_int_equal(session_due(&session, 1), 1);
    assert_int_equal(session_read(&session, 1, events, 3), 1);
    assert_int_equal(session_read(&session, 1, events, 3), -ENODATA);
    assert_int_equal(session_now(&session, 9 * S), 1005 * S);
    session_close(&session);
}

static void read_paced_gives_events_when_due(void **state)
{
    (void)state;
    static const struct { double times; uint64_t first_gap_ns; } rows[] = {
        { 1, 10 * MS }, { 10, 1 * MS }, { 0.01, 1000 * MS }, { 1000, 10000 },
    };
    for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
        struct lw_capture_options options = { .pace = { LW_PACE_TIMES, rows[i].times } };
        struct capture_bytes bytes = capture_of_times((int[]){ 0, 10, 30 }, 3);
        struct capture_session session = session_open_bytes(&bytes, &options);
        struct lw_event events[4];
        uint64_t start = 77 * S, gap = rows[i].first_gap_ns;
        assert_int_equal(session_due(&session, start), start);
        assert_int_equal(session_read(&session, start, events, 4), 1);
        assert_int_equal(session_due(&session, start), start + gap);
        assert_int_equal(session_read(&session, start + gap - 1, events, 4), 0);
        assert_int_equal(session_now(&session, start + gap / 2), 1000 * S + 5 * MS);
        assert_int_equal(session_read(&session, start + gap, events, 4), 1);
        assert_int_equal(session_due(&session, start + gap), start + 3 * gap);
        assert_int_equal(session_now(&session, start + 100 * gap), 1000 * S + 30 * MS);
        assert_int_equal(session_read(&session, start + 100 * gap, events, 4), 1);
        assert_int_equal(session_read(&session, start + 100 * gap, events, 4), -ENODATA);
        assert_int_equal(session_now(&session, start + 1000 * gap), 1000 * S + 30 * MS);
        session_close(&session);
    }
}

/* now_ns() is never behind an event that was read, nor beyond one that was not; due_ns() is when read()
 * has it. */
static void read_at_odd_pace_never_contradicts_itself(void **state)
{
    (void)state;
    static const int ms[] = { 0, 1, 1, 7, 13, 13, 400, 401, 5000, 7001 };
    for (double times = 0.013; times < 1000; times *= 1.7) {
        struct lw_capture_options options = { .pace = { LW_PACE_TIMES, times } };
        struct capture_bytes bytes = capture_of_times(ms, 10);
        struct capture_session session = session_open_bytes(&bytes, &options);
        struct lw_event event;
        uint64_t mono = 123456789;
        for (unsigned n = 0; n < 10; n++) {
            uint64_t due = session_due(&session, mono);
            mono = due > mono ? due : mono;
            if (n)
                assert_true(session_now(&session, mono) <= 1000 * S + (uint64_t)ms[n] * MS);
            assert_int_equal(session_read(&session, mono, &event, 1), 1);
            assert_int_equal(event.t_ns, 1000 * S + (uint64_t)ms[n] * MS);
            assert_true(session_now(&session, mono) >= event.t_ns);
        }
        assert_int_equal(session_read(&session, mono, &event, 1), -ENODATA);
        session_close(&session);
    }
}

static void read_times_going_back_does_not_stall(void **state)
{
    (void)state;
    /* 20 ms before 30 is disorder; 10 s back is a clock that was set, after which 5 ms pass as 5 ms. */
    static const int ms[] = { 20000, 20030, 20020, 20031, 10000, 10005 };
    static const int expected_ms[] = { 20000, 20030, 20030, 20031, 20031, 20036 };
    struct capture_bytes bytes = capture_of_times(ms, 6);
    struct capture_session session = session_open_bytes(&bytes, &real);
    struct lw_event events[6];
    assert_int_equal(session_read(&session, 0, events, 6), 1);
    assert_int_equal(session_read(&session, 31 * MS, events + 1, 5), 4);
    assert_int_equal(session_read(&session, 36 * MS, events + 5, 1), 1);
    for (int i = 0; i < 6; i++)
        assert_int_equal(events[i].t_ns, 1000 * S + (uint64_t)expected_ms[i] * MS);
    assert_non_null(strstr(session_describe(&session).note, "At 2 records the file's time goes back"));
    session_close(&session);
}

static void read_impossible_times_stay_in_order(void **state)
{
    (void)state;
    static const uint32_t times[][2] = { { 5, 0 }, { 0xFFFFFFFF, 999999 }, { 7, 0x80000000 }, { 0x80000000, 0xFFFFFFFF },
                                        { 0, 0 } };
    const struct lw_capture_options *options[] = { &full, &real };
    for (int form = 0; form < 4; form++) {
        struct capture_bytes bytes = { 0 };
        struct lw_event events[5];
        if (form & 1)
            put_ng_section(&bytes), put_ng_interface(&bytes, 227, 9);
        else
            put_pcap_header(&bytes, PCAP_US, 227);
        for (int i = 0; i < 5 && form & 1; i++)
            put_ng_packet(&bytes, 0, (uint64_t)times[i][0] << 32 | times[i][1], a_record, sizeof(a_record));
        for (int i = 0; i < 5 && !(form & 1); i++)
            put_pcap_packet(&bytes, times[i][0], times[i][1], a_record, sizeof(a_record));
        struct capture_session session = session_open_bytes(&bytes, options[form / 2]);
        for (int n = 0; n < 5; n++) {
            uint64_t due = session_due(&session, 1);
            assert_int_equal(session_read(&session, due, &events[n], 1), 1);
            assert_true(n == 0 || events[n].t_ns >= events[n - 1].t_ns);
            assert_true(events[n].t_ns <= INT64_MAX);
        }
        session_close(&session);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(read_without_any_event_ends),
        cmocka_unit_test(read_full_pace_gives_time_of_last_event),
        cmocka_unit_test(read_paced_gives_events_when_due),
        cmocka_unit_test(read_at_odd_pace_never_contradicts_itself),
        cmocka_unit_test(read_times_going_back_does_not_stall),
        cmocka_unit_test(read_impossible_times_stay_in_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
