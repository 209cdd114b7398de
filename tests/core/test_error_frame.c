/* SPDX-License-Identifier: MIT
 *
 * The table of error fields against the kernel's own header, and what error frames are taken to say.
 */
#include "loomwatch/core/error_frame.h"

#include "cases.h"
#include "random_event.h"

#include <linux/can/error.h>

struct macro {
    enum lw_error_group group;
    uint32_t value;
};

/* Every CAN_ERR_* macro of linux/can/error.h that names something. The *_UNSPEC of data[0], data[1], data[2] and data[4] are
 * 0, the absence of any bit, and have no row; that of the location is a value like the others. */
static const struct macro macros[] = {
    { LW_ERRORS_CLASS, CAN_ERR_TX_TIMEOUT }, { LW_ERRORS_CLASS, CAN_ERR_LOSTARB }, { LW_ERRORS_CLASS, CAN_ERR_CRTL },
    { LW_ERRORS_CLASS, CAN_ERR_PROT }, { LW_ERRORS_CLASS, CAN_ERR_TRX }, { LW_ERRORS_CLASS, CAN_ERR_ACK },
    { LW_ERRORS_CLASS, CAN_ERR_BUSOFF }, { LW_ERRORS_CLASS, CAN_ERR_BUSERROR }, { LW_ERRORS_CLASS, CAN_ERR_RESTARTED },
    { LW_ERRORS_CLASS, CAN_ERR_CNT },
    { LW_ERRORS_CONTROLLER, CAN_ERR_CRTL_RX_OVERFLOW }, { LW_ERRORS_CONTROLLER, CAN_ERR_CRTL_TX_OVERFLOW },
    { LW_ERRORS_CONTROLLER, CAN_ERR_CRTL_RX_WARNING }, { LW_ERRORS_CONTROLLER, CAN_ERR_CRTL_TX_WARNING },
    { LW_ERRORS_CONTROLLER, CAN_ERR_CRTL_RX_PASSIVE }, { LW_ERRORS_CONTROLLER, CAN_ERR_CRTL_TX_PASSIVE },
    { LW_ERRORS_CONTROLLER, CAN_ERR_CRTL_ACTIVE },
    { LW_ERRORS_PROTOCOL, CAN_ERR_PROT_BIT }, { LW_ERRORS_PROTOCOL, CAN_ERR_PROT_FORM },
    { LW_ERRORS_PROTOCOL, CAN_ERR_PROT_STUFF }, { LW_ERRORS_PROTOCOL, CAN_ERR_PROT_BIT0 },
    { LW_ERRORS_PROTOCOL, CAN_ERR_PROT_BIT1 }, { LW_ERRORS_PROTOCOL, CAN_ERR_PROT_OVERLOAD },
    { LW_ERRORS_PROTOCOL, CAN_ERR_PROT_ACTIVE }, { LW_ERRORS_PROTOCOL, CAN_ERR_PROT_TX },
    { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_UNSPEC }, { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_SOF },
    { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_ID28_21 }, { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_ID20_18 },
    { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_SRTR }, { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_IDE },
    { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_ID17_13 }, { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_ID12_05 },
    { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_ID04_00 }, { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_RTR },
    { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_RES1 }, { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_RES0 },
    { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_DLC }, { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_DATA },
    { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_CRC_SEQ }, { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_CRC_DEL },
    { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_ACK }, { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_ACK_DEL },
    { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_EOF }, { LW_ERRORS_PLACE, CAN_ERR_PROT_LOC_INTERM },
    { LW_ERRORS_WIRE_H, CAN_ERR_TRX_CANH_NO_WIRE }, { LW_ERRORS_WIRE_H, CAN_ERR_TRX_CANH_SHORT_TO_BAT },
    { LW_ERRORS_WIRE_H, CAN_ERR_TRX_CANH_SHORT_TO_VCC }, { LW_ERRORS_WIRE_H, CAN_ERR_TRX_CANH_SHORT_TO_GND },
    { LW_ERRORS_WIRE_L, CAN_ERR_TRX_CANL_NO_WIRE }, { LW_ERRORS_WIRE_L, CAN_ERR_TRX_CANL_SHORT_TO_BAT },
    { LW_ERRORS_WIRE_L, CAN_ERR_TRX_CANL_SHORT_TO_VCC }, { LW_ERRORS_WIRE_L, CAN_ERR_TRX_CANL_SHORT_TO_GND },
    { LW_ERRORS_WIRE_L, CAN_ERR_TRX_CANL_SHORT_TO_CANH },
};

