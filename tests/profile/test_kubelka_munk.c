// SPDX-License-Identifier: GPL-3.0-or-later
/* K/S, load and density against worked values. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "strandline/profile.h"

/* K/S = (1 - R)^2 / (2 R): P. Kubelka, F. Munk, Z. tech. Phys. 12 (1931) 593-601. The figures
 * follow from the formula by arithmetic. */
static const double k_over_s[][2] = {
    {1, 0},        {0.9, 0.00555556}, {0.8, 0.025},  {0.5, 0.25},
    {0.25, 1.125}, {0.1, 4.05},       {0.05, 9.025}, {0.02, 24.01},
};
/* R = 1 + F - sqrt(F^2 + 2 F), the inverse of the above. */
static const double inverse[][2] = {
    {0, 1}, {0.05, 0.72984379}, {0.25, 0.5}, {1.125, 0.25}, {4.05, 0.1},
};

static void kubelka_munk_gives_the_worked_values(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof k_over_s / sizeof *k_over_s; i++)
        assert_true(fabs(sl_kubelka_munk(k_over_s[i][0]) - k_over_s[i][1]) < 1e-8);
    for (size_t i = 0; i < sizeof inverse / sizeof *inverse; i++)
        assert_true(fabs(sl_kubelka_munk_inverse(inverse[i][0]) - inverse[i][1]) < 1e-8);
}

static void inverse_undoes_kubelka_munk(void **state)
{
    (void)state;
    for (double r = 0.01; r <= 1; r += 0.01)
        assert_true(fabs(sl_kubelka_munk_inverse(sl_kubelka_munk(r)) - r) < 1e-12);
}

/* Paper 0.85, dyed 0.425: 0.375735; on paper that gives back everything: 0.25. By arithmetic. */
static void load_is_above_clean_paper(void **state)
{
    (void)state;
    assert_true(fabs(sl_load(0.5, 0.85) - 0.375735) < 1e-6);
    assert_true(fabs(sl_load(0.5, 1.0) - 0.25) < 1e-9);
    assert_true(sl_load(1, 0.85) == 0);
    /* brighter than paper is noise and must average out, not fold back to a positive load */
    assert_true(sl_load(1.02, 0.85) < 0);
    assert_true(fabs(sl_load(1.001, 0.85) + sl_load(0.999, 0.85)) < 1e-5);
    assert_true(sl_load(0, 0.85) == sl_load(SL_REFLECTANCE_MIN, 0.85));
    assert_true(isfinite(sl_load(-0.1, 0.85)));
}

/* D = -log10 R: ISO 5-1 (the factor's formula, not the standard's geometry). */
static void density_is_the_decadic_logarithm(void **state)
{
    (void)state;
    assert_true(fabs(sl_optical_density(1)) < 1e-12);
    assert_true(fabs(sl_optical_density(0.9) - 0.045757) < 1e-6);
    assert_true(fabs(sl_optical_density(0.1) - 1) < 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(kubelka_munk_gives_the_worked_values),
        cmocka_unit_test(inverse_undoes_kubelka_munk),
        cmocka_unit_test(load_is_above_clean_paper),
        cmocka_unit_test(density_is_the_decadic_logarithm),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
