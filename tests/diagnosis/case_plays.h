/* SPDX-License-Identifier: MIT
 *
 * The confirmed cases as plays for test_cases.c: error frames byte for byte as they were posted, at the pace of the setting.
 */
#ifndef LOOMWATCH_TEST_CASE_PLAYS_H
#define LOOMWATCH_TEST_CASE_PLAYS_H

#include "player.h"

void play_repeats_with_bit_reports(struct player *player);
void play_repeats_with_few_reports(struct player *player);
void play_repeats_without_reports(struct player *player);
void play_acknowledge_errors_until_passive(struct player *player);
void play_acknowledge_errors_without_end(struct player *player);
void play_unplugged_while_sending(struct player *player);
void play_echoed_though_unacknowledged(struct player *player);
void play_acknowledge_errors_fast(struct player *player);
void play_one_frame_and_off(struct player *player);
void play_off_by_restarts(struct player *player);
void play_receive_errors_on_joining(struct player *player);
void play_receive_storm(struct player *player);
void play_pulled_while_receiving(struct player *player);
void play_scattered(struct player *player);
void play_two_senders_of_one_identifier(struct player *player);
void play_echo_then_silence(struct player *player);
void play_overruns(struct player *player);
void play_last_code_after_each_frame(struct player *player);
void play_states_that_exclude_each_other(struct player *player);
void play_ladder_that_heals(struct player *player);
void play_receive_ladder_that_heals(struct player *player);
void play_counter_left_standing(struct player *player);

#endif
