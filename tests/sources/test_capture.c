/* SPDX-License-Identifier: MIT
 *
 * Capture files as a source: formats, damage, wrong files and real captures.
 */
#include "capture_session.h"

#include <errno.h>

#define S UINT64_C(1000000000)

static const struct lw_capture_options full = { .pace.kind = LW_PACE_FULL };
static const struct lw_capture_options swapped = { .pace.kind = LW_PACE_FULL, .is_swapped = true };

static const uint8_t fd_record[72] = { 0x80, 0, 0, 1, 64, 4, 0, 0, 1, 2, 3 };

static void build(struct capture_bytes *out, bool is_ng, uint32_t magic, bool is_big_endian)
{
    bool is_nano = magic == PCAP_NS;
    *out = (struct capture_bytes){ .is_big_endian = is_big_endian };
    if (is_ng) {
        put_ng_section(out);
        put_ng_interface(out, 227, is_nano ? 9 : 6);
        put_ng_packet(out, 0, UINT64_C(1700000000) * (is_nano ? S : S / 1000) + 123456, a_record, sizeof(a_record));
        put_ng_packet(out, 0, UINT64_C(1700000001) * (is_nano ? S : S / 1000) + 7, fd_record, sizeof(fd_record));
    } else {
        put_pcap_header(out, magic, 227);
        put_pcap_packet(out, 1700000000, 123456, a_record, sizeof(a_record));
        put_pcap_packet(out, 1700000001, 7, fd_record, sizeof(fd_record));
    }
}

static void read_every_format_gives_events_and_times(void **state)
{
    (void)state;
    for (unsigned form = 0; form < 8; form++) {
        struct capture_bytes bytes;
        struct lw_event events[2];
        uint32_t magic = form & 1 ? PCAP_NS : PCAP_US, unit = form & 1 ? 1 : 1000;
        build(&bytes, form & 2, magic, form & 4);
        struct capture_session session = session_open_bytes(&bytes, &full);
        assert_int_equal(session_read_all(&session, events, 2), 2);
        assert_int_equal(events[0].t_ns, UINT64_C(1700000000) * S + 123456 * unit);
        assert_int_equal(events[1].t_ns, UINT64_C(1700000001) * S + 7 * unit);
        assert_int_equal(events[0].frame.id, 0x101);
        assert_int_equal(events[0].frame.len, 2);
        assert_int_equal(events[0].frame.data[1], 0xCD);
        assert_int_equal(events[1].frame.flags, LW_FRAME_EXTENDED | LW_FRAME_FD);
        assert_int_equal(events[1].frame.len, 64);
        assert_int_equal(events[1].bus, SESSION_BUS);
        assert_int_equal(events[1].stamp, LW_STAMP_CAPTURE);
        assert_int_equal(events[1].hw_ns, 0);
        assert_string_equal(session_describe(&session).note, "");
        assert_string_equal(session_describe(&session).kind, "capture");
        assert_true(lw_capture_is_capture(session.file.path));
        session_close(&session);
    }
}

/* Ends of the header and of each record of what build() makes, where a cut leaves only whole things. */
static size_t whole_at(size_t cut, bool is_ng, bool *is_clean)
{
    const size_t header = is_ng ? 28 + 32 : 24;
    const size_t first = header + (is_ng ? 32 + 12 : 16 + sizeof(a_record));
    const size_t second = first + (is_ng ? 32 : 16) + sizeof(fd_record);
    *is_clean = cut == header || cut == first || cut == second;
    return (size_t)(cut >= first) + (size_t)(cut >= second);
}

static void read_cut_off_anywhere_gives_all_whole_records(void **state)
{
    (void)state;
    for (unsigned form = 0; form < 2; form++) {
        struct capture_bytes bytes;
        build(&bytes, form, PCAP_US, false);
        for (size_t cut = 0; cut <= bytes.n; cut++) {
            bool is_clean;
            size_t expected = whole_at(cut, form, &is_clean);
            struct capture_session session = session_open(bytes.data, cut, &full);
            struct lw_event events[2];
            if (cut < (form ? 28u + 32u : 24u)) {
                assert_int_equal(session.error, -EINVAL);
                assert_non_null(strstr(session.message, "227"));
                session_close(&session);
                continue;
            }
            assert_int_equal(session.error, 0);
            assert_int_equal(session_read_all(&session, events, 2), expected);
            assert_int_equal(strstr(session_describe(&session).note, "cut off") == NULL, is_clean);
            session_close(&session);
        }
    }
}

