/* SPDX-License-Identifier: MIT
 *
 * The controller's state machine as a table, to be held against the frame formats of ISO 11898-1: a row a field (some are
 * cut where linux/can/error.h cuts them), with its length, what follows, and which function takes its bits.
 */
#include "mac_state.h"

enum { ARB = RULE_ARBITRATION | RULE_IN_CRC, CRC = RULE_IN_CRC };

#define ID LW_IN_ID
#define CTRL LW_IN_CONTROL

const struct row lw_mac_rows[N_PARTS] = {
    /* part                 bits then                shown as           place                rules  each bit                at its end */
    [PART_SOF]          = {  1, PART_ID_28_21,      LW_IN_SOF,         PLACE_SOF,           CRC, lw_mac_stuffed_bit,       lw_mac_end_sof },
    [PART_ID_28_21]     = {  8, PART_ID_20_18,      ID,                PLACE_ID_28_21,      ARB, lw_mac_stuffed_bit,       NULL },
    [PART_ID_20_18]     = {  3, PART_SRTR,          ID,                PLACE_ID_20_18,      ARB, lw_mac_stuffed_bit,       lw_mac_end_base_id },
    /* RTR of the base format, SRR of the extended one, RRS of FD */
    [PART_SRTR]         = {  1, PART_IDE,           ID,                PLACE_SRTR,          ARB, lw_mac_stuffed_bit,       lw_mac_end_srtr },
    [PART_IDE]          = {  1, PART_FDF_BASE,      CTRL,              PLACE_IDE,           ARB, lw_mac_stuffed_bit,       lw_mac_end_ide },

    [PART_ID_17_13]     = {  5, PART_ID_12_5,       ID,                PLACE_ID_17_13,      ARB, lw_mac_stuffed_bit,       NULL },
    [PART_ID_12_5]      = {  8, PART_ID_4_0,        ID,                PLACE_ID_12_5,       ARB, lw_mac_stuffed_bit,       NULL },
    [PART_ID_4_0]       = {  5, PART_RTR,           ID,                PLACE_ID_4_0,        ARB, lw_mac_stuffed_bit,       lw_mac_end_extended_id },
    [PART_RTR]          = {  1, PART_FDF_EXTENDED,  ID,                PLACE_RTR,           ARB, lw_mac_stuffed_bit,       lw_mac_end_rtr },

    /* Classic: r0 of the base format; r1, then r0, of the extended one */
    [PART_FDF_BASE]     = {  1, PART_DLC,           CTRL,              PLACE_RES0,          CRC, lw_mac_stuffed_bit,       lw_mac_end_fdf },
    [PART_FDF_EXTENDED] = {  1, PART_R0,            CTRL,              PLACE_RES1,          CRC, lw_mac_stuffed_bit,       lw_mac_end_fdf },
    [PART_R0]           = {  1, PART_DLC,           CTRL,              PLACE_RES0,          CRC, lw_mac_stuffed_bit,       NULL },
    [PART_RES]          = {  1, PART_BRS,           CTRL,              PLACE_RES0,          CRC, lw_mac_stuffed_bit,       lw_mac_end_res },
    [PART_BRS]          = {  1, PART_ESI,           CTRL,              PLACE_UNSPECIFIED,   CRC, lw_mac_stuffed_bit,       lw_mac_end_brs },
    [PART_ESI]          = {  1, PART_DLC,           CTRL,              PLACE_UNSPECIFIED,   CRC, lw_mac_stuffed_bit,       lw_mac_end_esi },
    [PART_DLC]          = {  4, PART_DATA,          CTRL,              PLACE_DLC,           CRC, lw_mac_stuffed_bit,       lw_mac_end_dlc },
    [PART_DATA]         = {  8, PART_DATA,          LW_IN_DATA,        PLACE_DATA,          CRC, lw_mac_stuffed_bit,       lw_mac_end_data },

    [PART_CRC15]        = { 15, PART_CRC_DELIMITER, LW_IN_CRC,         PLACE_CRC,           0,   lw_mac_stuffed_bit,       lw_mac_end_crc15 },
    [PART_LAST_STUFF]   = {  1, PART_CRC_DELIMITER, LW_IN_CRC,         PLACE_CRC,           0,   lw_mac_last_stuff_bit,    NULL },
    [PART_STUFF_COUNT]  = {  4, PART_CRC17,         LW_IN_CRC,         PLACE_CRC,           CRC, lw_mac_fixed_stuffed_bit, lw_mac_end_stuff_count },
    [PART_CRC17]        = { 17, PART_CRC_DELIMITER, LW_IN_CRC,         PLACE_CRC,           0,   lw_mac_fixed_stuffed_bit, lw_mac_end_crc17 },
    [PART_CRC21]        = { 21, PART_CRC_DELIMITER, LW_IN_CRC,         PLACE_CRC,           0,   lw_mac_fixed_stuffed_bit, lw_mac_end_crc21 },

    [PART_CRC_DELIMITER] = { 1, PART_ACK_SLOT,      LW_IN_CRC_DELIMITER, PLACE_CRC_DELIMITER, 0, lw_mac_crc_delimiter,     NULL },
    [PART_ACK_SLOT]     = {  1, PART_ACK_DELIMITER, LW_IN_ACK,         PLACE_ACK_SLOT,      0,   lw_mac_ack_slot,          NULL },
    [PART_ACK_DELIMITER] = { 1, PART_EOF,           LW_IN_ACK_DELIMITER, PLACE_ACK_DELIMITER, 0, lw_mac_ack_delimiter,     NULL },
    [PART_EOF]          = {  7, PART_INTERMISSION,  LW_IN_EOF,         PLACE_EOF,           0,   lw_mac_end_of_frame,      NULL },

    [PART_INTERMISSION] = {  3, PART_IDLE,          LW_IN_INTERMISSION, PLACE_INTERMISSION, 0,   lw_mac_intermission,      NULL },
    [PART_SUSPEND]      = {  8, PART_IDLE,          LW_IN_SUSPEND,     PLACE_UNSPECIFIED,   0,   lw_mac_suspend,           NULL },
    [PART_IDLE]         = {  0, PART_IDLE,          LW_IN_IDLE,        PLACE_UNSPECIFIED,   0,   lw_mac_idle,              NULL },

    /* A flag, then dominant bits of others until the first recessive one, which is the delimiter's first. */
    [PART_ACTIVE_FLAG]  = { FLAG_BITS, PART_ERROR_TAIL, LW_IN_ERROR_FLAG, PLACE_UNSPECIFIED, 0,  lw_mac_dominant_flag,     NULL },
    [PART_PASSIVE_FLAG] = { FLAG_BITS, PART_ERROR_TAIL, LW_IN_ERROR_FLAG, PLACE_UNSPECIFIED, 0,  lw_mac_passive_flag,      NULL },
    [PART_ERROR_TAIL]   = {  0, PART_ERROR_DELIMITER, LW_IN_ERROR_FLAG, PLACE_UNSPECIFIED,  0,   lw_mac_flag_tail,         NULL },
    [PART_ERROR_DELIMITER] = { DELIMITER_BITS, PART_INTERMISSION, LW_IN_ERROR_DELIMITER, PLACE_UNSPECIFIED, 0, lw_mac_delimiter, NULL },
    [PART_OVERLOAD_FLAG] = { FLAG_BITS, PART_OVERLOAD_TAIL, LW_IN_OVERLOAD, PLACE_UNSPECIFIED, 0, lw_mac_dominant_flag,    NULL },
    [PART_OVERLOAD_TAIL] = { 0, PART_OVERLOAD_DELIMITER, LW_IN_OVERLOAD, PLACE_UNSPECIFIED, 0,   lw_mac_flag_tail,         NULL },
    [PART_OVERLOAD_DELIMITER] = { DELIMITER_BITS, PART_INTERMISSION, LW_IN_OVERLOAD, PLACE_UNSPECIFIED, 0, lw_mac_delimiter, NULL },

    [PART_JOINING]      = { JOINING_BITS, PART_IDLE, LW_IN_JOINING,    PLACE_UNSPECIFIED,   0,   lw_mac_joining,           NULL },
    [PART_BUS_OFF]      = { JOINING_BITS, PART_IDLE, LW_IN_BUS_OFF,    PLACE_UNSPECIFIED,   0,   lw_mac_bus_off,           NULL },
};
