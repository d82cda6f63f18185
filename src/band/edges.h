// SPDX-License-Identifier: GPL-3.0-or-later
/* The ruled line's two flanks in the load. */
#ifndef BAND_EDGES_H
#define BAND_EDGES_H

#include "band/track.h"

/* Where the load rises and falls the steepest beside the origin, and how soft these flanks are
 * (standard deviation of a Gaussian); Rf. Both flanks, or `found` is false. */
struct edges {
    bool found;
    double from, to, blur;
};
struct edges edges_find(const struct track *track);

#endif
