// SPDX-License-Identifier: GPL-3.0-or-later
/* The words on figures, in the report and on the page: numbers, and the verdict in its order. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "figure/words.h"

static void numbers_read_well(void **state)
{
    (void)state;
    const double narrow[2] = {0.28, 0.34}, low[2] = {-0.004, 0.012};
    char text[64];
    words_share(0.31, narrow, text, sizeof text);
    assert_string_equal(text, "31\u00a0% (28–34)");
    const double across[2] = {-3, 4};
    words_hue(0.4, across, text, sizeof text);
    assert_string_equal(text, "0° (357–4)");
    words_hue(NAN, across, text, sizeof text);
    assert_string_equal(text, "–");
    words_share(0.012, NULL, text, sizeof text);
    assert_string_equal(text, "1.2\u00a0%");
    words_rf(0.004, low, text, sizeof text);
    assert_string_equal(text, "0.004 (−0.004–0.012)");
    words_rf(-0.0001, NULL, text, sizeof text);
    assert_string_equal(text, "0.000");
    words_rf(NAN, NULL, text, sizeof text);
    assert_string_equal(text, "–");
}

typedef void words_of_pair(const struct sl_pair *, char *, size_t);

static void assert_words(words_of_pair *words, const struct sl_pair *pair, const char *expected)
{
    char text[WORDS_BYTES];
    words(pair, text, sizeof text);
    assert_string_equal(text, expected);
}

/* Words and numbers of one probability. */
static void probabilities_read_well(void **state)
{
    (void)state;
    static const struct {
        double probability;
        const char *words;
    } cases[] = {
        {1, "virtually certain (more than 99\u00a0%)"},
        {0.996, "virtually certain (more than 99\u00a0%)"},
        {0.99, "virtually certain (99\u00a0%)"},
        {0.94, "very likely (94\u00a0%)"},
        {0.899, "likely (89\u00a0%)"},
        {0.29, "unlikely (29\u00a0%)"},
        {0.66, "likely (66\u00a0%)"},
        {0.5, "about as likely as not (50\u00a0%)"},
        {0.2, "unlikely (20\u00a0%)"},
        {0.04, "very unlikely (4\u00a0%)"},
        {0.004, "exceptionally unlikely (less than 1\u00a0%)"},
        {NAN, ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[64];
        words_likely(cases[i].probability, text, sizeof text);
        assert_string_equal(text, cases[i].words);
    }
}

static void the_answer_is_in_plain_words(void **state)
{
    (void)state;
    struct sl_pair pair = {.answer = SL_ANSWER_STAYS};
    assert_words(words_answer, &pair, "Stays in this dip");
    pair.answer = SL_ANSWER_PARTLY_STAYS;
    assert_words(words_answer, &pair, "Partly stays");
    pair.answer = SL_ANSWER_WASHES_AWAY;
    assert_words(words_answer, &pair, "Washes away");
    pair.answer = SL_ANSWER_NONE;
    static const char *const why[] = {
        [SL_UNJUDGED_BLANK] = "No ink found",
        [SL_UNJUDGED_ORIGIN] = "Is the ink line in the photo?",
        [SL_UNJUDGED_CLIMB] = "The water hardly climbed",
        [SL_UNJUDGED_TWO_INKS] = "Two different inks?",
    };
    for (int i = SL_UNJUDGED_BLANK; i <= SL_UNJUDGED_TWO_INKS; i++) {
        pair.unjudged = (enum sl_unjudged)i;
        assert_words(words_answer, &pair, why[i]);
    }
}

/* Where nobody can tell, the range is the headline; one decimal where whole percents are the same.
 */
static void an_open_answer_is_the_range(void **state)
{
    (void)state;
    struct sl_pair pair = {.answer = SL_ANSWER_OPEN, .dried_retained_interval = {0.04, 0.12}};
    assert_words(words_answer, &pair, "4 to 12\u00a0% stays");
    pair.dried_retained_interval[0] = -0.01;
    assert_words(words_answer, &pair, "0 to 12\u00a0% stays");
    pair.dried_retained_interval[0] = 0.0781;
    pair.dried_retained_interval[1] = 0.0824;
    assert_words(words_answer, &pair, "7.8 to 8.2\u00a0% stays");
}

static void how_sure_the_answer_is(void **state)
{
    (void)state;
    struct sl_pair pair = {.answer = SL_ANSWER_STAYS, .answer_probability = 0.75};
    assert_words(words_sure, &pair,
                 "Likely (75\u00a0%): at least 30\u00a0% of the dye was still at the ink line.");
    pair.answer = SL_ANSWER_PARTLY_STAYS;
    assert_words(words_sure, &pair,
                 "Likely (75\u00a0%): at least 8\u00a0% of the dye was still at the ink line.");
    pair.answer = SL_ANSWER_WASHES_AWAY;
    assert_words(words_sure, &pair,
                 "Likely (75\u00a0%): less than 8\u00a0% of the dye was still at the ink line.");
    pair.answer = SL_ANSWER_OPEN;
    pair.answer_probability = 0.5;
    assert_words(words_sure, &pair,
                 "Nobody can tell from this if that is enough. About as likely as not "
                 "(50\u00a0%): at "
                 "least 8\u00a0% of the dye was still at the ink line.");
    pair.answer = SL_ANSWER_NONE;
    assert_words(words_sure, &pair, "");
}

static void the_level_comes_with_index_and_probability(void **state)
{
    (void)state;
    struct sl_pair pair = {.answer = SL_ANSWER_PARTLY_STAYS,
                           .index = 23,
                           .index_interval = {15, 31},
                           .level = SL_LEVEL_PARTIAL,
                           .level_probability = {0, 0, 0.81, 0.19}};
    assert_words(words_level, &pair,
                 "Retention index 23 (15–31): level partial, likely (81\u00a0%).");
    pair.answer = SL_ANSWER_STAYS; /* the answer has told it */
    assert_words(words_level, &pair, "Retention index 23 (15–31): level partial.");
    pair.answer = SL_ANSWER_NONE;
    assert_words(words_level, &pair, "");
}

static void drying_is_told_where_something_stays(void **state)
{
    (void)state;
    struct sl_pair pair = {.answer = SL_ANSWER_STAYS, .drying_probability = 0.72};
    assert_words(words_drying, &pair, "Likely (72\u00a0%): holds more once dry.");
    pair.drying_probability = 0.05;
    assert_words(words_drying, &pair, "Very likely (95\u00a0%): holds as much at once.");
    pair.drying_probability = 0.5;
    assert_words(words_drying, &pair, "");
    pair.drying_probability = NAN;
    assert_words(words_drying, &pair, "");
    pair.drying_probability = 0.99;
    pair.answer = SL_ANSWER_WASHES_AWAY;
    assert_words(words_drying, &pair, "");
    pair.answer = SL_ANSWER_OPEN;
    assert_words(words_drying, &pair, "");
}

/* The second question is answered apart from the first, as what is inferred, with what settles it.
 */
static void a_soak_is_told_as_inferred(void **state)
{
    (void)state;
    static const struct {
        double probability;
        const char *words;
    } cases[] = {
        {0.8, "It is likely (80\u00a0%) that at least 8\u00a0% would remain."},
        {0.2, "It is likely (80\u00a0%) that less than 8\u00a0% would remain."},
        {0.5, "Nobody can tell from one dip: that at least 8\u00a0% would remain is about as "
              "likely as not"},
    };
    struct sl_pair pair = {.answer = SL_ANSWER_PARTLY_STAYS,
                           .dried_bound_share = 0.2,
                           .dried_bound_interval = {0.1, 0.3}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[WORDS_BYTES];
        pair.soak_probability = cases[i].probability;
        words_soak(&pair, text, sizeof text);
        assert_memory_equal(text, "Would a longer soak take it? ", 29);
        assert_non_null(strstr(text, cases[i].words));
        assert_non_null(strstr(text, "Inferred"));
        assert_non_null(strstr(text, "not seen: 20\u00a0% (10–30) of the dye is bound."));
        assert_non_null(strstr(text, "left in water for an hour, would settle it."));
    }
    pair.soak_probability = NAN;
    assert_words(words_soak, &pair, "");
    pair.soak_probability = 0.2;
    pair.answer = SL_ANSWER_WASHES_AWAY;
    assert_words(words_soak, &pair, "");
}

/* What is read first: the answer and how sure it is; then index and level; then the rest. */
static void the_whole_verdict_keeps_its_order(void **state)
{
    (void)state;
    static const char *const order[] = {
        "Partly stays. ",
        "Very likely (95\u00a0%): at least 8\u00a0%",
        "Retention index 23 (15–31)",
        "holds more once dry.",
        "Retained share when dipped at once: 3.0\u00a0% (2.0–4.0);",
        "when dried first: 23\u00a0% (15–31).",
        "Would a longer soak take it?",
        "This is an indicator",
    };
    struct sl_pair pair = {.answer = SL_ANSWER_PARTLY_STAYS,
                           .answer_probability = 0.95,
                           .immediate_retained_share = 0.03,
                           .immediate_retained_interval = {0.02, 0.04},
                           .dried_retained_share = 0.23,
                           .dried_retained_interval = {0.15, 0.31},
                           .index = 23,
                           .index_interval = {15, 31},
                           .level = SL_LEVEL_PARTIAL,
                           .level_probability = {0, 0.05, 0.81, 0.14},
                           .drying_probability = 0.97,
                           .dried_bound_share = 0.2,
                           .dried_bound_interval = {0.1, 0.3},
                           .soak_probability = 0.8};
    char text[WORDS_BYTES];
    const char *at = text;
    words_pair(&pair, text, sizeof text);
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        const char *next = strstr(at, order[i]);
        if (!next)
            fail_msg("\"%s\" does not stand where it should: %s", order[i], text);
        at = next;
    }
    assert_true(strlen(text) < WORDS_BYTES - 1);
}

