/* SPDX-License-Identifier: MIT
 *
 * Baselines as files: what is written is read back the same, whatever people name their units; and what is wrong with a
 * file is said with its line and what to write instead.
 */
#include "baseline_file.h"

#include "cases.h"
#include "random_event.h"
#include "scratch_file.h"
#include "scratch_folder.h"

#include <errno.h>

enum { ROUNDS = 60 };

static struct lw_baseline written, back;

/* Pieces that a careless writer or reader trips over. */
static void random_name(uint64_t *seed, char *out, size_t size)
{
    static const char *const pieces[] = {
        "brush", " ", "\"", "\\", "$", "${HOME}", "\xC3\xB6", "\xCE\xA9", "\xE2\x96\xAA", "'", "#", "/*", "//", "{", "}", "=",
        "\\n", "\n", "\t", "%s", ";", "+=",
    };
    size_t n = 0;
    out[0] = '\0';
    for (unsigned i = random_below(seed, 8); i > 0; i--) {
        const char *piece = pieces[random_below(seed, N_ROWS(pieces))];
        if (n + strlen(piece) < size)
            n += (size_t)snprintf(out + n, size - n, "%s", piece);
    }
}

/* In whole microseconds, which is what a file keeps. */
static uint64_t random_us(uint64_t *seed)
{
    return (1 + random_bits(seed) % 86400000) * 1000;
}

static struct lw_expected random_expected(uint64_t *seed, unsigned bus)
{
    struct lw_expected id = { .key.bus = (uint8_t)bus, .rhythm = (enum lw_rhythm)random_below(seed, LW_RHYTHM_BOTH + 1) };
    id.key.is_extended = random_below(seed, 2);
    id.key.id = random_below(seed, id.key.is_extended ? LW_EXTENDED_ID_MAX + 1u : LW_STANDARD_ID_MAX + 1u);
    random_name(seed, id.name, sizeof(id.name));
    random_name(seed, id.sender, sizeof(id.sender));
    id.dlc_seen = (uint16_t)random_bits(seed);
    if (id.dlc_seen >> 9 != 0 || random_below(seed, 4) == 0)     /* more than 8 bytes, or chance */
        id.format = LW_FRAME_FD | (random_below(seed, 2) ? LW_FRAME_BRS : 0);
    if (random_below(seed, 2))
        id.heard = (struct lw_wire_length){ .nominal_bits = (uint16_t)(1 + random_below(seed, LW_WIRE_MAX_BITS)),
                                            .data_bits = (uint16_t)random_below(seed, LW_WIRE_MAX_BITS + 1u) };
    if (lw_rhythm_has_period(id.rhythm)) {
        id.period_ns = random_us(seed);
        id.tolerance_ns = random_us(seed);
        id.jitter_ns = random_below(seed, 2) ? random_us(seed) : 0;
    }
    id.longest_gap_ns = random_below(seed, 2) ? random_us(seed) : 0;
    if (id.rhythm == LW_RHYTHM_BOTH)
        id.most_at_once = (uint16_t)random_below(seed, 1001);
    id.shortest_gap_ns = random_below(seed, 2) ? random_us(seed) : 0;
    id.may_pause = random_below(seed, 2);
    return id;
}

static void fill_random(uint64_t *seed, size_t n_ids)
{
    lw_baseline_init(&written);
    written.n_buses = 1 + random_below(seed, LW_MAX_BUSES);
    for (unsigned i = 0; i < written.n_buses; i++) {
        struct lw_baseline_bus *bus = &written.buses[i];
        memset(bus, 0, sizeof(*bus));
        random_name(seed, bus->name, sizeof(bus->name) - 2);
        snprintf(bus->name + strlen(bus->name), 2, "%u", i);
        if (random_below(seed, 2))
            bus->bit_rate_bps = LW_KNOWN(1 + random_below(seed, 20000000));
        if (random_below(seed, 2))
            bus->data_bit_rate_bps = LW_KNOWN(1 + random_below(seed, 20000000));
        bus->watched_ns = random_bits(seed) % 1000000 * 1000000;
    }
    while (written.n_ids < n_ids) {
        written.ids[written.n_ids++] = random_expected(seed, random_below(seed, written.n_buses));
        if (lw_baseline_sort(&written) != LW_NO_INDEX)
            written.n_ids--;
    }
}

