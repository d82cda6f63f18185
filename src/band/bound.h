// SPDX-License-Identifier: GPL-3.0-or-later
/* What stayed at the origin: the retained share, and the part of it that is bound. */
#ifndef BAND_BOUND_H
#define BAND_BOUND_H

#include "band/fit.h"

/* Fills the shares and their intervals; `total` is the area under the load that is dye; `fit` NULL
 * where none was made. */
void bound_measure(const struct track *track, const struct fit *fit, double total, double total_se,
                   struct sl_bands *ret);

#endif
