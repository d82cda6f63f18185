// SPDX-License-Identifier: GPL-3.0-or-later
/* Seeds: the maxima of the smoothed load that stand out from noise and light. */
#ifndef BAND_SEED_H
#define BAND_SEED_H

#include "band/track.h"

enum { SEEDS_MAX = 2 * SL_BANDS_MAX };

struct seed {
    size_t at;         /* sample of the apex */
    size_t low, high;  /* samples of the valleys, or of the track's ends */
    double height;     /* of the smoothed sum at the apex */
    double prominence; /* above the higher of the two bases */
    double error;      /* random error of the prominence */
    double sigma;      /* of the smoothing it was seen at, in Rf */
};

struct seeds {
    size_t count;
    struct seed item[SEEDS_MAX]; /* from low to high */
    double sigma_samples;        /* of `smooth` */
    double *smooth, *smooth_se;  /* finest smoothing; owned */
};

sl_code seeds_find(const struct track *track, struct seeds *ret, struct sl_status *status);
void seeds_finish(struct seeds *seeds);

/* Sets `low` and `high` of all seeds anew, after some were taken out. */
void seeds_part(const struct track *track, struct seeds *seeds);
void seeds_remove(struct seeds *seeds, size_t index);

#endif