static void check_id(const struct lw_expected *a, const struct lw_expected *b)
{
    assert_true(lw_id_key_equal(a->key, b->key));
    assert_string_equal(a->name, b->name);
    assert_string_equal(a->sender, b->sender);
    assert_int_equal(a->dlc_seen, b->dlc_seen);
    assert_int_equal(a->rhythm, b->rhythm);
    assert_int_equal(a->period_ns, b->period_ns);
    if (a->period_ns != 0)
        assert_int_equal(a->tolerance_ns, b->tolerance_ns);
    assert_int_equal(a->longest_gap_ns, b->longest_gap_ns);
    assert_int_equal(a->shortest_gap_ns, b->shortest_gap_ns);
    assert_int_equal(a->jitter_ns, b->jitter_ns);
    assert_int_equal(a->most_at_once, b->most_at_once);
    assert_int_equal(a->format, b->format);
    assert_int_equal(a->heard.nominal_bits, b->heard.nominal_bits);
    assert_int_equal(a->heard.data_bits, b->heard.data_bits);
    assert_int_equal(a->may_pause, b->may_pause);
}

static void check_same(void)
{
    assert_int_equal(back.n_buses, written.n_buses);
    for (unsigned i = 0; i < back.n_buses; i++) {
        assert_string_equal(back.buses[i].name, written.buses[i].name);
        assert_true(is_same_reading(back.buses[i].bit_rate_bps, written.buses[i].bit_rate_bps));
        assert_true(is_same_reading(back.buses[i].data_bit_rate_bps, written.buses[i].data_bit_rate_bps));
        assert_int_equal(back.buses[i].watched_ns, written.buses[i].watched_ns);
    }
    assert_int_equal(back.n_ids, written.n_ids);
    for (size_t i = 0; i < back.n_ids; i++)
        check_id(&written.ids[i], &back.ids[i]);
}

static void baseline_written_is_read_back_the_same(void **state)
{
    struct scratch_folder folder = scratch_folder_make();
    char path[192], message[LW_BASELINE_MESSAGE];
    uint64_t seed = 40;
    (void)state;
    scratch_folder_path(&folder, "sweeper.baseline", path);
    for (int round = 0; round < ROUNDS; round++) {
        fill_random(&seed, random_below(&seed, 40));
        assert_int_equal(lw_baseline_write(&written, path), 0);
        int rc = lw_baseline_read(path, &back, message, sizeof(message));
        if (rc != 0)
            fail_msg("round %d: %s", round, message);
        check_same();
        assert_true(lw_baseline_is_baseline(path));
        assert_int_equal(scratch_folder_count(&folder), 1);
    }
    scratch_folder_remove(&folder);
}

static void baseline_as_full_as_can_be_is_read_back(void **state)
{
    struct scratch_folder folder = scratch_folder_make();
    char path[192], message[LW_BASELINE_MESSAGE];
    (void)state;
    lw_baseline_init(&written);
    written.n_buses = 1;
    snprintf(written.buses[0].name, LW_BUS_NAME_MAX, "can0");
    for (uint32_t i = 0; i < LW_MAX_IDS; i++)
        written.ids[written.n_ids++] = (struct lw_expected){ .key = { .id = i, .is_extended = i > LW_STANDARD_ID_MAX },
                                                             .dlc_seen = 1 << 8, .rhythm = LW_RHYTHM_EVENT };
    assert_int_equal(lw_baseline_sort(&written), LW_NO_INDEX);
    assert_int_equal(lw_baseline_write(&written, scratch_folder_path(&folder, "full", path)), 0);
    assert_int_equal(lw_baseline_read(path, &back, message, sizeof(message)), 0);
    check_same();
    scratch_folder_remove(&folder);
}

#define BUS(inside) "loomwatch-baseline = 1\nbus \"can0\" {\n" inside "}\n"

