/* SPDX-License-Identifier: MIT
 *
 * Files and interfaces that calculators need: baseline and module of `fit`, the controller of `timing`.
 */
#include "calc_material.h"

#include "baseline_file.h"
#include "calc_interface.h"
#include "loomwatch/calc/fit.h"
#include "module_file.h"

#include <errno.h>
#include <stdio.h>

/* One page, one command: one piece of material at a time. */
static struct {
    struct lw_baseline baseline;
    struct lw_module module;
    struct lw_traffic traffic;
    struct lw_fit_material material;
} fit;

static int say(int rc, const char *message, char error[LW_CALC_ERROR])
{
    snprintf(error, LW_CALC_ERROR, "fit: %s", message);
    return rc;
}

static int read_baseline(const struct lw_calc_input *input, const struct lw_baseline *present, char error[LW_CALC_ERROR])
{
    char message[LW_BASELINE_MESSAGE];
    fit.material.baseline = present;
    fit.material.baseline_words = "this watch";
    if (lw_calc_has(input, LW_FIT_BASELINE)) {
        const char *path = input->slots[LW_FIT_BASELINE].values[0].text;
        int rc = lw_baseline_read(path, &fit.baseline, message, sizeof(message));
        fit.material.baseline = &fit.baseline;
        fit.material.baseline_words = path;
        return rc == 0 ? 0 : say(rc, message, error);
    }
    if (!present)
        return say(-EINVAL, "no baseline: write its file, made by loomwatch baseline; on the dashboard b takes one", error);
    return 0;
}

static int read_fit(struct lw_calc_input *input, const struct lw_baseline *present, char error[LW_CALC_ERROR])
{
    char message[LW_MODULE_MESSAGE];
    int rc = read_baseline(input, present, error);
    if (rc != 0)
        return rc;
    rc = lw_module_read(input->slots[LW_FIT_MODULE].values[0].text, &fit.module, message, sizeof(message));
    if (rc != 0)
        return say(rc, message, error);
    fit.material.module = &fit.module;
    fit.material.traffic = &fit.traffic;
    input->material = &fit.material;
    return 0;
}

int lw_calc_material_read(struct lw_calc_input *input, const struct lw_baseline *present, char error[LW_CALC_ERROR])
{
    static struct lw_timing_told told;
    int rc = 0;
    error[0] = '\0';
    input->material = NULL;
    if (input->calculator == &lw_calc_fit)
        return read_fit(input, present, error);
    if (input->calculator == &lw_calc_timing && lw_calc_has(input, LW_TIMING_INTERFACE)) {
        rc = lw_calc_ask_interface(input->slots[LW_TIMING_INTERFACE].values[0].text, &told, error);
        input->material = rc == 0 ? &told : NULL;
    }
    return rc;
}
