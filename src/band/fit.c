// SPDX-License-Identifier: GPL-3.0-or-later
/* The joint fit:
 * 1. Start with the line, the bath and one band for each maximum.
 * 2. Fit all three channels together (lsq).
 * 3. Look where the largest misfit of one sign lies; try a further band there.
 * 4. Keep it if the Bayesian information criterion falls enough and if it is a band of its own:
 *    strong enough, and of another hue or far enough from its neighbours; else stop.
 * G. Schwarz, Ann. Statist. 6 (1978) 461-464 for the criterion. */
#include <gsl/gsl_math.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <string.h>

#include "band/fit.h"
#include "band/misfit.h"
#include "band/shape.h"

static const double sigma_of_half_width = 0.42466; /* 1 / (2 sqrt(2 ln 2)) */
/* How well the start is trusted: standard deviations of logarithms where not said otherwise. */
static const double place_doubt = 0.3; /* of the line, in its widths */
static const double width_doubt = 0.5, tail_doubt = 0.8, line_doubt = 0.3, blur_doubt = 0.6;
static const double edge_doubt = 0.15; /* of the line's width where both flanks are seen */
static const double usual_tail = 0.4;  /* tau in sigmas */
static const double usual_reach = 0.05, reach_doubt = 0.7; /* of the bath, Rf */
static const double usual_slow = 0.5, slow_doubt = 0.7;    /* root of the part released slowly */
/* How far the release has gone when the water stops, and the spread of its logarithm. */
static const double usual_release = 1.8, release_doubt = 0.5, own_release = 0.3;
static const double root_doubt = 10.0; /* keeps what the data say nothing about from running away */
static const double root_least = 0.03;
enum { STARTS = 3 };
static const double much_slow = 1.2, little_slow = 0.1, much_ln_tail = 0.7;
static const size_t iterations_most = 30;
static const double correlation_most = 0.95;
static const double level_least = 3.0; /* errors, of a load that tells about texture */

/* A further band: fall of the criterion ("very strong" is 10, "strong" 6: R. Kass, A. Raftery, J.
 * Am. Stat. Assoc. 90 (1995) 773-795; twice the former, as our shapes are not the paper's; the
 * latter makes one that is nearly there), least part of all bands, distance in mean widths, angle
 * between signatures. */
static const double criterion_fall = 20.0, criterion_nearly = 6.0;
static const double part_least = 0.03, distance_least = 0.35;
static const double width_least = 0.03; /* Rf: narrower is texture */
static const double distance_same_hue = 0.7, other_hue_rad = 0.15;
static const size_t further_most = 3;
/* Windows for misfit, Rf, and the least of it in its errors. */
static const double misfit_widths[] = {0.06, 0.12, 0.24}, misfit_least = 3.0;

static void set(double *start, struct model *model, size_t i, double mean, double sd)
{
    start[i] = mean;
    model->prior[i] = (struct prior){mean, sd};
}

static void set_root(double *start, struct model *model, size_t i, double area, double largest)
{
    start[i] = sqrt(fmax(area, gsl_pow_2(root_least) * largest));
    model->prior[i] = (struct prior){0.0, root_doubt * sqrt(largest)};
}

static void start_line(const struct track *track, const double load[3], double largest,
                       const struct edges *edges, double *start, struct model *model)
{
    double middle = edges->found ? 0.5 * (edges->from + edges->to) : 0.0;
    double width = edges->found ? edges->to - edges->from : track->line;
    set(start, model, MODEL_LINE, middle, place_doubt * track->line);
    set(start, model, MODEL_LINE + 1, log(width), edges->found ? edge_doubt : line_doubt);
    set(start, model, MODEL_LINE + 2, log(edges->found ? edges->blur : 0.25 * width), blur_doubt);
    for (size_t c = 0; c < 3; c++)
        set_root(start, model, MODEL_LINE + 3 + c, load[c] * track->line, largest);
    set(start, model, MODEL_BATH, log(usual_reach), reach_doubt);
    for (size_t c = 0; c < 3; c++)
        set_root(start, model, MODEL_BATH + 1 + c, 0.05 * load[c] * usual_reach, largest);
    set(start, model, MODEL_RATE, log(usual_release), release_doubt);
}

