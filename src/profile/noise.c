// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. Clean rows: the load, smoothed over a window, is small against the strip's highest.
 * 2. There the reflectance less its moving mean is noise (light that is not known well changes
 *    more slowly and has its own field).
 * 3. Variance beyond the one expected from the lanes is added everywhere as a part of R.
 * 4. The moving mean itself should be white as well as the light's error says; what it leaves it by
 *    beyond that is light (and paper) that the trend did not follow.
 * 5. Its autocorrelation, summed until it is lost in the noise, says over how many samples the
 *    noise is correlated: 1 + 2 sum rho (the integrated autocorrelation of time series). */
#include "profile/noise.h"

#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdlib.h>

enum {
    POOL_ROWS = 9,
    HALF_WINDOW = 24, /* rows; the moving mean takes off 1 / 49 of the noise */
    LAG_MAX = 12,     /* rows */
    CLEAN_MIN = 60,   /* rows, below which the noise of clean paper is not asked for */
};
#define CLEAN_PART 0.005 /* of the highest summed load */
#define CLEAN_LOAD 0.02
#define RHO_MIN 0.1 /* autocorrelation below this counts as none */

static double pooled(const double *values, size_t count, size_t at)
{
    double window[POOL_ROWS];
    size_t n = 0;
    for (int k = -(POOL_ROWS / 2); k <= POOL_ROWS / 2; k++) {
        ptrdiff_t i = (ptrdiff_t)at + k;
        if (i < 0 || i >= (ptrdiff_t)count || !isfinite(values[i]))
            continue;
        window[n++] = values[i];
    }
    if (n == 0)
        return values[at];
    gsl_sort(window, 1, n);
    double sum = 0;
    size_t from = n / 4, to = n - n / 4; /* the middle half: one row's mark or dust falls out */
    for (size_t k = from; k < to; k++)
        sum += window[k];
    return sum / (double)(to - from);
}

bool sl_noise_pool(double (*variance)[3], size_t count)
{
    double *copy = calloc(count, sizeof *copy);
    if (copy == NULL)
        return false;
    for (int c = 0; c < 3; c++) {
        for (size_t i = 0; i < count; i++)
            copy[i] = variance[i][c];
        for (size_t i = 0; i < count; i++)
            variance[i][c] = pooled(copy, count, i);
    }
    free(copy);
    return true;
}

static double summed(const double load[3])
{
    return load[0] + load[1] + load[2];
}

static double summed_se(const double se[3])
{
    return sqrt(se[0] * se[0] + se[1] * se[1] + se[2] * se[2]);
}

/* Rows whose whole window is seen and holds no dye: a foot of a band would pass for noise. */
static size_t find_clean(const struct sl_profile *p, bool *clean)
{
    double highest = 0;
    for (size_t i = 0; i < p->count; i++)
        highest = fmax(highest, summed(p->load[i]));
    double limit = fmax(CLEAN_PART * highest, CLEAN_LOAD);
    size_t found = 0, reach = HALF_WINDOW;
    for (size_t i = reach; i + reach < p->count; i++) {
        double sum = 0;
        bool usable = true;
        for (size_t k = i - reach; k <= i + reach; k++) {
            double load = summed(p->load[k]);
            sum += load;
            usable = usable && !(p->flags[k] & (SL_CELL_HIDDEN | SL_CELL_MARK)) &&
                     fabs(load) < limit + 6 * summed_se(p->load_se[k]);
        }
        clean[i] = usable && fabs(sum) < (2 * HALF_WINDOW + 1) * limit;
        found += clean[i];
    }
    return found;
}

static void residuals(const struct sl_profile *p, const bool *clean, int channel, double *ret)
{
    for (size_t i = 0; i < p->count; i++) {
        ret[i] = NAN;
        if (!clean[i])
            continue;
        double sum = 0;
        for (size_t k = i - HALF_WINDOW; k <= i + HALF_WINDOW; k++)
            sum += p->reflectance[k][channel];
        ret[i] = p->reflectance[i][channel] - sum / (2 * HALF_WINDOW + 1);
    }
}

