/* SPDX-License-Identifier: MIT
 *
 * A watch under way: where its recordings go, that it ends exactly when it should, and what it does at the end of a
 * capture. Time is given by the test.
 */
#include "watch_run.h"

#include "capture_session.h"
#include "cases.h"
#include "scratch_folder.h"

#include <errno.h>

static const uint64_t second = UINT64_C(1000000000);
static const struct lw_pace full = { LW_PACE_FULL, 1 }, real = { LW_PACE_REAL, 1 };

static struct scratch_folder folder;
static struct lw_run run;
static struct lw_snapshot snapshot;
static char message[LW_RUN_TEXT];

static int set_up(void **state)
{
    (void)state;
    folder = scratch_folder_make();
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    scratch_folder_remove(&folder);
    return 0;
}

static struct lw_options watching(const char *first, const char *second_source, const char *third)
{
    struct lw_options options = { .command = LW_COMMAND_WATCH, .sequence = LW_SEQUENCE_F3M, .load_limit_permille = 800,
                                  .seed = 1, .arguments = { first, second_source, third } };
    while (options.n_arguments < 3 && options.arguments[options.n_arguments])
        options.n_arguments++;
    return options;
}

static void open_well(const struct lw_options *options, struct lw_pace pace)
{
    if (lw_run_open(&run, options, 0, pace, message) != 0)
        fail_msg("%s", message);
}

static void run_to_end(void)
{
    for (uint64_t mono = second; !lw_run_is_over(&run); mono += 1000000) {
        assert_true(mono < 3600 * second);
        lw_run_pump(&run, mono);
    }
    lw_run_flush(&run);
    lw_monitor_snapshot(run.monitor, NULL, &snapshot);
}

/* Times in ms of the frames of a little capture, written into the folder. */
static const char *capture(const char *name, const int *ms, size_t n, char path[192])
{
    struct capture_bytes bytes = capture_of_times(ms, n);
    scratch_folder_write(&folder, name, bytes.data, bytes.n);
    return scratch_folder_path(&folder, name, path);
}

static void check_recording(unsigned bus, const char *name)
{
    char wanted[192];
    assert_string_equal(run.buses[bus].record_path, scratch_folder_path(&folder, name, wanted));
    assert_int_equal(access(wanted, R_OK), 0);
}

static void run_records_one_source_where_it_was_told(void **state)
{
    char path[192];
    (void)state;
    struct lw_options options = watching("bench:harrow40", NULL, NULL);
    options.record = scratch_folder_path(&folder, "trip.pcap", path);
    options.for_ns = second;
    open_well(&options, full);
    check_recording(0, "trip.pcap");
    run_to_end();
    lw_run_close(&run);
    struct capture_session session = session_open_path(path, &(struct lw_capture_options){ .pace = full });
    assert_int_equal(session.error, 0);
    static struct lw_event events[4096];
    size_t n = session_read_all(&session, events, sizeof(events) / sizeof(events[0])), n_verdicts = 0;
    for (size_t i = 0; i < n; i++)
        n_verdicts += events[i].kind == LW_EVENT_VERDICT;
    assert_int_equal(n - n_verdicts, run.n_events);
    assert_in_range(n_verdicts, 1, 3);       /* nothing yet, all is well, and the last */
    assert_int_equal(events[n - 1].told.picture, LW_PICTURE_WELL);
    session_close(&session);
}

static void run_records_several_sources_by_their_names(void **state)
{
    static const int ms[] = { 0, 10, 20 };
    static const struct { const char *record, *capture, *bench; } rows[] = {
        { "trip.pcap", "trip.a.b.pcap.pcap", "trip.harrow40.pcap" },
        { "trip", "trip.a.b.pcap", "trip.harrow40" },
        { "a.trip.cap", "a.trip.a.b.pcap.cap", "a.trip.harrow40.cap" },
    };
    char path[192], record[192];
    (void)state;
    capture("a.b.pcap", ms, N_ROWS(ms), path);
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_options options = watching(path, "bench:harrow40", NULL);
        options.record = scratch_folder_path(&folder, rows[i].record, record);
        open_well(&options, full);
        check_recording(0, rows[i].capture);
        check_recording(1, rows[i].bench);
        lw_run_close(&run);
    }
}

