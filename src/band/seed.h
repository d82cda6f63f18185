// SPDX-License-Identifier: GPL-3.0-or-later
/* Seeds: the maxima of the smoothed load that stand out from noise, light and the paper's texture.
 */
#ifndef BAND_SEED_H
#define BAND_SEED_H

#include "band/track.h"

enum { SEEDS_MAX = 2 * SL_BANDS_MAX, SEED_SCALES_MAX = 12 };

struct seed {
    size_t at;             /* sample of the apex */
    size_t low, high;      /* samples of the valleys, or of the track's ends */
    size_t base;           /* the higher of the two lowest places beside it */
    double height;         /* of the smoothed sum at the apex */
    double prominence;     /* above the higher of the two bases */
    double clearness;      /* prominence in what noise and light could make; the best scale's */
    double error;          /* random error of the prominence */
    size_t scale;          /* that it was seen at */
    bool given;            /* between limits set by hand */
    bool rises_on;         /* given, and the load has no maximum between the limits */
    double from_rf, to_rf; /* given: the limits */
};

/* One smoothing of the summed load. */
struct seed_scale {
    double sigma_samples;
    double texture; /* ups and downs of the paper's texture in parts of the load */
    double calm;    /* part of the error that makes the load go up and down along the strip */
    double paper;   /* standard deviation of clean paper, texture and all */
    double *smooth, *smooth_se;
};

struct seeds {
    size_t count;
    struct seed item[SEEDS_MAX]; /* from low to high */
    size_t scales;
    struct seed_scale scale[SEED_SCALES_MAX]; /* from fine to coarse */
    double *shown; /* fine at the ink line, as coarse as the mobile bands allow elsewhere; owned */
    double *block; /* of the scales */
};

sl_code seeds_find(const struct track *track, struct seeds *ret, struct sl_status *status);
void seeds_finish(struct seeds *seeds);

#endif