static double product_mean(const double *x, size_t count, size_t lag)
{
    double sum = 0;
    size_t n = 0;
    for (size_t i = 0; i + lag < count; i++) {
        if (!isfinite(x[i]) || !isfinite(x[i + lag]))
            continue;
        sum += x[i] * x[i + lag];
        n++;
    }
    return n > 0 ? sum / (double)n : 0;
}

static void add_common(struct sl_profile *p, const struct sl_marks *marks, int channel,
                       double variance)
{
    for (size_t i = 0; i < p->count; i++) {
        if (p->flags[i] & SL_CELL_HIDDEN)
            continue;
        double r = fmin(fmax(p->reflectance[i][channel], SL_REFLECTANCE_MIN), 1.0);
        double absolute = r * marks->paper_reflectance[channel];
        double slope = fabs(absolute * absolute - 1) / (2 * absolute * absolute) *
                       marks->paper_reflectance[channel];
        double common = sqrt(variance) * r;
        p->reflectance_se[i][channel] = hypot(p->reflectance_se[i][channel], common);
        p->load_se[i][channel] = hypot(p->load_se[i][channel], slope * common);
    }
}

static double expected_variance(const struct sl_profile *p, const bool *clean, int channel)
{
    double sum = 0;
    size_t n = 0;
    for (size_t i = 0; i < p->count; i++) {
        if (!clean[i])
            continue;
        sum += p->reflectance_se[i][channel] * p->reflectance_se[i][channel];
        n++;
    }
    return n > 0 ? sum / (double)n : 0;
}

/* Integrated autocorrelation of what stands in rho, up to where it can't be told from none. */
static double correlated_samples(const double rho[LAG_MAX + 1], size_t clean)
{
    double least = fmax(RHO_MIN, 2 / sqrt((double)clean)), sum = 1;
    for (int lag = 1; lag <= LAG_MAX && rho[lag] > least; lag++)
        sum += 2 * rho[lag];
    return sum;
}

bool sl_noise_across(struct sl_profile *p, const struct sl_marks *marks)
{
    p->correlation_samples = 1;
    double rho[LAG_MAX + 1] = {0};
    size_t found = 0;
    bool *clean = calloc(p->count, sizeof *clean);
    double *residual = calloc(p->count, sizeof *residual);
    bool ok = clean != NULL && residual != NULL;
    if (!ok || (found = find_clean(p, clean)) < CLEAN_MIN)
        goto done;
    for (int c = 0; c < 3; c++) {
        residuals(p, clean, c, residual);
        double variance = product_mean(residual, p->count, 0);
        double excess = variance - expected_variance(p, clean, c);
        if (excess > 0)
            add_common(p, marks, c, excess);
        for (size_t lag = 1; lag <= LAG_MAX && variance > 0; lag++)
            rho[lag] += product_mean(residual, p->count, lag) / variance / 3;
    }
    p->correlation_samples = correlated_samples(rho, found);
done:
    free(clean);
    free(residual);
    return ok;
}

bool sl_noise_white(const struct sl_profile *p, const struct sl_sheet *sheet, double *ret)
{
    *ret = 0;
    bool *clean = calloc(p->count, sizeof *clean);
    if (clean == NULL)
        return false;
    size_t found = find_clean(p, clean);
    double square = 0, known = 0;
    for (size_t i = 0; i < p->count; i++) {
        double sum = 0, se = 0;
        for (size_t k = i - HALF_WINDOW; clean[i] && k <= i + HALF_WINDOW; k++)
            for (int c = 0; c < 3; c++)
                sum += (p->reflectance[k][c] - 1) / (3 * (2 * HALF_WINDOW + 1));
        for (int c = 0; clean[i] && c < 3; c++)
            se += (double)sheet->paper[3 * i + (size_t)c] / 3;
        square += sum * sum;
        known += se * se;
    }
    if (found >= CLEAN_MIN)
        *ret = sqrt(fmax(square - known, 0) / (double)found);
    free(clean);
    return true;
}
