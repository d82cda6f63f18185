// SPDX-License-Identifier: GPL-3.0-or-later
/* The origin: where ink was ruled, however much of it ran, and how sure that is said to be. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <gsl/gsl_errno.h>
#include <math.h>

#include "made_sheet.h"
#include "strip/marks_edge.h"
#include "strip/marks_origin.h"

static struct sl_marks marks_of(const struct made_spec *spec, bool *ret_told)
{
    struct sl_sheet sheet = made_sheet(spec);
    struct sl_outline outline = made_outline(spec);
    struct sl_strip_hints hints;
    struct sl_warnings warnings = {0};
    struct sl_status status;
    struct sl_marks marks;
    sl_strip_hints_init(&hints);
    hints.upside_down = 0;
    assert_int_equal(sl_sheet_read_marks(&sheet, &outline, &hints, &marks, &warnings, &status),
                     SL_OK);
    sl_sheet_finish(&sheet);
    if (ret_told)
        *ret_told = sl_warned(&warnings, SL_W_ORIGIN_UNSURE);
    return marks;
}

/* A strip under light that makes clean paper 1, as it is once light is divided out. */
static struct sl_view view_of(struct made_spec spec)
{
    struct sl_view view;
    spec.light = 1 / spec.paper[0];
    struct sl_sheet sheet = made_sheet(&spec);
    assert_true(sl_view_init(&view, &sheet));
    sl_sheet_finish(&sheet);
    return view;
}

static struct made_band line_at(double v, double half, double load)
{
    return (struct made_band){
        .v = v, .sigma = 0.002, .half_line = half, .load = {load, load, load}};
}

/* A dye that hardly moved stands just above a line that kept next to nothing. */
static void slow_band_is_no_line(void **state)
{
    (void)state;
    for (int i = 0; i < 5; i++) {
        struct made_spec spec = made_ink();
        double trace = 0.02 * exp2(i);
        spec.band[0] = line_at(0.15, 0.008, trace);
        spec.band[1] = (struct made_band){.v = 0.205, .sigma = 0.015, .load = {2, 1, 1}};
        bool told;
        struct sl_marks marks = marks_of(&spec, &told);
        bool right = fabs(marks.origin - 0.15) < 0.004;
        assert_true(right || i < 4); /* from a sixth of the band's load on it is plain */
        assert_true(right || (told && fabs(marks.origin - 0.15) < 2.5 * marks.origin_sigma));
    }
}

/* Swallowed by a band that begins on it, there is only the band's foot to go by. */
static void swallowed_line_is_told_to_be_unsure(void **state)
{
    (void)state;
    for (int i = 0; i < 4; i++) {
        struct made_spec spec = made_ink();
        double centre = 0.18 + 0.01 * i;
        spec.band_count = 1;
        spec.band[0] = (struct made_band){
            .v = centre, .sigma = 0.015 + 0.005 * i, .load = {2, 1.5, 0.5}, .foot = 0.02};
        struct sl_marks marks = marks_of(&spec, NULL);
        assert_true(marks.origin < centre && marks.origin > centre - 2 * spec.band[0].sigma - 0.02);
        assert_true(marks.origin_sigma > 0.004);
    }
}

/* Two lines alike, neither of which has dye above: the interval reaches to the other. */
static void two_lines_alike_leave_it_open(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.band_count = 2;
    spec.band[0] = line_at(0.11, 0.006, 0.12);
    spec.band[1] = line_at(0.19, 0.006, 0.5);
    bool told;
    struct sl_marks marks = marks_of(&spec, &told);
    assert_true(fabs(marks.origin - 0.11) < 2.5 * marks.origin_sigma + 0.002);
    assert_true(fabs(marks.origin - 0.19) < 2.5 * marks.origin_sigma + 0.002);
    double other = marks.origin < 0.15 ? 0.19 : 0.11;
    assert_true(fabs(marks.origin_other - other) < 0.004);
    assert_true(marks.origin_elsewhere > 0.1 && marks.origin_elsewhere < 0.9);
    assert_true(told);
}

/* A plain line is known to a row, and nobody is bothered. */
static void plain_line_is_sure(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    bool told;
    struct sl_marks marks = marks_of(&spec, &told);
    assert_true(fabs(marks.origin - 0.15) < 0.0015);
    assert_true(marks.origin_sigma < 0.004);
    assert_true(marks.origin_elsewhere < 0.025);
    assert_false(told);
}

