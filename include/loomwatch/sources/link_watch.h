/* SPDX-License-Identifier: MIT
 *
 * What the kernel tells of a CAN interface besides its frames: presence, up, controller. The only file that calls
 * libsocketcan, whose calls may block: they run in a thread of their own, and the result is handed over whole.
 */
#ifndef LOOMWATCH_SOURCES_LINK_WATCH_H
#define LOOMWATCH_SOURCES_LINK_WATCH_H

#include "loomwatch/core/bit_timing.h"
#include "loomwatch/core/event.h"

struct lw_link_watch;

/* Starts following the interface, whether it exists or not. Returns 0 or -errno. */
int lw_link_watch_create(struct lw_link_watch **out, const char *interface);
void lw_link_watch_destroy(struct lw_link_watch *watch);   /* takes NULL; waits for a call under way */

/* Becomes readable when a report that differs from the last one taken is ready. Owned by the watch. */
int lw_link_watch_fd(const struct lw_link_watch *watch);

/* A report, and the moment just before the kernel was asked for it (since 1970): what an error frame says later is newer.
 * ifindex 0: not present. */
struct lw_link_report {
    struct lw_link link;
    unsigned ifindex;
    uint64_t asked_ns;
};

/* Takes the newest report. Returns false if it was taken before. */
bool lw_link_watch_take(struct lw_link_watch *watch, struct lw_link_report *out);

/* Has the kernel asked at once, and the report made ready even if it says nothing new. Does not wait. */
void lw_link_watch_ask(struct lw_link_watch *watch);

/* Whether two reports say the same. */
bool lw_link_equal(const struct lw_link *a, const struct lw_link *b);

/* Asks once, in the calling thread, at start-up. An absent interface is a report, not an error. */
void lw_link_query(const char *interface, struct lw_link *out, unsigned *ifindex);

/* The bit timing of an interface, as its driver tells it. Of the data phase only the rate is told. */
struct lw_link_timing {
    bool is_can;                              /* false: no CAN interface, and nothing below is told */
    enum lw_controller_presence controller;
    bool has_limits;                          /* clock and limits; false: the driver sets no segments itself */
    struct lw_timing_limits limits;
    struct lw_timing timing;                  /* all 0 but the clock: no bit rate was set yet */
    struct lw_reading bit_rate_bps, data_bit_rate_bps;
};

/* Asks once, in the calling thread. Returns 0, -ENODEV if there is no such interface, or another -errno. */
int lw_link_ask_timing(const char *interface, struct lw_link_timing *out);

/* Names of the CAN interfaces that exist now. Returns their number, at most max. */
size_t lw_link_list(char names[][16], size_t max);

#endif
