// SPDX-License-Identifier: GPL-3.0-or-later
/* The verdict of a pair: levels, hold, words, and what speaks against a pair. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "../report/sample.h"

static const struct sl_strip_ref IMMEDIATE = {0, 0}, DRIED = {0, 1};

/* The pair of bound shares `a` (immediate) and `b` (dried), each +- its half interval. */
static struct sl_pair judged(double a, double a_half, double b, double b_half)
{
    struct sl_document document = sample_document();
    sample_bound(&document.reading[0]->strip[0], a, a_half);
    sample_bound(&document.reading[0]->strip[1], b, b_half);
    struct sl_pair pair;
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, DRIED, &pair, NULL), SL_OK);
    sl_document_finish(&document);
    return pair;
}

static bool says(const struct sl_pair *pair, const char *words)
{
    for (size_t i = 0; i < pair->reason_count; i++)
        if (strstr(pair->reason[i], words))
            return true;
    return false;
}

static void index_is_100_times_the_dried_bound_share(void **state)
{
    (void)state;
    struct sl_pair pair = judged(0.03, 0.01, 0.2, 0.02);
    assert_near(pair.index, 20, 1e-12);
    assert_near(pair.index_interval[0], 18, 1e-12);
    assert_near(pair.index_interval[1], 22, 1e-12);
    assert_near(pair.immediate_bound_share, 0.03, 1e-12);
    assert_string_equal(pair.ink, "Harbour Dusk");
}

