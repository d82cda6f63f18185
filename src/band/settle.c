// SPDX-License-Identifier: GPL-3.0-or-later
/* Bound, released slowly, or hardly moved? All three stand at the line:
 *
 * 1. To the bands that were fitted come two that have no maximum of their own: a dye that left the
 *    line but hardly got away, and one that is nothing but a streak.
 * 2. Two kinds of streak are tried. First-order desorption: a dye that leaves the line at a
 *    constant rate while the water runs stands in a streak that thickens upwards, and exp(-rate x
 *    time) of it still stands on the line (J. C. Giddings, Dynamics of Chromatography, 1965). A
 *    streak that thins out upwards is a spread of speeds; nothing of it is left behind. Where one
 *    describes the strip much worse than the other it is dropped.
 *    Each dye is let go at a rate of its own, not far from the others'.
 * 3. The errors are widened until they fit the residuals: place by place, and for neighbours that
 *    go together.
 * 4. Profile likelihood: the bound share is held at one value after the other and all else is
 *    fitted again, until the misfit has grown too large (D. J. Venzon, S. H. Moolgavkar, Appl.
 *    Statist. 37 (1988) 87-94). So what can't be told apart stays open; weigh.c makes one answer
 *    of it. */
#include <gsl/gsl_math.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "band/misfit.h"
#include "band/settle.h"

/* The ruled line, as far as it is known beside the fit: place and blur in line widths; spreads of
 * logarithms. */
static const double place_doubt = 0.2, width_doubt = 0.1, usual_blur = 0.2, blur_doubt = 0.5;
/* How far the release has gone when the water stops, rate x time, and what streaks that thin out
 * lose per Rf; spreads of logarithms. What streaks of known rates show. */
static const double usual_release = 2.0, release_spread = 0.35, own_release = 0.35;
static const double usual_fading = 2.5, fading_spread = 0.6;
/* Root of the slow part over the fast one: less of it where the band is sharper than that, as slow
 * release broadens a band (Rf). */
static const double usual_slow = 0.9, slow_spread = 0.6, broad = 0.045;
static const double usual_tail = 0.4, tail_spread = 0.5; /* tau in sigmas */
static const double root_doubt = 10.0;

/* The two that have no maximum; `part` is a first guess of the area, in parts of the line's. */
struct hidden {
    double rf, rf_spread, sigma, sigma_spread, part;
};
static const struct hidden hidden[] = {{0.13, 0.04, 0.06, 0.3, 0.05}, {0.6, 0.25, 0.12, 0.4, 0.05}};
enum { HIDDEN = sizeof hidden / sizeof *hidden };

static const double far_away = 2.5;  /* line widths, from where some cells become one */
static const double near_most = 8.0; /* times, what misfit nearby widens */
static const double first_widening = 2.0, widening_most = 6.0, correlation_most = 0.9;
/* Chi-square: a kind that is worse by so much is dropped; so far up the profile is followed. */
static const double kind_fall = 12.0, profile_rise = 12.0;
static const double lost_way = 4.0; /* and one that is worse by so much is tried again */
static const double scale_most = 1.25;
static const double held_se = 0.003; /* how firmly the bound share is held */

/* From point to point of the profile: standard errors at first, by how much steps grow, the least.
 */
static const double first_step = 1.2, step_growth = 1.8, step_least = 0.003, step_most = 0.08;
enum {
    JOINED_MOST = 3,
    NEAR_CELLS = 3, /* to either side */
    FREE_ITERATIONS = 40,
    AGAIN_ITERATIONS = 25,
    HELD_ITERATIONS = 12
};

/* What is fitted: held at a bound share or free. */
struct stand {
    struct cells cells;
    struct model model;
    double start[MODEL_PARAMETERS_MAX];
    double total, at;
    bool held;
};

static double bound_area(const gsl_vector *x)
{
    double sum = 0.0;
    for (size_t i = MODEL_LINE + 3; i < MODEL_LINE + 6; i++)
        sum += gsl_pow_2(gsl_vector_get(x, i));
    return sum;
}

