// SPDX-License-Identifier: GPL-3.0-or-later
/* What a smear looks like, in words for the user. */
#ifndef BAND_SMEAR_H
#define BAND_SMEAR_H

#include "band/track.h"

enum { SMEAR_BYTES = 192 };

/* "a streak reaches from the line to Rf 0.52, white follows up to Rf 0.70, turquoise leads up to
 * Rf 0.92", as far as it is so; empty where none of it is. Needs `bands->smooth` and `reach`. */
void smear_describe(const struct track *track, const struct sl_bands *bands, char ret[SMEAR_BYTES]);

#endif
