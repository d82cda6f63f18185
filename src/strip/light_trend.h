// SPDX-License-Identifier: GPL-3.0-or-later
/* A curve through unevenly trusted points, with its standard error. */
#ifndef STRANDLINE_STRIP_LIGHT_TREND_H
#define STRANDLINE_STRIP_LIGHT_TREND_H

/* Fits an integrated random walk (the stochastic form of the cubic smoothing spline: G. Wahba,
 * J. R. Statist. Soc. B 40 (1978) 364-372) by the Kalman filter and the Rauch-Tung-Striebel
 * smoother. y[i] counts with variance[i]; not finite: no observation. `step` is the distance of
 * neighbours. The roughness, the variance that the slope gains over a unit of length, is the
 * likeliest between `rough_min` and `rough_max`. Returns the roughness used, or a negative value
 * without memory or with fewer than two observations. */
double sl_light_trend(const double *y, const double *variance, int count, double step,
                      double rough_min, double rough_max, double *ret_curve, double *ret_se);

#endif