/* A file, and words of the answer; the second tells what to write. line 0: none is told. */
static const struct wrong_file {
    const char *name, *text;
    int line;
    const char *says, *instead;
} wrong_files[] = {
    { "bad id", BUS("id \"1A0\" {}\nid \"1A\" {\nkind = \"event\"\n}\n"), 6, "id \"1A\"", "write 3 hexadecimal digits" },
    { "id too large", BUS("id \"8A0\" {}\n"), 3, "id \"8A0\"", "up to 7FF" },
    { "twice", BUS("id \"1A0\" {}\nid \"1A0\" {}\n"), 4, "1A0", "keep one" },
    { "twice in other letters", BUS("id \"1A0\" {}\nid \"1A1\" {}\nid \"1a0\" {}\n"), 5, "1a0", "keep one" },
    { "bus twice", BUS("") "bus \"can0\" {}\n", 4, "can0", "keep one" },
    { "bad kind", BUS("id \"1A0\" {\nkind = \"often\"\n}\n"), 5, "kind \"often\"", "write cyclic, event, both or unknown" },
    { "missing period", BUS("id \"1A0\" {\nkind = \"cyclic\"\n}\n"), 5, "1A0", "period-ms = 100" },
    { "period of nothing", BUS("id \"1A0\" {\nkind = \"both\"\nperiod-ms = 0\n}\n"), 6, "1A0", "period-ms = 100" },
    { "negative period", BUS("id \"1A0\" {\nperiod-ms = -3\n}\n"), 4, "period-ms", "write milliseconds" },
    { "period of no number", BUS("id \"1A0\" {\nperiod-ms = often\n}\n"), 4, "period-ms", "write a number" },
    { "bad length", BUS("id \"1A0\" {\nlength = {8, 9}\n}\n"), 4, "length 9", "0 to 8, 12, 16, 20, 24, 32, 48 or 64" },
    { "length of no number", BUS("id \"1A0\" {\nlength = {eight}\n}\n"), 4, "length", "write a whole number" },
    { "unknown word", BUS("id \"1A0\" {\n\nperiode-ms = 3\n}\n"), 5, "periode-ms", "write id, bit-rate" },
    { "pause of no truth", BUS("id \"1A0\" {\nmay-pause = perhaps\n}\n"), 4, "may-pause", "write true or false" },
    { "long name", BUS("id \"1A0\" {\nname = \"01234567890123456789012345678901\"\n}\n"), 4, "name", "write at most 31" },
    { "bad bit rate", BUS("bit-rate = -5\n"), 3, "bit-rate -5", "write bits a second" },
    { "bad data bit rate", BUS("data-bit-rate = -5\n"), 3, "data-bit-rate -5", "write bits a second" },
    { "negative shortest gap", BUS("id \"1A0\" {\nshortest-gap-ms = -1\n}\n"), 4, "shortest-gap-ms", "write milliseconds" },
    { "negative jitter", BUS("id \"1A0\" {\njitter-ms = -1\n}\n"), 4, "jitter-ms", "write milliseconds" },
    { "many at once", BUS("id \"1A0\" {\nmost-at-once = 1001\n}\n"), 4, "most-at-once 1001", "write frames from 1 to 1000" },
    { "no bits heard", BUS("id \"1A0\" {\nbits-heard = {0}\n}\n"), 4, "bits-heard", "write bits from 1 to 800" },
    { "three bits heard", BUS("id \"1A0\" {\nbits-heard = {30, 90, 3}\n}\n"), 4, "bits-heard", "two numbers at most" },
    { "no quote at the end", BUS("id \"1A0\" {\nname = \"brush\n}\n"), 7, "end of file", "write \"" },
    { "no name of a bus", "loomwatch-baseline = 1\nbus {}\n", 2, "'bus'", "write a name in quotes" },
    { "other version", "loomwatch-baseline = 7\nbus \"can0\" {}\n", 1, "loomwatch-baseline = 7", "write 1" },
    { "no bus", "loomwatch-baseline = 1\n", 0, "no bus", "write bus \"can0\"" },
    { "empty", "", 1, "no baseline", "loomwatch-baseline = 1" },
    { "another text", "Dear fitter,\n", 1, "no baseline", "loomwatch-baseline = 1" },
    { "nine buses", "loomwatch-baseline = 1\nbus \"1\" {}\nbus \"2\" {}\nbus \"3\" {}\nbus \"4\" {}\nbus \"5\" {}\n"
      "bus \"6\" {}\nbus \"7\" {}\nbus \"8\" {}\nbus \"9\" {}\n", 10, "too many buses", "write at most 8" },
};

static void check_refused(const char *path, const struct wrong_file *wrong)
{
    char message[LW_BASELINE_MESSAGE], line[32] = "";
    assert_int_equal(lw_baseline_read(path, &back, message, sizeof(message)), -EINVAL);
    if (wrong->line > 0)
        snprintf(line, sizeof(line), ", line %d: ", wrong->line);
    if (!strstr(message, path) || !strstr(message, line) || !strstr(message, wrong->says)
        || !strstr(message, wrong->instead))
        fail_msg("%s: %s", wrong->name, message);
}

static void baseline_that_is_wrong_says_where_and_what_instead(void **state)
{
    struct scratch_file file = scratch_file_open();
    (void)state;
    for (size_t i = 0; i < N_ROWS(wrong_files); i++) {
        scratch_file_fill(&file, wrong_files[i].text, strlen(wrong_files[i].text));
        check_refused(file.path, &wrong_files[i]);
    }
    scratch_file_close(&file);
}

static void baseline_of_too_many_messages_is_refused(void **state)
{
    static const struct wrong_file wrong = { "too many", NULL, LW_MAX_IDS + 3, "more messages", "write at most 2048" };
    struct scratch_file file = scratch_file_open();
    char *text = malloc(64 * LW_MAX_IDS);
    size_t n = (size_t)sprintf(text, "loomwatch-baseline = 1\nbus \"can0\" {\n");
    (void)state;
    for (unsigned i = 0; i <= LW_MAX_IDS; i++)
        n += (size_t)sprintf(text + n, "id \"%08X\" {}\n", i);
    n += (size_t)sprintf(text + n, "}\n");
    scratch_file_fill(&file, text, n);
    check_refused(file.path, &wrong);
    free(text);
    scratch_file_close(&file);
}