/* The scale is this project's own: limits at 2, 8 and 30 %. */
static void levels_follow_the_limits(void **state)
{
    (void)state;
    static const struct {
        double share, half;
        enum sl_level level;
        bool resistant, decided;
    } cases[] = {
        {0.000, 0.010, SL_LEVEL_NONE, false, true},
        {0.019, 0.0005, SL_LEVEL_NONE, false, true},
        {0.021, 0.0005, SL_LEVEL_TRACE, false, true},
        {0.050, 0.02, SL_LEVEL_TRACE, false, true},
        {0.0799, 0.00005, SL_LEVEL_TRACE, false, true},
        {0.0801, 0.00005, SL_LEVEL_PARTIAL, true, true},
        {0.200, 0.05, SL_LEVEL_PARTIAL, true, true},
        {0.299, 0.0005, SL_LEVEL_PARTIAL, true, true},
        {0.301, 0.0005, SL_LEVEL_STRONG, true, true},
        {0.950, 0.05, SL_LEVEL_STRONG, true, true},
        {0.018, 0.005, SL_LEVEL_UNDECIDED, false, true},
        {0.070, 0.02, SL_LEVEL_UNDECIDED, false, false},
        {0.090, 0.02, SL_LEVEL_UNDECIDED, true, false},
        {0.300, 0.05, SL_LEVEL_UNDECIDED, true, true},
        {0.080, 0.001, SL_LEVEL_UNDECIDED, true, false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct sl_pair pair = judged(0.01, 0.005, cases[i].share, cases[i].half);
        assert_int_equal(pair.level, cases[i].level);
        assert_int_equal(pair.water_resistant, cases[i].resistant);
        assert_int_equal(pair.decided, cases[i].decided);
    }
}

static void undecided_says_what_is_still_sure(void **state)
{
    (void)state;
    struct sl_pair pair = judged(0.01, 0.005, 0.30, 0.05);
    assert_true(says(&pair, "30 % (25 to 35 %)") && says(&pair, "likely water-resistant"));
    pair = judged(0.01, 0.005, 0.02, 0.01);
    assert_true(says(&pair, "too little to count"));
    pair = judged(0.01, 0.005, 0.08, 0.03);
    assert_true(says(&pair, "8.0 %") || says(&pair, "8 % (5 to 11 %)"));
    assert_true(says(&pair, "can't be decided"));
}

static void hold_rests_on_both_intervals(void **state)
{
    (void)state;
    assert_int_equal(judged(0.03, 0.01, 0.2, 0.02).hold, SL_HOLD_AS_IT_DRIES);
    assert_int_equal(judged(0.10, 0.01, 0.2, 0.02).hold, SL_HOLD_AS_IT_DRIES);
    assert_int_equal(judged(0.20, 0.01, 0.2, 0.02).hold, SL_HOLD_AT_ONCE);
    assert_int_equal(judged(0.19, 0.01, 0.2, 0.01).hold, SL_HOLD_AT_ONCE);
    assert_int_equal(judged(0.16, 0.05, 0.2, 0.05).hold, SL_HOLD_UNCLEAR);
    assert_int_equal(judged(0.05, 0.2, 0.2, 0.2).hold, SL_HOLD_UNCLEAR);
    assert_int_equal(judged(0.005, 0.005, 0.01, 0.01).hold, SL_HOLD_NOTHING);
    assert_int_equal(judged(0.04, 0.005, 0.01, 0.01).hold, SL_HOLD_NOTHING);
}

static void sentences_name_number_colour_and_hold(void **state)
{
    (void)state;
    struct sl_pair pair = judged(0.03, 0.01, 0.2, 0.02);
    assert_true(strstr(pair.reason[0], "20 % (18 to 22 %)") != NULL);
    assert_true(says(&pair, "What stayed is grey."));
    assert_true(says(&pair, "sets only as it dries: 3.0 % (2.0 to 4.0 %)"));
    assert_true(says(&pair, "Another 8 %"));
    assert_true(says(&pair, "turquoise (hRf 90)"));
    assert_string_equal(pair.retained_hue_name, "grey");
    pair = judged(0.2, 0.02, 0.2, 0.02);
    assert_true(says(&pair, "It holds at once"));
    pair = judged(0.1, 0.01, 0.3, 0.02);
    assert_true(says(&pair, "Some of it holds at once, more sets as it dries"));
    pair = judged(0.3, 0.02, 0.1, 0.01);
    assert_true(says(&pair, "swapped"));
    pair = judged(0.03, 0.02, 0.022, 0.02);
    assert_int_equal(pair.hold, SL_HOLD_UNCLEAR);
    assert_false(says(&pair, "can't be told apart"));
    pair = judged(0.0, 0.005, 0.0, 0.005);
    assert_string_equal(pair.retained_hue_name, "");
    assert_true(says(&pair, "water takes this ink away"));
    assert_false(says(&pair, "What stayed"));
}

static void every_sentence_is_whole(void **state)
{
    (void)state;
    for (int a = 0; a <= 10; a++)
        for (int b = 0; b <= 10; b++) {
            struct sl_pair pair = judged(a / 20.0, 0.013 * (b % 4), b / 20.0, 0.011 * (a % 5));
            assert_true(pair.reason_count >= 1);
            for (size_t i = 0; i < pair.reason_count; i++) {
                size_t n = strlen(pair.reason[i]);
                assert_true(n > 10 && n < SL_REASON_BYTES - 1);
                assert_int_equal(pair.reason[i][n - 1], '.');
            }
        }
}

static void a_strip_paired_with_itself_holds_at_once(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    struct sl_pair pair;
    assert_int_equal(sl_pair_judge(&document, DRIED, DRIED, &pair, NULL), SL_OK);
    assert_int_equal(pair.hold, SL_HOLD_AT_ONCE);
    assert_near(pair.immediate_bound_share, pair.dried_bound_share, 0);
    assert_false(sl_warned(&pair.warnings, SL_W_DIFFERENT_INKS));
    assert_false(sl_warned(&pair.warnings, SL_W_CONDITIONS));
    sl_document_finish(&document);
}

/* How much ink was ruled says nothing about the ink. */
static void more_ink_changes_no_verdict(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    struct sl_strip *strip = &document.reading[0]->strip[1];
    struct sl_pair before, after;
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, DRIED, &before, NULL), SL_OK);
    for (size_t i = 0; i < strip->profile.count; i++)
        for (int c = 0; c < 3; c++)
            strip->profile.load[i][c] *= 1.7;
    strip->bands.total_load *= 1.7;
    strip->bands.total_load_se *= 1.7;
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, DRIED, &after, NULL), SL_OK);
    assert_int_equal(after.level, before.level);
    assert_int_equal(after.warnings.count, before.warnings.count);
    assert_near(after.index, before.index, 0);
    sl_document_finish(&document);
}