static double dice(uint32_t *seed, double from, double to)
{
    *seed = *seed * 1664525U + 1013904223U; /* Numerical Recipes' generator */
    return from + (to - from) * ((double)(*seed >> 8) + 0.5) / 16777216.0;
}

/* Lines of any width, place and amount with up to two bands at any place above. */
static void intervals_hold_the_truth(void **state)
{
    (void)state;
    enum { STRIPS = 40 };
    uint32_t seed = 7;
    int held = 0, near = 0;
    for (int i = 0; i < STRIPS; i++) {
        struct made_spec spec = made_ink();
        double v = dice(&seed, 0.09, 0.22), half = dice(&seed, 0.004, 0.011);
        spec.band[0] = line_at(v, half, exp(dice(&seed, log(0.04), log(3))));
        spec.band[0].slant = dice(&seed, -0.012, 0.012);
        for (int k = 1; k <= 2; k++)
            spec.band[k] = (struct made_band){.v = v + dice(&seed, 0.04, 0.5),
                                              .sigma = dice(&seed, 0.012, 0.03),
                                              .load = {dice(&seed, 0, 2), dice(&seed, 0, 2), 0.2},
                                              .foot = dice(&seed, 0.01, 0.03)};
        struct sl_marks marks = marks_of(&spec, NULL);
        held += fabs(marks.origin - v) < 1.96 * marks.origin_sigma;
        near += fabs(marks.origin - v) < 0.004;
    }
    assert_true(held >= 0.9 * STRIPS);
    assert_true(near >= 0.85 * STRIPS);
}

static const struct sl_edge *edge_near(const struct sl_edge *edges, int count, double v)
{
    for (int i = 0; i < count; i++)
        if (fabs(edges[i].v - v) < 0.004)
            return &edges[i];
    return NULL;
}

static void ruled_edge_is_told_from_a_flank(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.band_count = 2;
    spec.band[0] = line_at(0.1, 0.012, 1);
    spec.band[0].slant = 0.012;
    spec.band[1] = (struct made_band){.v = 0.26, .sigma = 0.03, .load = {0.3, 0.3, 0.3}};
    struct sl_view view = view_of(spec);
    struct sl_edge edges[SL_EDGES_MAX];
    int count = sl_edges_find(&view, NULL, 0, 0.02, 0.02, 0.35, edges);
    const struct sl_edge *line = edge_near(edges, count, 0.1 - 0.014), *flank = NULL;
    assert_non_null(line);
    assert_true(line->risen && !line->hidden);
    assert_true(fabs(line->slant - 0.012) < 0.004);
    assert_true(line->highest_below < 0.1 * line->above);
    assert_true(line->step > 0.85 * line->above);
    for (int i = 0; i < count; i++)
        if (edges[i].v > 0.15 && edges[i].v < 0.26)
            flank = &edges[i];
    assert_non_null(flank);
    assert_true(flank->step < 0.85 * flank->above);
    assert_true(flank->highest_below > 2 * flank->step);
    sl_view_finish(&view);
}

static void end_of_what_is_seen_is_told(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.band_count = 1;
    spec.band[0] = line_at(0.2, 0.1, 1); /* dye from 0.1 on */
    struct sl_view view = view_of(spec);
    struct sl_edge edges[SL_EDGES_MAX];
    int count = sl_edges_find(&view, NULL, 0, 0.02, 0.02, 0.35, edges);
    const struct sl_edge *edge = edge_near(edges, count, 0.1);
    assert_non_null(edge);
    assert_false(edge->hidden);
    for (int row = 0; row < (int)(0.095 * view.rows); row++)
        view.blind[row] = true;
    count = sl_edges_find(&view, NULL, 0, 0.02, 0.02, 0.35, edges);
    edge = edge_near(edges, count, 0.1);
    assert_non_null(edge);
    assert_true(edge->hidden);
    sl_view_finish(&view);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plain_line_is_sure),
        cmocka_unit_test(slow_band_is_no_line),
        cmocka_unit_test(swallowed_line_is_told_to_be_unsure),
        cmocka_unit_test(two_lines_alike_leave_it_open),
        cmocka_unit_test(intervals_hold_the_truth),
        cmocka_unit_test(ruled_edge_is_told_from_a_flank),
        cmocka_unit_test(end_of_what_is_seen_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
