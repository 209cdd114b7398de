/* SPDX-License-Identifier: MIT
 *
 * Who claims which unit address on one bus, where units give themselves addresses: machines, trucks and boats with 29-bit
 * identifiers (SAE J1939, ISO 11783, NMEA 2000). Fed with every frame; tells when two units quarrel over one address.
 */
#ifndef LOOMWATCH_CORE_CLAIMS_H
#define LOOMWATCH_CORE_CLAIMS_H

#include "loomwatch/core/frame.h"

/* Source of all: linux/can/j1939.h and net/can/j1939 address-claim.c, which name ISO 11783-5. */
enum {
    LW_MAX_CLAIMS = 254,         /* as many as there are addresses */
    LW_ADDRESS_NONE = 254,       /* claimed from: "I found no free address" */
    LW_ADDRESS_ALL = 255,        /* nobody's own; here also: not known to hold any */
    LW_CLAIM_WAIT_MS = 250,      /* who is contradicted within this has not got the address */
    LW_CLAIM_ANSWER_MS = 2000,   /* who did not defend its address for so long is not there any more; common practice */
};

enum lw_clash_kind { LW_CLASH_NONE, LW_CLASH_BEGAN, LW_CLASH_MOVED, LW_CLASH_NO_ADDRESS, LW_CLASH_TABLE_FULL };

/* What one frame makes worth telling. */
struct lw_clash {
    uint8_t kind;                /* enum lw_clash_kind */
    uint8_t address;             /* the one they quarrel over; LW_ADDRESS_ALL = not known */
    uint8_t moved_to;            /* with LW_CLASH_MOVED: what one of them claims now */
};

struct lw_claim {
    uint64_t name;               /* the 64 bits a unit calls itself by; the lower one wins */
    uint64_t last_ns;            /* when it last claimed */
    uint64_t clash_ns;           /* since when another unit claims the same; 0 = none does */
    uint8_t address, wanted;     /* what it claims; where it came from, LW_ADDRESS_ALL = not known */
};

struct lw_claims {
    unsigned n;
    struct lw_claim all[LW_MAX_CLAIMS];
    uint64_t n_forgotten;        /* the table was full: so often the oldest claim was given up */
};

/* What is unresolved. */
struct lw_claim_trouble {
    bool is_known;               /* addresses are claimed on this bus at all */
    unsigned n_shared;           /* units too many: each claims and keeps what another one has */
    unsigned n_without;          /* units that say they found none */
    uint8_t address;             /* one of those shared, else one that was wanted; LW_ADDRESS_ALL = not known */
    uint64_t since_ns;           /* of that */
};

void lw_claims_init(struct lw_claims *claims);

/* Takes any frame, in the order of bus time; all but address claims are ignored. */
struct lw_clash lw_claims_frame(struct lw_claims *claims, const struct lw_frame *frame, uint64_t t_ns);

/* A quarrel younger than LW_CLAIM_WAIT_MS is none yet: the weaker one may still move. A unit that did not answer another's
 * claim within LW_CLAIM_ANSWER_MS is taken to be gone, as an exchanged module is. */
struct lw_claim_trouble lw_claims_trouble(const struct lw_claims *claims, uint64_t t_ns);

/* Something was unplugged: what was unresolved is over, until it is claimed again. */
void lw_claims_settle(struct lw_claims *claims);

#endif