static void baseline_that_cannot_be_read_says_why(void **state)
{
    char message[LW_BASELINE_MESSAGE];
    (void)state;
    assert_int_equal(lw_baseline_read("/nowhere/sweeper.baseline", &back, message, sizeof(message)), -ENOENT);
    assert_string_equal(message, "/nowhere/sweeper.baseline: No such file or directory");
    assert_int_not_equal(lw_baseline_read("/", &back, message, sizeof(message)), 0);
    assert_non_null(strstr(message, "/"));
    assert_false(lw_baseline_is_baseline("/nowhere"));
    assert_false(lw_baseline_is_baseline("/"));
}

/* What people do to the file: comments, order, spaces, letters, leaving things out. */
static void baseline_edited_by_people_is_understood(void **state)
{
    static const char text[] =
        "# our sweeper\n\nloomwatch-baseline=1\n/* the body bus */\nbus 'body bus' {\n"
        "  id 2d0 { name = hopper-load period-ms = 100 kind = cyclic } // plugged in last\n"
        "  id \"10A20310\" { length = {8} length += {6} }\n"
        "  id 0c0 { length = {64} }\n  id 0c1 { length = {8} fd = true }\n}\n";
    char message[LW_BASELINE_MESSAGE];
    struct scratch_file file = scratch_file_open();
    (void)state;
    scratch_file_fill(&file, text, strlen(text));
    int rc = lw_baseline_read(file.path, &back, message, sizeof(message));
    if (rc != 0)
        fail_msg("%s", message);
    assert_string_equal(back.buses[0].name, "body bus");
    assert_false(back.buses[0].bit_rate_bps.is_known);
    assert_int_equal(back.n_ids, 4);
    assert_int_equal(back.ids[0].format, LW_FRAME_FD);
    assert_int_equal(back.ids[1].format, LW_FRAME_FD | LW_FRAME_BRS);
    int load = lw_baseline_find(&back, (struct lw_id_key){ .id = 0x2D0 });
    assert_in_range(load, 2, 3);
    assert_string_equal(back.ids[load].name, "hopper-load");
    assert_int_equal(back.ids[load].period_ns, 100000000);
    assert_int_equal(back.ids[load].tolerance_ns, 10000000);
    assert_int_equal(back.ids[5 - load].rhythm, LW_RHYTHM_EVENT);
    assert_int_equal(back.ids[5 - load].dlc_seen, 1 << 8 | 1 << 6);
    assert_int_equal(back.ids[5 - load].format, 0);
    assert_int_equal(back.ids[5 - load].shortest_gap_ns, 0);
    scratch_file_close(&file);
}

static void baseline_that_cannot_be_written_leaves_the_old_one(void **state)
{
    struct scratch_folder folder = scratch_folder_make();
    char path[192], beside[192], message[LW_BASELINE_MESSAGE];
    uint64_t seed = 5;
    (void)state;
    fill_random(&seed, 20);
    assert_int_equal(lw_baseline_write(&written, scratch_folder_path(&folder, "b", path)), 0);
    assert_int_equal(mkdir(scratch_folder_path(&folder, "b.new", beside), 0700), 0);
    struct lw_baseline *other = malloc(sizeof(*other));
    lw_baseline_init(other);
    assert_int_equal(lw_baseline_write(other, path), -EISDIR);
    assert_int_equal(lw_baseline_read(path, &back, message, sizeof(message)), 0);
    check_same();
    assert_int_equal(lw_baseline_write(other, "/nowhere/b"), -ENOENT);
    free(other);
    rmdir(beside);
    scratch_folder_remove(&folder);
}

static void baseline_on_a_full_disk_is_an_error(void **state)
{
    (void)state;
    FILE *full = fopen("/dev/full", "w");
    uint64_t seed = 6;
    fill_random(&seed, 20);
    if (!full)
        skip();
    assert_int_equal(lw_baseline_print(&written, full), -EIO);
    fclose(full);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(baseline_written_is_read_back_the_same),
        cmocka_unit_test(baseline_as_full_as_can_be_is_read_back),
        cmocka_unit_test(baseline_that_is_wrong_says_where_and_what_instead),
        cmocka_unit_test(baseline_of_too_many_messages_is_refused),
        cmocka_unit_test(baseline_that_cannot_be_read_says_why),
        cmocka_unit_test(baseline_edited_by_people_is_understood),
        cmocka_unit_test(baseline_that_cannot_be_written_leaves_the_old_one),
        cmocka_unit_test(baseline_on_a_full_disk_is_an_error),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
