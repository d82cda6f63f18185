// SPDX-License-Identifier: GPL-3.0-or-later
#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

#include "band/lsq_normal.h"

struct normal {
    gsl_matrix *product, *factor; /* J'J; Cholesky's factor of it with the damping */
    double *value;                /* of a row of the Jacobian: what is not zero, and where */
    size_t *place;
};

static void finish(void *state)
{
    struct normal *normal = state;
    if (!normal)
        return;
    gsl_matrix_free(normal->product);
    gsl_matrix_free(normal->factor);
    free(normal->value);
    free(normal->place);
    free(normal);
}

static void *create(const size_t n, const size_t p)
{
    struct normal *normal = calloc(1, sizeof *normal);
    (void)n;
    if (!normal)
        return NULL;
    normal->product = gsl_matrix_alloc(p, p);
    normal->factor = gsl_matrix_alloc(p, p);
    normal->value = calloc(p, sizeof *normal->value);
    normal->place = calloc(p, sizeof *normal->place);
    if (normal->product && normal->factor && normal->value && normal->place)
        return normal;
    finish(normal);
    return NULL;
}

/* The lower triangle of J'J, row after row of J. */
static int start(const void *trust, void *state)
{
    struct normal *normal = state;
    const gsl_matrix *j = ((const gsl_multifit_nlinear_trust_state *)trust)->J;
    gsl_matrix_set_zero(normal->product);
    for (size_t row = 0; row < j->size1; row++) {
        const double *from = j->data + row * j->tda;
        size_t count = 0;
        for (size_t i = 0; i < j->size2; i++)
            if (from[i] != 0.0) {
                normal->value[count] = from[i];
                normal->place[count++] = i;
            }
        for (size_t a = 0; a < count; a++) {
            double *to = normal->product->data + normal->place[a] * normal->product->tda;
            for (size_t b = 0; b <= a; b++)
                to[normal->place[b]] += normal->value[a] * normal->value[b];
        }
    }
    return GSL_SUCCESS;
}

static int damp(const double mu, const void *trust, void *state)
{
    struct normal *normal = state;
    const gsl_vector *scale = ((const gsl_multifit_nlinear_trust_state *)trust)->diag;
    gsl_matrix_tricpy(CblasLower, CblasNonUnit, normal->factor, normal->product);
    for (size_t i = 0; mu != 0.0 && i < scale->size; i++) {
        double d = gsl_vector_get(scale, i);
        *gsl_matrix_ptr(normal->factor, i, i) += mu * d * d;
    }
    return gsl_linalg_cholesky_decomp1(normal->factor);
}

static int solve(const gsl_vector *f, gsl_vector *x, const void *trust, void *state)
{
    const struct normal *normal = state;
    const gsl_matrix *j = ((const gsl_multifit_nlinear_trust_state *)trust)->J;
    gsl_blas_dgemv(CblasTrans, -1.0, j, f, 0.0, x);
    return gsl_linalg_cholesky_svx(normal->factor, x);
}

static int condition(double *ret, void *state)
{
    (void)state;
    *ret = NAN; /* nobody asks */
    return GSL_SUCCESS;
}

static const gsl_multifit_nlinear_solver solver = {"normal", create,    start, damp,
                                                   solve,    condition, finish};

const gsl_multifit_nlinear_solver *const lsq_normal = &solver;