/* Two of one name would write into one file, and be one bus in a baseline. */
static void run_tells_sources_of_one_name_apart(void **state)
{
    char record[192];
    (void)state;
    struct lw_options options = watching("bench:harrow40", "bench:harrow40", "bench:harrow40");
    options.record = scratch_folder_path(&folder, "trip.pcap", record);
    options.for_ns = second;
    open_well(&options, full);
    run_to_end();
    assert_int_equal(scratch_folder_count(&folder), 3);
    for (unsigned a = 0; a < run.n_buses; a++)
        for (unsigned b = a + 1; b < run.n_buses; b++) {
            assert_string_not_equal(run.buses[a].record_path, run.buses[b].record_path);
            assert_string_not_equal(snapshot.buses[a].name, snapshot.buses[b].name);
        }
    assert_string_equal(snapshot.buses[0].name, "harrow40");
    lw_run_close(&run);
}

static void run_never_records_over_what_is_there(void **state)
{
    static const int ms[] = { 0, 10, 20 };
    char path[192];
    (void)state;
    capture("trip.pcap", ms, N_ROWS(ms), path);
    struct lw_options options = watching(path, NULL, NULL);
    options.record = path;
    assert_int_equal(lw_run_open(&run, &options, 0, full, message), -EEXIST);
    assert_non_null(strstr(message, "--replace"));
    options.may_replace = true;
    assert_int_equal(lw_run_open(&run, &options, 0, full, message), -EINVAL);
    assert_non_null(strstr(message, "another file"));
    options.record = "/nowhere/trip.pcap";
    assert_int_equal(lw_run_open(&run, &options, 0, full, message), -ENOENT);
    assert_non_null(strstr(message, "/nowhere/trip.pcap"));
    options.record = NULL;
    open_well(&options, full);
    run_to_end();
    assert_int_equal(snapshot.buses[0].n_frames, N_ROWS(ms));
    lw_run_close(&run);
}

/* The last moment does not belong to it: frames at 0, 250, 500, 750 ms are of the first second, that at 1000 is not. */
static void run_for_a_time_ends_exactly(void **state)
{
    static const int ms[] = { 0, 250, 500, 750, 999, 1000, 1001, 1250, 3000 };
    static const struct { uint64_t for_ms; unsigned n; } rows[] = {
        { 1000, 5 }, { 999, 4 }, { 1001, 6 }, { 1, 1 }, { 3000, 8 },
    };
    char path[192];
    (void)state;
    capture("trip.pcap", ms, N_ROWS(ms), path);
    for (size_t i = 0; i < N_ROWS(rows); i++)
        for (int is_real = 0; is_real < 2; is_real++) {
            struct lw_options options = watching(path, NULL, NULL);
            options.for_ns = rows[i].for_ms * 1000000;
            open_well(&options, is_real ? real : full);
            run_to_end();
            assert_int_equal(snapshot.buses[0].n_frames, rows[i].n);
            assert_int_equal(snapshot.elapsed_ns, options.for_ns);
            assert_int_equal(run.buses[0].failure, 0);
            lw_run_close(&run);
        }
}

static void run_of_the_bench_for_a_time_ends_exactly(void **state)
{
    (void)state;
    struct lw_options options = watching(NULL, NULL, NULL);
    options.for_ns = 12345678901;
    open_well(&options, full);
    run_to_end();
    assert_int_equal(snapshot.elapsed_ns, options.for_ns);
    assert_in_range(snapshot.buses[0].last_frame_ns - snapshot.buses[0].start_ns, options.for_ns - 20000000,
                    options.for_ns - 1);
    lw_run_close(&run);
}

/* Each has its own beginning: captures of different days run side by side. */
static void run_for_a_time_ends_each_bus_by_its_own_clock(void **state)
{
    static const int early[] = { 0, 400, 800, 1200 }, late[] = { 500000, 500600, 501200, 501800 };
    char a[192], b[192];
    (void)state;
    struct lw_options options = watching(capture("a.pcap", early, N_ROWS(early), a),
                                         capture("b.pcap", late, N_ROWS(late), b), NULL);
    options.for_ns = second;
    open_well(&options, full);
    run_to_end();
    assert_int_equal(snapshot.buses[0].n_frames, 3);
    assert_int_equal(snapshot.buses[1].n_frames, 2);
    lw_run_close(&run);
}

