// SPDX-License-Identifier: GPL-3.0-or-later
/* Where the dye ends upwards, and in what shape. */
#ifndef STRANDLINE_STRIP_MARKS_DYE_H
#define STRANDLINE_STRIP_MARKS_DYE_H

#include "strip/marks_view.h"

/* All lengths are fractions of the strip's length. Lanes are laid on top of each other by their own
 * ends, so softness and shape are those of the dye, not of the front's fingers. */
struct sl_dye_end {
    int lanes;     /* in which dye ends below visible paper; 0: nothing below holds */
    double v;      /* mean across the width of where a third of the height is left */
    double half;   /* likewise of half the height */
    double foot;   /* and of where a tenth is left */
    double fade;   /* and of where it is lost in the paper */
    double soft;   /* from a tenth to eight tenths of the height */
    double spread; /* standard deviation of the end across the width */
    double slant;  /* right less left */
    double
        rough; /* scatter of neighbouring lanes' ends: what of `spread` is not the front's shape */
    double lead;   /* from the top down to the apex of the highest dye, at half height */
    double trail;  /* from that apex down to half its height; where dye never falls to that above
                      the origin, down to the origin */
    double height; /* amount at the apex over the paper above */
    double at[SL_VIEW_LANES]; /* the lanes' ends; v where dye has none */
};

/* Looks above `origin`. */
struct sl_dye_end sl_dye_end_find(const struct sl_view *view, double origin);

#endif
