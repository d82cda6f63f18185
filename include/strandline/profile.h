// SPDX-License-Identifier: GPL-3.0-or-later
/* Profiles: the straightened strip averaged across, along its axis, with standard errors.
 *
 * Reflectance R is relative to clean paper. Load is Kubelka-Munk K/S less clean paper's:
 * K/S(Rp R) - K/S(Rp), K/S(x) = (1 - x)^2 / (2 x), Rp the paper's own reflectance (sl_marks);
 * P. Kubelka, F. Munk, Z. tech. Phys. 12 (1931) 593-601.
 * Ownership: a profile owns its arrays, all of length `count` (finish). */
#ifndef STRANDLINE_PROFILE_H
#define STRANDLINE_PROFILE_H

#include <stddef.h>
#include <stdint.h>

#include "strandline/strip.h"

struct sl_profile {
    size_t count;
    double *position; /* fraction of the strip's length at the sample's middle, rising */
    double (*reflectance)[3], (*reflectance_se)[3];
    double (*load)[3], (*load_se)[3];
    double (*density)[3]; /* D = -log10 R; an estimate, not an ISO 5 status density */
    double (*lab_d50)[3], (*lab_se)[3];
    double (
        *light_se)[3];   /* part of load's error that is common to neighbours: paper white, light */
    double white_rgb[3]; /* linear light of clean paper at the strip's middle */
    double chroma_step;  /* of the photo (sl_photo_info) */
    double white_level_se;      /* standard error of the white's log light, common to all samples */
    double white_colour_se[2];  /* standard errors of the white's log R/G and log B/G */
    uint8_t *flags;             /* SL_CELL_* of the sample */
    double correlation_samples; /* over how many samples the noise is correlated, >= 1 */
    double straightened;        /* how far fronts were shifted, fraction of the length, rms */
};

struct sl_profile_options {
    double across_from,
        across_to;          /* middle part that is averaged; default 0.05, 0.95 of the width */
    bool straighten_fronts; /* default true: where it sharpens the result */
};
SL_API void sl_profile_options_init(struct sl_profile_options *options);

SL_API sl_code sl_profile_make(const struct sl_sheet *sheet, const struct sl_marks *marks,
                               const struct sl_profile_options *options, struct sl_profile *ret,
                               struct sl_status *status);
SL_API void sl_profile_finish(struct sl_profile *profile);

/* K/S of a reflectance 0 < r <= 1, and the inverse R = 1 + F - sqrt(F^2 + 2 F). */
SL_API double sl_kubelka_munk(double reflectance);
SL_API double sl_kubelka_munk_inverse(double k_over_s);
/* Load of one channel from R relative to paper. R is held above SL_REFLECTANCE_MIN. */
#define SL_REFLECTANCE_MIN 0.01
SL_API double sl_load(double reflectance, double paper_reflectance);
SL_API double sl_optical_density(double reflectance);

#endif
