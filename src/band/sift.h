// SPDX-License-Identifier: GPL-3.0-or-later
/* What stands out of the profile and yet is no band. */
#ifndef BAND_SIFT_H
#define BAND_SIFT_H

#include "band/track.h"

/* False for stains below the line, the water's own line, marks, and what nobody would see. */
bool sift_is_band(const struct track *track, const struct sl_band *band);

/* Nothing but a pale neutral line where the ink should be: ruled in pencil. */
bool sift_is_pencil_only(const struct sl_bands *bands);

/* There are bands, but all so pale that they may be water marks, or so grey and pale that they may
 * be dirt. */
bool sift_is_no_ink(const struct sl_bands *bands);

#endif
