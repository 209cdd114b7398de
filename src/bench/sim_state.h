/* SPDX-License-Identifier: MIT
 *
 * The inside of the simulation, shared by the sim_*.c files only.
 */
#ifndef LOOMWATCH_SRC_BENCH_SIM_STATE_H
#define LOOMWATCH_SRC_BENCH_SIM_STATE_H

#include "messages.h"

#include "loomwatch/bench/adapter.h"
#include "loomwatch/bench/bit_clock.h"
#include "loomwatch/bench/sim.h"
#include "loomwatch/bench/wires.h"

enum { LW_PS_PER_NS = 1000, LW_METER_NS = 100000000 };

#define LW_NEVER UINT64_MAX

/* Where a unit stands in its bit. A parked one waits for an edge or for something to send. */
enum lw_phase { LW_PHASE_OFF, LW_PHASE_PARKED, LW_PHASE_BEFORE_SAMPLE, LW_PHASE_AFTER_SAMPLE };

struct lw_sim_node {
    struct lw_mac *mac;
    struct lw_bit_clock clock;
    struct lw_bit_timing timing;     /* what the clock was set to, damage included */
    int32_t crystal_ppm;
    bool is_listen_only;
    bool is_deaf;                    /* transceiver in standby: RXD rests recessive */
    uint8_t phase;                   /* enum lw_phase */
    bool is_plugged, is_powered;     /* as the person set it; damage may take both away */
    bool is_driving;                 /* TXD dominant */
    bool was_recessive;              /* what was sampled last: edges count only then */
    bool is_rxd_dominant;            /* as of the last time asked */
    uint64_t next_ps;                /* next event of its bit clock: a sample, or the end of a bit after which it drives anew */
    uint64_t edge_ps;                /* the last RXD edge that was used */
    uint64_t boot_ns;                /* when its messages begin; LW_NEVER: they have, or it is off */
    uint64_t restart_ns;             /* when bus off recovery is asked for */
    uint64_t heard_ns;               /* when its controller last had something to tell: a frame, an error */
    uint64_t rest_ns;                /* its application stops, or, once it has, it may fall asleep: see sim_sleep.c */
    uint64_t wake_ns;                /* when a sleeping one runs again */
    bool is_stopped, is_asleep;      /* its application; the unit */
    struct lw_sim_unit facts;
};

struct lw_sim_damage {
    struct lw_damage damage;
    bool is_on;                      /* holds now */
    bool is_open;                    /* of a loose contact: open just now */
    uint64_t toggle_ns;              /* when it changes next */
    uint64_t n_toggles;
};

/* The frames that a unit saw last, bit by bit, and the one under way. */
struct lw_sim_trace {
    unsigned unit;
    uint64_t since_ns;
    bool is_running, has_error;
    struct lw_bench_trace running, last, last_error;
};

/* Where one of the units in lockstep stands in its own time. */
struct lw_sim_pace {
    struct lw_bit_clock clock;
    unsigned bit;                    /* of the frame: the one that the clock stands in */
    unsigned edge_bit;               /* the one that the edge it took last begins; 0: none */
    uint64_t edge_ps;
};

enum { LW_LOCKSTEP_BITS = 200 };     /* no classic frame is longer */

/* All units while one sends and the others listen: see sim_lockstep.c. Their nodes stand as they stood at its beginning. */
struct lw_sim_lockstep {
    bool is_forbidden, is_on;
    unsigned sender;
    struct lw_mac_sending sending;   /* n_sampled: by every unit, at the beginning */
    uint64_t start_ps, bit_ps;       /* of the next bit after those, by the sender's clock */
    uint64_t end_ps;                 /* it holds for all that happens before */
    uint64_t done_ps;                /* the loop has passed all that happens before */
    uint64_t retry_ps;               /* no sooner is it tried again */
    unsigned late_unit;              /* the one that was not in step when it was tried last */
    uint32_t units;
    unsigned n_changes;
    uint16_t changes[LW_LOCKSTEP_BITS];      /* bits that differ from the one before; by turns */
    uint64_t after_ps[LW_PLANT_MAX_UNITS][2];
    struct lw_sim_pace paces[LW_PLANT_MAX_UNITS];    /* at its end */
};

/* Who is due first; so many neighbours are looked at together. */
enum { LW_SOONEST_OF = 4, LW_SOONEST_GROUPS = LW_PLANT_MAX_UNITS / LW_SOONEST_OF };
struct lw_sim_soonest {
    uint64_t t_ps;
    int unit;                        /* -1: nobody */
};

/* For the averaging meter: how long anybody drove, and who drove last. */
struct lw_sim_meter {
    uint64_t since_ps, dominant_ps, changed_ps;
    uint32_t drivers, last_drivers;
    double share;                    /* of the last whole window; the running one while there is none */
    bool has_share;
};

