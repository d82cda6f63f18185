// SPDX-License-Identifier: GPL-3.0-or-later
#include <gsl/gsl_math.h>
#include <math.h>
#include <stdlib.h>

#include "band/model.h"
#include "band/shape.h"

/* Cells are this wide away from the line, and this part of the line's width near it. */
static const double cell_rf = 0.008, cell_of_line = 0.15;
static const double near_line = 2.5;     /* line widths */
static const double shortest_run = 0.03; /* Rf; a dye that ran less leaves as fast as it does */
/* Real bands have none of our shapes exactly: parts of the load, and of the channel's highest load,
 * that are added to the error so that misfit is not taken for further bands. */
static const double shape_error = 0.03, floor_error = 0.004;

sl_code cells_make(const struct track *track, double from_rf, double to_rf, struct cells *ret,
                   struct sl_status *status)
{
    size_t n = track->count;
    struct cells cells = {.block = calloc(n, 7 * sizeof(double))};
    double highest[3] = {0};
    if (!cells.block)
        return sl_status_set(status, SL_E_MEMORY, "band/fit", "Close other programs and try again.",
                             "There is not enough memory for the bands.");
    cells.rf = cells.block;
    cells.load = (double(*)[3])(cells.rf + n);
    cells.error = (double(*)[3])(cells.rf + 4 * n);
    for (size_t i = track_at(track, from_rf);
         i < n && track->rf[i] <= to_rf && cells.count < CELLS_MAX;) {
        double width = fabs(track->rf[i]) < near_line * track->line
                           ? fmin(cell_of_line * track->line, cell_rf)
                           : cell_rf;
        double seen = 0.0, rf = 0.0, load[3] = {0}, variance[3] = {0};
        size_t end = i;
        for (; end < n && (end == i || track->rf[end] < track->rf[i] + width); end++) {
            if (track->weight[end] <= 0.0)
                continue;
            seen += 1.0;
            rf += track->rf[end];
            for (int c = 0; c < 3; c++) {
                load[c] += track->load[end][c];
                variance[c] += gsl_pow_2(track->load_se[end][c]);
            }
        }
        if (seen > 0.0) {
            size_t k = cells.count++;
            cells.rf[k] = rf / seen;
            for (int c = 0; c < 3; c++) {
                cells.load[k][c] = load[c] / seen;
                cells.error[k][c] = sqrt(variance[c] * fmin(track->correlation, seen)) / seen;
                highest[c] = fmax(highest[c], cells.load[k][c]);
            }
        }
        i = end;
    }
    double top = fmax(fmax(highest[0], highest[1]), fmax(highest[2], 1e-6));
    for (size_t k = 0; k < cells.count; k++)
        for (int c = 0; c < 3; c++)
            cells.error[k][c] =
                hypot(hypot(cells.error[k][c], floor_error * highest[c] + 1e-4 * top),
                      shape_error * cells.load[k][c]);
    *ret = cells;
    return SL_OK;
}

void cells_finish(struct cells *cells)
{
    if (!cells)
        return;
    free(cells->block);
    *cells = (struct cells){0};
}

size_t model_parameters(const struct model *model)
{
    return MODEL_BANDS + MODEL_BAND_SIZE * model->bands;
}

size_t model_residuals(const struct model *model)
{
    return 3 * model->cells->count + model_parameters(model);
}

static const double *band_of(const double *p, size_t index)
{
    return p + MODEL_BANDS + MODEL_BAND_SIZE * index;
}

/* What follows from the parameters alone, whatever the place. */
struct figures {
    double line_width, line_blur, bath_reach;
    double area[3]; /* of all that is released slowly and has not left the line yet */
    struct {
        double sigma, tau, slow;
        double rate; /* of release x time that the water ran */
        double left; /* part of what is released slowly that has not left the line yet */
    } band[MODEL_BANDS_MAX];
};

