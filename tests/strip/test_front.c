// SPDX-License-Identifier: GPL-3.0-or-later
/* The front: where it is taken to be, in what shape, and how sure that is said to be. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <gsl/gsl_errno.h>
#include <math.h>

#include "made_sheet.h"

struct front {
    struct sl_marks marks;
    bool told; /* a warning says that it is not seen, or not sure */
};

static struct front read_front(const struct made_spec *spec, struct sl_sheet sheet)
{
    struct sl_outline outline = made_outline(spec);
    struct sl_strip_hints hints;
    struct sl_warnings warnings = {0};
    struct sl_status status;
    struct front ret = {0};
    sl_strip_hints_init(&hints);
    assert_int_equal(sl_sheet_read_marks(&sheet, &outline, &hints, &ret.marks, &warnings, &status),
                     SL_OK);
    ret.told = sl_warned(&warnings, SL_W_FRONT_UNSEEN);
    sl_sheet_finish(&sheet);
    return ret;
}

static struct front front_of(const struct made_spec *spec)
{
    return read_front(spec, made_sheet(spec));
}

/* Multiplies the light of every cell by what a function of its place says. */
static struct sl_sheet shaded(const struct made_spec *spec, void (*shade)(double, double, double *))
{
    struct sl_sheet sheet = made_sheet(spec);
    for (int row = 0; row < sheet.rows; row++)
        for (int column = 0; column < sheet.columns; column++) {
            double factor[3];
            shade((column + 0.5) / sheet.columns, (row + 0.5) / sheet.rows, factor);
            for (int c = 0; c < 3; c++)
                sheet.rgb[3 * (row * sheet.columns + column) + c] *= (float)factor[c];
        }
    return sheet;
}

/* Of a wave of amplitude a, sampled across the middle 90 % of the width. */
static double wave_spread(double amplitude, double turns)
{
    double sum = 0, squares = 0;
    enum { SAMPLES = 900 };
    for (int i = 0; i < SAMPLES; i++) {
        double value = amplitude * sin(turns * (0.05 + 0.9 * (i + 0.5) / SAMPLES));
        sum += value, squares += value * value;
    }
    return sqrt(squares / SAMPLES - sum * sum / SAMPLES / SAMPLES);
}

static void fingered_dye_is_read_at_its_mean(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.front_v = 0.61;
    spec.front_finger = 0.015;
    struct front f = front_of(&spec);
    assert_int_equal(f.marks.front_seen, SL_FRONT_DYE);
    assert_true(fabs(f.marks.front - 0.61) < 0.008);
    double spread = wave_spread(0.015, 31);
    assert_true(fabs(f.marks.front_spread - spread) < 0.25 * spread);
}

static void slanted_dye_gives_its_slant(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.front_v = 0.61;
    spec.front_slant = 0.03;
    struct front f = front_of(&spec);
    assert_int_equal(f.marks.front_seen, SL_FRONT_DYE);
    assert_true(fabs(f.marks.front_slant - 0.03) < 0.005);
    assert_true(fabs(f.marks.front - 0.61) < 0.006);
}

static void water_line_is_followed_round_its_fingers(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.water_line_v = 0.8;
    spec.water_line_finger = 0.01;
    struct front f = front_of(&spec);
    assert_int_equal(f.marks.front_seen, SL_FRONT_WATER_LINE);
    assert_true(fabs(f.marks.front - 0.8) < 0.006);
    double spread = wave_spread(0.01, 20);
    assert_true(fabs(f.marks.front_spread - spread) < 0.25 * spread);
}

/* In a line's shape and place, the colour of a ridge's shade. */
static void ridge(double u, double v, double factor[3])
{
    double off = (v - 0.8 - 0.005 * sin(20 * u)) / 0.003;
    for (int c = 0; c < 3; c++)
        factor[c] = exp(-0.06 * exp(-off * off / 2));
}

/* Brighter than paper, a water line's negative. */
static void bright_line(double u, double v, double factor[3])
{
    const double brown[3] = {0.02, 0.05, 0.12};
    double off = (v - 0.8 - 0.005 * sin(20 * u)) / 0.003;
    for (int c = 0; c < 3; c++)
        factor[c] = exp(brown[c] * exp(-off * off / 2));
}

static void other_lines_are_no_water_lines(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    assert_int_not_equal(read_front(&spec, shaded(&spec, ridge)).marks.front_seen,
                         SL_FRONT_WATER_LINE);
    assert_int_not_equal(read_front(&spec, shaded(&spec, bright_line)).marks.front_seen,
                         SL_FRONT_WATER_LINE);
}

/* A bluish shade that grows up to the end of what is seen. */
static void dim_end(double u, double v, double factor[3])
{
    const double tint[3] = {1.0, 0.8, 0.5};
    (void)u;
    for (int c = 0; c < 3; c++)
        factor[c] = exp(-0.7 * tint[c] * fmax(v - 0.8, 0) / 0.2);
}

