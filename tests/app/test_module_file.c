/* SPDX-License-Identifier: MIT
 *
 * Modules as files: what people write is understood, and what is wrong with it is said with its line and what to write
 * instead.
 */
#include "module_file.h"

#include "cases.h"
#include "scratch_file.h"

#include <errno.h>
#include <string.h>

static struct lw_module module;

static int read_text(const struct scratch_file *file, const char *text, char message[LW_MODULE_MESSAGE])
{
    scratch_file_fill(file, text, strlen(text));
    return lw_module_read(file->path, &module, message, LW_MODULE_MESSAGE);
}

static void module_of_the_example_file_is_what_it_says(void **state)
{
    (void)state;
    char message[LW_MODULE_MESSAGE];
    if (lw_module_read(LW_EXAMPLE_MODULE, &module, message, sizeof(message)) != 0)
        fail_msg("%s", message);
    assert_string_equal(module.name, "hopper load sensor");
    assert_int_equal(module.bit_rate_bps.value, 500000);
    assert_false(module.data_bit_rate_bps.is_known);
    assert_int_equal(module.n_messages, 3);
    const struct lw_module_message *load = &module.messages[0], *started = &module.messages[2];
    assert_string_equal(load->name, "hopper load");
    assert_int_equal(load->key.id, 0x2D0);
    assert_false(load->key.is_extended);
    assert_int_equal(load->format, 0);
    assert_int_equal(load->len, 6);
    assert_int_equal(load->period_ns, 100000000);
    assert_int_equal(load->jitter_ns, 800000);
    assert_int_equal(load->deadline_ns, 50000000);
    assert_int_equal(load->shortest_gap_ns, 0);
    assert_int_equal(started->period_ns, 0);
    assert_int_equal(started->shortest_gap_ns, 1000000000);
}

static void module_written_by_people_is_understood(void **state)
{
    (void)state;
    char message[LW_MODULE_MESSAGE];
    struct scratch_file file = scratch_file_open();
    static const char text[] =
        "# ours\nloomwatch-module=1 /* and */ module camera { data-bit-rate = 2000000\n"
        "message 'picture' { id = 0c0 length = 64 fd = yes every-ms = 20.5 }\n"
        "message state { id = \"10A202A8\" length = 0 fd = true switch-rate = false every-ms = 100 shortest-gap-ms = 20 } }\n";
    if (read_text(&file, text, message) != 0)
        fail_msg("%s", message);
    assert_false(module.bit_rate_bps.is_known);
    assert_int_equal(module.data_bit_rate_bps.value, 2000000);
    assert_int_equal(module.messages[0].format, LW_FRAME_FD | LW_FRAME_BRS);
    assert_int_equal(module.messages[0].period_ns, 20500000);
    assert_int_equal(module.messages[0].len, 64);
    assert_true(module.messages[1].key.is_extended);
    assert_int_equal(module.messages[1].format, LW_FRAME_FD);
    assert_int_equal(module.messages[1].shortest_gap_ns, 20000000);
    assert_int_equal(module.messages[1].period_ns, 100000000);
    scratch_file_close(&file);
}

#define MODULE(inside) "loomwatch-module = 1\nmodule \"m\" {\n" inside "}\n"
#define MESSAGE(inside) MODULE("message \"a\" {\n" inside "\n}\n")