static void open_wrong_file_says_what_is_wanted(void **state)
{
    (void)state;
    static const struct { const char *bytes, *words; } rows[] = {
        { "", "link type 227" }, { "x", "link type 227" }, { "This is no capture at all.", "link type 227" },
        { "\xD4\xC3\xB2\xA1 and then not", "link type 227" }, { "\x0A\x0D\x0D\x0A............", "link type 227" },
    };
    for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
        struct capture_session session = session_open(rows[i].bytes, strlen(rows[i].bytes), &full);
        assert_int_equal(session.error, -EINVAL);
        assert_non_null(strstr(session.message, rows[i].words));
        assert_null(session.source.self);
        assert_int_equal(lw_capture_is_capture(session.file.path), i >= 3);
        session_close(&session);
    }
}

static void open_path_that_is_no_file_says_why(void **state)
{
    (void)state;
    struct capture_session session = session_open_path("/no/such/file.pcap", &full);
    assert_int_equal(session.error, -ENOENT);
    assert_string_equal(session.message, "cannot open /no/such/file.pcap: No such file or directory");
    assert_false(lw_capture_is_capture("/no/such/file.pcap"));
    session = session_open_path("/", &full);
    assert_int_equal(session.error, -EINVAL);
    assert_string_equal(session.message, "/ is no regular file; give a capture file (pcap or pcapng)");
    assert_false(lw_capture_is_capture("/"));
}

static void open_other_link_type_names_it_and_the_right_one(void **state)
{
    (void)state;
    static const struct { uint32_t type; const char *words; } rows[] = {
        { 1, "link type 1 (Ethernet)" }, { 190, "link type 190 (" }, { 4000, "link type 4000 (unknown to libpcap)" },
    };
    for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
        struct capture_bytes bytes = { 0 };
        put_pcap_header(&bytes, PCAP_US, rows[i].type);
        struct capture_session session = session_open(bytes.data, bytes.n, &full);
        assert_int_equal(session.error, -ENOTSUP);
        assert_non_null(strstr(session.message, rows[i].words));
        assert_non_null(strstr(session.message, "link type 227 (CAN_SOCKETCAN)"));
        session_close(&session);
    }
}

static void read_swapped_identifiers_says_so_and_offers_the_flag(void **state)
{
    (void)state;
    static const uint8_t rows[][8] = { { 0x16, 0xFF, 0xEE, 0x98 }, { 0x23, 1, 0, 0 }, { 0x10, 7, 0, 0 } };
    struct capture_bytes bytes = { 0 };
    struct lw_event events[3];
    put_pcap_header(&bytes, PCAP_US, 227);
    for (uint32_t i = 0; i < 3; i++)
        put_pcap_packet(&bytes, i, 0, rows[i], 8);
    struct capture_session session = session_open_bytes(&bytes, &full);
    assert_int_equal(session_read_all(&session, events, 3), 0);
    assert_non_null(strstr(session_describe(&session).note, "identifiers look byte-swapped, try --swapped-ids"));
    session_close(&session);
    session = session_open_bytes(&bytes, &swapped);
    assert_int_equal(session_read_all(&session, events, 3), 3);
    assert_int_equal(events[0].frame.id, 0x18EEFF16);
    assert_int_equal(events[1].frame.id, 0x123);
    assert_int_equal(events[2].frame.id, 0x710);
    assert_string_equal(session_describe(&session).note, "");
    session_close(&session);
}