/* A bluish shade in the last tenth that no clean paper tells from dye. */
static void dark_end(double u, double v, double factor[3])
{
    const double tint[3] = {1.0, 0.8, 0.5};
    (void)u;
    for (int c = 0; c < 3; c++)
        factor[c] = exp(-0.8 * tint[c] / (1 + exp((0.9 - v) / 0.01)));
}

static void shade_at_the_upper_end_is_no_dye(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.front_v = 0.61;
    struct front f = read_front(&spec, shaded(&spec, dark_end));
    assert_true(fabs(f.marks.front - 0.61) < 0.01);
}

static void hide_from(struct sl_sheet *sheet, double v)
{
    for (int row = (int)(v * sheet->rows); row < sheet->rows; row++)
        for (int column = 0; column < sheet->columns; column++)
            sheet->flags[row * sheet->columns + column] |= SL_CELL_HIDDEN;
}

static void hidden_end_is_no_front(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.front_v = 0.61;
    struct sl_sheet sheet = shaded(&spec, dim_end);
    hide_from(&sheet, 0.93);
    struct front f = read_front(&spec, sheet);
    assert_true(fabs(f.marks.front - 0.61) < 0.01);
}

/* Wherever the front cuts a band, it is taken to be where dye ends, and the error covers how far
 * off that is; where it cuts deep, it is seen. */
static void error_covers_the_truth_wherever_a_band_is_cut(void **state)
{
    (void)state;
    for (int i = 0; i <= 10; i++) {
        struct made_spec spec = made_ink();
        spec.front_v = 0.6 + 0.01 * i;
        struct front f = front_of(&spec);
        assert_true(fabs(f.marks.front - spec.front_v) < 1.96 * f.marks.front_sigma + 1e-3);
        assert_true(fabs(f.marks.front - spec.front_v) < 0.015);
        if (i < 3)
            assert_true(f.marks.front_seen == SL_FRONT_DYE && f.marks.front_sigma < 0.03);
        if (i == 10)
            assert_true(f.told && f.marks.front_sigma > 0.04);
    }
}

static void doubt_is_told_and_only_then(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    for (int i = 0; i <= 10; i++) {
        spec.front_v = 0.6 + 0.01 * i;
        struct front f = front_of(&spec);
        bool unsure = f.marks.front_seen == SL_FRONT_NOT_SEEN || f.marks.front_doubtful;
        assert_int_equal(f.told, unsure);
    }
    spec.tick_v = 0.75;
    assert_false(front_of(&spec).told);
}

/* Pencil beside the ink line says where it was ruled, no matter that no dye stands higher. */
static void pencil_beside_the_origin_is_no_front(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.band_count = 1;
    spec.pencil_v = 0.17;
    spec.pencil_depth = 0.6;
    struct front f = front_of(&spec);
    assert_int_not_equal(f.marks.front_seen, SL_FRONT_PENCIL);
    assert_true(f.marks.front - f.marks.origin > 0.1);
    spec.pencil_v = 0.5;
    f = front_of(&spec);
    assert_int_equal(f.marks.front_seen, SL_FRONT_PENCIL);
    assert_true(fabs(f.marks.front - 0.5) < 0.003);
}

/* Far above all dye and at the very end, where pegs and tables shade the paper, a faint line says
 * little; the error reaches to it. */
static void line_at_the_very_end_is_doubted(void **state)
{
    (void)state;
    struct made_spec spec = made_ink();
    spec.band_count = 2;
    spec.band[1].v = 0.25;
    spec.water_line_v = 0.925;
    struct front f = front_of(&spec);
    assert_int_not_equal(f.marks.front_seen, SL_FRONT_WATER_LINE);
    assert_true(f.told);
    assert_true(f.marks.front + 2.5 * f.marks.front_sigma > 0.925);
    spec.water_line_v = 0.6;
    f = front_of(&spec);
    assert_int_equal(f.marks.front_seen, SL_FRONT_WATER_LINE);
    assert_true(fabs(f.marks.front - 0.6) < 0.006);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fingered_dye_is_read_at_its_mean),
        cmocka_unit_test(slanted_dye_gives_its_slant),
        cmocka_unit_test(water_line_is_followed_round_its_fingers),
        cmocka_unit_test(other_lines_are_no_water_lines),
        cmocka_unit_test(shade_at_the_upper_end_is_no_dye),
        cmocka_unit_test(hidden_end_is_no_front),
        cmocka_unit_test(error_covers_the_truth_wherever_a_band_is_cut),
        cmocka_unit_test(doubt_is_told_and_only_then),
        cmocka_unit_test(pencil_beside_the_origin_is_no_front),
        cmocka_unit_test(line_at_the_very_end_is_doubted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
