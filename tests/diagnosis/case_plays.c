/* SPDX-License-Identifier: MIT
 *
 * The confirmed cases as they went, event by event; what they must be told as is in test_cases.c.
 */
#include "case_plays.h"

/* The quoted pause, but never less than the frame, an error flag and what follows it take. */
static unsigned repeat_us(const struct player *player, unsigned us)
{
    unsigned bps = player->setting.bit_rate_bps != 0 ? player->setting.bit_rate_bps : 500000;
    unsigned least_us = (unsigned)(150 * UINT64_C(1000000) / bps);
    return us > least_us ? us : least_us;
}

/* Two units talk to each other; one is unplugged. What is left is one frame, again and again. */
void play_repeats_with_bit_reports(struct player *player)
{
    player_silence(player);
    for (unsigned i = 0; i < 3000; i++) {
        player_heard(player, 0x123, 0x11);
        player_pass(player, 60);
        player_raw(player, 0x20000088, "00 00 08 00 00 00 00 00");
        player_pass(player, repeat_us(player, 300) - 60);
    }
}

void play_repeats_with_few_reports(struct player *player)
{
    player_silence(player);
    for (unsigned i = 0; i < 3000; i++) {
        player_heard(player, 0x123, 0x11);
        if (i < 6)
            player_raw(player, 0x20000088, "00 00 02 00 00 00 00 00");
        else if (i == 6)
            player_raw(player, 0x20000088, "00 00 00 00 00 00 00 00");
        player_pass(player, repeat_us(player, 500 + i % 6 * 100));
    }
}

void play_repeats_without_reports(struct player *player)
{
    player_silence(player);
    for (unsigned i = 0; i < 3000; i++) {
        player_heard(player, 0x123, 0x11);
        player_pass(player, repeat_us(player, 500 + i % 6 * 100));
    }
}

void play_acknowledge_errors_until_passive(struct player *player)
{
    player_silence(player);
    for (unsigned i = 0; i < 16; i++) {
        player_raw(player, 0x20000020, "00 00 00 00 00 00 00 00");
        player_count(player, player->tec + 8, 0);
        player_pass(player, 300);
    }
    player_pass(player, 3000000);
}

void play_acknowledge_errors_without_end(struct player *player)
{
    player_silence(player);
    for (unsigned i = 0; i < 10000; i++) {
        player_raw(player, 0x200000A8, "00 00 80 00 00 00 00 00");
        if (player->tec < 128)
            player_count(player, player->tec + 8, 0);
        player_pass(player, 300);
    }
}

void play_unplugged_while_sending(struct player *player)
{
    player_silence(player);
    for (unsigned i = 0; i < 6000; i++) {
        player_no_acknowledge(player);
        player_pass(player, i < 100 ? 300 : 1000);
    }
}

/* As above, each frame echoed although nobody took it: with some drivers an echo proves nothing. */
void play_echoed_though_unacknowledged(struct player *player)
{
    player_silence(player);
    for (unsigned i = 0; i < 3000; i++) {
        if (i % 100 == 0)
            player_own(player);
        player_no_acknowledge(player);
        player_pass(player, 1000);
    }
}

void play_acknowledge_errors_fast(struct player *player)
{
    player_silence(player);
    for (unsigned i = 0; i < 30000; i++) {
        player_no_acknowledge(player);
        player_pass(player, 85);
    }
}

void play_one_frame_and_off(struct player *player)
{
    player_pass(player, 1000000);
    player_silence(player);
    player_own(player);
    player_pass(player, 1300);
    player_bus_off(player);
    player_pass(player, 1500000);
}

void play_off_by_restarts(struct player *player)
{
    player_silence(player);
    for (unsigned i = 0; i < 20; i++) {
        for (unsigned k = 0; k < 8; k++) {
            player_raw(player, 0x20000088, k % 2 ? "00 00 88 02" : "00 00 88 03");
            player_pass(player, 200);
        }
        player_bus_off(player);
        player_pass(player, player->setting.restart_ms != 0 ? player->setting.restart_ms * 1000 : 5000000);
        if (player->setting.restart_ms == 0)
            return;
        player_restart(player);
    }
    player_bus_off(player);
    player_pass(player, 50000);
}

/* Joining: every frame of the others is misread. The sender is acknowledged by somebody else, or is not. */
void play_receive_errors_on_joining(struct player *player)
{
    player_silence(player);
    player->rec = 96;
    player_raw(player, 0x20000004, "00 04 00 00 00 00 00 00");
    player->state = LW_STATE_ERROR_WARNING;
    player_pass(player, 1000);
    player->rec = 136;
    player_raw(player, 0x20000004, "00 10 00 00 00 00 00 00");
    player->state = LW_STATE_ERROR_PASSIVE;
    player_link(player);
    player_pass(player, 4000000);
}

void play_receive_storm(struct player *player)
{
    static const char *const places[] = { "00 00 04 02", "00 00 02 0A", "00 00 00 08", "00 00 02 18", "00 00 04 0F", "00 00 10 06" };
    player_silence(player);
    for (unsigned i = 0; i < 6000; i++) {
        player_raw(player, 0x20000088, places[i % N_ROWS(places)]);
        player_count(player, 0, player->rec < 136 ? player->rec + 1 : 136);
        player_pass(player, 500);
    }
}

