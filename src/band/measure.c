// SPDX-License-Identifier: GPL-3.0-or-later
/* Measuring a band that has a maximum of its own:
 * 1. Apex: a cubic through the upper part of the band, weighted with the errors of the samples; a
 *    cubic because tailing bands lean. Its error follows from the covariance.
 * 2. Limits, half width and asymmetry: crossings of the smoothed load.
 * 3. Colour and signature: apex_colour.c. */
#include <gsl/gsl_math.h>
#include <gsl/gsl_multifit.h>
#include <math.h>

#include "band/measure.h"

static const double z_95 = 1.959964; /* of the normal distribution */
static const double upper_part = 0.75;
/* The apex of a crooked or fingered band is not where the mean of its rows has it: part of the half
 * width that is added to the error; 0.01 to 0.02 on drawn strips whose marks are plain. */
static const double shape_doubt = 0.025;
/* Samples this near the apex, in half widths, give its colour. */
static const double colour_reach = 0.3;

static void upper_range(const struct track *track, const double *smooth, const struct seed *seed,
                        size_t *from, size_t *to)
{
    size_t a = seed->at, b = seed->at;
    while (a > seed->low && smooth[a - 1] >= upper_part * smooth[seed->at])
        a--;
    while (b < seed->high && b + 1 < track->count && smooth[b + 1] >= upper_part * smooth[seed->at])
        b++;
    *from = a;
    *to = b;
}

/* Highest point of three neighbours' parabola. */
static struct apex parabola(const struct track *track, const double *smooth, size_t at)
{
    size_t a = at > 0 ? at - 1 : at, b = at + 1 < track->count ? at + 1 : at;
    double bend = smooth[a] - 2.0 * smooth[at] + smooth[b];
    double shift = bend < 0.0 ? 0.5 * (smooth[a] - smooth[b]) / bend : 0.0;
    return (struct apex){track->rf[at] + GSL_MIN(GSL_MAX(shift, -1.0), 1.0) * track->step,
                         0.3 * track->step};
}

/* Root of the cubic's slope that is a maximum; false where there is none near the middle. */
static bool cubic_top(const gsl_vector *c, const gsl_matrix *cov, double *ret, double *ret_se)
{
    double c1 = gsl_vector_get(c, 1), c2 = gsl_vector_get(c, 2), c3 = gsl_vector_get(c, 3);
    double inside = c2 * c2 - 3.0 * c1 * c3;
    if (inside <= 0.0 || c2 >= 0.0)
        return false;
    double t = c1 / (sqrt(inside) - c2);
    double slope[4] = {0.0, 1.0, 2.0 * t, 3.0 * t * t}, variance = 0.0;
    for (size_t i = 0; i < 4; i++)
        for (size_t j = 0; j < 4; j++)
            variance += slope[i] * slope[j] * gsl_matrix_get(cov, i, j);
    *ret = t;
    *ret_se = sqrt(fmax(variance, 0.0)) / fabs(2.0 * c2 + 6.0 * c3 * t);
    return fabs(t) < 1.0 && isfinite(*ret_se);
}

static bool cubic(const struct track *track, size_t from, size_t to, double *ret, double *ret_se)
{
    size_t n = to - from + 1;
    double middle = 0.5 * (track->rf[from] + track->rf[to]);
    double half = 0.5 * (track->rf[to] - track->rf[from]), chi2 = 0.0;
    bool good = false;
    gsl_matrix *design = gsl_matrix_alloc(n, 4), *cov = gsl_matrix_alloc(4, 4);
    gsl_vector *y = gsl_vector_alloc(n), *w = gsl_vector_alloc(n), *c = gsl_vector_alloc(4);
    gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc(n, 4);
    if (!design || !cov || !y || !w || !c || !work)
        goto done;
    for (size_t i = 0; i < n; i++) {
        size_t k = from + i;
        double t = (track->rf[k] - middle) / half, se = fmax(track->sum_se[k], 1e-9);
        gsl_vector_set(y, i, track->sum[k]);
        gsl_vector_set(w, i, track->weight[k] / (se * se));
        for (size_t j = 0; j < 4; j++)
            gsl_matrix_set(design, i, j, gsl_pow_int(t, (int)j));
    }
    if (gsl_multifit_wlinear(design, w, y, c, cov, &chi2, work))
        goto done;
    gsl_matrix_scale(cov, track->correlation * fmax(chi2 / (double)(n - 4), 1.0));
    good = cubic_top(c, cov, ret, ret_se);
    *ret = middle + half * *ret;
    *ret_se *= half;
done:
    if (work)
        gsl_multifit_linear_free(work);
    gsl_vector_free(c);
    gsl_vector_free(w);
    gsl_vector_free(y);
    gsl_matrix_free(cov);
    gsl_matrix_free(design);
    return good;
}

