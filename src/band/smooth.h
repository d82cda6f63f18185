// SPDX-License-Identifier: GPL-3.0-or-later
/* Gaussian smoothing that steps over hidden samples. */
#ifndef BAND_SMOOTH_H
#define BAND_SMOOTH_H

#include <stddef.h>

#include "band/track.h"

/* Smooths the summed load with a Gaussian of `sigma_samples`; ret and ret_se have `count` values.
 */
sl_code smooth_sum(const struct track *track, double sigma_samples, double *ret, double *ret_se,
                   struct sl_status *status);

#endif
