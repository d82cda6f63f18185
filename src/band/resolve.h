// SPDX-License-Identifier: GPL-3.0-or-later
/* What the joint fit adds to the bands that were measured in the profile. */
#ifndef BAND_RESOLVE_H
#define BAND_RESOLVE_H

#include "band/fit.h"

/* Refines the apexes of the bands, and adds those that have no maximum of their own; these take
 * their share from the band that they stand under. `total` is the area under the load. */
void resolve_bands(const struct sl_profile *profile, const struct track *track,
                   const struct fit *fit, double total, struct sl_bands *bands);

#endif