static void read_plain_identifiers_as_swapped_says_so(void **state)
{
    (void)state;
    struct capture_bytes bytes = capture_of_times((int[]){ 0, 1 }, 2);
    struct capture_session session = session_open_bytes(&bytes, &swapped);
    assert_int_equal(session_read_all(&session, NULL, 0), 0);
    assert_non_null(strstr(session_describe(&session).note, "try without --swapped-ids"));
    session_close(&session);
}

static void read_unusable_records_counts_them_by_reason(void **state)
{
    (void)state;
    static const uint8_t rows[][16] = { { 0, 0, 1, 1, 9, 4 }, { 0, 0, 1, 1, 0x80 }, { 0, 0, 1, 1, 8, 4 },
                                        { 0, 0, 1, 1 } };
    static const uint32_t sizes[] = { 16, 16, 15, 16 };
    struct capture_bytes bytes = { 0 };
    struct lw_event event;
    put_pcap_header(&bytes, PCAP_US, 227);
    for (uint32_t i = 0; i < 4; i++)
        put_pcap_packet(&bytes, i, 0, rows[i], sizes[i]);
    struct capture_session session = session_open_bytes(&bytes, &full);
    assert_int_equal(session_read_all(&session, &event, 1), 1);
    assert_int_equal(event.t_ns, 3 * S);
    const struct lw_source_info info = session_describe(&session);
    assert_non_null(strstr(info.note, "Not used: 1 records shorter than their own length."));
    assert_non_null(strstr(info.note, "Not used: 1 records with a length that no CAN frame has."));
    assert_non_null(strstr(info.note, "Not used: 1 records of CAN XL"));
    session_close(&session);
}

static void read_damaged_record_keeps_what_was_before(void **state)
{
    (void)state;
    struct capture_bytes bytes = capture_of_times((int[]){ 0, 1 }, 2);
    put_integer(&bytes, 1, 4);
    put_integer(&bytes, 0, 4);
    put_integer(&bytes, 0xFFFFFFFF, 4);
    put_integer(&bytes, 0xFFFFFFFF, 4);
    struct capture_session session = session_open_bytes(&bytes, &full);
    assert_int_equal(session_read_all(&session, NULL, 0), 2);
    assert_non_null(strstr(session_describe(&session).note, "Reading stopped after record 2 ("));
    session_close(&session);
}

/* Counts of the README beside the captures, which were re-read with another program. */
static void read_real_captures_gives_their_counts(void **state)
{
    (void)state;
    static const struct { const char *name; size_t n_frames; } rows[] = {
        { "car-power-cycle", 24263 }, { "one-module-on-the-bench", 4305 }, { "battery-pack-with-tester", 5934 },
        { "car-with-hole", 10234 }, { "machine-29bit", 18479 }, { "boat-power-on", 28 }, { "boat-running", 4720 },
    };
    const char *directory = getenv("LW_CAPTURES");
    if (!directory || access(directory, R_OK) != 0) {
        print_message("skipped: no real captures here (LW_CAPTURES)\n");
        skip();
    }
    for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
        char path[1024];
        snprintf(path, sizeof(path), "%s/%s.pcap", directory, rows[i].name);
        struct capture_session session = session_open_path(path, &full);
        assert_int_equal(session.error, 0);
        assert_true(lw_capture_is_capture(path));
        assert_int_equal(session_read_all(&session, NULL, 0), rows[i].n_frames);
        print_message("  %s: %zu %s\n", rows[i].name, rows[i].n_frames, session_describe(&session).note);
        session_close(&session);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(read_every_format_gives_events_and_times),
        cmocka_unit_test(read_cut_off_anywhere_gives_all_whole_records),
        cmocka_unit_test(open_wrong_file_says_what_is_wanted),
        cmocka_unit_test(open_path_that_is_no_file_says_why),
        cmocka_unit_test(open_other_link_type_names_it_and_the_right_one),
        cmocka_unit_test(read_swapped_identifiers_says_so_and_offers_the_flag),
        cmocka_unit_test(read_plain_identifiers_as_swapped_says_so),
        cmocka_unit_test(read_unusable_records_counts_them_by_reason),
        cmocka_unit_test(read_damaged_record_keeps_what_was_before),
        cmocka_unit_test(read_real_captures_gives_their_counts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
