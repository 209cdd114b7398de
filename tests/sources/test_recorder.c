/* SPDX-License-Identifier: MIT
 *
 * Recordings: what was added is read back, by us and by tcpdump, whatever ended the recording: the end, a
 * kill, or a disk that is full.
 */
#include "loomwatch/sources/recorder.h"

#include "loomwatch/sources/capture_record.h"

#include "capture_session.h"
#include "random_event.h"

#include <errno.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/wait.h>

enum { N_EVENTS = 3000, FILE_HEADER = 24 };

static const struct lw_capture_options full = { .pace.kind = LW_PACE_FULL };

/* Each a little later than the one before: a moment in 2026 plus every step from nothing to two seconds. */
static struct lw_event next_event(uint64_t *seed, uint64_t *t_ns)
{
    struct lw_event event = random_event(seed);
    if (!*t_ns)
        *t_ns = UINT64_C(1767225599999999999);
    *t_ns += random_bits(seed) % (1u << random_below(seed, 31));
    event.t_ns = *t_ns;
    return event;
}

static struct lw_recorder *create(const struct scratch_file *file)
{
    struct lw_recorder *recorder = NULL;
    assert_int_equal(lw_recorder_create(&recorder, file->path), 0);
    return recorder;
}

/* The file holds the first events of the seed, whole, and nothing else. Returns how many. */
static size_t assert_holds_first_events(const struct scratch_file *file, uint64_t seed)
{
    struct capture_session session = session_open_path(file->path, &full);
    struct lw_event read, added;
    uint64_t t_ns = 0;
    size_t n = 0;
    assert_int_equal(session.error, 0);
    for (; session_read(&session, 0, &read, 1) == 1; n++) {
        added = next_event(&seed, &t_ns);
        assert_true(read.t_ns == added.t_ns);
        assert_true(is_same_event(&read, &added));
    }
    session_close(&session);
    return n;
}

static void recorder_destroyed_leaves_every_event(void **state)
{
    (void)state;
    struct scratch_file file = scratch_file_open();
    struct lw_recorder *recorder = create(&file);
    uint64_t seed = 1, t_ns = 0;
    for (int i = 0; i < N_EVENTS; i++) {
        struct lw_event event = next_event(&seed, &t_ns);
        assert_int_equal(lw_recorder_add(recorder, &event), 0);
    }
    assert_true(lw_recorder_count(recorder) < N_EVENTS);
    assert_int_equal(lw_recorder_flush(recorder), 0);
    assert_int_equal(lw_recorder_count(recorder), N_EVENTS);
    assert_int_equal(lw_recorder_destroy(recorder), 0);
    assert_int_equal(assert_holds_first_events(&file, 1), N_EVENTS);
    scratch_file_close(&file);
}

static void recorder_without_events_is_a_capture(void **state)
{
    (void)state;
    struct scratch_file file = scratch_file_open();
    scratch_file_fill(&file, "what stood here before and is longer than a header", 50);
    struct lw_recorder *recorder = create(&file);
    assert_int_equal(scratch_file_size(&file), FILE_HEADER);
    assert_true(lw_capture_is_capture(file.path));
    assert_int_equal(lw_recorder_destroy(recorder), 0);
    assert_int_equal(assert_holds_first_events(&file, 1), 0);
    scratch_file_close(&file);
}

static void recorder_that_cannot_begin_says_why(void **state)
{
    (void)state;
    struct lw_recorder *recorder = NULL;
    assert_int_equal(lw_recorder_create(&recorder, "/no/such/directory/file.pcap"), -ENOENT);
    assert_int_equal(lw_recorder_create(&recorder, "/"), -EISDIR);
    if (access("/dev/full", W_OK) == 0)
        assert_int_equal(lw_recorder_create(&recorder, "/dev/full"), -ENOSPC);
    assert_null(recorder);
    assert_int_equal(lw_recorder_destroy(NULL), 0);
}

static void limit_file_size(rlim_t bytes)
{
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &limit), 0);
    limit.rlim_cur = bytes < limit.rlim_max ? bytes : limit.rlim_max;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

/* Stands for a disk that is full after so many bytes, at every one of them: the kernel then writes what
 * fits. */
static void record_until_full(const struct scratch_file *file, rlim_t limit, uint64_t seed)
{
    struct lw_recorder *recorder = create(file);
    uint64_t t_ns = 0;
    int error = 0;
    limit_file_size(limit);
    for (int i = 0; i < 100 && !error; i++) {
        struct lw_event event = next_event(&seed, &t_ns);
        error = lw_recorder_add(recorder, &event);
        if (!error && i % 3 == 2)
            error = lw_recorder_flush(recorder);
    }
    limit_file_size(RLIM_INFINITY);
    assert_int_equal(error, -EFBIG);
    struct lw_event late = next_event(&seed, &t_ns);
    uint64_t n_safe = lw_recorder_count(recorder);
    assert_int_equal(lw_recorder_add(recorder, &late), -EFBIG);
    assert_int_equal(lw_recorder_flush(recorder), -EFBIG);
    assert_int_equal(lw_recorder_count(recorder), n_safe);
    assert_int_equal(lw_recorder_destroy(recorder), -EFBIG);
    assert_int_equal(assert_holds_first_events(file, 9), n_safe);
    assert_true(scratch_file_size(file) <= limit);
    assert_true(scratch_file_size(file) + 16 + LW_CAPTURE_RECORD_MAX > limit);
}

