// SPDX-License-Identifier: GPL-3.0-or-later
/* A track: the profile on the Rf axis as the band search works on it, with what is hidden masked.
 *
 * Ownership: a track owns one block of memory (finish). */
#ifndef BAND_TRACK_H
#define BAND_TRACK_H

#include "strandline/band.h"

struct track {
    size_t count;
    double step;          /* Rf from sample to sample, mean */
    double *rf;           /* rising */
    double *sum, *sum_se; /* load of the three channels together, its random error */
    double *light_se;     /* error of the sum that neighbours share */
    double *paper;        /* what one standard error of the paper's reflectance adds to the sum */
    double *white_se;     /* of it in ln R: how well clean paper's white is known there */
    double *ghost;        /* sum that clean paper shows where its white is that much too bright */
    double *weight;       /* 1 seen, 0 hidden */
    double (*load)[3];    /* 0 where hidden */
    double (*load_se)[3];
    double correlation; /* samples */
    double length;      /* of the strip, in Rf */
    double mm;          /* one millimetre in Rf; judged from the line where no scale is known */
    double line;        /* width of the ink line as it is seen, in Rf */
    double ruled;       /* width that was ruled, as far as it can be told */
    double mm_se, ruled_se;
    double origin_se;         /* in Rf, of where on the strip the line lies */
    double line_se, front_se; /* of the two ends of the scale, as far as bands don't move along */
    double stretch_se;        /* of Rf over Rf (1 - Rf): paper that was cut askew or bends */
    double other, elsewhere;  /* Rf where else the line may be; probability that it isn't at 0 */
    double noise;             /* of the sum on clean paper */
    double *zero;             /* takes the place of an error that is left out */
    void *block;
};

sl_code track_make(const struct sl_profile *profile, const struct sl_marks *marks, double length_mm,
                   struct track *ret, struct sl_status *status);
void track_finish(struct track *track);
/* The same track with one source of error left out; it borrows the arrays. */
struct track track_without(const struct track *track, enum sl_source source);

/* Sample nearest to `rf`, within the track. */
size_t track_at(const struct track *track, double rf);
/* Area under the summed load from `from_rf` to `to_rf`, parts of samples counted in part. */
double track_area(const struct track *track, double from_rf, double to_rf);
/* Random error and shared (light) error of that area. */
double track_area_se(const struct track *track, double from_rf, double to_rf);
double track_area_light_se(const struct track *track, double from_rf, double to_rf);
/* What one standard error of the paper's reflectance adds to that area: signed, as it moves all
 * places of a strip together. */
double track_area_paper(const struct track *track, double from_rf, double to_rf);

/* What the scale's errors do to an Rf: those of its two ends, and of what lies between. */
double track_scale_se(const struct track *track, double rf);

/* Half the width of what counts as retained: half the ruled line's width + 1 mm. */
double retained_reach(const struct track *track);
/* How far from the origin a retained band's apex may lie: half the ruled line's width + 0.5 mm. */
double retained_limit(const struct track *track);

#endif
