/* SPDX-License-Identifier: MIT
 *
 * A bench for tests of the whole simulation: a small plant built in code or one of the shipped files, run for a while, and
 * what the adapter told meanwhile, added up. Every function asserts that it works.
 */
#ifndef LOOMWATCH_TEST_SIM_BENCH_H
#define LOOMWATCH_TEST_SIM_BENCH_H

#include "loomwatch/bench/adapter.h"
#include "loomwatch/bench/sim.h"

enum { SIM_BENCH_SHOWN = 64, SIM_BENCH_ADAPTER = 0, SIM_BENCH_FILES = 5, SIM_BENCH_MS = 1000000 };

extern const char *const sim_bench_files[SIM_BENCH_FILES];

/* What the adapter told since the start or since sim_bench_forget. */
struct sim_evidence {
    unsigned n_frames, n_own, n_errors, n_links, n_losses;
    unsigned n_repeats;              /* of another unit's frames, identical to the one before and at most 2 ms after it */
    uint32_t n_lost;                 /* frames, as LOSS events say */
    unsigned n_no_ack, n_overruns, n_bus_off, n_restarted;     /* error frames that say so */
    uint32_t classes, places;        /* all bits seen; bit n: place n was told */
    uint8_t reports, violations;     /* all bits seen of data[1] and data[2] */
    unsigned n_counters;             /* error frames with counters */
    uint8_t tec, rec, tec_max, rec_max;      /* in error frames: last, highest */
    uint64_t first_frame_ns, first_error_ns, bus_off_ns, restarted_ns;   /* UINT64_MAX: never */
    struct lw_link link;             /* the newest */
    bool is_disordered;              /* an event was older than the one before */
    unsigned n_shown;
    struct lw_error shown[SIM_BENCH_SHOWN];   /* the first error frames */
    struct lw_frame last;            /* frame of another unit */
    uint64_t last_ns, newest_ns;
    uint64_t digest;                 /* of all events, times included */
};

struct sim_bench {
    struct lw_plant *plant;
    struct lw_sim *sim;
    struct sim_evidence seen;
};

/* n units at equal distances on a line, 120 ohms at each end, 500 mm at least between the first and the last; unit 0 is our
 * adapter, "our adapter", the others "unit 1" and so on. Sample point 87.5 %, the widest jump, booted at once, nobody sends.
 * The plant may be changed until sim_bench_start. */
struct sim_bench sim_bench_of(unsigned n_units, uint32_t bit_rate_bps, uint32_t length_mm);
struct sim_bench sim_bench_of_file(const char *name);
void sim_bench_start(struct sim_bench *bench, uint64_t seed);
void sim_bench_stop(struct sim_bench *bench);

/* For the time before the start. sjw 0: the widest. */
void sim_bench_timing(struct sim_bench *bench, unsigned unit, uint32_t bit_rate_bps, unsigned sample_permille, unsigned sjw);
void sim_bench_tells(struct sim_bench *bench, const char *personality);
struct lw_plant_message *sim_bench_message(struct sim_bench *bench, unsigned unit, uint32_t id, unsigned len, unsigned period_ms);

/* Until so much bus time has passed since the start, reading events as they come. */
void sim_bench_run_ns(struct sim_bench *bench, uint64_t until_ns);
void sim_bench_run(struct sim_bench *bench, unsigned until_ms);

/* Puts an edit on now, in the words of damage.h; takes all off. */
void sim_bench_fault(struct sim_bench *bench, const char *words);
void sim_bench_mend(struct sim_bench *bench);

void sim_bench_forget(struct sim_bench *bench);
struct lw_sim_unit sim_bench_facts(const struct sim_bench *bench, unsigned unit);
struct lw_bench_meter sim_bench_meter(struct sim_bench *bench, unsigned point);

/* Sums over all units. */
uint64_t sim_bench_errors(const struct sim_bench *bench);
uint64_t sim_bench_sent(const struct sim_bench *bench);

#endif