static bool is_same(const struct macro *macro, const struct lw_error_field *field)
{
    return macro->group == field->group && macro->value == field->value;
}

static void error_table_has_one_row_for_every_macro_and_no_other(void **state)
{
    (void)state;
    assert_int_equal(N_ROWS(macros), LW_N_ERROR_FIELDS);
    for (size_t i = 0; i < N_ROWS(macros); i++) {
        unsigned n = 0;
        for (size_t k = 0; k < LW_N_ERROR_FIELDS; k++)
            n += is_same(&macros[i], &lw_error_fields[k]);
        assert_int_equal(n, 1);
    }
    for (size_t k = 0; k < LW_N_ERROR_FIELDS; k++) {
        unsigned n = 0;
        for (size_t i = 0; i < N_ROWS(macros); i++)
            n += is_same(&macros[i], &lw_error_fields[k]);
        assert_int_equal(n, 1);
    }
}

static void error_rows_all_have_a_name_and_words(void **state)
{
    (void)state;
    for (size_t k = 0; k < LW_N_ERROR_FIELDS; k++) {
        const struct lw_error_field *field = &lw_error_fields[k];
        assert_in_range(strlen(field->name), 2, 24);
        assert_true(strlen(field->words) > 8 && field->words[strlen(field->words) - 1] == '.');
    }
}

static void error_named_constants_match_the_kernel(void **state)
{
    (void)state;
    /* linux/can/error.h */
    static const struct {
        unsigned index;
        uint32_t value;
    } rows[] = {
        { LW_FIELD_TX_TIMEOUT, CAN_ERR_TX_TIMEOUT }, { LW_FIELD_ARBITRATION_LOST, CAN_ERR_LOSTARB },
        { LW_FIELD_CONTROLLER, CAN_ERR_CRTL }, { LW_FIELD_PROTOCOL, CAN_ERR_PROT }, { LW_FIELD_TRANSCEIVER, CAN_ERR_TRX },
        { LW_FIELD_NO_ACKNOWLEDGE, CAN_ERR_ACK }, { LW_FIELD_BUS_OFF, CAN_ERR_BUSOFF },
        { LW_FIELD_BUS_ERROR, CAN_ERR_BUSERROR }, { LW_FIELD_RESTARTED, CAN_ERR_RESTARTED },
        { LW_FIELD_COUNTERS, CAN_ERR_CNT }, { LW_FIELD_RX_OVERRUN, CAN_ERR_CRTL_RX_OVERFLOW },
        { LW_FIELD_TX_OVERRUN, CAN_ERR_CRTL_TX_OVERFLOW }, { LW_FIELD_RX_WARNING, CAN_ERR_CRTL_RX_WARNING },
        { LW_FIELD_TX_WARNING, CAN_ERR_CRTL_TX_WARNING }, { LW_FIELD_RX_PASSIVE, CAN_ERR_CRTL_RX_PASSIVE },
        { LW_FIELD_TX_PASSIVE, CAN_ERR_CRTL_TX_PASSIVE }, { LW_FIELD_BACK_TO_ACTIVE, CAN_ERR_CRTL_ACTIVE },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++)
        assert_int_equal(lw_error_fields[rows[i].index].value, rows[i].value);
    assert_int_equal(LW_CLASS_TX_TIMEOUT | LW_CLASS_ARBITRATION_LOST | LW_CLASS_CONTROLLER | LW_CLASS_PROTOCOL, 0x00F);
    assert_int_equal(LW_CLASS_TRANSCEIVER, CAN_ERR_TRX);
    assert_int_equal(LW_CLASS_NO_ACKNOWLEDGE, CAN_ERR_ACK);
    assert_int_equal(LW_CLASS_BUS_OFF, CAN_ERR_BUSOFF);
    assert_int_equal(LW_CLASS_BUS_ERROR, CAN_ERR_BUSERROR);
    assert_int_equal(LW_CLASS_RESTARTED, CAN_ERR_RESTARTED);
    assert_int_equal(LW_CLASS_COUNTERS, CAN_ERR_CNT);
    assert_int_equal(LW_PLACE_ACK_SLOT, CAN_ERR_PROT_LOC_ACK);
}

