/* SPDX-License-Identifier: MIT
 *
 * The tables behind the verdict, and their words as a fitter reads them: what, where, what to do, in two lines of 78 columns;
 * no hexadecimal, no letters for what has a word; cautions where a check can hurt.
 */
#include "loomwatch/core/verdict.h"

#include "cases.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

enum { COLUMNS = 78, MOST_WORDS = 110 };

static unsigned n_wrong;

__attribute__((format(printf, 2, 3))) static void expect(bool is, const char *format, ...)
{
    char text[700];
    va_list args;
    if (is)
        return;
    va_start(args, format);
    vsnprintf(text, sizeof(text), format, args);
    va_end(args);
    print_message("  %s\n", text);
    n_wrong++;
}

static int set_up(void **state)
{
    (void)state;
    n_wrong = 0;
    return 0;
}

/* Lines a text takes where it is broken between words. */
static unsigned n_lines(const char *text)
{
    unsigned lines = 1;
    size_t column = 0;
    while (*text) {
        size_t n = strcspn(text, " ");
        if (column > 0 && column + 1 + n > COLUMNS) {
            lines++;
            column = 0;
        }
        column += n + (column > 0);
        text += n + strspn(text + n, " ");
    }
    return lines;
}

static bool has_word(const char *text, const char *word)
{
    size_t n = strlen(word);
    for (const char *at = strstr(text, word); at; at = strstr(at + 1, word))
        if ((at == text || !isalnum((unsigned char)at[-1])) && !isalnum((unsigned char)at[n]))
            return true;
    return false;
}

static void check_words(const char *what, const char *text)
{
    static const char *const jargon[] = { "TEC", "REC", "ACK", "SJW", "PGN", "NAME", "SA", "REC", "ECU", "SOF", "LEC", "hex", "arbitration", "identifier" };
    expect(text && *text, "%s has no words", what ? what : "?");
    if (!text)
        return;
    expect(strlen(text) <= MOST_WORDS, "%s: %zu characters: %s", what, strlen(text), text);
    expect(!strstr(text, "..") && text[strlen(text) - 1] != '.', "%s: full stop: %s", what, text);
    expect(!strstr(text, "0x") && !strstr(text, "  "), "%s: %s", what, text);
    for (size_t i = 0; i < N_ROWS(jargon); i++)
        expect(!has_word(text, jargon[i]), "%s: %s without its plain word: %s", what, jargon[i], text);
}

static void tables_every_cause_has_what_it_needs(void **state)
{
    (void)state;
    for (int cause = 0; cause < LW_N_CAUSES; cause++) {
        const struct lw_cause_info *info = &lw_causes[cause];
        expect(info->name && info->source && info->pictures != 0 && info->weight >= 1 && info->weight <= 8, "cause %d is not whole", cause);
        expect(cause == LW_CAUSE_NONE_OF_THESE || info->pictures >> LW_N_PICTURES == 0, "%s: a picture that is none", info->name);
        for (int other = 0; other < cause; other++)
            expect(strcmp(info->name, lw_causes[other].name) != 0, "%s twice", info->name);
        for (int check = 0; check < LW_N_CHECKS; check++)
            expect(info->outcomes[check] >> lw_checks[check].n_outcomes == 0, "%s: an outcome that check %d has not", info->name, check);
        for (unsigned i = 0; i < LW_MAX_SIGNS; i++) {
            expect(info->signs[i].fact < LW_N_FACTS && info->signs[i].how < LW_N_HOWS, "%s: sign %u", info->name, i);
            for (unsigned k = 0; k < i; k++)
                expect(info->signs[i].fact == 0 || info->signs[i].fact != info->signs[k].fact, "%s: fact %u twice", info->name, info->signs[i].fact);
        }
    }
    assert_int_equal(n_wrong, 0);
}

static void tables_every_picture_of_trouble_has_causes(void **state)
{
    (void)state;
    for (int picture = 0; picture < LW_N_PICTURES; picture++) {
        unsigned n = 0;
        for (int cause = 0; cause < LW_N_CAUSES; cause++)
            n += cause != LW_CAUSE_NONE_OF_THESE && (lw_causes[cause].pictures >> picture & 1);
        expect(n > 0, "%s has no cause", lw_pictures[picture].name);
        for (int other = 0; other < picture; other++)
            expect(strcmp(lw_pictures[picture].name, lw_pictures[other].name) != 0, "%s twice", lw_pictures[picture].name);
    }
    assert_int_equal(n_wrong, 0);
}

static void tables_every_fact_has_a_share_a_name_and_a_source(void **state)
{
    (void)state;
    for (int fact = 0; fact < LW_N_FACTS; fact++) {
        const struct lw_fact_info *info = &lw_facts[fact];
        expect(info->name && info->yes && info->no && info->unit && info->source, "fact %d is not whole", fact);
        expect(info->usual > 0 && info->usual < 1, "fact %d: usual %g", fact, info->usual);
        for (int other = 0; other < fact; other++)
            expect(strcmp(info->name, lw_facts[other].name) != 0, "%s twice", info->name);
    }
    assert_int_equal(n_wrong, 0);
}

