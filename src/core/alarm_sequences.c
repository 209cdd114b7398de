/* SPDX-License-Identifier: MIT
 *
 * The annunciator's windows and its sequences, as data. A, M and F2M: ANSI/ISA-18.1 as quoted in makers' manuals; F3M:
 * from memory. The rows marked "ours" are not the standard's.
 */
#include "loomwatch/core/alarm.h"

#define ROWS(table) table, sizeof(table) / sizeof((table)[0])

/* Automatic reset: an acknowledged window goes off by itself when its condition ends. */
static const struct lw_sequence_row sequence_a[] = {
    { LW_WINDOW_NORMAL, LW_INPUT_ALARM, LW_IF_ANY, LW_WINDOW_NEW },
    { LW_WINDOW_NEW, LW_INPUT_SILENCE, LW_IF_ANY, LW_WINDOW_SILENCED },
    { LW_WINDOW_NEW, LW_INPUT_ACKNOWLEDGE, LW_IF_ABNORMAL, LW_WINDOW_ACKNOWLEDGED },
    { LW_WINDOW_NEW, LW_INPUT_ACKNOWLEDGE, LW_IF_CLEARED, LW_WINDOW_NORMAL },
    { LW_WINDOW_SILENCED, LW_INPUT_ALARM, LW_IF_ANY, LW_WINDOW_NEW },               /* ours: came again */
    { LW_WINDOW_SILENCED, LW_INPUT_ACKNOWLEDGE, LW_IF_ABNORMAL, LW_WINDOW_ACKNOWLEDGED },
    { LW_WINDOW_SILENCED, LW_INPUT_ACKNOWLEDGE, LW_IF_CLEARED, LW_WINDOW_NORMAL },
    { LW_WINDOW_ACKNOWLEDGED, LW_INPUT_CLEAR, LW_IF_ANY, LW_WINDOW_NORMAL },
};

/* Manual reset: stays lit until its condition has ended and reset is pressed. */
static const struct lw_sequence_row sequence_m[] = {
    { LW_WINDOW_NORMAL, LW_INPUT_ALARM, LW_IF_ANY, LW_WINDOW_NEW },
    { LW_WINDOW_NEW, LW_INPUT_SILENCE, LW_IF_ANY, LW_WINDOW_SILENCED },
    { LW_WINDOW_NEW, LW_INPUT_ACKNOWLEDGE, LW_IF_ANY, LW_WINDOW_ACKNOWLEDGED },
    { LW_WINDOW_SILENCED, LW_INPUT_ALARM, LW_IF_ANY, LW_WINDOW_NEW },               /* ours: came again */
    { LW_WINDOW_SILENCED, LW_INPUT_ACKNOWLEDGE, LW_IF_ANY, LW_WINDOW_ACKNOWLEDGED },
    { LW_WINDOW_ACKNOWLEDGED, LW_INPUT_ALARM, LW_IF_ANY, LW_WINDOW_NEW },           /* ours: came again */
    { LW_WINDOW_ACKNOWLEDGED, LW_INPUT_RESET, LW_IF_CLEARED, LW_WINDOW_NORMAL },
};

/* First-out, acknowledge resets it; later alarms sound but do not flash. */
static const struct lw_sequence_row sequence_f2m[] = {
    { LW_WINDOW_NORMAL, LW_INPUT_ALARM, LW_IF_NO_FIRST, LW_WINDOW_FIRST_NEW },
    { LW_WINDOW_NORMAL, LW_INPUT_ALARM, LW_IF_HAS_FIRST, LW_WINDOW_NEW },
    { LW_WINDOW_FIRST_NEW, LW_INPUT_SILENCE, LW_IF_ANY, LW_WINDOW_FIRST_SILENCED },
    { LW_WINDOW_FIRST_NEW, LW_INPUT_ACKNOWLEDGE, LW_IF_ANY, LW_WINDOW_ACKNOWLEDGED },
    { LW_WINDOW_FIRST_SILENCED, LW_INPUT_ALARM, LW_IF_ANY, LW_WINDOW_FIRST_NEW },   /* ours: came again */
    { LW_WINDOW_FIRST_SILENCED, LW_INPUT_ACKNOWLEDGE, LW_IF_ANY, LW_WINDOW_ACKNOWLEDGED },
    { LW_WINDOW_NEW, LW_INPUT_SILENCE, LW_IF_ANY, LW_WINDOW_SILENCED },
    { LW_WINDOW_NEW, LW_INPUT_ACKNOWLEDGE, LW_IF_ANY, LW_WINDOW_ACKNOWLEDGED },
    { LW_WINDOW_SILENCED, LW_INPUT_ALARM, LW_IF_ANY, LW_WINDOW_NEW },               /* ours: came again */
    { LW_WINDOW_SILENCED, LW_INPUT_ACKNOWLEDGE, LW_IF_ANY, LW_WINDOW_ACKNOWLEDGED },
    { LW_WINDOW_ACKNOWLEDGED, LW_INPUT_ALARM, LW_IF_NO_FIRST, LW_WINDOW_FIRST_NEW },   /* ours: came again */
    { LW_WINDOW_ACKNOWLEDGED, LW_INPUT_ALARM, LW_IF_HAS_FIRST, LW_WINDOW_NEW },     /* ours: came again */
    { LW_WINDOW_ACKNOWLEDGED, LW_INPUT_RESET, LW_IF_CLEARED, LW_WINDOW_NORMAL },
};

