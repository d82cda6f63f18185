// SPDX-License-Identifier: GPL-3.0-or-later
/* Normal equations of a step, (J'J + mu D'D) dx = -J'f, for GSL's trust region methods.
 *
 * The library's own solver adds up every product of two columns. Most of our Jacobian is zero: a
 * residual of one channel knows nothing of the other channels' areas, one of a prior knows one
 * parameter alone. Only the products that are not zero are added, in the same order, so that the
 * sums are the same to the last digit. */
#ifndef BAND_LSQ_NORMAL_H
#define BAND_LSQ_NORMAL_H

#include <gsl/gsl_multifit_nlinear.h>

extern const gsl_multifit_nlinear_solver *const lsq_normal;

#endif