/* A frame that says exactly this one field. */
static struct lw_error error_with(const struct lw_error_field *field)
{
    struct lw_error error = { 0 };
    switch (field->group) {
    case LW_ERRORS_CLASS: error.class_bits = field->value; break;
    case LW_ERRORS_CONTROLLER: error.class_bits = CAN_ERR_CRTL; error.data[1] = (uint8_t)field->value; break;
    case LW_ERRORS_PROTOCOL: error.class_bits = CAN_ERR_PROT; error.data[2] = (uint8_t)field->value; break;
    case LW_ERRORS_PLACE: error.class_bits = CAN_ERR_PROT; error.data[3] = (uint8_t)field->value; break;
    default: error.class_bits = CAN_ERR_TRX; error.data[4] = (uint8_t)field->value; break;
    }
    return error;
}

static bool decodes_to(const struct lw_error *error, unsigned index)
{
    uint8_t fields[LW_ERROR_FIELDS_MAX];
    size_t n = lw_error_decode(error, fields);
    for (size_t i = 0; i < n; i++)
        if (fields[i] == index)
            return true;
    return false;
}

static void decode_of_each_field_alone_finds_it_in_its_byte(void **state)
{
    (void)state;
    for (unsigned k = 0; k < LW_N_ERROR_FIELDS; k++) {
        struct lw_error error = error_with(&lw_error_fields[k]);
        assert_true(decodes_to(&error, k));
        error.class_bits = 0;      /* without its class a detail says nothing */
        assert_false(decodes_to(&error, k));
    }
}

static void decode_of_place_counts_with_bus_error_or_acknowledge(void **state)
{
    (void)state;
    static const struct {
        uint32_t classes;
        uint8_t place;
        bool counts;
    } rows[] = {
        { CAN_ERR_BUSERROR, CAN_ERR_PROT_LOC_DATA, true }, { CAN_ERR_ACK, CAN_ERR_PROT_LOC_ACK, true },
        { CAN_ERR_BUSERROR, CAN_ERR_PROT_LOC_UNSPEC, false }, { CAN_ERR_PROT, CAN_ERR_PROT_LOC_UNSPEC, true },
        { CAN_ERR_CRTL, CAN_ERR_PROT_LOC_DATA, false }, { CAN_ERR_BUSOFF, CAN_ERR_PROT_LOC_ACK, false },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_error error = { rows[i].classes, { 0, 0, 0, rows[i].place } };
        uint8_t fields[LW_ERROR_FIELDS_MAX];
        size_t n = lw_error_decode(&error, fields), n_places = 0;
        for (size_t k = 0; k < n; k++)
            n_places += lw_error_fields[fields[k]].group == LW_ERRORS_PLACE;
        assert_int_equal(n_places, rows[i].counts);
    }
}

static void decode_of_random_bytes_stays_in_order_and_bounds(void **state)
{
    (void)state;
    uint64_t seed = 0xE44;
    for (unsigned round = 0; round < 50000; round++) {
        struct lw_error error = { .class_bits = (uint32_t)random_bits(&seed) };
        uint8_t fields[LW_ERROR_FIELDS_MAX], tec = 0, rec = 0;
        random_fill(&seed, error.data, sizeof(error.data));
        if (round == 0)
            memset(&error, 0xFF, sizeof(error));
        size_t n = lw_error_decode(&error, fields);
        assert_true(n <= LW_ERROR_FIELDS_MAX);
        for (size_t i = 0; i < n; i++) {
            assert_true(fields[i] < LW_N_ERROR_FIELDS);
            assert_true(i == 0 || fields[i] > fields[i - 1]);
        }
        lw_error_is_no_acknowledge(&error);
        lw_error_is_bus_error(&error);
        lw_error_counters(&error, &tec, &rec);
        assert_int_equal(lw_error_unknown_classes(&error), error.class_bits & ~0x3FFu);
    }
}