static void recorder_on_full_disk_keeps_whole_records(void **state)
{
    (void)state;
    signal(SIGXFSZ, SIG_IGN);
    for (rlim_t limit = FILE_HEADER; limit < 1000; limit++) {
        struct scratch_file file = scratch_file_open();
        record_until_full(&file, limit, 9);
        scratch_file_close(&file);
    }
    signal(SIGXFSZ, SIG_DFL);
}

/* In the child: records until it is killed, and tells after each flush how many the kernel has. */
static void record_for_ever(const char *path, int tell_fd)
{
    struct lw_recorder *recorder = NULL;
    uint64_t seed = 5, t_ns = 0;
    if (lw_recorder_create(&recorder, path) != 0)
        _exit(1);
    for (unsigned i = 1;; i++) {
        struct lw_event event = next_event(&seed, &t_ns);
        uint64_t n_safe;
        if (lw_recorder_add(recorder, &event) != 0 || (i % 101 == 0 && lw_recorder_flush(recorder) != 0))
            _exit(1);
        n_safe = lw_recorder_count(recorder);
        if (i % 101 == 0 && write(tell_fd, &n_safe, sizeof(n_safe)) != sizeof(n_safe))
            _exit(1);
    }
}

static void recorder_killed_loses_unflushed_tail_only(void **state)
{
    (void)state;
    for (unsigned round = 0; round < 30; round++) {
        struct scratch_file file = scratch_file_open();
        int tell[2], status;
        uint64_t n_safe = 0;
        assert_int_equal(pipe(tell), 0);
        pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0)
            record_for_ever(file.path, tell[1]);
        close(tell[1]);
        for (unsigned i = 0; i <= round; i++)
            assert_int_equal(read(tell[0], &n_safe, sizeof(n_safe)), sizeof(n_safe));
        kill(child, SIGKILL);
        assert_int_equal(waitpid(child, &status, 0), child);
        assert_true(WIFSIGNALED(status));
        while (read(tell[0], &n_safe, sizeof(n_safe)) == sizeof(n_safe))
            ;
        assert_true(assert_holds_first_events(&file, 5) >= n_safe);
        close(tell[0]);
        scratch_file_close(&file);
    }
}

/* Takes one line of "OFFSET:  0123 4567 …" into bytes. tcpdump may print a record twice, with and without
 * text beside it; at their offsets both say the same. */
static void take_hex_line(const char *line, uint8_t *bytes)
{
    unsigned offset;
    int at;
    if (sscanf(line, " 0x%x:%n", &offset, &at) != 1 || line[at - 1] != ':')
        return;
    for (line += at + 2; offset < LW_CAPTURE_RECORD_MAX && sscanf(line, "%2hhx", &bytes[offset]) == 1; offset++) {
        line += 2;
        if (offset % 2 && *line++ != ' ')
            break;
        if (offset % 2 && *line == ' ')   /* two blanks: the text begins */
            break;
    }
}

struct dumped { uint64_t t_ns; uint8_t bytes[LW_CAPTURE_RECORD_MAX]; };

/* What tcpdump makes of the file: times and bytes. Returns the number of records, at most max. */
static size_t dump(const struct scratch_file *file, struct dumped *out, size_t max)
{
    char command[160], line[512];
    size_t n = 0;
    snprintf(command, sizeof(command), "tcpdump -nn -tt --time-stamp-precision=nano -xx -r - <%s 2>/dev/null",
             file->path);
    FILE *pipe_in = popen(command, "re");
    assert_non_null(pipe_in);
    while (fgets(line, sizeof(line), pipe_in)) {
        unsigned long long s, ns;
        if (sscanf(line, "%llu.%9llu", &s, &ns) == 2 && n < max)
            out[n++].t_ns = s * UINT64_C(1000000000) + ns;
        else if (n > 0)
            take_hex_line(line, out[n - 1].bytes);
    }
    assert_int_equal(pclose(pipe_in), 0);
    return n;
}

static void recorder_output_is_the_same_to_tcpdump(void **state)
{
    (void)state;
    if (system("command -v tcpdump >/dev/null 2>&1") != 0) {
        print_message("skipped: tcpdump is not installed\n");
        skip();
    }
    static struct dumped dumped[N_EVENTS + 1];
    struct scratch_file file = scratch_file_open();
    struct lw_recorder *recorder = create(&file);
    for (uint64_t i = 0, seed = 7, t_ns = 0; i < N_EVENTS; i++) {
        struct lw_event event = next_event(&seed, &t_ns);
        assert_int_equal(lw_recorder_add(recorder, &event), 0);
    }
    assert_int_equal(lw_recorder_destroy(recorder), 0);
    assert_int_equal(assert_holds_first_events(&file, 7), N_EVENTS);
    assert_int_equal(dump(&file, dumped, N_EVENTS + 1), N_EVENTS);
    for (uint64_t i = 0, seed = 7, t_ns = 0; i < N_EVENTS; i++) {
        struct lw_event event = next_event(&seed, &t_ns);
        uint8_t bytes[LW_CAPTURE_RECORD_MAX];
        lw_capture_encode(&event, bytes);
        assert_true(dumped[i].t_ns == event.t_ns);
        assert_memory_equal(dumped[i].bytes, bytes, sizeof(bytes));
    }
    scratch_file_close(&file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(recorder_destroyed_leaves_every_event),
        cmocka_unit_test(recorder_without_events_is_a_capture),
        cmocka_unit_test(recorder_that_cannot_begin_says_why),
        cmocka_unit_test(recorder_on_full_disk_keeps_whole_records),
        cmocka_unit_test(recorder_killed_loses_unflushed_tail_only),
        cmocka_unit_test(recorder_output_is_the_same_to_tcpdump),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
