/* SPDX-License-Identifier: MIT
 *
 * What the files of the calculator `timing` share: its fields, the nodes it is about, and the parts of its worksheet.
 */
#ifndef LOOMWATCH_SRC_CALC_TIMING_PARTS_H
#define LOOMWATCH_SRC_CALC_TIMING_PARTS_H

#include "loomwatch/calc/calculator.h"
#include "loomwatch/calc/timing.h"

enum timing_field {
    TIMING_INTERFACE = LW_TIMING_INTERFACE,
    TIMING_CLOCK, TIMING_RATE, TIMING_SAMPLE_POINT, TIMING_PRESCALER, TIMING_SEGMENTS, TIMING_SJW, TIMING_LIMITS,
    TIMING_MODULE_CLOCK, TIMING_MODULE_RATE, TIMING_MODULE_SAMPLE_POINT, TIMING_MODULE_PRESCALER, TIMING_MODULE_SEGMENTS,
    TIMING_MODULE_SJW,
    TIMING_DATA_RATE, TIMING_DATA_SAMPLE_POINT, TIMING_DATA_PRESCALER, TIMING_DATA_SEGMENTS, TIMING_DATA_SJW,
    TIMING_LENGTH, TIMING_LOOP_DELAY, TIMING_CABLE_DELAY, TIMING_OSCILLATOR, TIMING_ALL,
    N_TIMING_FIELDS,
};

enum { TIMING_TEXT = 64 };

/* A setting, and how much of it was told. */
struct timing_node {
    const char *who;                 /* "the bus" */
    struct lw_timing timing;
    struct lw_timing_wish wish;      /* what it was searched by; rate_bps 0: all of it was given */
    bool is_clock_assumed, is_sjw_assumed, is_found;
};

struct timing_job {
    const struct lw_calc_input *input;
    struct lw_worksheet *sheet;
    const struct lw_timing_told *told;   /* of an interface; NULL = none was named */
    struct lw_timing_limits limits, data_limits;
    struct lw_way way;
    double length_m;                 /* NaN: not given */
    double oscillator;               /* fraction */
    struct timing_node bus, module, data;
    bool has_module, has_data;
};

/* Settings from the input. Each returns false where the input contradicts itself, having refused on the sheet. */
bool timing_read(struct timing_job *job);

/* Parts of the worksheet. */
void timing_list(struct timing_job *job);          /* settings that reach the rate */
void timing_kernel_row(struct timing_job *job, const struct timing_node *node, const char *label, unsigned point_field,
                       unsigned sjw_field);        /* the fields that a person may have filled */
void timing_judge(struct timing_job *job);         /* one setting */
void timing_pair(struct timing_job *job);          /* two of them */
void timing_data(struct timing_job *job);          /* data phase */
void timing_points(struct timing_job *job);        /* who samples where */

/* Answers of one setting: whether the bus is short enough, whether the oscillators are good enough. */
void timing_answer_length(struct timing_job *job, double longest_m, double prop_ns);

/* "500 kbit/s"; "87.5 %"; "1+11+2+2" with the synchronisation segment. Return buf. */
char *timing_rate_text(double bps, char buf[TIMING_TEXT]);
char *timing_percent(double fraction, char buf[TIMING_TEXT]);
char *timing_segments_text(const struct lw_timing *timing, char buf[TIMING_TEXT]);

/* What limits the clocks of a setting, and what would help: "SJW, 1 of 16 quanta: SJW 2 would allow 0.49 %". */
char *timing_weak_point(const struct lw_timing *timing, const struct lw_timing_limits *limits, char *buf, size_t size);

#endif
