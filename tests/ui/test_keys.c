/* SPDX-License-Identifier: MIT
 *
 * The key table: every row works where it says, no key means two things on one page, and what help and footer need of a
 * row is there.
 */
#include "cases.h"
#include "loomwatch/ui/keys.h"

#include <stdbool.h>
#include <string.h>

static void keys_every_row_dispatches_on_each_of_its_pages(void **state)
{
    (void)state;
    for (size_t i = 0; i < lw_n_keys; i++)
        for (int page = 0; page < LW_N_PAGES; page++)
            if (lw_keys[i].pages >> page & 1)
                assert_int_equal(lw_keys_action(lw_keys[i].code, (enum lw_page)page), lw_keys[i].action);
}

static void keys_no_two_rows_claim_a_key_on_one_page(void **state)
{
    (void)state;
    for (size_t i = 0; i < lw_n_keys; i++)
        for (size_t k = i + 1; k < lw_n_keys; k++)
            if (lw_keys[i].code == lw_keys[k].code && lw_keys[i].pages & lw_keys[k].pages)
                fail_msg("%s is there twice on one page", lw_keys[i].cap);
}

static void keys_every_row_is_whole(void **state)
{
    (void)state;
    for (size_t i = 0; i < lw_n_keys; i++) {
        const struct lw_key *key = &lw_keys[i];
        assert_true(key->action > LW_ACTION_NONE && key->action < LW_N_ACTIONS);
        assert_true(key->pages != 0 && key->pages < 1 << LW_N_PAGES);
        assert_true((key->code > ' ' - 1 && key->code < 0x7F) || (key->code >= LW_KEY_ENTER && key->code <= LW_KEY_END));
        assert_true(key->cap && key->cap[0] != '\0');
        assert_null(key->label ? strchr(key->label, ' ') : NULL);
    }
}

static void keys_every_action_is_on_a_key_and_in_the_help(void **state)
{
    (void)state;
    for (int action = LW_ACTION_NONE + 1; action < LW_N_ACTIONS; action++) {
        bool is_on_a_key = false, is_in_help = false;
        for (size_t i = 0; i < lw_n_keys; i++)
            if (lw_keys[i].action == (enum lw_action)action) {
                is_on_a_key = true;
                is_in_help |= lw_keys[i].words != NULL;
            }
        assert_true(is_on_a_key);
        /* The arrows, Home and End are explained by one row together. */
        assert_true(is_in_help || (action >= LW_ACTION_UP && action <= LW_ACTION_LAST));
    }
}

/* Whoever is lost must find the way out: help, back and quit work everywhere. */
static void keys_way_out_is_on_every_page(void **state)
{
    (void)state;
    for (int page = 0; page < LW_N_PAGES; page++) {
        assert_int_equal(lw_keys_action('q', (enum lw_page)page), LW_ACTION_QUIT);
        assert_int_equal(lw_keys_action('?', (enum lw_page)page), LW_ACTION_HELP);
        assert_int_equal(lw_keys_action(LW_KEY_ESCAPE, (enum lw_page)page), LW_ACTION_BACK);
        assert_int_equal(lw_keys_action('a', (enum lw_page)page), LW_ACTION_ACKNOWLEDGE);
    }
}

static void keys_other_codes_do_nothing(void **state)
{
    (void)state;
    for (int code = -300; code < 0x400; code++)
        for (int page = 0; page < LW_N_PAGES; page++) {
            bool is_known = false;
            for (size_t i = 0; i < lw_n_keys; i++)
                is_known |= lw_keys[i].code == code && lw_keys[i].pages >> page & 1;
            assert_int_equal(lw_keys_action(code, (enum lw_page)page) != LW_ACTION_NONE, is_known);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_every_row_dispatches_on_each_of_its_pages),
        cmocka_unit_test(keys_no_two_rows_claim_a_key_on_one_page),
        cmocka_unit_test(keys_every_row_is_whole),
        cmocka_unit_test(keys_every_action_is_on_a_key_and_in_the_help),
        cmocka_unit_test(keys_way_out_is_on_every_page),
        cmocka_unit_test(keys_other_codes_do_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
