/* SPDX-License-Identifier: MIT
 *
 * What a source hands to the core: one event at a time, each with its time and where that time comes from.
 * Written by the sources, read by the core and the capture writer.
 */
#ifndef LOOMWATCH_CORE_EVENT_H
#define LOOMWATCH_CORE_EVENT_H

#include "loomwatch/core/error_frame.h"
#include "loomwatch/core/frame.h"
#include "loomwatch/core/reading.h"

/* A value that a device may not be able to tell. Unknown is not zero. */
struct lw_reading {
    bool is_known;
    uint32_t value;
};

#define LW_UNKNOWN ((struct lw_reading){ false, 0 })
#define LW_KNOWN(v) ((struct lw_reading){ true, (uint32_t)(v) })

enum lw_event_kind {
    LW_EVENT_FRAME,
    LW_EVENT_ERROR,      /* an error frame: the controller's report, not something on the wire */
    LW_EVENT_LINK,       /* the interface appeared, went down, changed its settings or counters */
    LW_EVENT_LOSS,       /* frames this computer or adapter did not keep up with */
    LW_EVENT_MARK,       /* the operator marked a moment; only recordings deliver it */
    LW_EVENT_METER,      /* the operator entered a meter reading; likewise */
    LW_EVENT_VERDICT,    /* what the verdict was while recording: it only tells how far time went, for it is worked out anew */
};

enum lw_stamp {
    LW_STAMP_HOST,       /* taken by this program: the kernel gave none */
    LW_STAMP_KERNEL,     /* just after the driver handed the frame over */
    LW_STAMP_HARDWARE,   /* t_ns is the kernel's; hw_ns is the adapter's own clock */
    LW_STAMP_CAPTURE,
    LW_STAMP_BENCH,
};

/* ISO 11898-1 fault confinement states, and what a kernel driver adds to them. */
enum lw_bus_state {
    LW_STATE_UNKNOWN,
    LW_STATE_ERROR_ACTIVE,
    LW_STATE_ERROR_WARNING,  /* a counter reached 96 (kernel name for it; the standard: "heavily disturbed") */
    LW_STATE_ERROR_PASSIVE,
    LW_STATE_BUS_OFF,
    LW_STATE_STOPPED,
    LW_STATE_SLEEPING,
};

enum lw_controller_presence {
    LW_CONTROLLER_UNKNOWN,
    LW_CONTROLLER_NONE,      /* a virtual interface: there is nothing that could be error passive */
    LW_CONTROLLER_REAL,
};

/* Everything the driver tells of itself. What it does not tell stays unknown. Source: linux/can/netlink.h. */
struct lw_link {
    bool is_present;                 /* the interface exists */
    bool is_up;                      /* set up by the administrator */
    bool has_carrier;                /* false while bus off */
    enum lw_controller_presence controller;
    enum lw_bus_state state;
    struct lw_reading bit_rate_bps, data_bit_rate_bps, sample_point_permille;
    struct lw_reading tec, rec;      /* transmit and receive error counter */
    struct lw_reading restart_ms;    /* 0: stays bus off until restarted by hand */
    struct lw_reading listen_only, error_reporting, one_shot; /* 0 or 1 */
    struct lw_reading n_bus_errors, n_error_warning, n_error_passive, n_bus_off;
    struct lw_reading n_arbitration_lost, n_restarts;
};

/* What the operator did when marking a moment. */
enum lw_mark { LW_MARK_PLAIN, LW_MARK_PLUGGED, LW_MARK_UNPLUGGED, LW_MARK_CONFIGURED, LW_MARK_WIGGLED, LW_N_MARKS };

/* A verdict as a recording keeps it: enum lw_picture, enum lw_confidence, enum lw_cause of the version that wrote it. */
struct lw_told_verdict {
    uint8_t picture, confidence, cause;
};

enum lw_loss_place {
    LW_LOSS_SOCKET,      /* the kernel's queue for this program ran full (SO_RXQ_OVFL) */
    LW_LOSS_ADAPTER,     /* adapter or driver overrun */
};

struct lw_loss {
    uint32_t n_frames;   /* lost since the last event of this kind */
    enum lw_loss_place place;
};

struct lw_event {
    uint64_t t_ns;       /* since 1970 for interfaces and captures; since power-on for the bench */
    uint64_t hw_ns;      /* adapter clock, own zero; 0 = none */
    uint8_t bus;         /* 0..LW_MAX_BUSES-1 */
    uint8_t kind;        /* enum lw_event_kind */
    uint8_t stamp;       /* enum lw_stamp: the origin of t_ns, or of hw_ns where that is set */
    union {
        struct lw_frame frame;
        struct lw_error error;
        struct lw_link link;
        struct lw_loss loss;
        uint8_t mark;    /* enum lw_mark */
        struct lw_meter_reading meter;
        struct lw_told_verdict told;
    };
};

/* An empty link report: present and up, all else unknown. */
struct lw_link lw_link_unknown(void);

#endif
