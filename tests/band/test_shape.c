// SPDX-License-Identifier: GPL-3.0-or-later
/* The band shapes: their area, and their derivatives against differences. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>

#include "band/shape.h"

static const double step = 1e-5;

/* cmocka's own comparison is in single precision. */
static void assert_close(double value, double expected, double tolerance)
{
    if (!(fabs(value - expected) <= tolerance))
        fail_msg("%.12g, expected %.12g", value, expected);
}

static void assert_slope(double low, double high, double derivative, double scale)
{
    /* Central differences err by the step's square and by rounding over the step. */
    if (fabs((high - low) / (2.0 * step) - derivative) > 1e-6 * scale)
        fail_msg("derivative %g, differences %g", derivative, (high - low) / (2.0 * step));
}

static double emg(double x, double mean, double ln_sigma, double ln_tau)
{
    return shape_emg(x, mean, exp(ln_sigma), exp(ln_tau)).value;
}

static void emg_derivatives(void **state)
{
    (void)state;
    for (double x = -8.0; x <= 6.0; x += 0.37) {
        for (double s = -0.7; s < 0.8; s += 0.7) {
            for (double t = -2.0; t < 2.0; t += 0.9) {
                struct emg f = shape_emg(x, 0.1, exp(s), exp(t));
                assert_slope(emg(x, 0.1 - step, s, t), emg(x, 0.1 + step, s, t), f.by_mean, 1.0);
                assert_slope(emg(x, 0.1, s - step, t), emg(x, 0.1, s + step, t), f.by_ln_sigma,
                             1.0);
                assert_slope(emg(x, 0.1, s, t - step), emg(x, 0.1, s, t + step), f.by_ln_tau, 1.0);
            }
        }
    }
}

static double line(double x, double middle, double ln_width, double ln_blur)
{
    return shape_line(x, middle, exp(ln_width), exp(ln_blur)).value;
}

static void line_derivatives(void **state)
{
    (void)state;
    for (double x = -3.0; x <= 3.0; x += 0.21) {
        struct line f = shape_line(x, 0.2, exp(0.3), exp(-0.8));
        assert_slope(line(x, 0.2 - step, 0.3, -0.8), line(x, 0.2 + step, 0.3, -0.8), f.by_middle,
                     1.0);
        assert_slope(line(x, 0.2, 0.3 - step, -0.8), line(x, 0.2, 0.3 + step, -0.8), f.by_ln_width,
                     1.0);
        assert_slope(line(x, 0.2, 0.3, -0.8 - step), line(x, 0.2, 0.3, -0.8 + step), f.by_ln_blur,
                     1.0);
    }
}

static void streak_and_bath_derivatives(void **state)
{
    (void)state;
    for (double x = -0.2; x <= 1.2; x += 0.013) {
        struct streak s = shape_streak(x, 0.01, 0.7, 0.06, 2.3);
        assert_slope(shape_streak(x, 0.01, 0.7 - step, 0.06, 2.3).value,
                     shape_streak(x, 0.01, 0.7 + step, 0.06, 2.3).value, s.by_end, 10.0);
        assert_slope(shape_streak(x, 0.01, 0.7, 0.06 * exp(-step), 2.3).value,
                     shape_streak(x, 0.01, 0.7, 0.06 * exp(step), 2.3).value, s.by_ln_sigma, 10.0);
        assert_slope(shape_streak(x, 0.01, 0.7, 0.06, 2.3 * exp(-step)).value,
                     shape_streak(x, 0.01, 0.7, 0.06, 2.3 * exp(step)).value, s.by_ln_rate, 10.0);
        struct streak f = shape_fading(x, 0.01, 0.7, 0.06, 2.3);
        assert_slope(shape_fading(x, 0.01, 0.7 - step, 0.06, 2.3).value,
                     shape_fading(x, 0.01, 0.7 + step, 0.06, 2.3).value, f.by_end, 10.0);
        assert_slope(shape_fading(x, 0.01, 0.7, 0.06 * exp(-step), 2.3).value,
                     shape_fading(x, 0.01, 0.7, 0.06 * exp(step), 2.3).value, f.by_ln_sigma, 10.0);
        assert_slope(shape_fading(x, 0.01, 0.7, 0.06, 2.3 * exp(-step)).value,
                     shape_fading(x, 0.01, 0.7, 0.06, 2.3 * exp(step)).value, f.by_ln_rate, 10.0);
        struct bath b = shape_bath(x, 0.01, 0.05);
        assert_slope(shape_bath(x, 0.01, 0.05 * exp(-step)).value,
                     shape_bath(x, 0.01, 0.05 * exp(step)).value, b.by_ln_reach, 10.0);
    }
}

static void shapes_have_unit_area(void **state)
{
    (void)state;
    double emg_area = 0.0, line_area = 0.0, h = 0.002;
    for (double x = -40.0; x < 20.0; x += h) {
        emg_area += h * shape_emg(x, 0.3, 0.5, 1.5).value;
        line_area += h * shape_line(x, 0.3, 1.2, 0.3).value;
    }
    assert_close(emg_area, 1.0, 1e-6);
    assert_close(line_area, 1.0, 1e-6);
}

/* What a streak holds and what is still to be released add up to all that is released slowly. */
static void streak_and_unreleased_add_up(void **state)
{
    (void)state;
    double area = 0.0, h = 1e-4, rate = 2.3, end = 0.7;
    for (double x = -0.2; x < 1.5; x += h)
        area += h * shape_streak(x, 1e-3, end, 1e-3, rate).value;
    assert_close(area + exp(-rate * end), 1.0, 2e-3);
}

/* A search that passes the shortest tail meets no step there. */
static void a_short_tail_makes_no_step(void **state)
{
    (void)state;
    double sigma = 0.1, most = shape_emg(0.0, 0.0, sigma, 0.01 * sigma).value;
    for (double x = -0.4; x <= 0.4; x += 0.01) {
        double below = shape_emg(x, 0.0, sigma, 0.04999 * sigma).value;
        double above = shape_emg(x, 0.0, sigma, 0.05001 * sigma).value;
        assert_close(below / most, above / most, 2e-4);
    }
}

/* The closed form is a product of a huge and a tiny number far out: nothing may overflow. */
static void emg_is_finite_far_out(void **state)
{
    (void)state;
    for (double ratio = 0.01; ratio < 100.0; ratio *= 1.7) {
        for (double x = -300.0; x <= 300.0; x += 7.0) {
            struct emg f = shape_emg(x, 0.0, 1.0, ratio);
            assert_true(isfinite(f.value) && f.value >= 0.0);
            assert_true(isfinite(f.by_mean) && isfinite(f.by_ln_sigma) && isfinite(f.by_ln_tau));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(emg_derivatives),
        cmocka_unit_test(line_derivatives),
        cmocka_unit_test(streak_and_bath_derivatives),
        cmocka_unit_test(shapes_have_unit_area),
        cmocka_unit_test(streak_and_unreleased_add_up),
        cmocka_unit_test(a_short_tail_makes_no_step),
        cmocka_unit_test(emg_is_finite_far_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
