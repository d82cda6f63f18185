// SPDX-License-Identifier: GPL-3.0-or-later
#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <math.h>

#include "band/lsq.h"
#include "band/lsq_normal.h"

static const double usual_tolerance = 1e-8;
static const size_t usual_iterations = 100;
/* Stands for a residual that is not finite: a step that leads there is refused and a shorter one
 * tried, where an error would end the search. */
static const double hopeless = 1e50;
static const size_t quiet_iterations = 3; /* this often chi-square hardly falls: settled */

static int call_residual(const gsl_vector *x, void *data, gsl_vector *f)
{
    const struct lsq_problem *problem = data;
    problem->residual(x, problem->context, f);
    for (size_t i = 0; i < f->size; i++)
        if (!isfinite(gsl_vector_get(f, i)))
            gsl_vector_set(f, i, hopeless);
    return GSL_SUCCESS;
}

static int call_jacobian(const gsl_vector *x, void *data, gsl_matrix *jacobian)
{
    const struct lsq_problem *problem = data;
    problem->jacobian(x, problem->context, jacobian);
    return GSL_SUCCESS;
}

/* Iterates until the step, the gradient or the fall of chi-square is small; false where it stops
 * before. */
static bool iterate(const struct lsq_problem *problem, gsl_multifit_nlinear_workspace *work)
{
    double tolerance = problem->tolerance > 0.0 ? problem->tolerance : usual_tolerance;
    size_t most = problem->iterations_most > 0 ? problem->iterations_most : usual_iterations;
    size_t quiet = 0;
    double before = INFINITY;
    for (size_t k = 0; k < most && quiet < quiet_iterations; k++) {
        int reason = 0;
        double norm = gsl_blas_dnrm2(gsl_multifit_nlinear_residual(work));
        quiet = norm * norm > before * (1.0 - problem->fall) ? quiet + 1 : 0;
        before = norm * norm;
        if (gsl_multifit_nlinear_iterate(work))
            return false;
        gsl_multifit_nlinear_test(tolerance, tolerance, 0.0, &reason, work);
        if (reason == 1 || reason == 2)
            return true;
    }
    return quiet >= quiet_iterations;
}

/* One run with one trust region method; false if it could not even start. */
static bool run(const struct lsq_problem *problem, const gsl_multifit_nlinear_trs *method,
                const gsl_vector *start, struct lsq_result *result)
{
    gsl_multifit_nlinear_parameters settings = gsl_multifit_nlinear_default_parameters();
    settings.trs = method;
    settings.solver = lsq_normal;
    struct lsq_problem own = *problem; /* the library takes it without const */
    gsl_multifit_nlinear_fdf fdf = {.f = call_residual,
                                    .df = call_jacobian,
                                    .n = problem->residuals,
                                    .p = problem->parameters,
                                    .params = &own};
    bool good = false;
    gsl_multifit_nlinear_workspace *work = gsl_multifit_nlinear_alloc(
        gsl_multifit_nlinear_trust, &settings, problem->residuals, problem->parameters);
    if (!work || gsl_multifit_nlinear_init(start, &fdf, work))
        goto done;
    result->settled = iterate(problem, work);
    const gsl_vector *f = gsl_multifit_nlinear_residual(work);
    gsl_vector_memcpy(result->parameters, gsl_multifit_nlinear_position(work));
    gsl_blas_ddot(f, f, &result->chi2);
    result->iterations = gsl_multifit_nlinear_niter(work);
    good = result->chi2 < hopeless &&
           (problem->parameters_only ||
            !gsl_multifit_nlinear_covar(gsl_multifit_nlinear_jac(work), 0.0, result->covariance));
done:
    if (work)
        gsl_multifit_nlinear_free(work);
    return good;
}

static bool allocate(size_t parameters, struct lsq_result *result)
{
    result->parameters = gsl_vector_alloc(parameters);
    result->covariance = gsl_matrix_alloc(parameters, parameters);
    return result->parameters && result->covariance;
}

sl_code lsq_solve(const struct lsq_problem *problem, const gsl_vector *start,
                  struct lsq_result *ret, struct sl_status *status)
{
    struct lsq_result plain = {0}, fast = {0};
    sl_code code = SL_E_MEMORY;
    if (!allocate(problem->parameters, &plain) || !allocate(problem->parameters, &fast)) {
        sl_status_set(status, code, "band/lsq", "Close other programs and try again.",
                      "There is not enough memory for a fit of %zu values.", problem->parameters);
        goto done;
    }
    bool good = run(problem, gsl_multifit_nlinear_trs_lm, start, &plain);
    if (!good || !plain.settled) {
        const gsl_vector *from = good ? plain.parameters : start;
        bool better = run(problem, gsl_multifit_nlinear_trs_lmaccel, from, &fast) &&
                      (!good || fast.chi2 < plain.chi2);
        if (better) {
            struct lsq_result swap = plain;
            plain = fast;
            fast = swap;
            good = true;
        }
    }
    code = good ? SL_OK
                : sl_status_set(status, SL_E_INTERNAL, "band/lsq", "",
                                "A fit of %zu values to %zu could not be made.",
                                problem->parameters, problem->residuals);
done:
    lsq_finish(&fast);
    if (code)
        lsq_finish(&plain);
    else
        *ret = plain;
    return code;
}

/* The covariance of a result that was found without. */
static bool add_covariance(const struct lsq_problem *problem, struct lsq_result *result)
{
    gsl_matrix *jacobian = gsl_matrix_alloc(problem->residuals, problem->parameters);
    bool good = jacobian != NULL;
    if (good) {
        problem->jacobian(result->parameters, problem->context, jacobian);
        good = !gsl_multifit_nlinear_covar(jacobian, 0.0, result->covariance);
    }
    gsl_matrix_free(jacobian);
    return good;
}

sl_code lsq_solve_best(const struct lsq_problem *problem, const gsl_matrix *starts,
                       struct lsq_result *ret, struct sl_status *status)
{
    struct lsq_problem bare = *problem; /* all but the best need no covariance */
    struct lsq_result best = {0};
    sl_code code = SL_E_INTERNAL;
    bare.parameters_only = true;
    for (size_t k = 0; k < starts->size1; k++) {
        gsl_vector_const_view start = gsl_matrix_const_row(starts, k);
        struct lsq_result result = {0};
        sl_code one = lsq_solve(&bare, &start.vector, &result, status);
        if (!one && (code || result.chi2 < best.chi2)) {
            lsq_finish(&best);
            best = result;
            code = SL_OK;
        } else {
            lsq_finish(&result);
            code = code == SL_OK ? SL_OK : one;
        }
    }
    if (code == SL_OK && !problem->parameters_only && !add_covariance(problem, &best)) {
        lsq_finish(&best);
        code = sl_status_set(status, SL_E_MEMORY, "band/lsq", "Close other programs and try again.",
                             "There is not enough memory for the errors of %zu values.",
                             problem->parameters);
    }
    if (code == SL_OK)
        *ret = best;
    return code;
}

void lsq_finish(struct lsq_result *result)
{
    if (!result)
        return;
    gsl_vector_free(result->parameters);
    gsl_matrix_free(result->covariance);
    *result = (struct lsq_result){0};
}