static void words_of_causes_pictures_and_checks_are_plain(void **state)
{
    (void)state;
    for (int cause = 0; cause < LW_N_CAUSES; cause++) {
        check_words(lw_causes[cause].name, lw_causes[cause].words);
        check_words(lw_causes[cause].name, lw_causes[cause].next);
    }
    for (int picture = 0; picture < LW_N_PICTURES; picture++)
        check_words(lw_pictures[picture].name, lw_pictures[picture].words);
    for (int check = 0; check < LW_N_CHECKS; check++) {
        check_words("check", check < LW_N_MEASUREMENTS ? lw_measurements[check].how : lw_checks[check].words);
        for (unsigned i = 0; i < lw_checks[check].n_outcomes; i++)
            check_words("outcome", check < LW_N_MEASUREMENTS ? lw_measurements[check].ranges[i].words : lw_checks[check].outcomes[i]);
    }
    assert_int_equal(n_wrong, 0);
}

static void words_of_a_likely_verdict_take_two_lines(void **state)
{
    (void)state;
    for (int picture = 0; picture < LW_N_PICTURES; picture++)
        for (int cause = 1; cause < LW_N_CAUSES; cause++) {
            struct lw_verdict verdict = { .picture = (uint8_t)picture, .confidence = LW_LIKELY, .n_named = 1, .check = -1,
                                          .named = { { (uint8_t)cause, 0.8 } } };
            char text[LW_VERDICT_TEXT];
            if (!(lw_causes[cause].pictures >> picture & 1))
                continue;
            lw_verdict_words(&verdict, NULL, text);
            expect(n_lines(text) <= 2, "%u lines: %s", n_lines(text), text);
            expect(!strstr(text, "..") && !strstr(text, "?."), "%s", text);
        }
    assert_int_equal(n_wrong, 0);
}

/* Whatever is named and however much: a sentence that ends, and never more than there is room for. */
static void words_of_any_verdict_are_whole(void **state)
{
    (void)state;
    for (int picture = 0; picture < LW_N_PICTURES; picture++)
        for (int confidence = 0; confidence < LW_N_CONFIDENCES; confidence++)
            for (unsigned n = 0; n <= LW_MAX_NAMED; n++)
                for (int check = -1; check < LW_N_CHECKS; check++) {
                    struct lw_verdict verdict = { .picture = (uint8_t)picture, .confidence = (uint8_t)confidence, .n_named = n, .check = check, .is_blind = true };
                    for (unsigned i = 0; i < n; i++)
                        verdict.named[i] = (struct lw_suspect){ (uint8_t)(1 + (i * 7 + (unsigned)picture) % (LW_N_CAUSES - 1)), 1.0 / n };
                    if (n == 0 && confidence != LW_CANNOT_SAY)
                        continue;
                    char text[LW_VERDICT_TEXT];
                    lw_verdict_words(&verdict, "can0", text);
                    size_t end = strlen(text);
                    while (end > 0 && text[end - 1] == ' ')
                        end--;
                    expect(end < LW_VERDICT_TEXT - 1 && end > 0 && strchr(".?", text[end - 1]), "cut: %s", text);
                    expect(strncmp(text, "can0: ", 6) == 0 && !strstr(text, "(null)"), "%s", text);
                }
    assert_int_equal(n_wrong, 0);
}

/* Measuring ohms needs the supply off; a measurement can be near what kills. */
static void words_caution_where_a_check_can_hurt(void **state)
{
    (void)state;
    for (int kind = 0; kind < LW_N_MEASUREMENTS; kind++) {
        expect(lw_checks[kind].caution && strstr(lw_checks[kind].caution, "airbag") && strstr(lw_checks[kind].caution, "high-voltage"),
               "%s has no caution", lw_measurements[kind].name);
    }
    expect(lw_checks[LW_CHECK_UNPLUG].caution != NULL, "unplugging has no caution");
    expect(lw_checks[LW_CHECK_WIGGLE].caution != NULL, "wiggling has no caution");
    expect(lw_checks[LW_CHECK_WAKE].caution != NULL, "waking has no caution");
    for (int cause = 0; cause < LW_N_CAUSES; cause++)
        expect(!strstr(lw_causes[cause].next, "ohms") || strstr(lw_causes[cause].next, "supply off"), "ohms, and the supply on? %s", lw_causes[cause].next);
    assert_int_equal(n_wrong, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(tables_every_cause_has_what_it_needs, set_up),
        cmocka_unit_test_setup(tables_every_picture_of_trouble_has_causes, set_up),
        cmocka_unit_test_setup(tables_every_fact_has_a_share_a_name_and_a_source, set_up),
        cmocka_unit_test_setup(words_of_causes_pictures_and_checks_are_plain, set_up),
        cmocka_unit_test_setup(words_of_a_likely_verdict_take_two_lines, set_up),
        cmocka_unit_test_setup(words_of_any_verdict_are_whole, set_up),
        cmocka_unit_test_setup(words_caution_where_a_check_can_hurt, set_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
