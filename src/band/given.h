// SPDX-License-Identifier: GPL-3.0-or-later
/* Bands whose limits were set by hand. */
#ifndef BAND_GIVEN_H
#define BAND_GIVEN_H

#include "band/seed.h"

/* A seed for each pair of limits takes the place of those found between them; the others end there.
 * SL_E_RANGE: limits that are not within the strip, not in order, or that overlap. */
sl_code given_seeds(const struct track *track, const struct sl_marks *marks,
                    const struct sl_strip_hints *hints, struct seeds *seeds,
                    struct sl_status *status);

/* What `ret` (measured as any band) owes to the hand: its limits, and its place where the load has
 * no maximum between them. */
void given_measure(const struct track *track, const struct seed *seed, struct sl_band *ret);

/* Whether a place lies between hand-set limits. */
bool given_holds(const struct sl_bands *bands, double rf);

#endif
