// SPDX-License-Identifier: GPL-3.0-or-later
/* One band measured in the profile itself: apex, width, limits, colour, share. */
#ifndef BAND_MEASURE_H
#define BAND_MEASURE_H

#include "band/seed.h"

struct apex {
    double rf, se; /* without the errors of origin and front */
};

/* Apex of the load near a seed by a local cubic. */
struct apex apex_find(const struct track *track, const double *smooth, const struct seed *seed);

/* Where the smoothed load falls to `part` of the apex on one side (way -1, 1), at most to the
 * valley; `ret_valley` tells that the valley came first. */
double edge_find(const struct track *track, const struct seeds *seeds, const struct seed *seed,
                 double part, int way, bool *ret_valley);

/* Everything but share, resolution and the retained flag. */
void band_measure(const struct sl_profile *profile, const struct track *track,
                  const struct seeds *seeds, const struct seed *seed, struct sl_band *ret);

/* Colour and signature of what lies within `reach` of an apex. */
void band_colour(const struct sl_profile *profile, const struct track *track, double apex,
                 double reach, struct sl_band *ret);

#endif