static void figures_make(const struct model *model, const double *p, struct figures *ret)
{
    ret->line_width = exp(p[MODEL_LINE + 1]);
    ret->line_blur = exp(p[MODEL_LINE + 2]);
    ret->bath_reach = exp(p[MODEL_BATH]);
    ret->area[0] = ret->area[1] = ret->area[2] = 0.0;
    for (size_t b = 0; b < model->bands; b++) {
        const double *band = band_of(p, b);
        ret->band[b].sigma = exp(band[1]);
        ret->band[b].tau = exp(band[2]);
        ret->band[b].slow = gsl_pow_2(band[6]);
        ret->band[b].rate = exp(p[MODEL_RATE] + band[7]);
        ret->band[b].left = model->fading ? 0.0 : exp(-ret->band[b].rate);
        for (int c = 0; c < 3; c++)
            ret->area[c] += ret->band[b].slow * ret->band[b].left * gsl_pow_2(band[3 + c]);
    }
}

void model_unreleased(const struct model *model, const double *p, double ret[3])
{
    struct figures figures;
    figures_make(model, p, &figures);
    for (int c = 0; c < 3; c++)
        ret[c] = figures.area[c];
}

/* What ran of the part that is released slowly. */
static struct streak streak_of(const struct model *model, const double *p,
                               const struct figures *figures, size_t index, double rf)
{
    const double *band = band_of(p, index);
    double sigma = figures->band[index].sigma, blur = model->line_blur;
    if (model->fading)
        return shape_fading(rf, blur, band[0], sigma, figures->band[index].rate);
    double rate = figures->band[index].rate / fmax(band[0], shortest_run); /* per Rf */
    struct streak streak = shape_streak(rf, blur, band[0], sigma, rate);
    if (band[0] > shortest_run)
        streak.by_end -= streak.by_ln_rate / band[0];
    return streak;
}

void model_band_load(const double *p, size_t index, double rf, double ret[3])
{
    const double *band = band_of(p, index);
    double value = shape_emg(rf, band[0], exp(band[1]), exp(band[2])).value;
    for (int c = 0; c < 3; c++)
        ret[c] = value * gsl_pow_2(band[3 + c]);
}

static void load_at(const struct model *model, const double *p, const struct figures *figures,
                    double rf, double ret[3])
{
    const double *line = p + MODEL_LINE, *bath = p + MODEL_BATH;
    double still = shape_line(rf, line[0], figures->line_width, figures->line_blur).value;
    double washed = shape_bath(rf, model->line_blur, figures->bath_reach).value;
    for (int c = 0; c < 3; c++)
        ret[c] =
            still * (gsl_pow_2(line[3 + c]) + figures->area[c]) + washed * gsl_pow_2(bath[1 + c]);
    for (size_t b = 0; b < model->bands; b++) {
        const double *band = band_of(p, b);
        double ratio = figures->band[b].slow * streak_of(model, p, figures, b, rf).value;
        double ran = shape_emg(rf, band[0], figures->band[b].sigma, figures->band[b].tau).value;
        for (int c = 0; c < 3; c++)
            ret[c] += ran * gsl_pow_2(band[3 + c]) + ratio * gsl_pow_2(band[3 + c]);
    }
}

void model_load(const struct model *model, const double *p, double rf, double ret[3])
{
    struct figures figures;
    figures_make(model, p, &figures);
    load_at(model, p, &figures, rf, ret);
}

void model_residual(const gsl_vector *parameters, const void *context, gsl_vector *ret)
{
    const struct model *model = context;
    const struct cells *cells = model->cells;
    struct figures figures;
    size_t row = 0;
    figures_make(model, parameters->data, &figures);
    for (size_t k = 0; k < cells->count; k++) {
        double load[3];
        load_at(model, parameters->data, &figures, cells->rf[k], load);
        for (int c = 0; c < 3; c++)
            gsl_vector_set(ret, row++, (load[c] - cells->load[k][c]) / cells->error[k][c]);
    }
    for (size_t i = 0; i < parameters->size; i++)
        gsl_vector_set(ret, row++,
                       (gsl_vector_get(parameters, i) - model->prior[i].mean) / model->prior[i].sd);
}

/* What a parameter does to one cell, in one channel: rows of the three channels follow each other
 * and are zero before. */
