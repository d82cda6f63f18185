// SPDX-License-Identifier: GPL-3.0-or-later
#include <gsl/gsl_math.h>
#include <math.h>

#include "band/misfit.h"

static void residuals_of_cell(const struct model *model, const double *parameters, size_t cell,
                              double ret[3])
{
    const struct cells *cells = model->cells;
    double load[3];
    model_load(model, parameters, cells->rf[cell], load);
    for (int c = 0; c < 3; c++)
        ret[c] = (cells->load[cell][c] - load[c]) / cells->error[cell][c];
}

struct misfit misfit_make(const struct model *model, const double *parameters)
{
    double square = 0.0, product = 0.0, before[3] = {0};
    for (size_t k = 0; k < model->cells->count; k++) {
        double r[3];
        residuals_of_cell(model, parameters, k, r);
        for (int c = 0; c < 3; c++) {
            square += r[c] * r[c];
            product += r[c] * before[c];
            before[c] = r[c];
        }
    }
    return (struct misfit){square, GSL_MAX(product / fmax(square, 1e-12), 0.0)};
}

double misfit_of_cell(const struct model *model, const double *parameters, size_t cell)
{
    double r[3];
    residuals_of_cell(model, parameters, cell, r);
    return (r[0] * r[0] + r[1] * r[1] + r[2] * r[2]) / 3.0;
}
