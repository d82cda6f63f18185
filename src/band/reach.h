// SPDX-License-Identifier: GPL-3.0-or-later
/* How far each colour reaches, bands or not. */
#ifndef BAND_REACH_H
#define BAND_REACH_H

#include "band/track.h"

/* Fills `reach`; `total` is the area under the load. */
void reach_measure(const struct sl_profile *profile, const struct track *track, double total,
                   struct sl_bands *ret);

#endif