struct apex apex_find(const struct track *track, const double *smooth, const struct seed *seed)
{
    size_t from, to;
    struct apex apex = parabola(track, smooth, seed->at);
    upper_range(track, smooth, seed, &from, &to);
    double rf = 0.0, se = 0.0;
    if (to - from >= 7 && cubic(track, from, to, &rf, &se))
        apex = (struct apex){rf, se};
    return apex;
}

double edge_find(const struct track *track, const struct seeds *seeds, const struct seed *seed,
                 double part, int way, bool *ret_valley)
{
    const double *y = seeds->scale[seed->scale].smooth;
    double level = part * y[seed->at];
    size_t end = way < 0 ? seed->low : seed->high, i = seed->at;
    while (i != end && y[i] > level)
        i = way < 0 ? i - 1 : i + 1;
    *ret_valley = y[i] > level;
    if (*ret_valley || i == seed->at)
        return track->rf[i];
    size_t before = way < 0 ? i + 1 : i - 1;
    double t = (y[before] - level) / (y[before] - y[i]);
    return track->rf[before] + t * (track->rf[i] - track->rf[before]);
}

/* Where a valley hides one side at half height, the other side stands for both. */
static double half_width(const struct track *track, const struct seeds *seeds,
                         const struct seed *seed, double apex)
{
    bool low_hidden, high_hidden;
    double low = apex - edge_find(track, seeds, seed, 0.5, -1, &low_hidden);
    double high = edge_find(track, seeds, seed, 0.5, 1, &high_hidden) - apex;
    if (low_hidden && !high_hidden)
        low = high;
    if (high_hidden && !low_hidden)
        high = low;
    double smoothed =
        2.0 * sqrt(2.0 * M_LN2) * seeds->scale[seed->scale].sigma_samples * track->step;
    double width = low + high;
    return sqrt(fmax(width * width - smoothed * smoothed, 0.1 * width * width));
}

/* At a tenth of the height, or at the highest level that both sides reach. */
static double asymmetry(const struct track *track, const struct seeds *seeds,
                        const struct seed *seed, double apex)
{
    const double *y = seeds->scale[seed->scale].smooth;
    double part = fmax(0.1, fmax(y[seed->low], y[seed->high]) / y[seed->at] * 1.02);
    bool hidden;
    if (part > 0.9)
        return NAN;
    double tail = apex - edge_find(track, seeds, seed, part, -1, &hidden);
    double lead = edge_find(track, seeds, seed, part, 1, &hidden) - apex;
    return lead > 0.0 ? tail / lead : NAN;
}

void band_measure(const struct sl_profile *profile, const struct track *track,
                  const struct seeds *seeds, const struct seed *seed, struct sl_band *ret)
{
    bool valley;
    struct apex apex = apex_find(track, seeds->scale[seed->scale].smooth, seed);
    *ret = (struct sl_band){.rf = apex.rf, .resolution_to_next = NAN};
    ret->apex_load = seed->height;
    ret->start_rf = edge_find(track, seeds, seed, 0.1, -1, &valley);
    ret->end_rf = edge_find(track, seeds, seed, 0.1, 1, &valley);
    ret->half_width_rf = half_width(track, seeds, seed, apex.rf);
    ret->asymmetry = asymmetry(track, seeds, seed, apex.rf);
    double se = hypot(apex.se, shape_doubt * ret->half_width_rf);
    se = hypot(se, track_scale_se(track, apex.rf));
    ret->rf_interval[0] = apex.rf - z_95 * se;
    ret->rf_interval[1] = apex.rf + z_95 * se;
    band_colour(profile, track, apex.rf, colour_reach * ret->half_width_rf, ret);
}