static void counters_are_told_only_with_their_class(void **state)
{
    (void)state;
    static const struct {
        uint32_t classes;
        bool told;
    } rows[] = {
        { CAN_ERR_CNT, true }, { CAN_ERR_CNT | CAN_ERR_CRTL, true }, { CAN_ERR_CRTL, false }, { 0, false },
        { CAN_ERR_CNT | CAN_ERR_BUSOFF, false },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_error error = { rows[i].classes, { [6] = 97, [7] = 12 } };
        uint8_t tec = 1, rec = 2;
        assert_int_equal(lw_error_counters(&error, &tec, &rec), rows[i].told);
        assert_int_equal(tec, rows[i].told ? 97 : 1);
        assert_int_equal(rec, rows[i].told ? 12 : 2);
    }
}

static void no_acknowledge_is_told_by_class_or_by_place(void **state)
{
    (void)state;
    static const struct {
        struct lw_error error;
        bool is_no_acknowledge, is_bus_error;
    } rows[] = {
        { { CAN_ERR_ACK, { 0 } }, true, true },
        { { CAN_ERR_PROT, { [3] = CAN_ERR_PROT_LOC_ACK } }, true, true },
        { { CAN_ERR_BUSERROR, { [3] = CAN_ERR_PROT_LOC_ACK } }, true, true },
        { { CAN_ERR_PROT | CAN_ERR_BUSERROR, { [3] = CAN_ERR_PROT_LOC_ACK_DEL } }, false, true },
        { { CAN_ERR_PROT, { [2] = CAN_ERR_PROT_STUFF } }, false, true },
        { { CAN_ERR_PROT, { [2] = CAN_ERR_PROT_OVERLOAD } }, false, false },
        { { CAN_ERR_PROT, { [2] = CAN_ERR_PROT_ACTIVE } }, false, false },
        { { CAN_ERR_PROT, { [2] = CAN_ERR_PROT_OVERLOAD | CAN_ERR_PROT_BIT } }, false, true },
        { { CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_RX_OVERFLOW, [3] = CAN_ERR_PROT_LOC_ACK } }, false, false },
        { { CAN_ERR_LOSTARB, { 12 } }, false, false },
        { { CAN_ERR_BUSOFF, { 0 } }, false, false },
        { { CAN_ERR_RESTARTED, { 0 } }, false, false },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        assert_int_equal(lw_error_is_no_acknowledge(&rows[i].error), rows[i].is_no_acknowledge);
        assert_int_equal(lw_error_is_bus_error(&rows[i].error), rows[i].is_bus_error);
    }
}

/* What the kernel's serial-line driver sends for an overrun (drivers/net/can/slcan, 6.1): protocol and bus error classes
 * without a detail. */
static void bus_error_is_not_a_mere_overrun(void **state)
{
    static const struct {
        struct lw_error error;
        bool is_bus_error, is_overrun;
    } rows[] = {
        { { 0x08C, { 0, 0x01 } }, false, true },
        { { 0x08C, { 0, 0x01, 0x04 } }, true, true },           /* and a stuffing error */
        { { 0x0AC, { 0, 0x01 } }, true, true },                 /* and no acknowledge */
        { { 0x088, { 0 } }, true, false },
        { { 0x008, { 0, 0, 0x20 } }, false, false },            /* overload alone */
        { { 0x004, { 0, 0x02 } }, false, false },               /* send overrun: nothing received is lost */
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        print_message("  row %zu\n", i);
        assert_int_equal(lw_error_is_bus_error(&rows[i].error), rows[i].is_bus_error);
        assert_int_equal(lw_error_is_overrun(&rows[i].error), rows[i].is_overrun);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(error_table_has_one_row_for_every_macro_and_no_other),
        cmocka_unit_test(error_rows_all_have_a_name_and_words),
        cmocka_unit_test(error_named_constants_match_the_kernel),
        cmocka_unit_test(decode_of_each_field_alone_finds_it_in_its_byte),
        cmocka_unit_test(decode_of_place_counts_with_bus_error_or_acknowledge),
        cmocka_unit_test(decode_of_random_bytes_stays_in_order_and_bounds),
        cmocka_unit_test(counters_are_told_only_with_their_class),
        cmocka_unit_test(no_acknowledge_is_told_by_class_or_by_place),
        cmocka_unit_test(bus_error_is_not_a_mere_overrun),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
