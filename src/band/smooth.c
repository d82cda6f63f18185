// SPDX-License-Identifier: GPL-3.0-or-later
/* Smoothing:
 * 1. The kernel is a Gaussian cut off at three standard deviations (GSL's filter).
 * 2. Hidden samples weigh nothing: smooth(weight x value) / smooth(weight), a normalised
 *    convolution (H. Knutsson, C.-F. Westin, Proc. CVPR 1993, 515-523).
 * 3. The error of a smoothed value follows from the kernel's noise width 2 sqrt(pi) sigma and from
 *    how many samples the noise is correlated over. */
#include <gsl/gsl_errno.h>
#include <gsl/gsl_filter.h>
#include <gsl/gsl_math.h>
#include <gsl/gsl_matrix.h>
#include <math.h>

#include "band/smooth.h"

static const double kernel_reach = 3.0; /* standard deviations on either side */
static const double weight_least = 1e-6;

static sl_code out_of_memory(struct sl_status *status)
{
    return sl_status_set(status, SL_E_MEMORY, "band/smooth", "Close other programs and try again.",
                         "There is not enough memory to smooth the profile.");
}

static double noise_kept(const struct track *track, double sigma_samples)
{
    return fmin(track->correlation / fmax(2.0 * M_SQRTPI * sigma_samples, 1.0), 1.0);
}

static void divide(const struct track *track, double kept, const gsl_vector *value,
                   const gsl_vector *variance, const gsl_vector *weight, double *ret,
                   double *ret_se)
{
    for (size_t i = 0; i < track->count; i++) {
        double w = gsl_vector_get(weight, i);
        ret[i] = w > weight_least ? gsl_vector_get(value, i) / w : 0.0;
        ret_se[i] = w > weight_least
                        ? sqrt(fmax(gsl_vector_get(variance, i), 0.0) / w * kept / fmin(w, 1.0))
                        : 0.0;
    }
}

sl_code smooth_sum(const struct track *track, double sigma_samples, double *ret, double *ret_se,
                   struct sl_status *status)
{
    sl_code code = SL_OK;
    size_t n = track->count;
    size_t window = 2 * (size_t)ceil(kernel_reach * sigma_samples) + 1;
    double alpha = (double)(window - 1) / (2.0 * sigma_samples);
    gsl_filter_gaussian_workspace *work = gsl_filter_gaussian_alloc(window);
    gsl_matrix *in = gsl_matrix_alloc(3, n), *out = gsl_matrix_alloc(3, n);
    if (!work || !in || !out) {
        code = out_of_memory(status);
        goto done;
    }
    for (size_t i = 0; i < n; i++) {
        double w = track->weight[i];
        gsl_matrix_set(in, 0, i, w * track->sum[i]);
        gsl_matrix_set(in, 1, i, w * track->sum_se[i] * track->sum_se[i]);
        gsl_matrix_set(in, 2, i, w);
    }
    for (size_t r = 0; r < 3; r++) {
        gsl_vector_const_view from = gsl_matrix_const_row(in, r);
        gsl_vector_view to = gsl_matrix_row(out, r);
        if (gsl_filter_gaussian(GSL_FILTER_END_TRUNCATE, alpha, 0, &from.vector, &to.vector,
                                work)) {
            code = sl_status_set(status, SL_E_INTERNAL, "band/smooth", "",
                                 "The profile could not be smoothed over %zu samples.", window);
            goto done;
        }
    }
    gsl_vector_const_view value = gsl_matrix_const_row(out, 0);
    gsl_vector_const_view variance = gsl_matrix_const_row(out, 1);
    gsl_vector_const_view weight = gsl_matrix_const_row(out, 2);
    divide(track, noise_kept(track, sigma_samples), &value.vector, &variance.vector, &weight.vector,
           ret, ret_se);
done:
    if (work)
        gsl_filter_gaussian_free(work);
    gsl_matrix_free(in);
    gsl_matrix_free(out);
    return code;
}
