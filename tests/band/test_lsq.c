// SPDX-License-Identifier: GPL-3.0-or-later
/* The fit's driver against NIST's certified nonlinear regression data sets Gauss1 to Gauss3
 * (Statistical Reference Datasets; B. Rust, NIST, 1996), from both published starts. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <gsl/gsl_errno.h>
#include <math.h>
#include <string.h>

#include "band/lsq.h"
#include "csv.h"

enum { ROWS = 250, PARAMETERS = 8 };
static const double agreement = 1e-6; /* asked for are 4 digits; the fit reaches 6 and more */

struct data {
    double x[ROWS], y[ROWS];
};

struct certified {
    double start[2][PARAMETERS], value[PARAMETERS], sd[PARAMETERS];
    double residual_sum, residual_sd, freedom;
};

/* y = b1 exp(-b2 x) + b3 exp(-(x - b4)^2/b5^2) + b6 exp(-(x - b7)^2/b8^2) */
static double peak(const gsl_vector *b, size_t first, double x)
{
    double z = (x - gsl_vector_get(b, first + 1)) / gsl_vector_get(b, first + 2);
    return exp(-z * z);
}

static void residual(const gsl_vector *b, const void *context, gsl_vector *ret)
{
    const struct data *data = context;
    for (size_t i = 0; i < ROWS; i++) {
        double x = data->x[i];
        double y = gsl_vector_get(b, 0) * exp(-gsl_vector_get(b, 1) * x) +
                   gsl_vector_get(b, 2) * peak(b, 2, x) + gsl_vector_get(b, 5) * peak(b, 5, x);
        gsl_vector_set(ret, i, y - data->y[i]);
    }
}

static void jacobian(const gsl_vector *b, const void *context, gsl_matrix *ret)
{
    const struct data *data = context;
    for (size_t i = 0; i < ROWS; i++) {
        double x = data->x[i], fall = exp(-gsl_vector_get(b, 1) * x);
        gsl_matrix_set(ret, i, 0, fall);
        gsl_matrix_set(ret, i, 1, -x * gsl_vector_get(b, 0) * fall);
        for (size_t k = 2; k < PARAMETERS; k += 3) {
            double height = gsl_vector_get(b, k), width = gsl_vector_get(b, k + 2);
            double d = x - gsl_vector_get(b, k + 1), value = peak(b, k, x);
            gsl_matrix_set(ret, i, k, value);
            gsl_matrix_set(ret, i, k + 1, height * value * 2.0 * d / (width * width));
            gsl_matrix_set(ret, i, k + 2, height * value * 2.0 * d * d / (width * width * width));
        }
    }
}

static struct data read_data(const char *set)
{
    struct data data;
    struct csv_row row;
    char name[64];
    size_t count = 0;
    snprintf(name, sizeof name, "reference/nist-%s.csv", set);
    FILE *file = csv_open(name);
    while (csv_next(file, &row) && count < ROWS) {
        data.y[count] = csv_number(&row, 0);
        data.x[count++] = csv_number(&row, 1);
    }
    fclose(file);
    assert_int_equal(count, ROWS);
    return data;
}

static struct certified read_certified(const char *set)
{
    struct certified certified;
    struct csv_row row;
    memset(&certified, 0, sizeof certified);
    FILE *file = csv_open("reference/nist-gauss-certified.csv");
    while (csv_next(file, &row)) {
        if (strcmp(row.field[0], set) != 0)
            continue;
        const char *quantity = row.field[1];
        if (quantity[0] == 'b') {
            size_t k = (size_t)(quantity[1] - '1');
            certified.start[0][k] = csv_number(&row, 2);
            certified.start[1][k] = csv_number(&row, 3);
            certified.value[k] = csv_number(&row, 4);
            certified.sd[k] = csv_number(&row, 5);
        } else if (strcmp(quantity, "residual_sum_of_squares") == 0) {
            certified.residual_sum = csv_number(&row, 4);
        } else if (strcmp(quantity, "residual_standard_deviation") == 0) {
            certified.residual_sd = csv_number(&row, 4);
        } else if (strcmp(quantity, "degrees_of_freedom") == 0) {
            certified.freedom = csv_number(&row, 4);
        }
    }
    fclose(file);
    return certified;
}

static void assert_near(const char *set, const char *what, double value, double certified)
{
    if (!(fabs(value - certified) <= agreement * fabs(certified)))
        fail_msg("%s %s: %.11g, certified %.11g", set, what, value, certified);
}

static void check_set(const char *set)
{
    struct data data = read_data(set);
    struct certified certified = read_certified(set);
    struct lsq_problem problem = {.residuals = ROWS,
                                  .parameters = PARAMETERS,
                                  .residual = residual,
                                  .jacobian = jacobian,
                                  .context = &data};
    for (size_t s = 0; s < 2; s++) {
        struct lsq_result result;
        gsl_vector_view start = gsl_vector_view_array(certified.start[s], PARAMETERS);
        assert_int_equal(lsq_solve(&problem, &start.vector, &result, NULL), SL_OK);
        assert_true(result.settled);
        assert_near(set, "residual sum", result.chi2, certified.residual_sum);
        double sd = sqrt(result.chi2 / certified.freedom);
        assert_near(set, "residual sd", sd, certified.residual_sd);
        for (size_t k = 0; k < PARAMETERS; k++) {
            assert_near(set, "value", gsl_vector_get(result.parameters, k), certified.value[k]);
            assert_near(set, "standard error", sd * sqrt(gsl_matrix_get(result.covariance, k, k)),
                        certified.sd[k]);
        }
        lsq_finish(&result);
    }
}

static void gauss1_two_parted_peaks(void **state)
{
    (void)state;
    check_set("gauss1");
}

static void gauss2_slightly_blended(void **state)
{
    (void)state;
    check_set("gauss2");
}

static void gauss3_strongly_blended(void **state)
{
    (void)state;
    check_set("gauss3");
}

/* Of several starts the best end is kept: a start far off must not spoil the good one. */
static void best_of_several_starts(void **state)
{
    (void)state;
    struct data data = read_data("gauss1");
    struct certified certified = read_certified("gauss1");
    struct lsq_problem problem = {.residuals = ROWS,
                                  .parameters = PARAMETERS,
                                  .residual = residual,
                                  .jacobian = jacobian,
                                  .context = &data};
    double starts[2][PARAMETERS] = {{1, 0.5, 1, 10, 1, 1, 240, 1}};
    memcpy(starts[1], certified.start[0], sizeof starts[1]);
    gsl_matrix_view view = gsl_matrix_view_array(&starts[0][0], 2, PARAMETERS);
    struct lsq_result result;
    assert_int_equal(lsq_solve_best(&problem, &view.matrix, &result, NULL), SL_OK);
    assert_near("gauss1", "residual sum", result.chi2, certified.residual_sum);
    lsq_finish(&result);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gauss1_two_parted_peaks),
        cmocka_unit_test(gauss2_slightly_blended),
        cmocka_unit_test(gauss3_strongly_blended),
        cmocka_unit_test(best_of_several_starts),
    };
    gsl_set_error_handler_off();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
