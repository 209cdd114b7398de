/* SPDX-License-Identifier: MIT
 *
 * `meter`, `timing`, `stub`, `fit`: words to input, input to worksheet, worksheet to stdout, plots to a file.
 */
#include "calc_material.h"
#include "commands.h"
#include "report_calc.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { TEXT_COLUMNS = 96 };

static int read_input(const struct lw_options *options, struct lw_calc_input *input)
{
    char error[LW_CALC_ERROR];
    int rc = 0;
    lw_calc_input_init(input, options->calculator);
    for (unsigned i = 0; i < options->n_arguments && rc == 0; i++)
        rc = lw_calc_input_word(input, options->arguments[i], error);
    if (rc == 0)
        rc = lw_calc_input_finish(input, error);
    if (rc == 0)
        rc = lw_calc_material_read(input, NULL, error);
    if (rc != 0)
        fprintf(stderr, "loomwatch: %s\n", error);
    return rc;
}

/* Never overwrites unasked. */
static int write_svg(const char *path, bool may_replace, const struct lw_worksheet *sheet)
{
    int fd = open(path, O_WRONLY | O_CREAT | O_CLOEXEC | (may_replace ? O_TRUNC : O_EXCL), 0666);
    FILE *out = fd >= 0 ? fdopen(fd, "w") : NULL;
    if (!out) {
        fprintf(stderr, "loomwatch: %s: %s%s\n", path, strerror(errno), errno == EEXIST ? "; --replace overwrites it" : "");
        return -errno;
    }
    lw_report_sheet_svg(out, sheet);
    bool has_failed = ferror(out);
    if (fclose(out) != 0 || has_failed) {
        fprintf(stderr, "loomwatch: %s: could not be written\n", path);
        return -EIO;
    }
    return 0;
}

static int check_output(const struct lw_options *options, const struct lw_worksheet *sheet)
{
    size_t n = options->output ? strlen(options->output) : 0;
    if (!options->output)
        return 0;
    if (n < 5 || strcmp(options->output + n - 4, ".svg") != 0)
        fprintf(stderr, "loomwatch: -o \"%s\" will not do; write a name that ends in .svg, such as -o %s.svg\n", options->output,
                options->calculator->name);
    else if (sheet->n_plots == 0)
        fprintf(stderr, "loomwatch: %s has no plot for %s with these words\n", options->calculator->name, options->output);
    else
        return 0;
    return -EINVAL;
}

static int exit_status(enum lw_finding finding)
{
    switch (finding) {
    case LW_FINDING_FITS: return LW_EXIT_FINE;
    case LW_FINDING_MARGINAL: case LW_FINDING_DOES_NOT: return LW_EXIT_DIFFERS;
    default: return LW_EXIT_TROUBLE;
    }
}

int lw_command_calc(const struct lw_options *options)
{
    static struct lw_calc_input input;
    static struct lw_worksheet sheet;
    if (read_input(options, &input) != 0)
        return LW_EXIT_TROUBLE;
    lw_calc_run(&input, &sheet);
    if (sheet.refusal[0] != '\0') {
        fprintf(stderr, "loomwatch: %s: %s\n", options->calculator->name, sheet.refusal);
        return LW_EXIT_TROUBLE;
    }
    if (check_output(options, &sheet) != 0)
        return LW_EXIT_TROUBLE;
    if (options->output && write_svg(options->output, options->may_replace, &sheet) != 0)
        return LW_EXIT_TROUBLE;
    if (options->is_json && lw_report_sheet_json(stdout, &input, &sheet) != 0)
        return LW_EXIT_TROUBLE;
    if (!options->is_json)
        lw_report_sheet_text(stdout, &sheet, TEXT_COLUMNS);
    return exit_status(lw_sheet_finding(&sheet));
}
