/* SPDX-License-Identifier: MIT
 *
 * The player of player.h.
 */
#include "player.h"

enum { LOOK_MS = 50, ERROR_FLAG = 0x20000000 };

/* What a driver tells, by its source in Linux 6.12; the firmware of an adapter may tell less. */
const struct driver drivers[N_DRIVERS] = {
    { "mcp251x", false, 0, 0, false, COUNTERS_NO, false, false },
    { "mcp251xfd", true, 0xA8, 0, true, COUNTERS_STATE, true, false },
    { "m_can", true, 0x88, 0x19, true, COUNTERS_STATE, true, false },
    { "c_can", true, 0x88, 0x19, true, COUNTERS_STATE, true, false },
    { "flexcan", true, 0xA8, 0x19, true, COUNTERS_NO, true, false },
    { "bxcan", true, 0xA8, 0x19, true, COUNTERS_STATE, true, false },
    { "sja1000", true, 0x88, 0x19, true, COUNTERS_EACH, true, false },
    { "kvaser_usb", true, 0x88, 0x19, false, COUNTERS_EACH, true, false },
    { "peak_usb", false, 0, 0, false, COUNTERS_STATE, true, false },
    { "usb_8dev", true, 0xA8, 0, false, COUNTERS_EACH, true, false },
    { "at91_can", true, 0x20, 0, false, COUNTERS_STATE, true, false },
    { "slcan", true, 0xA8, 0x19, false, COUNTERS_STATE, false, false },
    { "gs_usb", false, 0, 0, false, COUNTERS_NO, false, true },      /* firmware that tells nothing */
};

const struct driver *driver_named(const char *name)
{
    for (size_t i = 0; i < N_ROWS(drivers); i++)
        if (strcmp(drivers[i].name, name) == 0)
            return &drivers[i];
    abort();
}

static struct lw_event link_event(const struct player *player)
{
    return (struct lw_event){ .kind = LW_EVENT_LINK, .link = player->link };
}

void player_link(struct player *player)
{
    unsigned rec_max = player->setting.rec_max != 0 ? player->setting.rec_max : 255;
    bool has_counters = player->driver->has_netlink_counters;
    player->link.state = player->driver->tells_nothing ? LW_STATE_UNKNOWN : player->state;
    player->link.has_carrier = player->state != LW_STATE_BUS_OFF;
    player->link.tec = has_counters ? LW_KNOWN(player->tec) : LW_UNKNOWN;
    player->link.rec = has_counters ? LW_KNOWN(player->rec < rec_max ? player->rec : rec_max) : LW_UNKNOWN;
    traffic_feed(player->traffic, 0, link_event(player));
}

static void look(struct player *player)
{
    const struct lw_verdict *verdict = player_verdict(player);
    player->pictures |= UINT32_C(1) << verdict->picture;
    if (lw_pictures[verdict->picture].is_trouble && verdict->confidence == LW_CERTAIN && !player->was_certain) {
        player->was_certain = true;
        lw_verdict_words(verdict, NULL, player->certain);
    }
    player->look_due_ns = player->traffic->now_ns + LOOK_MS * ms;
}

void player_pass(struct player *player, unsigned us)
{
    uint64_t end_ns = player->traffic->now_ns + us * UINT64_C(1000);
    while (player->traffic->now_ns < end_ns) {
        uint64_t next = end_ns < player->look_due_ns ? end_ns : player->look_due_ns;
        next = next < player->netlink_due_ns ? next : player->netlink_due_ns;
        if (next > player->traffic->now_ns)
            traffic_pass(player->traffic, next - player->traffic->now_ns);
        if (player->traffic->now_ns >= player->netlink_due_ns) {
            player_link(player);
            player->netlink_due_ns += (player->setting.netlink_ms != 0 ? player->setting.netlink_ms : 500) * ms;
        }
        if (player->traffic->now_ns >= player->look_due_ns)
            look(player);
    }
}

struct player *player_create(const struct driver *driver, const struct setting *setting)
{
    struct lw_monitor_config config = { .n_buses = 1, .bus_names = { "can0" }, .sequence = LW_SEQUENCE_F3M, .load_limit_permille = 800 };
    struct player *player = calloc(1, sizeof(*player));
    struct traffic *traffic = player ? calloc(1, sizeof(*traffic)) : NULL;
    if (!traffic || !(traffic->monitor = lw_monitor_create(&config)))
        abort();
    *player = (struct player){ .traffic = traffic, .driver = driver, .setting = *setting, .state = LW_STATE_ERROR_ACTIVE };
    traffic->n_buses = 1;
    traffic->start_ns = traffic->now_ns = traffic->tick_ns = 1000000 * ms;
    player->netlink_due_ns = player->look_due_ns = traffic->now_ns + 500 * ms;
    uint32_t bps = setting->bit_rate_bps != 0 ? setting->bit_rate_bps : 500000;
    player->link = (struct lw_link){
        .is_present = true, .is_up = true, .controller = LW_CONTROLLER_REAL,
        .bit_rate_bps = setting->is_unrated ? LW_UNKNOWN : LW_KNOWN(bps), .restart_ms = LW_KNOWN(setting->restart_ms),
        .listen_only = driver->tells_nothing ? LW_UNKNOWN : LW_KNOWN(setting->is_listening_only),
        .error_reporting = driver->has_switch ? LW_KNOWN(!setting->is_reporting_off) : LW_UNKNOWN,
    };
    player_link(player);
    if (setting->is_warm) {
        traffic_add_machine(traffic, 10, 0);
        for (unsigned i = 0; i < traffic->n_senders; i++)    /* no row of equal frames at the slower rates */
            traffic->senders[i].jitter_ns = ms / 2;
        player_pass(player, 6000000);
        if (setting->has_baseline)
            lw_monitor_take_baseline(traffic->monitor);
    }
    return player;
}

