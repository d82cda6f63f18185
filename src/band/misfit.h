// SPDX-License-Identifier: GPL-3.0-or-later
/* How far a fitted model lies from the cells, in the cells' errors. */
#ifndef BAND_MISFIT_H
#define BAND_MISFIT_H

#include "band/model.h"

/* Residuals of all cells and channels. */
struct misfit {
    double square;      /* sum of their squares */
    double correlation; /* of neighbours (first-order autoregression); not below 0 */
};
struct misfit misfit_make(const struct model *model, const double *parameters);

/* Mean square of one cell's three residuals. */
double misfit_of_cell(const struct model *model, const double *parameters, size_t cell);

#endif