/* line 0: none is told. */
static const struct wrong_file {
    const char *name, *text;
    int line;
    const char *says, *instead;
} wrong_files[] = {
    { "no id", MESSAGE("length = 8 every-ms = 1"), 5, "message \"a\" without identifier", "id = \"3A0\"" },
    { "two digits", MESSAGE("id = \"3A\" length = 8 every-ms = 1"), 5, "bad id", "write 3 hexadecimal digits" },
    { "too large", MESSAGE("id = \"8A0\" length = 8 every-ms = 1"), 5, "bad id", "up to 7FF" },
    { "too large a 29-bit one", MESSAGE("id = \"20000000\" length = 8 every-ms = 1"), 5, "bad id", "8 up to 1FFFFFFF" },
    { "twice", MODULE("message \"a\" { id = \"3a0\" length = 1 every-ms = 1 }\nmessage \"b\" { id = \"3A0\" length = 1 every-ms = 1 }\n"),
      4, "message \"b\" with an id that another has", "write another id" },
    { "name twice", MODULE("message \"a\" { id = \"3a0\" length = 1 every-ms = 1 }\nmessage \"a\" { }\n"), 4, "duplicate",
      "write another name" },
    { "no length", MESSAGE("id = \"3A0\" every-ms = 1"), 5, "without length", "length = 8" },
    { "odd length", MESSAGE("id = \"3A0\" every-ms = 1\nlength = 9"), 5, "length 9", "0 to 8, 12" },
    { "negative length", MESSAGE("id = \"3A0\" every-ms = 1\nlength = -1"), 5, "length -1", "0 to 8, 12" },
    { "long classic", MESSAGE("id = \"3A0\" every-ms = 1\nlength = 12"), 6, "more than 8 bytes", "write fd = true" },
    { "no rhythm", MESSAGE("id = \"3A0\" length = 8"), 5, "without rhythm", "write every-ms = 100, or shortest-gap-ms" },
    { "no time", MESSAGE("id = \"3A0\" length = 8 every-ms = 0"), 5, "without rhythm", "write every-ms = 100" },
    { "gap above period", MESSAGE("id = \"3A0\" length = 8 every-ms = 10 shortest-gap-ms = 11"), 5, "above its period",
      "smaller than every-ms" },
    { "negative time", MESSAGE("id = \"3A0\"\nevery-ms = -1"), 5, "every-ms", "write milliseconds" },
    { "time of no number", MESSAGE("id = \"3A0\"\nevery-ms = often"), 5, "every-ms", "write a number" },
    { "time beyond all", MESSAGE("id = \"3A0\"\ndeadline-ms = nan"), 5, "deadline-ms", "write milliseconds" },
    { "unknown word", MESSAGE("id = \"3A0\"\nperiod-ms = 100"), 5, "period-ms", "every-ms" },
    { "long name", MODULE("message \"01234567890123456789012345678901\" { id = \"3A0\" length = 1 every-ms = 1 }\n"), 3,
      "too long", "write at most 31" },
    { "long name of module", "loomwatch-module = 1\nmodule \"01234567890123456789012345678901\" { }\n", 2, "too long",
      "write at most 31" },
    { "bad bit rate", MODULE("bit-rate = -5\n"), 3, "bit-rate -5", "write bits a second" },
    { "no name", "loomwatch-module = 1\nmodule {}\n", 2, "'module'", "write a name in quotes" },
    { "two modules", MODULE("message \"a\" { id = \"3A0\" length = 1 every-ms = 1 }\n") "module \"n\" { }\n", 5, "second module",
      "a file of its own" },
    { "other version", "loomwatch-module = 7\nmodule \"m\" {}\n", 1, "loomwatch-module = 7", "write 1" },
    { "no module", "loomwatch-module = 1\n", 0, "no module", "write module" },
    { "no message", MODULE(""), 0, "without messages", "write at least one" },
    { "empty", "", 1, "this is no module file", "copy config/modules" },
    { "a baseline", "loomwatch-baseline = 1\n", 1, "this is no module file", "loomwatch-module = 1" },
};

static void module_that_is_wrong_says_where_and_what_instead(void **state)
{
    (void)state;
    struct scratch_file file = scratch_file_open();
    for (size_t i = 0; i < N_ROWS(wrong_files); i++) {
        const struct wrong_file *wrong = &wrong_files[i];
        char message[LW_MODULE_MESSAGE], line[32] = "";
        int rc = read_text(&file, wrong->text, message);
        if (wrong->line > 0)
            snprintf(line, sizeof(line), ", line %d: ", wrong->line);
        if (rc != -EINVAL || !strstr(message, file.path) || !strstr(message, line) || !strstr(message, wrong->says)
            || !strstr(message, wrong->instead))
            fail_msg("%s: %d %s", wrong->name, rc, message);
    }
    scratch_file_close(&file);
}

static void module_of_too_many_messages_is_refused(void **state)
{
    (void)state;
    struct scratch_file file = scratch_file_open();
    char message[LW_MODULE_MESSAGE], *text = NULL;
    size_t n;
    for (int more = 0; more < 2; more++) {
        FILE *out = open_memstream(&text, &n);
        fputs("loomwatch-module = 1\nmodule \"m\" {\n", out);
        for (int i = 0; i < LW_MODULE_MESSAGES + more; i++)
            fprintf(out, "message \"%d\" { id = \"%03X\" length = 8 every-ms = 100 }\n", i, i);
        fputs("}\n", out);
        fclose(out);
        assert_int_equal(read_text(&file, text, message), more ? -EINVAL : 0);
        free(text);
    }
    assert_non_null(strstr(message, "write at most 256"));
    scratch_file_close(&file);
}

static void module_that_cannot_be_read_says_why(void **state)
{
    (void)state;
    char message[LW_MODULE_MESSAGE];
    assert_int_equal(lw_module_read("/nowhere/mine.module", &module, message, sizeof(message)), -ENOENT);
    assert_string_equal(message, "/nowhere/mine.module: No such file or directory");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(module_of_the_example_file_is_what_it_says),
        cmocka_unit_test(module_written_by_people_is_understood),
        cmocka_unit_test(module_that_is_wrong_says_where_and_what_instead),
        cmocka_unit_test(module_of_too_many_messages_is_refused),
        cmocka_unit_test(module_that_cannot_be_read_says_why),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