/* First-out with a button of its own: the first keeps its mark, acknowledged or not, until first-out reset. */
static const struct lw_sequence_row sequence_f3m[] = {
    { LW_WINDOW_NORMAL, LW_INPUT_ALARM, LW_IF_NO_FIRST, LW_WINDOW_FIRST_NEW },
    { LW_WINDOW_NORMAL, LW_INPUT_ALARM, LW_IF_HAS_FIRST, LW_WINDOW_NEW },
    { LW_WINDOW_FIRST_NEW, LW_INPUT_SILENCE, LW_IF_ANY, LW_WINDOW_FIRST_SILENCED },
    { LW_WINDOW_FIRST_NEW, LW_INPUT_ACKNOWLEDGE, LW_IF_ANY, LW_WINDOW_FIRST_ACKNOWLEDGED },
    { LW_WINDOW_FIRST_NEW, LW_INPUT_FIRST_OUT_RESET, LW_IF_ANY, LW_WINDOW_NEW },
    { LW_WINDOW_FIRST_SILENCED, LW_INPUT_ALARM, LW_IF_ANY, LW_WINDOW_FIRST_NEW },   /* ours: came again */
    { LW_WINDOW_FIRST_SILENCED, LW_INPUT_ACKNOWLEDGE, LW_IF_ANY, LW_WINDOW_FIRST_ACKNOWLEDGED },
    { LW_WINDOW_FIRST_SILENCED, LW_INPUT_FIRST_OUT_RESET, LW_IF_ANY, LW_WINDOW_SILENCED },
    { LW_WINDOW_FIRST_ACKNOWLEDGED, LW_INPUT_ALARM, LW_IF_ANY, LW_WINDOW_FIRST_NEW },   /* ours: came again */
    { LW_WINDOW_FIRST_ACKNOWLEDGED, LW_INPUT_FIRST_OUT_RESET, LW_IF_ANY, LW_WINDOW_ACKNOWLEDGED },
    { LW_WINDOW_NEW, LW_INPUT_SILENCE, LW_IF_ANY, LW_WINDOW_SILENCED },
    { LW_WINDOW_NEW, LW_INPUT_ACKNOWLEDGE, LW_IF_ANY, LW_WINDOW_ACKNOWLEDGED },
    { LW_WINDOW_SILENCED, LW_INPUT_ALARM, LW_IF_ANY, LW_WINDOW_NEW },               /* ours: came again */
    { LW_WINDOW_SILENCED, LW_INPUT_ACKNOWLEDGE, LW_IF_ANY, LW_WINDOW_ACKNOWLEDGED },
    { LW_WINDOW_ACKNOWLEDGED, LW_INPUT_ALARM, LW_IF_NO_FIRST, LW_WINDOW_FIRST_NEW },   /* ours: came again */
    { LW_WINDOW_ACKNOWLEDGED, LW_INPUT_ALARM, LW_IF_HAS_FIRST, LW_WINDOW_NEW },     /* ours: came again */
    { LW_WINDOW_ACKNOWLEDGED, LW_INPUT_RESET, LW_IF_CLEARED, LW_WINDOW_NORMAL },
};

