// SPDX-License-Identifier: GPL-3.0-or-later
/* Profiles of sheets of which the dye is known. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <gsl/gsl_errno.h>
#include <math.h>

#include "../strip/made_sheet.h"
#include "strandline/profile.h"

struct made {
    struct sl_sheet sheet;
    struct sl_marks marks;
    struct sl_profile profile;
};

static void make(struct made *m, const struct made_spec *spec, struct sl_sheet sheet,
                 bool straighten)
{
    *m = (struct made){.sheet = sheet};
    struct sl_outline outline = made_outline(spec);
    struct sl_strip_hints hints;
    struct sl_warnings warnings = {0};
    struct sl_status status;
    sl_strip_hints_init(&hints);
    hints.upside_down = 0;
    assert_int_equal(
        sl_sheet_read_marks(&m->sheet, &outline, &hints, &m->marks, &warnings, &status), SL_OK);
    struct sl_profile_options options;
    sl_profile_options_init(&options);
    options.straighten_fronts = straighten;
    assert_int_equal(sl_profile_make(&m->sheet, &m->marks, &options, &m->profile, &status), SL_OK);
}

static void finish(struct made *m)
{
    sl_profile_finish(&m->profile);
    sl_sheet_finish(&m->sheet);
}

/* Mean of the true load over the middle 90 % of the width. */
static void true_load(const struct made_spec *spec, double v, double ret[3])
{
    for (int c = 0; c < 3; c++)
        ret[c] = 0;
    enum { N = 200 };
    for (int i = 0; i < N; i++) {
        double load[3];
        made_load(spec, 0.05 + 0.9 * (i + 0.5) / N, v, load);
        for (int c = 0; c < 3; c++)
            ret[c] += load[c] / N;
    }
}

static void flat_field_has_no_load(void **state)
{
    (void)state;
    struct made_spec spec = made_spec();
    struct made m;
    make(&m, &spec, made_sheet(&spec), true);
    assert_int_equal(m.profile.count, spec.rows);
    for (size_t i = 0; i < m.profile.count; i++)
        for (int c = 0; c < 3; c++) {
            assert_true(fabs(m.profile.load[i][c]) < 1e-4);
            assert_true(fabs(m.profile.density[i][c]) < 1e-3);
            /* L*a*b* relative to paper: white */
            assert_true(fabs(m.profile.lab_d50[i][c] - (c == 0 ? 100 : 0)) < 0.05);
        }
    finish(&m);
}

static void load_is_that_of_the_dye(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.light_along = 0.3;
    struct made m;
    make(&m, &spec, made_sheet(&spec), false);
    for (size_t i = 20; i + 20 < m.profile.count; i++) {
        double expected[3];
        true_load(&spec, m.profile.position[i], expected);
        for (int c = 0; c < 3; c++) {
            double error = hypot(m.profile.load_se[i][c], m.profile.light_se[i][c]);
            /* half a row's change of a steep flank comes on top */
            double step = 0.25 * fabs(m.profile.load[i + 1][c] - m.profile.load[i - 1][c]);
            assert_true(fabs(m.profile.load[i][c] - expected[c]) < 5 * error + step + 0.01);
        }
    }
    finish(&m);
}

/* Writing beside and above the bands must not count as dye. */
static void writing_is_left_out(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    struct sl_sheet sheet = made_sheet(&spec);
    for (int row = 510; row < 540; row++)
        for (int column = 40; column < 43; column++)
            for (int c = 0; c < 3; c++)
                sheet.rgb[3 * (row * spec.columns + column) + c] *= 0.3F;
    struct made m;
    make(&m, &spec, sheet, false);
    for (size_t i = 505; i < 545; i++)
        for (int c = 0; c < 3; c++)
            assert_true(fabs(m.profile.load[i][c]) < 0.01);
    finish(&m);
}

static void errors_match_the_scatter(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.noise = 0.03;
    struct made m;
    make(&m, &spec, made_sheet(&spec), false);
    double squares = 0;
    int n = 0;
    for (size_t i = 420; i < 570; i++, n++) {
        double z = m.profile.load[i][1] / hypot(m.profile.load_se[i][1], m.profile.light_se[i][1]);
        squares += z * z;
    }
    /* one, within three standard errors of 150 samples and what light takes its share of */
    assert_true(sqrt(squares / n) > 0.6 && sqrt(squares / n) < 1.3);
    assert_true(m.profile.correlation_samples < 1.5);
    finish(&m);
}