void player_destroy(struct player *player)
{
    traffic_destroy(player->traffic);
    free(player);
}

void player_raw(struct player *player, uint32_t id, const char *bytes)
{
    struct lw_error error = { .class_bits = id & ~(uint32_t)ERROR_FLAG };
    char *end;
    for (unsigned i = 0; i < sizeof(error.data) && *bytes; i++, bytes = end) {
        error.data[i] = (uint8_t)strtoul(bytes, &end, 16);
        if (end == bytes)
            break;
    }
    traffic_error(player->traffic, 0, error);
}

bool player_tells_each(const struct player *player)
{
    return player->driver->tells_each && !(player->driver->has_switch && player->setting.is_reporting_off);
}

static void report(struct player *player, struct lw_error error, bool is_state)
{
    enum counters counters = player->driver->counters;
    if (counters == COUNTERS_EACH || (counters == COUNTERS_STATE && is_state)) {
        unsigned rec_max = player->setting.rec_max != 0 ? player->setting.rec_max : 255;
        error.class_bits |= LW_CLASS_COUNTERS;
        error.data[6] = (uint8_t)player->tec;
        error.data[7] = (uint8_t)(player->rec < rec_max ? player->rec : rec_max);
    }
    traffic_error(player->traffic, 0, error);
}

static enum lw_bus_state state_of(unsigned tec, unsigned rec)
{
    return tec >= 128 || rec >= 128 ? LW_STATE_ERROR_PASSIVE : tec >= 96 || rec >= 96 ? LW_STATE_ERROR_WARNING : LW_STATE_ERROR_ACTIVE;
}

void player_count(struct player *player, unsigned tec, unsigned rec)
{
    enum lw_bus_state state = state_of(tec, rec);
    uint8_t told = state == LW_STATE_ERROR_ACTIVE ? 0x40
        : state == LW_STATE_ERROR_WARNING ? (uint8_t)((rec >= 96 ? 0x04 : 0) | (tec >= 96 ? 0x08 : 0))
        : (uint8_t)((rec >= 128 ? 0x10 : 0) | (tec >= 128 ? 0x20 : 0));
    player->tec = tec;
    player->rec = rec;
    if (state == player->state)
        return;
    player->state = state;
    if (!player->driver->tells_nothing)
        report(player, (struct lw_error){ LW_CLASS_CONTROLLER, { [1] = told } }, true);
}

void player_no_acknowledge(struct player *player)
{
    const struct driver *driver = player->driver;
    player_count(player, player->tec < 128 ? player->tec + 8 : player->tec, player->rec);
    if (player_tells_each(player))
        report(player, (struct lw_error){ driver->ack_class, { [2] = driver->ack_class & 0x08 ? 0x80 : 0, [3] = driver->ack_place } }, false);
}

void player_spoilt(struct player *player, uint8_t violation, uint8_t place)
{
    player_count(player, player->tec, player->rec < 128 ? player->rec + 1 : player->rec);
    if (player_tells_each(player))
        report(player, (struct lw_error){ 0x88, { [2] = violation, [3] = place } }, false);
}

void player_bus_off(struct player *player)
{
    player->state = LW_STATE_BUS_OFF;
    player->tec = 248;
    if (!player->driver->tells_nothing)
        traffic_error(player->traffic, 0, (struct lw_error){ LW_CLASS_BUS_OFF, { 0 } });
}

void player_restart(struct player *player)
{
    player->state = LW_STATE_ERROR_ACTIVE;
    player->tec = player->rec = 0;
    if (!player->driver->tells_nothing)
        traffic_error(player->traffic, 0, (struct lw_error){ LW_CLASS_RESTARTED, { 0 } });
}

void player_heard(struct player *player, uint32_t id, uint8_t first_byte)
{
    struct lw_frame frame = { .id = id, .len = 8, .data = { first_byte, 2, 3, 4, 5, 6, 7, 8 } };
    traffic_feed(player->traffic, 0, (struct lw_event){ .kind = LW_EVENT_FRAME, .frame = frame });
}

void player_own(struct player *player)
{
    struct lw_frame frame = { .id = 0x6F0, .len = 8, .flags = LW_FRAME_OWN };
    traffic_feed(player->traffic, 0, (struct lw_event){ .kind = LW_EVENT_FRAME, .frame = frame });
}

void player_silence(struct player *player)
{
    player->traffic->is_dead[0] = true;
}

const struct lw_verdict *player_verdict(struct player *player)
{
    return &traffic_look(player->traffic)->buses[0].verdict;
}

bool player_names(struct player *player, enum lw_cause cause)
{
    const struct lw_verdict *verdict = player_verdict(player);
    for (unsigned i = 0; i < verdict->n_named; i++)
        if (verdict->named[i].cause == cause)
            return true;
    return false;
}

const char *player_words(struct player *player, char buf[LW_VERDICT_TEXT])
{
    return lw_verdict_words(player_verdict(player), NULL, buf);
}