/* After the end nothing is late, absent or silent, and nothing is waited for. */
static void run_at_the_end_of_a_capture_is_over(void **state)
{
    int ms[60];
    char path[192];
    (void)state;
    for (int i = 0; i < 60; i++)
        ms[i] = 10 * i;
    struct lw_options options = watching(capture("trip.pcap", ms, 60, path), NULL, NULL);
    open_well(&options, full);
    for (uint64_t mono = second; !lw_run_is_over(&run); mono += 1000000)
        lw_run_pump(&run, mono);
    for (uint64_t mono = 2 * second; mono < 60 * second; mono += second / 4)
        assert_false(lw_run_pump(&run, mono));
    struct pollfd fds[LW_RUN_MAX_FDS];
    assert_int_equal(lw_run_poll_fds(&run, fds), 0);
    assert_int_equal(lw_run_due_ns(&run, 60 * second), UINT64_MAX);
    lw_monitor_snapshot(run.monitor, NULL, &snapshot);
    assert_true(snapshot.buses[0].has_ended);
    assert_int_equal(snapshot.buses[0].n_frames, 60);
    for (int i = 0; i < LW_N_WINDOWS; i++)
        assert_int_equal(snapshot.alarms.windows[i].state, LW_WINDOW_NORMAL);
    lw_run_close(&run);
}

static void run_without_sources_is_the_demo_bench(void **state)
{
    (void)state;
    struct lw_options options = watching(NULL, NULL, NULL);
    open_well(&options, real);
    assert_int_equal(run.n_buses, 1);
    assert_string_equal(run.buses[0].info.kind, "bench");
    lw_run_close(&run);
}

static void run_that_cannot_begin_says_why_and_leaves_nothing(void **state)
{
    static const struct { const char *source, *baseline, *says; } rows[] = {
        { "bench:tractor", NULL, "harrow40" },
        { "/nowhere/trip.pcap", NULL, "/nowhere/trip.pcap" },
        { "bench:harrow40", "/nowhere/b", "/nowhere/b" },
    };
    char record[192];
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_options options = watching("bench:harrow40", rows[i].source, NULL);
        options.record = scratch_folder_path(&folder, "trip.pcap", record);
        options.baseline = rows[i].baseline;
        assert_int_not_equal(lw_run_open(&run, &options, 0, full, message), 0);
        if (!strstr(message, rows[i].says))
            fail_msg("%s", message);
        assert_int_equal(scratch_folder_count(&folder), 0);
        lw_run_close(&run);
    }
}

static void run_whose_recording_fails_goes_on_and_says_so(void **state)
{
    (void)state;
    struct lw_options options = watching("bench:harrow40", NULL, NULL);
    options.record = "/dev/full";
    options.may_replace = true;
    options.for_ns = 5 * second;
    if (lw_run_open(&run, &options, 0, full, message) == 0) {
        run_to_end();
        assert_true(run.has_record_failed);
        assert_true(snapshot.alarms.windows[LW_WINDOW_RECORD_FAILED].is_abnormal);
        assert_in_range(snapshot.buses[0].n_frames, 4000, 8000);
        lw_run_close(&run);
    } else {
        assert_non_null(strstr(message, "/dev/full: cannot record there"));
    }
}

int main(void)
{
#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        IN_FOLDER(run_records_one_source_where_it_was_told),
        IN_FOLDER(run_records_several_sources_by_their_names),
        IN_FOLDER(run_tells_sources_of_one_name_apart),
        IN_FOLDER(run_never_records_over_what_is_there),
        IN_FOLDER(run_for_a_time_ends_exactly),
        IN_FOLDER(run_of_the_bench_for_a_time_ends_exactly),
        IN_FOLDER(run_for_a_time_ends_each_bus_by_its_own_clock),
        IN_FOLDER(run_at_the_end_of_a_capture_is_over),
        cmocka_unit_test(run_without_sources_is_the_demo_bench),
        IN_FOLDER(run_that_cannot_begin_says_why_and_leaves_nothing),
        cmocka_unit_test(run_whose_recording_fails_goes_on_and_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
