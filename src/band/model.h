// SPDX-License-Identifier: GPL-3.0-or-later
/* The model of a strip's load: a line that stays, what the bath washed down, bands, and a streak
 * behind each band. One vector of parameters for all three channels.
 *
 *     line: middle, ln width, ln blur, three roots of areas
 *     bath: ln reach, three roots of areas
 *     release: ln (rate x time that the water ran), what all streaks have in common
 *     band: mean, ln sigma, ln tau, three roots of areas, root of the part released slowly, by how
 *         much the logarithm of its own release is above the common one
 *
 * Areas enter as squares of their roots, which keeps them from being negative. A band's areas are
 * those of the dye that ran at once; `slow` times as much is released slowly: part of it runs as a
 * streak, the rest, exp(-rate x time), still stands on the line in the line's shape. The line's own
 * areas are bound. A dye that ran to R leaves at rate x time / R per Rf. */
#ifndef BAND_MODEL_H
#define BAND_MODEL_H

#include <gsl/gsl_matrix.h>
#include <gsl/gsl_vector.h>

#include "band/track.h"

enum {
    MODEL_LINE = 0,
    MODEL_BATH = 6,
    MODEL_RATE = 10,
    MODEL_BANDS = 11, /* first band's first parameter */
    MODEL_BAND_SIZE = 8,
    MODEL_BANDS_MAX = 2 * SL_BANDS_MAX,
    CELLS_MAX = 512,
    MODEL_PARAMETERS_MAX = MODEL_BANDS + MODEL_BAND_SIZE * MODEL_BANDS_MAX,
};

/* The cells that are fitted: means over some samples each, finer at the line. */
struct cells {
    size_t count;
    double *rf;
    double (*load)[3], (*error)[3];
    void *block;
};
sl_code cells_make(const struct track *track, double from_rf, double to_rf, struct cells *ret,
                   struct sl_status *status);
void cells_finish(struct cells *cells);

/* What is known of a parameter before the fit: a residual (value - mean) / sd. */
struct prior {
    double mean, sd;
};

struct model {
    const struct cells *cells;
    size_t bands;
    double line_blur; /* of where a streak begins */
    /* Streaks thin out upwards, and nothing of them is left on the line; the release is then what
     * they lose per Rf. */
    bool fading;
    struct prior prior[MODEL_PARAMETERS_MAX];
};

size_t model_parameters(const struct model *model);
size_t model_residuals(const struct model *model);
/* For struct lsq_problem; the context is a struct model. */
void model_residual(const gsl_vector *parameters, const void *context, gsl_vector *ret);
void model_jacobian(const gsl_vector *parameters, const void *context, gsl_matrix *ret);

/* Load of the whole model at one place, and of one band without what it released slowly. */
void model_load(const struct model *model, const double *parameters, double rf, double ret[3]);
void model_band_load(const double *parameters, size_t index, double rf, double ret[3]);

/* Areas of what is still to be released into the streaks and stands on the line. */
void model_unreleased(const struct model *model, const double *parameters, double ret[3]);

#endif
