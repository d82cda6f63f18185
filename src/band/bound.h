// SPDX-License-Identifier: GPL-3.0-or-later
/* What stayed at the origin: the retained share, and the part of it that is bound. */
#ifndef BAND_BOUND_H
#define BAND_BOUND_H

#include "band/fit.h"

/* The area under the load that is dye, its error, and what one standard error of the paper's
 * reflectance adds to it. */
struct bound_total {
    double area, se, paper;
};

/* Fills the shares and their intervals; `fit` NULL where none was made. The bound share is never
 * above the retained one, nor are the ends of its interval. */
void bound_measure(const struct track *track, const struct fit *fit,
                   const struct bound_total *total, struct sl_bands *ret);

#endif