static void residual(const gsl_vector *x, const void *context, gsl_vector *f)
{
    const struct stand *stand = context;
    gsl_vector_view fitted = gsl_vector_subvector(f, 0, f->size - 1);
    double off = stand->held ? (bound_area(x) / stand->total - stand->at) / held_se : 0.0;
    model_residual(x, &stand->model, &fitted.vector);
    gsl_vector_set(f, f->size - 1, off);
}

static void jacobian(const gsl_vector *x, const void *context, gsl_matrix *j)
{
    const struct stand *stand = context;
    gsl_matrix_view fitted = gsl_matrix_submatrix(j, 0, 0, j->size1 - 1, j->size2);
    gsl_vector_view last = gsl_matrix_row(j, j->size1 - 1);
    model_jacobian(x, &stand->model, &fitted.matrix);
    gsl_vector_set_zero(&last.vector);
    for (size_t i = MODEL_LINE + 3; stand->held && i < MODEL_LINE + 6; i++)
        gsl_vector_set(&last.vector, i, 2.0 * gsl_vector_get(x, i) / (stand->total * held_se));
}

/* A coarser copy. Those that become one keep the error of one: what spoils a cell spoils its
 * neighbours too. */
static sl_code copy_cells(const struct cells *from, double line, struct cells *ret,
                          struct sl_status *status)
{
    struct cells cells = {.block = calloc(from->count, 7 * sizeof(double))};
    if (!cells.block)
        return sl_status_set(status, SL_E_MEMORY, "band/settle",
                             "Close other programs and try again.",
                             "There is not enough memory for the ink line.");
    cells.rf = cells.block;
    cells.load = (double(*)[3])(cells.rf + from->count);
    cells.error = (double(*)[3])(cells.rf + 4 * from->count);
    for (size_t i = 0; i < from->count;) {
        size_t k = cells.count++;
        size_t joined = fabs(from->rf[i]) > far_away * line ? JOINED_MOST : 1;
        joined = GSL_MIN(joined, from->count - i);
        for (size_t end = i + joined; i < end; i++) {
            cells.rf[k] += from->rf[i] / (double)joined;
            for (int c = 0; c < 3; c++) {
                cells.load[k][c] += from->load[i][c] / (double)joined;
                cells.error[k][c] += from->error[i][c] / (double)joined;
            }
        }
    }
    *ret = cells;
    return SL_OK;
}

static void widen(struct stand *stand, double by)
{
    for (size_t k = 0; k < stand->cells.count; k++)
        for (int c = 0; c < 3; c++)
            stand->cells.error[k][c] *= by;
}

static void set(struct stand *stand, size_t i, double mean, double sd)
{
    stand->start[i] = mean;
    stand->model.prior[i] = (struct prior){mean, sd};
}

static void add_hidden(struct stand *stand, const struct hidden *from, const double line_area[3])
{
    size_t first = MODEL_BANDS + MODEL_BAND_SIZE * stand->model.bands++;
    set(stand, first, from->rf, from->rf_spread);
    set(stand, first + 1, log(from->sigma), from->sigma_spread);
    set(stand, first + 2, log(usual_tail * from->sigma), tail_spread);
    stand->start[first + 6] = usual_slow;
    for (size_t c = 0; c < 3; c++) {
        set(stand, first + 3 + c, 0.0, root_doubt * sqrt(stand->total));
        stand->start[first + 3 + c] = sqrt(from->part * (line_area[c] + 1e-3 * stand->total));
    }
}