static void start_band(const struct fit_start *from, size_t index, double largest, double *start,
                       struct model *model)
{
    size_t first = MODEL_BANDS + MODEL_BAND_SIZE * index;
    double sigma = sigma_of_half_width * from->half_width;
    set(start, model, first, from->rf + 0.3 * usual_tail * sigma, 0.5 * from->half_width);
    set(start, model, first + 1, log(sigma), width_doubt);
    set(start, model, first + 2, log(usual_tail * sigma), tail_doubt);
    for (size_t c = 0; c < 3; c++)
        set_root(start, model, first + 3 + c, from->load[c] * from->half_width, largest);
    set(start, model, first + 6, usual_slow, slow_doubt);
    set(start, model, first + 7, 0.0, own_release);
}

/* Which part of the residuals is independent of its neighbours. */
static double independence(const struct fit *fit)
{
    struct misfit misfit = misfit_make(&fit->model, fit->result.parameters->data);
    double r = GSL_MIN(misfit.correlation, correlation_most);
    return (1.0 - r) / (1.0 + r);
}

static double criterion_of(const struct fit *fit, double independent)
{
    double parameters = (double)model_parameters(&fit->model);
    double data = 3.0 * (double)fit->cells.count;
    return fit->result.chi2 * independent + parameters * log(data * independent);
}

/* `starts` has a start in each row. */
static sl_code solve(const gsl_matrix *starts, struct fit *fit, struct sl_status *status)
{
    size_t p = model_parameters(&fit->model), n = model_residuals(&fit->model);
    struct lsq_problem problem = {.residuals = n,
                                  .parameters = p,
                                  .residual = model_residual,
                                  .jacobian = model_jacobian,
                                  .context = &fit->model,
                                  .tolerance = 1e-4,
                                  .iterations_most = iterations_most,
                                  .fall = 1e-3};
    struct lsq_result result = {0};
    sl_code code = lsq_solve_best(&problem, starts, &result, status);
    if (code)
        return code;
    lsq_finish(&fit->result);
    fit->result = result;
    fit->freedom = fmax((double)(n - 2 * p), 1.0);
    fit->independence = independence(fit);
    fit->criterion = criterion_of(fit, fit->independence);
    return SL_OK;
}

/* Misfit of the first fit that comes and goes from cell to cell: the paper's texture, in parts of
 * the load. A band that is still missing changes slowly, and the differences leave it out. */
static void add_texture(struct fit *fit)
{
    struct cells *cells = &fit->cells;
    double scratch[3 * CELLS_MAX], before[3] = {NAN, NAN, NAN};
    size_t count = 0;
    for (size_t k = 0; k < cells->count; k++) {
        double load[3];
        model_load(&fit->model, fit->result.parameters->data, cells->rf[k], load);
        for (int c = 0; c < 3; c++) {
            bool loaded = load[c] > level_least * cells->error[k][c];
            double misfit = loaded ? cells->load[k][c] / load[c] - 1.0 : NAN;
            if (isfinite(misfit) && isfinite(before[c]))
                scratch[count++] = fabs(misfit - before[c]) * M_SQRT1_2;
            before[c] = misfit;
        }
    }
    if (count < 10)
        return;
    double texture = 1.4826 * gsl_stats_median(scratch, 1, count);
    for (size_t k = 0; k < cells->count; k++)
        for (int c = 0; c < 3; c++)
            cells->error[k][c] = hypot(cells->error[k][c], texture * fmax(cells->load[k][c], 0.0));
}