static void mirrored_strip_gives_the_same_profile(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.noise = 0;
    spec.band[1].slant = 0.02;
    struct sl_sheet sheet = made_sheet(&spec);
    made_mirror(&sheet);
    struct made plain, mirrored;
    make(&plain, &spec, made_sheet(&spec), true);
    make(&mirrored, &spec, sheet, true);
    for (size_t i = 0; i < plain.profile.count; i++)
        for (int c = 0; c < 3; c++)
            /* a column on the border of two lanes changes sides */
            assert_true(fabs(plain.profile.load[i][c] - mirrored.profile.load[i][c]) <
                        2e-3 + 0.01 * plain.profile.load[i][c]);
    finish(&plain);
    finish(&mirrored);
}

static double width_at_half(const struct sl_profile *p, double from, double to, int channel,
                            double *ret_centroid)
{
    double top = 0, sum = 0, moment = 0;
    size_t above = 0;
    for (size_t i = 0; i < p->count; i++)
        if (p->position[i] > from && p->position[i] < to)
            top = fmax(top, p->load[i][channel]);
    for (size_t i = 0; i < p->count; i++) {
        if (p->position[i] <= from || p->position[i] >= to)
            continue;
        above += p->load[i][channel] > top / 2;
        sum += p->load[i][channel];
        moment += p->load[i][channel] * p->position[i];
    }
    *ret_centroid = moment / sum;
    return (double)above / (double)p->count;
}

static void slanted_front_is_straightened_in_place(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.band[2] = (struct made_band){.v = 0.6, .sigma = 0.012, .load = {1, 0.3, 0.05}};
    spec.band[2].slant = 0.08;
    struct made plain, straight;
    make(&plain, &spec, made_sheet(&spec), false);
    make(&straight, &spec, made_sheet(&spec), true);
    double centre_plain, centre_straight;
    double wide = width_at_half(&plain.profile, 0.5, 0.7, 0, &centre_plain);
    double narrow = width_at_half(&straight.profile, 0.5, 0.7, 0, &centre_straight);
    assert_true(narrow < 0.75 * wide);
    assert_true(fabs(centre_plain - centre_straight) < 0.002);
    assert_true(straight.profile.straightened > 0.003);
    assert_true(plain.profile.straightened == 0);
    finish(&plain);
    finish(&straight);
}

static void level_strip_is_not_straightened(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    struct made m;
    make(&m, &spec, made_sheet(&spec), true);
    assert_true(m.profile.straightened == 0);
    finish(&m);
}

static void hidden_rows_are_flagged_and_finite(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    struct sl_sheet sheet = made_sheet(&spec);
    for (int cell = 560 * spec.columns; cell < 600 * spec.columns; cell++)
        sheet.flags[cell] |= SL_CELL_HIDDEN;
    struct made m;
    make(&m, &spec, sheet, true);
    for (size_t i = 0; i < m.profile.count; i++)
        for (int c = 0; c < 3; c++) {
            assert_true(isfinite(m.profile.load[i][c]) && isfinite(m.profile.lab_d50[i][c]));
            assert_true(isfinite(m.profile.load_se[i][c]) && isfinite(m.profile.lab_se[i][c]));
        }
    assert_true(m.profile.flags[580] & SL_CELL_HIDDEN);
    assert_true(m.profile.load_se[580][0] > 0.5);
    assert_false(m.profile.flags[300] & SL_CELL_HIDDEN);
    finish(&m);
}

static void an_empty_part_across_is_refused(void **state)
{
    (void)state;
    struct made_spec spec = made_spec();
    struct sl_sheet sheet = made_sheet(&spec);
    struct sl_marks marks = {.paper_reflectance = {0.85, 0.85, 0.85}};
    struct sl_profile_options options = {.across_from = 0.6, .across_to = 0.4};
    struct sl_profile profile = {0};
    struct sl_status status;
    assert_int_equal(sl_profile_make(&sheet, &marks, &options, &profile, &status), SL_E_RANGE);
    assert_null(profile.load);
    sl_profile_finish(&profile);
    sl_profile_finish(NULL);
    sl_sheet_finish(&sheet);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(flat_field_has_no_load),
        cmocka_unit_test(load_is_that_of_the_dye),
        cmocka_unit_test(writing_is_left_out),
        cmocka_unit_test(errors_match_the_scatter),
        cmocka_unit_test(mirrored_strip_gives_the_same_profile),
        cmocka_unit_test(slanted_front_is_straightened_in_place),
        cmocka_unit_test(level_strip_is_not_straightened),
        cmocka_unit_test(hidden_rows_are_flagged_and_finite),
        cmocka_unit_test(an_empty_part_across_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
