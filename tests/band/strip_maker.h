// SPDX-License-Identifier: GPL-3.0-or-later
/* Profiles of strips whose bands are known exactly, with correlated noise. */
#ifndef TESTS_BAND_STRIP_MAKER_H
#define TESTS_BAND_STRIP_MAKER_H

#include <stdint.h>

#include "strandline/band.h"

enum { MAKER_SAMPLES = 900, MAKER_BANDS = 6 };

struct maker_band {
    double rf, sigma, tau; /* tail towards the origin; 0: Gaussian */
    double area;           /* of the summed load, in Rf */
    double colour[3];      /* parts of the area in the channels */
};

/* Zero is none of everything. */
struct maker {
    size_t bands;
    struct maker_band band[MAKER_BANDS];
    double line_area, line_colour[3]; /* dye that stays on the line */
    /* Dye released from the line at `rate` per Rf while its band ran to `streak_end`; what is still
     * to be released stands on the line too. `streak_area` is all of it. */
    double streak_area, streak_end, streak_rate, streak_colour[3];
    double gradient; /* of the summed load from one end to the other */
    double noise;    /* standard error of a channel's load on clean paper; 0.02 of the load more */
    uint64_t seed;
};

struct strip {
    struct sl_profile profile;
    struct sl_marks marks;
};

void strip_make(const struct maker *maker, struct strip *ret);
void strip_finish(struct strip *strip);

/* Uniform in [low, high); the generator is xorshift64*, so that every run has the same strips. */
double maker_uniform(uint64_t *seed, double low, double high);

#endif