struct rows {
    gsl_matrix *jacobian;
    size_t first;
    const double *error;
};

static void put(const struct rows *rows, int channel, size_t parameter, double derivative)
{
    gsl_matrix *to = rows->jacobian;
    to->data[(rows->first + (size_t)channel) * to->tda + parameter] +=
        derivative / rows->error[channel];
}

static struct line fill_line(const double *line, const struct figures *figures, double rf,
                             const struct rows *rows)
{
    struct line shape = shape_line(rf, line[0], figures->line_width, figures->line_blur);
    for (int c = 0; c < 3; c++) {
        double root = line[3 + c], area = root * root + figures->area[c];
        put(rows, c, MODEL_LINE, area * shape.by_middle);
        put(rows, c, MODEL_LINE + 1, area * shape.by_ln_width);
        put(rows, c, MODEL_LINE + 2, area * shape.by_ln_blur);
        put(rows, c, MODEL_LINE + 3 + (size_t)c, 2.0 * root * shape.value);
    }
    return shape;
}

static void fill_bath(const double *bath, double blur, double reach, double rf,
                      const struct rows *rows)
{
    struct bath shape = shape_bath(rf, blur, reach);
    for (int c = 0; c < 3; c++) {
        double root = bath[1 + c];
        put(rows, c, MODEL_BATH, root * root * shape.by_ln_reach);
        put(rows, c, MODEL_BATH + 1 + (size_t)c, 2.0 * root * shape.value);
    }
}

/* What is released slowly: the streak, and what is left of it on the line. */
static struct streak slow_shape(const struct model *model, const double *p,
                                const struct figures *figures, size_t index, double rf, double line)
{
    double left = figures->band[index].left * line;
    struct streak slow = streak_of(model, p, figures, index, rf);
    slow.value += left;
    slow.by_ln_rate -= figures->band[index].rate * left;
    return slow;
}

static void fill_band(const struct model *model, const double *p, const struct figures *figures,
                      size_t index, double rf, double line, const struct rows *rows)
{
    const double *band = band_of(p, index);
    size_t first = MODEL_BANDS + MODEL_BAND_SIZE * index;
    double part = figures->band[index].slow;
    struct emg ran = shape_emg(rf, band[0], figures->band[index].sigma, figures->band[index].tau);
    struct streak slow = slow_shape(model, p, figures, index, rf, line);
    for (int c = 0; c < 3; c++) {
        double root = band[3 + c], area = root * root;
        put(rows, c, first, area * (ran.by_mean + part * slow.by_end));
        put(rows, c, first + 1, area * (ran.by_ln_sigma + part * slow.by_ln_sigma));
        put(rows, c, first + 2, area * ran.by_ln_tau);
        put(rows, c, first + 3 + (size_t)c, 2.0 * root * (ran.value + part * slow.value));
        put(rows, c, first + 6, area * 2.0 * band[6] * slow.value);
        put(rows, c, first + 7, area * part * slow.by_ln_rate);
        put(rows, c, MODEL_RATE, area * part * slow.by_ln_rate);
    }
}

void model_jacobian(const gsl_vector *parameters, const void *context, gsl_matrix *ret)
{
    const struct model *model = context;
    const struct cells *cells = model->cells;
    const double *p = parameters->data;
    struct rows rows = {ret, 0, NULL};
    struct figures figures;
    gsl_matrix_set_zero(ret);
    figures_make(model, p, &figures);
    for (size_t k = 0; k < cells->count; k++, rows.first += 3) {
        rows.error = cells->error[k];
        struct line line = fill_line(p + MODEL_LINE, &figures, cells->rf[k], &rows);
        fill_bath(p + MODEL_BATH, model->line_blur, figures.bath_reach, cells->rf[k], &rows);
        for (size_t b = 0; b < model->bands; b++)
            fill_band(model, p, &figures, b, cells->rf[k], line.value, &rows);
    }
    for (size_t i = 0; i < parameters->size; i++)
        gsl_matrix_set(ret, rows.first + i, i, 1.0 / model->prior[i].sd);
}
