// SPDX-License-Identifier: GPL-3.0-or-later
/* The model's Jacobian against differences of its residuals, for every parameter. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <gsl/gsl_errno.h>
#include <math.h>

#include "band/model.h"

enum { CELLS = 60, BANDS = 2, PARAMETERS = MODEL_BANDS + BANDS * MODEL_BAND_SIZE };

struct bench {
    double rf[CELLS], load[CELLS][3], error[CELLS][3];
    struct cells cells;
    struct model model;
    double start[PARAMETERS];
};

static void set_up(struct bench *bench)
{
    /* line, bath, release; then each band */
    const double start[PARAMETERS] = {
        0.002, log(0.03), log(0.008), 0.3,       0.2,       0.1, log(0.05), 0.1, 0.05,
        0.02,  log(2.3),  0.45,       log(0.04), log(0.02), 0.3, 0.1,       0.2, 0.6,
        0.2,   0.8,       log(0.03),  log(0.03), 0.1,       0.2, 0.3,       0.4, -0.3};
    bench->cells = (struct cells){CELLS, bench->rf, bench->load, bench->error, NULL};
    bench->model = (struct model){.cells = &bench->cells, .bands = BANDS, .line_blur = 0.008};
    for (size_t k = 0; k < CELLS; k++) {
        bench->rf[k] = -0.1 + 1.2 * (double)k / CELLS;
        for (int c = 0; c < 3; c++) {
            bench->load[k][c] = 0.1 * c;
            bench->error[k][c] = 0.05 + 0.01 * c;
        }
    }
    for (size_t i = 0; i < PARAMETERS; i++) {
        bench->start[i] = start[i];
        bench->model.prior[i] = (struct prior){0.1, 0.7};
    }
}

static void check_jacobian(bool fading)
{
    const double step = 1e-6;
    static struct bench bench;
    set_up(&bench);
    bench.model.fading = fading;
    assert_int_equal(model_parameters(&bench.model), PARAMETERS);
    size_t n = model_residuals(&bench.model);
    gsl_matrix *jacobian = gsl_matrix_alloc(n, PARAMETERS);
    gsl_vector *low = gsl_vector_alloc(n), *high = gsl_vector_alloc(n);
    gsl_vector_view p = gsl_vector_view_array(bench.start, PARAMETERS);
    model_jacobian(&p.vector, &bench.model, jacobian);
    for (size_t i = 0; i < PARAMETERS; i++) {
        double at = bench.start[i];
        bench.start[i] = at + step;
        model_residual(&p.vector, &bench.model, high);
        bench.start[i] = at - step;
        model_residual(&p.vector, &bench.model, low);
        bench.start[i] = at;
        for (size_t r = 0; r < n; r++) {
            double slope = (gsl_vector_get(high, r) - gsl_vector_get(low, r)) / (2.0 * step);
            double given = gsl_matrix_get(jacobian, r, i);
            if (fabs(slope - given) > 1e-4 * fmax(fabs(slope), 1.0))
                fail_msg("parameter %zu, residual %zu: %g, differences %g", i, r, given, slope);
        }
    }
    gsl_vector_free(high);
    gsl_vector_free(low);
    gsl_matrix_free(jacobian);
}

static void jacobian_is_the_residuals_slope(void **state)
{
    (void)state;
    check_jacobian(false);
    check_jacobian(true);
}

/* A streak that thins out leaves nothing behind. */
static void a_fading_streak_leaves_nothing(void **state)
{
    (void)state;
    static struct bench bench;
    double left[3];
    set_up(&bench);
    bench.model.fading = true;
    model_unreleased(&bench.model, bench.start, left);
    for (int c = 0; c < 3; c++)
        assert_true(left[c] <= 0.0);
}

/* The part that is still to be released and the part in the streak are the same dye: as the rate
 * grows nothing is left on the line. */
static void what_is_released_leaves_the_line(void **state)
{
    (void)state;
    static struct bench bench;
    double slow[3], fast[3];
    set_up(&bench);
    model_unreleased(&bench.model, bench.start, slow);
    bench.start[MODEL_RATE] = log(100.0);
    model_unreleased(&bench.model, bench.start, fast);
    for (int c = 0; c < 3; c++) {
        assert_true(slow[c] > 1e-4);
        assert_true(fast[c] < 1e-12);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(jacobian_is_the_residuals_slope),
        cmocka_unit_test(a_fading_streak_leaves_nothing),
        cmocka_unit_test(what_is_released_leaves_the_line),
    };
    gsl_set_error_handler_off();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