struct lw_sim {
    struct lw_plant plant;
    uint64_t seed;
    uint64_t now_ps;
    int adapter_unit;
    unsigned n_asleep;
    bool is_supply_on;
    struct lw_wires *wires;
    struct lw_messages messages;
    struct lw_adapter adapter;
    struct lw_sim_node nodes[LW_PLANT_MAX_UNITS];
    uint64_t due_ps[LW_PLANT_MAX_UNITS];        /* of each unit the sooner of next_ps and edge_due_ps: searched at every step */
    uint64_t soonest_ps[LW_SOONEST_GROUPS];     /* of these, a few neighbours each */
    uint32_t stale_groups;           /* whose soonest_ps is to be found anew */
    uint64_t edge_due_ps[LW_PLANT_MAX_UNITS];   /* its next RXD edge to dominant, as far as it is known, if that matters */
    uint32_t guessed;                /* units whose edge_due_ps may be too early: to be looked at again then */
    uint32_t waiting;                /* units to which an edge matters */
    uint64_t other_due_ps;           /* soonest of all that is not a unit's bit; valid unless is_other_stale */
    bool is_other_stale;
    unsigned n_damages;
    struct lw_sim_damage damages[LW_MAX_DAMAGES];
    uint64_t damage_ns;              /* when a damage begins, ends or toggles next */
    unsigned next_step;
    uint64_t plug_ns;                /* when a unit plugs itself in next */
    struct lw_sim_lockstep lockstep;
    struct lw_sim_meter meter;
    struct lw_sim_trace trace;
};

/* sim_nodes.c: one unit's controller in time. */
void lw_sim_node_start(struct lw_sim *sim, unsigned unit);       /* supply and bus are there: controller from power-on */
void lw_sim_node_stop(struct lw_sim *sim, unsigned unit);
void lw_sim_node_refit(struct lw_sim *sim, unsigned unit);       /* timing and mode anew, if damage has changed them */
bool lw_sim_node_event(struct lw_sim *sim, unsigned unit);       /* its next bit clock event or RXD change is due; true: it sampled */
void lw_sim_node_rest(struct lw_sim *sim, unsigned unit);        /* the same of a bit clock, where RXD is known to rest recessive */
void lw_sim_node_wake(struct lw_sim *sim, unsigned unit);        /* parked, and there is something to do */
void lw_sim_copy_trace(struct lw_bench_trace *to, const struct lw_bench_trace *from);   /* only the bits there are */

/* sim_due.c: when each unit is due, and who is first. */
void lw_sim_due_init(struct lw_sim *sim);
void lw_sim_due_at(struct lw_sim *sim, unsigned unit, uint64_t t_ps);        /* its bit clock; LW_NEVER: not at all */
void lw_sim_look_ahead(struct lw_sim *sim, unsigned unit);       /* its next edge, after RXD, phase or wiring changed */
void lw_sim_look_ahead_after(struct lw_sim *sim, unsigned driver);   /* of all to which it matters, after one drove */
struct lw_sim_soonest lw_sim_soonest(struct lw_sim *sim, uint64_t before_ps);    /* unit -1: nobody before that */

/* What sim_nodes.c shares with lockstep. */
void lw_sim_note_drive(struct lw_sim *sim, unsigned unit, bool is_dominant);     /* at now_ps, for the meter */
void lw_sim_trace_bit(struct lw_sim *sim, const struct lw_sim_node *node, bool is_dominant, unsigned reports);
void lw_sim_expect(struct lw_sim *sim, unsigned unit);           /* its next bit clock event and RXD edge, by its phase */

/* sim_lockstep.c: all units at once while one sends. */
void lw_sim_try_lockstep(struct lw_sim *sim, unsigned unit);     /* unit has just sampled */
void lw_sim_leave_lockstep(struct lw_sim *sim, uint64_t t_ps);   /* if in it: all before t_ps has happened, each unit stands alone */

/* sim_in_turn.c: one unit after the other while nobody can drive. */
void lw_sim_try_in_turn(struct lw_sim *sim, unsigned unit, uint64_t until_ps);   /* unit has just sampled; up to and with until_ps */

/* sim_sleep.c: units that stop, sleep, and are woken. */
void lw_sim_sleep_begin(struct lw_sim *sim, unsigned unit, uint64_t now_ns);   /* its application has begun */
void lw_sim_sleep_forget(struct lw_sim *sim, unsigned unit);     /* it lost its supply: it will begin anew */
void lw_sim_sleep_hear(struct lw_sim *sim);                      /* somebody has begun to drive dominant */
void lw_sim_sleep_due(struct lw_sim *sim, uint64_t now_ns);
static inline uint64_t lw_sim_sleep_next_ns(const struct lw_sim_node *node)
{
    return node->rest_ns < node->wake_ns ? node->rest_ns : node->wake_ns;
}

/* sim_damage.c: what holds now, and its effect on wires and units. */
void lw_sim_apply_damage(struct lw_sim *sim);                    /* something began, ended or toggled, or a person did something */
void lw_sim_damage_due(struct lw_sim *sim, uint64_t now_ns);     /* damage_ns has come */
bool lw_sim_is_damaged(const struct lw_sim *sim, unsigned unit, enum lw_damage_kind kind, double *value);
void lw_sim_take_steps(struct lw_sim *sim, uint64_t now_ns);     /* script lines and units that plug themselves in */

static inline uint64_t lw_sim_ns(const struct lw_sim *sim)
{
    return sim->now_ps / LW_PS_PER_NS;
}

#endif
