// SPDX-License-Identifier: GPL-3.0-or-later
/* Weighing the answers that a strip leaves open, on profiles made by hand. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "band/settle.h"

static const double z_95 = 1.959964;

static void assert_between(double value, double low, double high)
{
    if (!(value >= low && value <= high))
        fail_msg("%g is not within %g .. %g", value, low, high);
}

/* Chi-square rises as ((share - middle) / se)^2; points far apart, as the search leaves them. */
static void parabola(double middle, double se, double left, struct settle_profile *ret)
{
    *ret = (struct settle_profile){0};
    for (int k = -3; k <= 3; k++) {
        double at = middle + 1.3 * k * se;
        if (at < 0.0)
            continue;
        ret->at[ret->count] = at;
        ret->chi2[ret->count] = 50.0 + pow((at - middle) / se, 2.0);
        ret->left[ret->count++] = left;
    }
}

/* 0.04 of what stands on the line is the doubt of its shape. */
static void a_sharp_answer_stays_as_it_is(void **state)
{
    (void)state;
    struct settle settle = {.scale = 1.0};
    struct settle_known known = {.retained = 0.6, .retained_se = 0.01};
    parabola(0.3, 0.02, 0.0, &settle.kind[0]);
    struct settled settled = settle_weigh(&settle, &known);
    double se = hypot(0.02, 0.04 * 0.3);
    assert_between(settled.middle, 0.297, 0.303);
    assert_between(settled.high - settled.low, 1.9 * z_95 * se, 2.1 * z_95 * se);
}

static void what_is_known_beside_widens(void **state)
{
    (void)state;
    struct settle settle = {.scale = 1.0}, leaving = {.scale = 1.0};
    struct settle_known sure = {.retained = 0.6, .retained_se = 0.01};
    struct settle_known unsure = {
        .retained = 0.6, .retained_se = 0.01, .line_se = 0.02, .common = 0.1};
    parabola(0.3, 0.02, 0.0, &settle.kind[0]);
    parabola(0.3, 0.02, 0.1, &leaving.kind[0]);
    struct settled plain = settle_weigh(&settle, &sure), wide = settle_weigh(&settle, &unsure);
    struct settled doubt = settle_weigh(&leaving, &sure);
    assert_true(wide.high - wide.low > 1.3 * (plain.high - plain.low));
    assert_true(doubt.high - doubt.low > 1.3 * (plain.high - plain.low));
}

/* A total that may be wrong by a third moves the share by a third, never down to nothing. */
static void an_error_in_parts_leaves_something_bound(void **state)
{
    (void)state;
    struct settle settle = {.scale = 1.0};
    struct settle_known known = {.retained = 0.2, .retained_se = 0.01, .common = 0.35};
    parabola(0.12, 0.006, 0.0, &settle.kind[0]);
    struct settled settled = settle_weigh(&settle, &known);
    assert_between(settled.middle, 0.08, 0.16);
    assert_between(settled.low, 0.03, 0.08);
    assert_between(settled.high, 0.16, 0.3);
}

/* The line may be at another place, where next to nothing was retained. */
static void a_line_that_may_be_elsewhere_leaves_it_open(void **state)
{
    (void)state;
    struct settle settle = {.scale = 1.0};
    struct settle_known known = {.retained = 0.5, .retained_se = 0.01, .retained_elsewhere = 0.02};
    parabola(0.4, 0.01, 0.0, &settle.kind[0]);
    assert_true(settle_weigh(&settle, &known).low > 0.35);
    known.elsewhere = 0.2;
    struct settled doubted = settle_weigh(&settle, &known);
    assert_between(doubted.middle, 0.38, 0.42);
    assert_true(doubted.low < 0.02 && doubted.high > 0.42);
    known.elsewhere = 0.7;
    assert_true(settle_weigh(&settle, &known).middle < 0.02);
}

static void no_more_is_bound_than_was_retained(void **state)
{
    (void)state;
    struct settle settle = {.scale = 1.0};
    struct settle_known known = {.retained = 0.25, .retained_se = 0.002};
    parabola(0.3, 0.05, 0.0, &settle.kind[0]);
    struct settled settled = settle_weigh(&settle, &known);
    assert_between(settled.middle, 0.2, 0.25);
    assert_true(settled.high < 0.25 + 3.0 * 0.04 * 0.25);
}

/* Where one kind of streak says much and the other little, both stay in the interval. */
static void two_answers_stay_open(void **state)
{
    (void)state;
    struct settle settle = {.scale = 1.0};
    struct settle_known known = {.retained = 0.6, .retained_se = 0.01};
    parabola(0.12, 0.01, 0.0, &settle.kind[0]);
    parabola(0.3, 0.01, 0.0, &settle.kind[1]);
    struct settled settled = settle_weigh(&settle, &known);
    assert_true(settled.low < 0.12 && settled.high > 0.3);
    for (size_t k = 0; k < settle.kind[1].count; k++)
        settle.kind[1].chi2[k] += 30.0;
    settled = settle_weigh(&settle, &known);
    assert_between(settled.middle, 0.115, 0.125);
    assert_true(settled.high < 0.2);
}

/* A strip that says nothing between 0 and a tenth: what is common decides, and the rest stays in
 * the interval. */
static void without_evidence_little_is_bound(void **state)
{
    (void)state;
    struct settle settle = {.scale = 1.0,
                            .kind[0] = {.count = 2, .at = {0.0, 0.1}, .chi2 = {50.0, 50.0}}};
    struct settle_known known = {.retained = 0.3, .retained_se = 0.01};
    struct settled settled = settle_weigh(&settle, &known);
    assert_between(settled.middle, 0.003, 0.02);
    assert_between(settled.high, 0.03, 0.11);
    assert_between(settled.low, 0.0, 0.002);
}

static void the_scale_moves_the_answer(void **state)
{
    (void)state;
    struct settle settle = {.scale = 1.1};
    struct settle_known known = {.retained = 0.6, .retained_se = 0.01};
    parabola(0.3, 0.01, 0.0, &settle.kind[1]);
    assert_between(settle_weigh(&settle, &known).middle, 0.325, 0.335);
}

/* All answers far above what was retained, or a single one: nothing is told, least of all 0. */
static void what_does_not_go_together_tells_nothing(void **state)
{
    (void)state;
    struct settle settle = {.scale = 1.0}, lone = {.scale = 1.0};
    struct settle_known known = {.retained = 0.2, .retained_se = 0.002};
    parabola(0.5, 0.02, 0.0, &settle.kind[0]);
    assert_true(isnan(settle_weigh(&settle, &known).middle));
    lone.kind[1] = (struct settle_profile){.count = 1, .at = {0.153}, .chi2 = {50.0}};
    assert_true(isnan(settle_weigh(&lone, &known).middle));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sharp_answer_stays_as_it_is),
        cmocka_unit_test(what_is_known_beside_widens),
        cmocka_unit_test(an_error_in_parts_leaves_something_bound),
        cmocka_unit_test(a_line_that_may_be_elsewhere_leaves_it_open),
        cmocka_unit_test(no_more_is_bound_than_was_retained),
        cmocka_unit_test(two_answers_stay_open),
        cmocka_unit_test(without_evidence_little_is_bound),
        cmocka_unit_test(the_scale_moves_the_answer),
        cmocka_unit_test(what_does_not_go_together_tells_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
