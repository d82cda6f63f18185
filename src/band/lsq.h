// SPDX-License-Identifier: GPL-3.0-or-later
/* Nonlinear least squares: the one driver that fits bands, checked on certified data sets.
 *
 * Residuals are weighted by the caller: (model - data) / standard error. */
#ifndef BAND_LSQ_H
#define BAND_LSQ_H

#include <gsl/gsl_matrix.h>
#include <gsl/gsl_vector.h>
#include <stdbool.h>
#include <stddef.h>

#include "strandline/status.h"

struct lsq_problem {
    size_t residuals, parameters;
    void (*residual)(const gsl_vector *parameters, const void *context, gsl_vector *ret);
    void (*jacobian)(const gsl_vector *parameters, const void *context, gsl_matrix *ret);
    const void *context;
    double tolerance;       /* relative step at which it counts as settled; default 1e-8 where 0 */
    size_t iterations_most; /* default 100 where 0 */
    double fall;            /* relative fall of chi-square that still counts; 0: any */
    bool parameters_only;   /* the covariance is not wanted and stays unset */
};

struct lsq_result {
    gsl_vector *parameters;
    gsl_matrix *covariance; /* inverse of J'J, unscaled; NULL until solved */
    double chi2;
    size_t iterations;
    bool settled;
};

/* Fits from one start; Levenberg-Marquardt first, with geodesic acceleration where that does not
 * settle. `ret` owns what it points to (lsq_finish). */
sl_code lsq_solve(const struct lsq_problem *problem, const gsl_vector *start,
                  struct lsq_result *ret, struct sl_status *status);

/* Fits from each row of `starts` and keeps the best. */
sl_code lsq_solve_best(const struct lsq_problem *problem, const gsl_matrix *starts,
                       struct lsq_result *ret, struct sl_status *status);

void lsq_finish(struct lsq_result *result);

#endif