/* Where both flanks are seen they say where the line is, how wide and how soft. */
static void start_line(const struct track *track, const struct edges *edges, struct stand *stand)
{
    if (edges->found) {
        double width = edges->to - edges->from;
        set(stand, MODEL_LINE, 0.5 * (edges->from + edges->to),
            hypot(place_doubt * width, track->origin_se));
        set(stand, MODEL_LINE + 1, log(width), width_doubt);
        set(stand, MODEL_LINE + 2, log(edges->blur), blur_doubt);
        return;
    }
    set(stand, MODEL_LINE, 0.0, hypot(place_doubt * track->ruled, track->origin_se));
    set(stand, MODEL_LINE + 1, log(track->ruled),
        hypot(track->ruled_se / track->ruled, width_doubt));
    set(stand, MODEL_LINE + 2, log(usual_blur * track->ruled), blur_doubt);
}

static sl_code stand_make(const struct track *track, const struct fit *fit, double total,
                          struct stand *ret, struct sl_status *status)
{
    struct stand stand = {.model = fit->model, .total = total};
    sl_code code = copy_cells(&fit->cells, track->line, &stand.cells, status);
    if (code)
        return code;
    double line_area[3];
    for (int c = 0; c < 3; c++)
        line_area[c] = fmax(track->load[track_at(track, 0.0)][c], 0.0) * track->line;
    memcpy(stand.start, fit->result.parameters->data,
           fit->result.parameters->size * sizeof *stand.start);
    start_line(track, &fit->edges, &stand);
    stand.model.line_blur = 0.3 * track->ruled;
    for (size_t k = 0; k < HIDDEN && stand.model.bands < MODEL_BANDS_MAX; k++)
        add_hidden(&stand, &hidden[k], line_area);
    for (size_t b = 0; b < stand.model.bands; b++) {
        size_t first = MODEL_BANDS + MODEL_BAND_SIZE * b;
        stand.model.prior[first + 2].sd = tail_spread;
        double slow = usual_slow * fmin(exp(stand.start[first + 1]) / broad, 1.0);
        stand.model.prior[first + 6] = (struct prior){slow, slow_spread};
        stand.model.prior[first + 7] = (struct prior){0.0, own_release};
    }
    widen(&stand, first_widening);
    *ret = stand;
    return SL_OK;
}

static void take_kind(struct stand *stand, bool fading)
{
    stand->model.fading = fading;
    set(stand, MODEL_RATE, log(fading ? usual_fading : usual_release),
        fading ? fading_spread : release_spread);
}

static sl_code solve(struct stand *stand, const double *start, size_t iterations,
                     struct lsq_result *ret, struct sl_status *status)
{
    size_t p = model_parameters(&stand->model);
    stand->model.cells = &stand->cells;
    struct lsq_problem problem = {.residuals = model_residuals(&stand->model) + 1,
                                  .parameters = p,
                                  .residual = residual,
                                  .jacobian = jacobian,
                                  .context = stand,
                                  .tolerance = 1e-3,
                                  .iterations_most = iterations,
                                  .fall = 3e-3,
                                  .parameters_only = stand->held};
    gsl_vector_const_view from = gsl_vector_const_view_array(start, p);
    return lsq_solve(&problem, &from.vector, ret, status);
}

/* By how much the errors are still too small for the residuals: root of the reduced chi-square, and
 * of the part of the residuals that is independent, (1 - r)/(1 + r), r the correlation of
 * neighbours. */
static double widening(const struct stand *stand, const gsl_vector *x)
{
    struct misfit misfit = misfit_make(&stand->model, x->data);
    double data = 3.0 * (double)stand->cells.count, free = fmax(data - (double)x->size, 0.3 * data);
    double chi2 = fmax(misfit.square / free, 0.5);
    double r = GSL_MIN(misfit.correlation, correlation_most);
    return GSL_MIN(GSL_MAX(sqrt(chi2 * (1.0 + r) / (1.0 - r)), 1.0), widening_most);
}

/* What describes a strip badly in one place, at a front or an edge, must not decide what stands at
 * another: there the errors are those of the residuals nearby, against what is usual on this strip.
 */
