/* SPDX-License-Identifier: MIT
 *
 * Plays what an adapter reports into a monitor: raw error frames, counters and link reports as one driver or another gives
 * them, at the bit rate, with the restart time and after the traffic that a case asks for. What each driver tells is in the
 * table of player.c, from the sources of kernel 6.12.
 */
#ifndef LOOMWATCH_TEST_PLAYER_H
#define LOOMWATCH_TEST_PLAYER_H

#include "traffic.h"

enum counters { COUNTERS_NO, COUNTERS_STATE, COUNTERS_EACH };   /* in error frames: never, with states only, in each */

struct driver {
    const char *name;
    bool tells_each;                 /* one error frame per error; else states only */
    uint32_t ack_class;              /* how a missing acknowledge looks */
    uint8_t ack_place;
    bool has_switch;                 /* error reporting can be switched, and is on */
    enum counters counters;
    bool has_netlink_counters;
    bool tells_nothing;              /* no states either */
};

enum { N_DRIVERS = 13 };
extern const struct driver drivers[N_DRIVERS];

const struct driver *driver_named(const char *name);

struct setting {
    uint32_t bit_rate_bps;           /* 0 = 500000 */
    bool is_unrated;                 /* the link does not tell the bit rate */
    unsigned restart_ms;             /* 0 = by hand */
    bool is_warm, has_baseline;      /* a machine of ten messages was heard for six seconds before */
    bool is_listening_only;
    bool is_reporting_off;           /* where it has a switch: as it is unless somebody turns it on */
    unsigned rec_max;                /* some cores hold REC at 127; 0 = 255 */
    unsigned netlink_ms;             /* how often the counters are read; 0 = 500 */
};

struct player {
    struct traffic *traffic;
    const struct driver *driver;
    struct setting setting;
    struct lw_link link;
    unsigned tec, rec;
    enum lw_bus_state state;
    uint64_t netlink_due_ns, look_due_ns;
    /* What was seen on the way. */
    uint32_t pictures;               /* bit n: verdict of enum lw_picture n */
    bool was_certain;                /* of anything in a picture of trouble */
    char certain[LW_VERDICT_TEXT];
};

struct player *player_create(const struct driver *driver, const struct setting *setting);
void player_destroy(struct player *player);

void player_pass(struct player *player, unsigned us);

/* Whether this adapter reports each error, as it is set. */
bool player_tells_each(const struct player *player);

/* An error frame with exactly this identifier, as quoted with its flag 20000000, and these bytes in hexadecimal. */
void player_raw(struct player *player, uint32_t id, const char *bytes);

/* Error counters become these; a state they mean is reported as the driver does. */
void player_count(struct player *player, unsigned tec, unsigned rec);

/* An own frame that nobody acknowledged: the report, and TEC by the rules of ISO 11898-1. */
void player_no_acknowledge(struct player *player);

/* A frame we received spoilt: violation bits and place as in linux/can/error.h, and REC. */
void player_spoilt(struct player *player, uint8_t violation, uint8_t place);

/* Bus off; if the restart time is set, back after it. */
void player_bus_off(struct player *player);
void player_restart(struct player *player);

void player_heard(struct player *player, uint32_t id, uint8_t first_byte);
void player_own(struct player *player);      /* the echo of an own frame */
void player_link(struct player *player);     /* a link report now */
void player_silence(struct player *player);  /* the machine's units send no more */

const struct lw_verdict *player_verdict(struct player *player);
bool player_names(struct player *player, enum lw_cause cause);
const char *player_words(struct player *player, char buf[LW_VERDICT_TEXT]);

#endif