/* The levels are equally wide, even inside, and an index on a limit is where the next begins. */
static void the_scale_has_its_limits_at_quarters(void **state)
{
    (void)state;
    static const double index[] = {0, 2, 8, 30, 100};
    for (int i = 0; i <= SL_LEVELS; i++)
        assert_true(fabs(words_scale_place(index[i]) - i / 4.0) < 1e-12);
    assert_true(fabs(words_scale_place(5) - 0.375) < 1e-12);
    assert_true(fabs(words_scale_place(19) - 0.625) < 1e-12);
    assert_true(words_scale_place(7.999) < 0.5);
    assert_true(words_scale_place(-3) == 0 && words_scale_place(120) == 1);
    for (double x = 0; x < 100; x += 0.25)
        assert_true(words_scale_place(x + 0.25) > words_scale_place(x));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_read_well),
        cmocka_unit_test(probabilities_read_well),
        cmocka_unit_test(the_answer_is_in_plain_words),
        cmocka_unit_test(an_open_answer_is_the_range),
        cmocka_unit_test(how_sure_the_answer_is),
        cmocka_unit_test(the_level_comes_with_index_and_probability),
        cmocka_unit_test(drying_is_told_where_something_stays),
        cmocka_unit_test(a_soak_is_told_as_inferred),
        cmocka_unit_test(the_whole_verdict_keeps_its_order),
        cmocka_unit_test(the_scale_has_its_limits_at_quarters),
    };
    return cmocka_run_group_tests_name("figure/words", tests, NULL, NULL);
}