struct fit_band fit_band(const struct fit *fit, size_t index)
{
    struct fit_band band = {0};
    size_t first = MODEL_BANDS + MODEL_BAND_SIZE * index;
    const double *p = fit->result.parameters->data, *q = p + first;
    double sigma = exp(q[1]), tau = exp(q[2]), lead;
    double streak = gsl_pow_2(q[6]) * (1.0 - exp(-exp(p[MODEL_RATE] + q[7])));
    band.apex = shape_emg_apex(q[0], sigma, tau);
    band.apex_se = sqrt(fmax(gsl_matrix_get(fit->result.covariance, first, first), 0.0));
    band.half_width = shape_emg_width(q[0], sigma, tau, 0.5, NULL);
    double tenth = shape_emg_width(q[0], sigma, tau, 0.1, &lead);
    band.asymmetry = (tenth - lead) / lead;
    for (int c = 0; c < 3; c++) {
        band.area[c] = gsl_pow_2(q[3 + c]) * (1.0 + streak);
        band.area_sum += band.area[c];
    }
    return band;
}

/* Whether the last band of the fit is one of its own. */
static bool own_band(const struct fit *fit)
{
    size_t last = fit->model.bands - 1;
    struct fit_band band = fit_band(fit, last);
    double all = band.area_sum;
    for (size_t b = 0; b < last; b++) {
        struct fit_band other = fit_band(fit, b);
        double distance =
            fabs(band.apex - other.apex) / (0.5 * (band.half_width + other.half_width));
        bool same = sl_signature_angle_rad(band.area, other.area) < other_hue_rad;
        if (distance < (same ? distance_same_hue : distance_least))
            return false;
        all += other.area_sum;
    }
    return band.area_sum > part_least * all && band.apex > 3.0 * fit->model.line_blur &&
           band.apex < 1.05 && band.half_width > width_least;
}

/* Sum of the misfit over a window; the place of its largest value in its errors, where that is
 * above `largest`. */
static double find_misfit(const struct fit *fit, double width, double largest,
                          struct fit_start *ret)
{
    const struct cells *cells = &fit->cells;
    const double *p = fit->result.parameters->data;
    for (size_t k = 0; k < cells->count; k++) {
        double misfit[3] = {0}, variance = 0.0, sum = 0.0, n = 0.0;
        for (size_t j = k; j < cells->count && cells->rf[j] < cells->rf[k] + width; j++) {
            double load[3];
            n += 1.0;
            model_load(&fit->model, p, cells->rf[j], load);
            for (int c = 0; c < 3; c++) {
                misfit[c] += cells->load[j][c] - load[c];
                variance += gsl_pow_2(cells->error[j][c]);
            }
        }
        for (int c = 0; c < 3; c++)
            sum += misfit[c];
        double middle = cells->rf[k] + 0.5 * width;
        if (middle < width || sum <= largest * sqrt(variance))
            continue;
        largest = sum / sqrt(variance);
        ret->rf = middle;
        ret->half_width = width;
        for (int c = 0; c < 3; c++)
            ret->load[c] = fmax(misfit[c] / n, 0.0);
    }
    return largest;
}

/* A band that is missing may be narrow or broad. */
static bool find_missing(const struct fit *fit, struct fit_start *ret)
{
    double largest = misfit_least;
    for (size_t k = 0; k < sizeof misfit_widths / sizeof *misfit_widths; k++)
        largest = find_misfit(fit, misfit_widths[k], largest, ret);
    return largest > misfit_least;
}

static double largest_area(const struct fit_start *starts, size_t count, const double line_load[3],
                           double line)
{
    double largest = 1e-6;
    for (int c = 0; c < 3; c++)
        largest = fmax(largest, line_load[c] * line);
    for (size_t b = 0; b < count; b++)
        for (int c = 0; c < 3; c++)
            largest = fmax(largest, starts[b].load[c] * starts[b].half_width);
    return largest;
}