static sl_code widen_places(struct stand *stand, const gsl_vector *x, struct sl_status *status)
{
    struct cells *cells = &stand->cells;
    size_t n = cells->count;
    double *square = calloc(3 * n, sizeof *square);
    if (!square)
        return sl_status_set(status, SL_E_MEMORY, "band/settle",
                             "Close other programs and try again.",
                             "There is not enough memory for the ink line.");
    double *near = square + n, *sorted = near + n;
    for (size_t k = 0; k < n; k++)
        square[k] = misfit_of_cell(&stand->model, x->data, k);
    for (size_t k = 0; k < n; k++) {
        size_t from = k > NEAR_CELLS ? k - NEAR_CELLS : 0, to = GSL_MIN(k + NEAR_CELLS, n - 1);
        near[k] = gsl_stats_mean(square + from, 1, to - from + 1);
        sorted[k] = near[k];
    }
    double usual = fmax(gsl_stats_median(sorted, 1, n), 1e-6);
    for (size_t k = 0; k < n; k++) {
        double by = GSL_MIN(sqrt(fmax(near[k] / usual, 1.0)), near_most);
        for (int c = 0; c < 3; c++)
            cells->error[k][c] *= by;
    }
    free(square);
    return SL_OK;
}

static void add_point(const struct stand *stand, const struct lsq_result *result, double at,
                      struct settle_profile *ret)
{
    double left[3];
    size_t k = ret->count++;
    model_unreleased(&stand->model, result->parameters->data, left);
    for (; k > 0 && ret->at[k - 1] > at; k--) {
        ret->at[k] = ret->at[k - 1];
        ret->chi2[k] = ret->chi2[k - 1];
        ret->left[k] = ret->left[k - 1];
    }
    ret->at[k] = at;
    ret->chi2[k] = result->chi2;
    ret->left[k] = (left[0] + left[1] + left[2]) / stand->total;
}

/* Held at value after value, each from the one before, to one side of the best. */
static void follow(struct stand *stand, const struct lsq_result *best, double step, double most,
                   struct settle_profile *ret)
{
    double x[MODEL_PARAMETERS_MAX];
    size_t points = SETTLE_POINTS / 2, size = best->parameters->size;
    gsl_vector_view view = gsl_vector_view_array(x, size);
    double at = bound_area(best->parameters) / stand->total;
    gsl_vector_memcpy(&view.vector, best->parameters);
    stand->held = true;
    for (bool more = true; more && points > 0; points--, step *= step_growth) {
        struct lsq_result result = {0};
        double next = GSL_MIN(GSL_MAX(at + step, 0.0), most);
        double nearer = sqrt((next + 1e-5) / (at + 1e-5));
        for (size_t i = MODEL_LINE + 3; i < MODEL_LINE + 6; i++)
            x[i] = nearer * x[i] + 1e-4 * sqrt(stand->total);
        if (next == at)
            break;
        stand->at = at = next;
        if (solve(stand, x, HELD_ITERATIONS, &result, NULL))
            break;
        gsl_vector_memcpy(&view.vector, result.parameters);
        add_point(stand, &result, at, ret);
        more = result.chi2 < best->chi2 + profile_rise;
        lsq_finish(&result);
    }
    stand->held = false;
}

/* Standard error of the bound share in the neighbourhood of the best. */
static double first_error(const struct stand *stand, const struct lsq_result *best)
{
    double variance = 0.0;
    for (size_t i = MODEL_LINE + 3; i < MODEL_LINE + 6; i++)
        for (size_t j = MODEL_LINE + 3; j < MODEL_LINE + 6; j++)
            variance += 4.0 * gsl_vector_get(best->parameters, i) *
                        gsl_vector_get(best->parameters, j) *
                        gsl_matrix_get(best->covariance, i, j);
    return sqrt(fmax(variance, 0.0)) / stand->total;
}

static void profile(struct stand *stand, const struct lsq_result *best, double most,
                    struct settle_profile *ret)
{
    double step = first_step * first_error(stand, best);
    step = GSL_MIN(GSL_MAX(step, step_least), step_most);
    add_point(stand, best, bound_area(best->parameters) / stand->total, ret);
    follow(stand, best, step, most, ret);
    follow(stand, best, -step, most, ret);
}