const struct lw_sequence_table lw_sequences[LW_N_SEQUENCES] = {
    [LW_SEQUENCE_A] = {
        "A", ROWS(sequence_a),
        .lamps = { [LW_WINDOW_NEW] = LW_LAMP_FLASH, [LW_WINDOW_SILENCED] = LW_LAMP_FLASH,
                   [LW_WINDOW_ACKNOWLEDGED] = LW_LAMP_ON },
        .has_horn = { [LW_WINDOW_NEW] = true },
    },
    [LW_SEQUENCE_M] = {
        "M", ROWS(sequence_m),
        .lamps = { [LW_WINDOW_NEW] = LW_LAMP_FLASH, [LW_WINDOW_SILENCED] = LW_LAMP_FLASH,
                   [LW_WINDOW_ACKNOWLEDGED] = LW_LAMP_ON },
        .has_horn = { [LW_WINDOW_NEW] = true },
    },
    [LW_SEQUENCE_F2M] = {
        "F2M", ROWS(sequence_f2m),
        .lamps = { [LW_WINDOW_FIRST_NEW] = LW_LAMP_FIRST_FLASH, [LW_WINDOW_FIRST_SILENCED] = LW_LAMP_FIRST_FLASH,
                   [LW_WINDOW_NEW] = LW_LAMP_ON, [LW_WINDOW_SILENCED] = LW_LAMP_ON,
                   [LW_WINDOW_ACKNOWLEDGED] = LW_LAMP_ON },
        .has_horn = { [LW_WINDOW_FIRST_NEW] = true, [LW_WINDOW_NEW] = true },
    },
    [LW_SEQUENCE_F3M] = {
        "F3M", ROWS(sequence_f3m),
        .lamps = { [LW_WINDOW_FIRST_NEW] = LW_LAMP_FIRST_FLASH, [LW_WINDOW_FIRST_SILENCED] = LW_LAMP_FIRST_FLASH,
                   [LW_WINDOW_FIRST_ACKNOWLEDGED] = LW_LAMP_SLOW_FLASH,
                   [LW_WINDOW_NEW] = LW_LAMP_FLASH, [LW_WINDOW_SILENCED] = LW_LAMP_FLASH,
                   [LW_WINDOW_ACKNOWLEDGED] = LW_LAMP_ON },
        .has_horn = { [LW_WINDOW_FIRST_NEW] = true, [LW_WINDOW_NEW] = true },
    },
};

const struct lw_window_info lw_windows[LW_N_WINDOWS] = {
    [LW_WINDOW_BUS_OFF] = { "BUS OFF", "bus off",
        "This adapter has taken itself off the bus: what it sent did not come back. Look at shorts, swapped wires, bit rate." },
    [LW_WINDOW_NO_ACKNOWLEDGE] = { "NO ACK", "no acknowledge",
        "Nobody acknowledges what this adapter sends: no other unit is powered and awake, or the wiring or bit rate is wrong." },
    [LW_WINDOW_ERROR_PASSIVE] = { "PASSIVE", "error passive",
        "An error counter of this adapter reached 128: it has seen or made many errors." },
    [LW_WINDOW_ERROR_WARNING] = { "WARNING", "error warning",
        "An error counter of this adapter reached 96: the bus is disturbed." },
    [LW_WINDOW_BUS_ERRORS] = { "ERRORS", "bus errors",
        "Frames are being spoilt on the bus. Single ones at power-up heal by themselves." },
    [LW_WINDOW_LINK_DOWN] = { "NO LINK", "link down",
        "The interface is down or unplugged: this computer sees nothing of the bus." },
    [LW_WINDOW_BUS_SILENT] = { "SILENT", "bus silent",
        "No frame from anybody: the machine sleeps, is switched off, or the connection to the bus is lost." },
    [LW_WINDOW_LOAD_HIGH] = { "LOAD", "load high",
        "The bus is busier than the limit: messages of low priority may come late." },
    [LW_WINDOW_UNEXPECTED] = { "NEW ID", "unexpected message",
        "A message that is not in the baseline: right if you have just plugged its sender in." },
    [LW_WINDOW_ABSENT] = { "ABSENT", "absent message",
        "An expected message has stopped: its sender is unplugged, without supply, reset, or off the bus." },
    [LW_WINDOW_LATE] = { "LATE", "late message",
        "An expected message came, but later than it should." },
    [LW_WINDOW_CHANGED] = { "CHANGED", "changed message",
        "A message has another period or length than in the baseline." },
    [LW_WINDOW_SECOND_SENDER] = { "DOUBLED", "second sender suspected",
        "A message comes about twice as often: two units may use the same identifier." },
    [LW_WINDOW_FRAMES_LOST] = { "LOST", "frames lost",
        "This computer or adapter did not keep up; the bus itself is not at fault." },
    [LW_WINDOW_TABLE_FULL] = { "FULL", "message table full",
        "More different messages than this program keeps: garbage on the bus, or a wrong bit rate." },
    [LW_WINDOW_RECORD_FAILED] = { "NO REC", "record failed",
        "The recording could not be written, the disk may be full. Watching goes on." },
};