/* Tries one band more; true if it stays. */
static bool try_further(struct fit *fit, double largest)
{
    struct fit trial = *fit;
    struct fit_start from = {0};
    trial.result = (struct lsq_result){0};
    double start[MODEL_PARAMETERS_MAX];
    if (fit->model.bands >= MODEL_BANDS_MAX || !find_missing(fit, &from))
        return false;
    memcpy(start, fit->result.parameters->data, fit->result.parameters->size * sizeof *start);
    start_band(&from, trial.model.bands, largest, start, &trial.model);
    trial.model.bands++;
    trial.model.cells = &trial.cells;
    gsl_matrix_const_view view =
        gsl_matrix_const_view_array(start, 1, model_parameters(&trial.model));
    if (solve(&view.matrix, &trial, NULL))
        return false;
    /* both by the larger fit's residuals, whose neighbours are the less alike */
    double fall = criterion_of(fit, trial.independence) - trial.criterion;
    if (fall < criterion_fall || !own_band(&trial)) {
        fit->has_nearly = fall > criterion_nearly && own_band(&trial);
        if (fit->has_nearly)
            fit->nearly = fit_band(&trial, fit->model.bands);
        lsq_finish(&trial.result);
        return false;
    }
    trial.fall[fit->model.bands] = fall;
    lsq_finish(&fit->result);
    *fit = trial;
    fit->model.cells = &fit->cells;
    return true;
}

/* Starts with much and with little released slowly: between the two the fit may have a ridge. */
static sl_code solve_first(const double *start, struct fit *fit, struct sl_status *status)
{
    double starts[STARTS * MODEL_PARAMETERS_MAX];
    size_t p = model_parameters(&fit->model);
    for (size_t s = 0; s < STARTS; s++) {
        double *row = starts + s * p;
        memcpy(row, start, p * sizeof *row);
        for (size_t b = 0; s > 0 && b < fit->model.bands; b++) {
            double *band = row + MODEL_BANDS + MODEL_BAND_SIZE * b;
            band[2] += s == 1 ? -much_ln_tail : much_ln_tail;
            band[6] = s == 1 ? much_slow : little_slow;
        }
    }
    gsl_matrix_const_view view = gsl_matrix_const_view_array(starts, STARTS, p);
    return solve(&view.matrix, fit, status);
}

static sl_code solve_again(struct fit *fit, struct sl_status *status)
{
    gsl_matrix_const_view view =
        gsl_matrix_const_view_array(fit->result.parameters->data, 1, fit->result.parameters->size);
    return solve(&view.matrix, fit, status);
}

sl_code fit_make(const struct track *track, double from_rf, double to_rf,
                 const struct fit_start *starts, size_t count, const double line_load[3],
                 struct fit *ret, struct sl_status *status)
{
    struct fit fit = {.edges = edges_find(track),
                      .given = count,
                      .model = {.bands = count, .line_blur = 0.3 * track->line}};
    double start[MODEL_PARAMETERS_MAX];
    double largest = largest_area(starts, count, line_load, track->line);
    sl_code code = cells_make(track, from_rf, to_rf, &fit.cells, status);
    if (code)
        return code;
    fit.model.cells = &fit.cells;
    start_line(track, line_load, largest, &fit.edges, start, &fit.model);
    for (size_t b = 0; b < count; b++)
        start_band(&starts[b], b, largest, start, &fit.model);
    code = solve_first(start, &fit, status);
    if (!code) {
        add_texture(&fit);
        code = solve_again(&fit, status);
    }
    if (code) {
        fit_finish(&fit);
        return code;
    }
    for (size_t k = 0; k < further_most && try_further(&fit, largest); k++)
        ;
    *ret = fit;
    ret->model.cells = &ret->cells;
    return SL_OK;
}

void fit_finish(struct fit *fit)
{
    if (!fit)
        return;
    lsq_finish(&fit->result);
    cells_finish(&fit->cells);
    *fit = (struct fit){0};
}

double fit_apex(const struct fit *fit, double rf, double reach)
{
    const double step = 5e-4;
    double highest = -INFINITY, apex = rf;
    for (double at = rf - reach; at <= rf + reach; at += step) {
        double load[3];
        model_load(&fit->model, fit->result.parameters->data, at, load);
        double sum = load[0] + load[1] + load[2];
        if (sum > highest) {
            highest = sum;
            apex = at;
        }
    }
    return apex;
}
