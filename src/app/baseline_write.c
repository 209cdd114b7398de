/* SPDX-License-Identifier: MIT
 *
 * Writing a baseline so that a person wants to read it.
 */
#include "baseline_file.h"

#include "loomwatch/core/text.h"

#include <errno.h>
#include <stdlib.h>
#include <unistd.h>

static void print_string(FILE *file, const char *text)
{
    putc('"', file);
    for (; *text != '\0'; text++) {
        if (*text == '"' || *text == '\\' || *text == '$')
            putc('\\', file);
        putc(*text, file);
    }
    putc('"', file);
}

static void print_lengths(FILE *file, uint16_t dlc_seen)
{
    const char *between = "";
    fputs("    length = {", file);
    for (unsigned dlc = 0; dlc < LW_N_DLC; dlc++)
        if (dlc_seen >> dlc & 1) {
            fprintf(file, "%s%u", between, lw_len_from_dlc(dlc));
            between = ", ";
        }
    fputs("}\n", file);
}

static void print_format(FILE *file, const struct lw_expected *id)
{
    if (id->format & LW_FRAME_FD)
        fprintf(file, "    fd = true\n    switch-rate = %s\n", id->format & LW_FRAME_BRS ? "true" : "false");
    if (id->heard.data_bits > 0)
        fprintf(file, "    bits-heard = {%u, %u}\n", id->heard.nominal_bits, id->heard.data_bits);
    else if (id->heard.nominal_bits > 0)
        fprintf(file, "    bits-heard = {%u}\n", id->heard.nominal_bits);
}

static double to_ms(uint64_t ns)
{
    return (double)ns / 1e6;
}

static void print_id(FILE *file, const struct lw_expected *id)
{
    char text[LW_ID_TEXT];
    fprintf(file, "\n  id \"%s\" {\n    name = ", lw_id_text(id->key, text));
    print_string(file, id->name);
    fputs("\n    sender = ", file);
    print_string(file, id->sender);
    putc('\n', file);
    print_lengths(file, id->dlc_seen);
    print_format(file, id);
    fprintf(file, "    kind = \"%s\"\n", lw_rhythm_name(id->rhythm));
    if (id->period_ns != 0)
        fprintf(file, "    period-ms = %.3f\n    tolerance-ms = %.3f\n", to_ms(id->period_ns), to_ms(id->tolerance_ns));
    if (id->most_at_once != 0)
        fprintf(file, "    most-at-once = %u\n", id->most_at_once);
    if (id->jitter_ns != 0)
        fprintf(file, "    jitter-ms = %.3f\n", to_ms(id->jitter_ns));
    if (id->longest_gap_ns != 0)
        fprintf(file, "    longest-gap-ms = %.3f\n", to_ms(id->longest_gap_ns));
    if (id->shortest_gap_ns != 0)
        fprintf(file, "    shortest-gap-ms = %.3f\n", to_ms(id->shortest_gap_ns));
    if (id->may_pause)
        fputs("    may-pause = true\n", file);
    fputs("  }\n", file);
}

static void print_bus(FILE *file, const struct lw_baseline *baseline, unsigned index)
{
    const struct lw_baseline_bus *bus = &baseline->buses[index];
    fputs("\nbus ", file);
    print_string(file, bus->name);
    fputs(" {\n", file);
    if (bus->bit_rate_bps.is_known)
        fprintf(file, "  bit-rate = %u\n", (unsigned)bus->bit_rate_bps.value);
    else
        fputs("  # bit-rate = 500000   the source did not tell\n", file);
    if (bus->data_bit_rate_bps.is_known)
        fprintf(file, "  data-bit-rate = %u\n", (unsigned)bus->data_bit_rate_bps.value);
    fprintf(file, "  watched-s = %.3f\n", (double)bus->watched_ns / 1e9);
    for (size_t i = 0; i < baseline->n_ids; i++)
        if (baseline->ids[i].key.bus == index)
            print_id(file, &baseline->ids[i]);
    fputs("}\n", file);
}

static const char preface[] =
    "# A baseline: what a bus carries when all is well. Edit freely: give names and senders, add comments.\n"
    "#   id              3 hexadecimal digits for 11-bit identifiers, 8 for 29-bit ones\n"
    "#   fd, switch-rate a CAN FD message, and whether its data go at the data bit rate\n"
    "#   bits-heard      how long the last frame heard was on the wire, stuff bits included, in bits; the second\n"
    "#                   number, of a frame that switches, at the data bit rate\n"
    "#   kind            cyclic, event, both (cyclic, and in between on event), unknown (too few heard to say)\n"
    "#   tolerance-ms    how far the period may be off before the message counts as changed\n"
    "#   jitter-ms       how far its regular gaps were off the period at most\n"
    "#   longest-gap-ms  the longest silence met while learning; a message is not called late before that\n"
    "#   shortest-gap-ms the shortest time between two of them met while learning\n"
    "#   most-at-once    of kind both: the most that came within four fifths of its period\n"
    "#   may-pause       it fell silent while learning: its absence is no alarm\n";

int lw_baseline_print(const struct lw_baseline *baseline, FILE *file)
{
    fprintf(file, "loomwatch-baseline = 1\n\n%s", preface);
    for (unsigned i = 0; i < baseline->n_buses; i++)
        print_bus(file, baseline, i);
    return fflush(file) == 0 && !ferror(file) ? 0 : -EIO;
}

int lw_baseline_write(const struct lw_baseline *baseline, const char *path)
{
    char *beside;
    if (asprintf(&beside, "%s.new", path) < 0)
        return -ENOMEM;
    FILE *file = fopen(beside, "w");
    int rc = file ? lw_baseline_print(baseline, file) : -errno;
    if (rc == 0 && fsync(fileno(file)) != 0 && errno != EINVAL && errno != EROFS)
        rc = -errno;
    if (file && fclose(file) != 0 && rc == 0)
        rc = -errno;
    if (rc == 0 && rename(beside, path) != 0)
        rc = -errno;
    if (rc != 0 && file)
        unlink(beside);
    free(beside);
    return rc;
}
