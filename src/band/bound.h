// SPDX-License-Identifier: GPL-3.0-or-later
/* What lies at the origin: the retained share, and the part of it that is bound. */
#ifndef BAND_BOUND_H
#define BAND_BOUND_H

#include "band/settle.h"

/* The area under the load that is dye, its error, and what one standard error of the paper's
 * reflectance adds to it. */
struct bound_total {
    double area, se, paper;
};

/* The part that takes time, once for a strip; `total` is the area under the load. */
sl_code bound_settle(const struct track *track, const struct fit *fit, double total,
                     struct settle *ret, struct sl_status *status);

/* Fills the shares and their intervals; `settle` NULL where nothing could be fitted. The bound
 * share is never above the retained one, nor are the ends of its interval. */
void bound_measure(const struct track *track, const struct settle *settle,
                   const struct bound_total *total, struct sl_bands *ret);

#endif