static void a_blank_strip_gives_no_verdict(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    struct sl_strip *strip = document.reading[0]->strip;
    struct sl_pair pair;
    strip[1].bands.total_load = 0;
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, DRIED, &pair, NULL), SL_OK);
    assert_true(isnan(pair.index));
    assert_int_equal(pair.level, SL_LEVEL_UNDECIDED);
    assert_false(pair.water_resistant);
    assert_true(sl_warned(&pair.warnings, SL_W_BLANK));
    assert_int_equal(pair.reason_count, 1);
    strip[1].bands.total_load = 1;
    strip[0].marks.blank = true;
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, DRIED, &pair, NULL), SL_OK);
    assert_int_equal(pair.level, SL_LEVEL_PARTIAL);
    assert_int_equal(pair.hold, SL_HOLD_UNCLEAR);
    assert_true(sl_warned(&pair.warnings, SL_W_BLANK));
    sl_document_finish(&document);
}

static void told_inks_that_differ_are_refused(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    struct sl_pair pair;
    struct sl_status status = {0};
    strcpy(document.reading[0]->strip[0].ink, "Quay Red");
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, DRIED, &pair, &status),
                     SL_E_DIFFERENT_INKS);
    assert_non_null(strstr(status.message, "Quay Red"));
    strcpy(document.reading[0]->strip[0].ink, " HARBOUR dusk ");
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, DRIED, &pair, &status), SL_OK);
    strcpy(document.reading[0]->strip[0].ink, "");
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, DRIED, &pair, &status), SL_OK);
    sl_document_finish(&document);
}

static void strips_that_are_not_there_are_refused(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    struct sl_pair pair;
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, (struct sl_strip_ref){0, 2}, &pair, NULL),
                     SL_E_STRIP_COUNT);
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, (struct sl_strip_ref){1, 0}, &pair, NULL),
                     SL_E_STRIP_COUNT);
    sl_document_finish(&document);
}

/* A document whose dried strip carries other dyes. */
static struct sl_document with_other_dyes(const struct sample_dye *dyes, size_t count)
{
    struct sl_document document = sample_document();
    struct sl_strip *strip = &document.reading[0]->strip[1];
    sl_profile_finish(&strip->profile);
    sl_bands_finish(&strip->bands);
    sample_strip(strip, SL_ROLE_DRIED, "Harbour Dusk", dyes, count);
    return document;
}

static bool suspects(const struct sl_document *document)
{
    struct sl_pair pair;
    assert_int_equal(sl_pair_judge(document, IMMEDIATE, DRIED, &pair, NULL), SL_OK);
    return sl_warned(&pair.warnings, SL_W_DIFFERENT_INKS) != 0;
}

static void dyes_of_another_ink_are_pointed_at(void **state)
{
    (void)state;
    static const struct sample_dye yellow[] = {{0.6, 0.05, 0.1, 0.02, 0.1, 1.0}};
    /* the same three colours in the same amounts, but the pink runs where turquoise should */
    static const struct sample_dye moved[] = {{0.0, 0.02, 0.04, 1.0, 1.0, 0.9},
                                              {0.10, 0.03, 0.05, 1.0, 0.2, 0.1},
                                              {0.95, 0.05, 0.06, 0.1, 1.0, 0.3}};
    struct sl_document document = with_other_dyes(yellow, 1);
    assert_true(suspects(&document));
    sl_document_finish(&document);
    document = with_other_dyes(moved, 3);
    assert_true(suspects(&document));
    document.reading[0]->strip[1].bands.smeared = true;
    assert_false(suspects(&document));
    sl_document_finish(&document);
}

