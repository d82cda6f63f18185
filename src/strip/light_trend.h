// SPDX-License-Identifier: GPL-3.0-or-later
/* A curve through unevenly trusted points, with its standard error. */
#ifndef STRANDLINE_STRIP_LIGHT_TREND_H
#define STRANDLINE_STRIP_LIGHT_TREND_H

#include <stdbool.h>

/* Fits an integrated random walk (the stochastic form of the cubic smoothing spline: G. Wahba,
 * J. R. Statist. Soc. B 40 (1978) 364-372) by the Kalman filter and the Rauch-Tung-Striebel
 * smoother. y[i] counts with variance[i]; not finite: no observation. `step` is the distance of
 * neighbours, in lengths of the strip. How rough the curve is (the variance that the slope gains
 * over a length) is not known: curves of several roughnesses are averaged, each weighed by its
 * likelihood and by how common that roughness is (J. A. Hoeting, D. Madigan, A. E. Raftery, C. T.
 * Volinsky, Statist. Sci. 14 (1999) 382-417), and what they differ by is in the standard error.
 * False without memory or with fewer than two observations. */
bool sl_light_trend(const double *y, const double *variance, int count, double step,
                    double *ret_curve, double *ret_se);

#endif