/* What was measured at the line over what is described there: a dark narrow line is what our shapes
 * miss first. */
static double scale_of(const struct stand *stand, const struct track *track, const gsl_vector *x)
{
    double reach = retained_reach(track), measured = 0.0, described = 0.0;
    for (size_t i = track_at(track, -reach); i <= track_at(track, reach); i++) {
        double load[3];
        if (track->weight[i] <= 0.0)
            continue;
        model_load(&stand->model, x->data, track->rf[i], load);
        measured += track->sum[i];
        described += load[0] + load[1] + load[2];
    }
    double scale = described > 0.0 ? measured / described : 1.0;
    return GSL_MIN(GSL_MAX(scale, 1.0 / scale_most), scale_most);
}

/* A fit that did worse than the other kind's may only have lost its way: once more from where that
 * one stands, and the better stays. */
static void solve_from_other(struct stand *stand, size_t iterations, int kind,
                             struct lsq_result *best)
{
    double x[MODEL_PARAMETERS_MAX];
    const struct lsq_result *other = &best[1 - kind];
    struct lsq_result result = {0};
    if (best[kind].chi2 < other->chi2 + lost_way)
        return;
    take_kind(stand, kind > 0);
    memcpy(x, other->parameters->data, other->parameters->size * sizeof *x);
    x[MODEL_RATE] = stand->start[MODEL_RATE];
    if (solve(stand, x, iterations, &result, NULL))
        return;
    if (result.chi2 < best[kind].chi2) {
        lsq_finish(&best[kind]);
        best[kind] = result;
    } else {
        lsq_finish(&result);
    }
}

/* Each kind from where it stands in `best`, or from the start. */
static sl_code solve_kinds(struct stand *stand, size_t iterations, struct lsq_result *best,
                           struct sl_status *status)
{
    sl_code code = SL_OK;
    for (int kind = 0; kind < SETTLE_KINDS && !code; kind++) {
        struct lsq_result result = {0};
        const gsl_vector *from = best[kind].parameters;
        take_kind(stand, kind > 0);
        code = solve(stand, from ? from->data : stand->start, iterations, &result, status);
        lsq_finish(&best[kind]);
        best[kind] = result;
    }
    for (int kind = 0; kind < SETTLE_KINDS && !code; kind++)
        solve_from_other(stand, iterations, kind, best);
    return code;
}

static void profile_kinds(struct stand *stand, const struct track *track,
                          const struct lsq_result *best, double most, struct settle *ret)
{
    double least = GSL_MIN(best[0].chi2, best[1].chi2);
    for (int kind = 0; kind < SETTLE_KINDS; kind++) {
        take_kind(stand, kind > 0);
        if (best[kind].chi2 <= least)
            ret->scale = scale_of(stand, track, best[kind].parameters);
        if (best[kind].chi2 <= least + kind_fall)
            profile(stand, &best[kind], most, &ret->kind[kind]);
    }
}

sl_code settle_make(const struct track *track, const struct fit *fit, double total, double most,
                    struct settle *ret, struct sl_status *status)
{
    struct stand stand;
    struct lsq_result best[SETTLE_KINDS] = {{0}};
    sl_code code = stand_make(track, fit, total, &stand, status);
    if (code)
        return code;
    code = solve_kinds(&stand, FREE_ITERATIONS, best, status);
    if (!code) {
        int better = best[1].chi2 < best[0].chi2;
        take_kind(&stand, better > 0);
        code = widen_places(&stand, best[better].parameters, status);
        widen(&stand, widening(&stand, best[better].parameters));
        if (!code)
            code = solve_kinds(&stand, AGAIN_ITERATIONS, best, status);
    }
    if (!code) {
        *ret = (struct settle){.scale = 1.0};
        profile_kinds(&stand, track, best, most, ret);
    }
    for (int kind = 0; kind < SETTLE_KINDS; kind++)
        lsq_finish(&best[kind]);
    cells_finish(&stand.cells);
    return code;
}