/* Dye that dried first runs less far, and more of the grey stays: still one ink. */
static void the_same_dyes_run_otherwise_are_not_suspected(void **state)
{
    (void)state;
    static const struct sample_dye slower[] = {{0.0, 0.03, 0.04, 1.0, 1.0, 0.9},
                                               {0.36, 0.08, 0.06, 0.1, 1.0, 0.3},
                                               {0.8, 0.06, 0.05, 1.0, 0.2, 0.1}};
    struct sl_document document = with_other_dyes(slower, 3);
    assert_false(suspects(&document));
    sl_document_finish(&document);
}

static void other_conditions_are_pointed_at(void **state)
{
    (void)state;
    struct sl_document document;
    sl_document_init(&document);
    struct sl_reading *a = sample_reading("a.jpg", "Harbour Dusk", 1);
    struct sl_reading *b = sample_reading("b.jpg", "Harbour Dusk", 1);
    assert_int_equal(sl_document_add(&document, a, NULL), SL_OK);
    assert_int_equal(sl_document_add(&document, b, NULL), SL_OK);
    struct sl_pair pair;
    struct sl_strip_ref second = {1, 0};
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, second, &pair, NULL), SL_OK);
    assert_int_equal(pair.warnings.count, 0);

    strcpy(b->conditions.paper, "kitchen towel");
    b->conditions.dip_s = 40;
    b->strip[0].length_mm = 120;
    strcpy(a->conditions.date, "2031-05-01 10:00:00");
    strcpy(b->conditions.date, "2031-05-09 10:00:00");
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, second, &pair, NULL), SL_OK);
    assert_int_equal(pair.warnings.count, 1);
    assert_int_equal(pair.warnings.item[0].code, SL_W_CONDITIONS);
    const char *const parts[] = {"round filter, kitchen towel", "12 s, 40 s", "80 mm, 120 mm",
                                 "8 days"};
    for (size_t i = 0; i < 4; i++)
        assert_non_null(strstr(pair.warnings.item[0].message, parts[i]));
    sl_document_finish(&document);
}

static void a_line_that_hardly_dried_is_pointed_at(void **state)
{
    (void)state;
    struct sl_document document = sample_document();
    struct sl_pair pair;
    document.reading[0]->conditions.dried_min = 2;
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, DRIED, &pair, NULL), SL_OK);
    assert_true(sl_warned(&pair.warnings, SL_W_CONDITIONS));
    document.reading[0]->conditions.dried_min = 10;
    assert_int_equal(sl_pair_judge(&document, IMMEDIATE, DRIED, &pair, NULL), SL_OK);
    assert_false(sl_warned(&pair.warnings, SL_W_CONDITIONS));
    sl_document_finish(&document);
}

static void the_caution_claims_no_permanence(void **state)
{
    (void)state;
    const char *caution = sl_retention_caution();
    assert_non_null(strstr(caution, "indicator"));
    assert_non_null(strstr(caution, "no claim of permanence"));
    assert_null(strstr(caution, "ISO"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(index_is_100_times_the_dried_bound_share),
        cmocka_unit_test(levels_follow_the_limits),
        cmocka_unit_test(undecided_says_what_is_still_sure),
        cmocka_unit_test(hold_rests_on_both_intervals),
        cmocka_unit_test(sentences_name_number_colour_and_hold),
        cmocka_unit_test(every_sentence_is_whole),
        cmocka_unit_test(a_strip_paired_with_itself_holds_at_once),
        cmocka_unit_test(more_ink_changes_no_verdict),
        cmocka_unit_test(a_blank_strip_gives_no_verdict),
        cmocka_unit_test(told_inks_that_differ_are_refused),
        cmocka_unit_test(strips_that_are_not_there_are_refused),
        cmocka_unit_test(dyes_of_another_ink_are_pointed_at),
        cmocka_unit_test(the_same_dyes_run_otherwise_are_not_suspected),
        cmocka_unit_test(other_conditions_are_pointed_at),
        cmocka_unit_test(a_line_that_hardly_dried_is_pointed_at),
        cmocka_unit_test(the_caution_claims_no_permanence),
    };
    return cmocka_run_group_tests_name("retention/judge", tests, NULL, NULL);
}
