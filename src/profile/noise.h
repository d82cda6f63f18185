// SPDX-License-Identifier: GPL-3.0-or-later
/* The noise of a profile, seen where there is no dye. */
#ifndef STRANDLINE_PROFILE_NOISE_H
#define STRANDLINE_PROFILE_NOISE_H

#include <stdbool.h>

#include "strandline/profile.h"

/* Replaces each row's variance by that of the rows around it: the few lanes of one row say too
 * little. NAN: not known. False without memory. */
bool sl_noise_pool(double (*variance)[3], size_t count);

/* What clean rows scatter beyond their standard errors is common to the lanes of a row (ridges of
 * crepe paper, JPEG blocks) and multiplies the reflectance: it is added to both errors of each
 * row. Also sets correlation_samples. False without memory. */
bool sl_noise_across(struct sl_profile *profile, const struct sl_marks *marks);

/* What clean rows, averaged over a stretch, leave white by, beyond the sheet's standard errors of
 * it: the part of ln R by which the learnt light is wrong where it can be checked, so under dye
 * too. 0 where too little paper is clean. False without memory. */
bool sl_noise_white(const struct sl_profile *profile, const struct sl_sheet *sheet, double *ret);

#endif