/* Bit 1 and form, stuffing, bit 1 and form, then CRC and stuffing; REC 97, 114, 131. */
void play_pulled_while_receiving(struct player *player)
{
    player_silence(player);
    for (unsigned i = 0; i < 12; i++) {
        player->rec = i * 8;
        player_raw(player, 0x20000088, "00 00 12 00 00 00 00 00");
        player_pass(player, 200);
    }
    player_raw(player, 0x2000028C, "00 04 12 00 00 00 00 61");
    player->rec = 97;
    player->state = LW_STATE_ERROR_WARNING;
    player_pass(player, 300);
    player_raw(player, 0x20000288, "00 00 04 00 00 00 00 72");
    player_pass(player, 300);
    player->rec = 131;
    player->state = LW_STATE_ERROR_PASSIVE;
    player_raw(player, 0x2000028C, "00 10 12 00 00 00 00 83");
    player_pass(player, 300);
    player_raw(player, 0x20000288, "00 00 04 08 00 00 00 83");
    player_link(player);
    player_pass(player, 1500000);
}

void play_scattered(struct player *player)
{
    static const char *const places[] = { "00 00 00 08", "00 00 04 0A", "00 00 02 18", "00 00 04 0F", "00 00 02 18", "00 00 00 08" };
    for (unsigned i = 0; i < 300; i++) {
        player_raw(player, 0x20000088, places[i % N_ROWS(places)]);
        player_heard(player, 0x200 + i % 5, (uint8_t)i);
        player_pass(player, 7000);
    }
}

/* We are one of the two senders: what we send in the data comes back otherwise, the other's frame is heard good in turn. */
void play_two_senders_of_one_identifier(struct player *player)
{
    for (unsigned i = 0; i < 1500; i++) {
        player_raw(player, 0x20000088, i % 2 ? "00 00 90 0A" : "00 00 88 0A");
        player_count(player, player->tec < 120 ? player->tec + 8 : 112, 0);
        player_pass(player, 300);
        player_heard(player, 0x321, (uint8_t)i);
        player_pass(player, 2000);
    }
}

/* One terminator missing, an adapter that reports nothing: own frames by local echo, then nothing at all. */
void play_echo_then_silence(struct player *player)
{
    player_silence(player);
    for (unsigned i = 0; i < 5; i++) {
        player_own(player);
        player_pass(player, 100000);
    }
    player_pass(player, 4000000);
}

/* 385 802 frames received, 1246 errors, 1246 overruns, active, 0 and 0. */
void play_overruns(struct player *player)
{
    for (unsigned i = 0; i < 3000; i++) {
        player_heard(player, 0x100 + i % 7, (uint8_t)i);
        if (i % 300 == 299)
            player_raw(player, 0x20000004, "00 01 00 00 00 00 00 00");
        player_pass(player, 2 * repeat_us(player, 500));
    }
}

void play_last_code_after_each_frame(struct player *player)
{
    for (unsigned i = 0; i < 300; i++) {
        player_heard(player, 0x100 + i % 7, (uint8_t)i);
        player_raw(player, 0x2000000C, "00 00 02 00 00 00 00 00");
        player_pass(player, 10000);
    }
}

void play_states_that_exclude_each_other(struct player *player)
{
    for (unsigned i = 0; i < 300; i++) {
        player_heard(player, 0x100 + i % 7, (uint8_t)i);
        if (i % 50 == 0)
            player_raw(player, 0x20000044, "00 44 00 00 00 00 00 00");
        player_pass(player, 10000);
    }
}

/* A sleeping bus wakes up: 8, 16, 24 … then one less with each good frame. */
void play_ladder_that_heals(struct player *player)
{
    for (unsigned i = 0; i < 16; i++) {
        player_no_acknowledge(player);
        player_pass(player, 300);
    }
    while (player->tec > 0) {
        player_own(player);
        player_heard(player, 0x500 + player->tec % 7, (uint8_t)player->tec);
        player_count(player, player->tec - 1, 0);
        player_pass(player, 10000);
    }
    for (unsigned i = 0; i < 400; i++) {
        player_heard(player, 0x500 + i % 7, (uint8_t)i);
        player_pass(player, 10000);
    }
}

void play_receive_ladder_that_heals(struct player *player)
{
    for (unsigned i = 0; i < 130; i++) {
        player_spoilt(player, 0x04, 0x0A);
        player_pass(player, 40);
    }
    player_count(player, 0, 119);
    for (unsigned i = 0; i < 500; i++) {
        player_heard(player, 0x500 + i % 7, (uint8_t)i);
        player_count(player, 0, player->rec > 0 ? player->rec - 1 : 0);
        player_pass(player, 10000);
    }
}

/* What we sent once was not acknowledged; the others woke up later, and we send nothing more. */
void play_counter_left_standing(struct player *player)
{
    for (unsigned i = 0; i < 16; i++) {
        player_no_acknowledge(player);
        player_pass(player, 300);
    }
    for (unsigned i = 0; i < 600; i++) {
        player_heard(player, 0x500 + i % 7, (uint8_t)i);
        player_pass(player, 10000);
    }
}
