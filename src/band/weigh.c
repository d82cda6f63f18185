// SPDX-License-Identifier: GPL-3.0-or-later
/* From what the strip leaves possible to one bound share and its interval:
 *
 * 1. The profile likelihoods of both kinds of streak, against each other and against what was
 *    retained: no more is bound than that.
 * 2. Widened by what no fit tells: the release law, the line's shape, light there; and by what is
 *    as large a part of the share as it is of any other, the total and blur.
 * 3. Weighed with what is common (no source): half of all inks hold nothing but a rim of about a
 *    hundredth, the rest anything.
 * 4. Mixed with what would be if the line is not where it was taken to be.
 * The share is the median at the likelier of the two places, its interval that of both mixed. */
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_math.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <string.h>

#include "band/settle.h"

/* Parts of what is still to be released, and of all that stands on the line. */
static const double release_doubt = 0.5, shape_doubt = 0.04;
static const double likely_least = 1e-6, far = 5.0; /* standard errors */
static const double rim = 0.012, holds_nothing = 0.5;
static const double nothing = 0.003;   /* a share that can't be told from nothing */
static const double part_least = 0.02; /* what is common to all shares is no smaller */
enum { FINE = 301 };

/* Places at which the answers are weighed: closer where little is bound. */
static double fine(size_t i)
{
    return gsl_pow_2((double)i / (FINE - 1));
}

static size_t place_of(double at)
{
    return (size_t)(sqrt(GSL_MIN(GSL_MAX(at, 0.0), 1.0)) * (FINE - 1));
}

struct point {
    double chi2, left;
};

/* Between two points the root of what chi-square rises above `least` is taken as straight, which is
 * exact for a parabola. INFINITY beyond the points. */
static struct point point_at(const struct settle_profile *profile, double least, double at)
{
    size_t n = profile->count, k = 0;
    if (n == 0 || at < profile->at[0] || at > profile->at[n - 1])
        return (struct point){INFINITY, 0.0};
    if (n == 1)
        return (struct point){profile->chi2[0], profile->left[0]};
    while (k + 2 < n && profile->at[k + 1] <= at)
        k++;
    double t = (at - profile->at[k]) / (profile->at[k + 1] - profile->at[k]);
    double root =
        (1.0 - t) * sqrt(profile->chi2[k] - least) + t * sqrt(profile->chi2[k + 1] - least);
    return (struct point){least + root * root,
                          (1.0 - t) * profile->left[k] + t * profile->left[k + 1]};
}

static double least_chi2(const struct settle_profile *profile)
{
    double least = INFINITY;
    for (size_t k = 0; k < profile->count; k++)
        least = fmin(least, profile->chi2[k]);
    return least;
}

/* Half the way from the place before to the one after. */
static double width_of(size_t i)
{
    double before = i > 0 ? fine(i - 1) : 0.0, after = i + 1 < FINE ? fine(i + 1) : 1.0;
    return 0.5 * (after - before);
}

/* Adds the likelihood of each place by one kind, widened by what no fit tells and what is as large
 * as it is whatever the share. */
static void add_widened(const struct settle_profile *profile, double scale, double least,
                        const struct settle_known *known, double *ret)
{
    double own = least_chi2(profile);
    for (size_t i = 0; i < FINE; i++) {
        double at = fine(i);
        struct point point = point_at(profile, own, at / scale);
        double left = point.left * scale;
        double likely = exp(0.5 * (least - point.chi2)) *
                        gsl_cdf_gaussian_P(known->retained - at, fmax(known->retained_se, 1e-4));
        double se = hypot(hypot(known->line_se, shape_doubt * (at + left)), release_doubt * left);
        se = fmax(se, width_of(i));
        if (!(likely > likely_least))
            continue;
        for (size_t j = place_of(at - far * se); j <= place_of(at + far * se); j++)
            ret[j] += likely * width_of(i) * gsl_ran_gaussian_pdf(fine(j) - at, se);
    }
}

/* Widens by an error that is a part of the share, and so leaves nothing at nothing: Gaussian in the
 * logarithm. */
static void widen_in_parts(double part, double likely[FINE])
{
    double from[FINE], ln[FINE];
    memcpy(from, likely, sizeof from);
    for (size_t i = 0; i < FINE; i++) {
        ln[i] = log(fine(i) + nothing);
        likely[i] = 0.0;
    }
    for (size_t i = 0; i < FINE; i++) {
        double lies = from[i] * width_of(i) / (fine(i) + nothing);
        for (size_t j = 0; j < FINE && from[i] > 0.0; j++)
            if (fabs(ln[j] - ln[i]) < far * part)
                likely[j] += lies * gsl_ran_gaussian_pdf(ln[j] - ln[i], part);
    }
}

/* What is common: how likely a share is before anything was seen. */
static double usual(double at)
{
    return holds_nothing * exp(-at / rim) / rim + (1.0 - holds_nothing);
}

/* Where the line may be at another place, all that is known of what is bound there is that no more
 * is than was retained. Returns the new sum of the weights. */
static double add_elsewhere(const struct settle_known *known, double sum, double weight[FINE])
{
    double there[FINE], all = 0.0, se = fmax(known->retained_se, nothing);
    if (!(known->elsewhere > 0.0))
        return sum;
    for (size_t i = 0; i < FINE; i++)
        all += there[i] = usual(fine(i)) * width_of(i) *
                          gsl_cdf_gaussian_P(known->retained_elsewhere - fine(i), se);
    for (size_t i = 0; i < FINE; i++)
        weight[i] = (1.0 - known->elsewhere) * weight[i] / sum + known->elsewhere * there[i] / all;
    return 1.0;
}

/* The share that this part of all weights lies below. */
static double quantile(const double weight[FINE], double sum, double part)
{
    double run = 0.0;
    for (size_t i = 0; i < FINE; i++) {
        double next = run + weight[i] / sum;
        if (next >= part && next > run) {
            double before = i > 0 ? fine(i - 1) : 0.0;
            return before + (fine(i) - before) * (part - run) / (next - run);
        }
        run = next;
    }
    return fine(FINE - 1);
}

struct settled settle_weigh(const struct settle *settle, const struct settle_known *known)
{
    double weight[FINE] = {0}, sum = 0.0, least = INFINITY;
    for (int kind = 0; kind < SETTLE_KINDS; kind++)
        least = fmin(least, least_chi2(&settle->kind[kind]));
    for (int kind = 0; kind < SETTLE_KINDS; kind++)
        add_widened(&settle->kind[kind], settle->scale, least, known, weight);
    widen_in_parts(hypot(known->common, part_least), weight);
    for (size_t i = 0; i < FINE; i++)
        sum += weight[i] *= usual(fine(i)) * width_of(i);
    if (!(sum > 0.0))
        return (struct settled){NAN, NAN, NAN};
    /* the share is that at the likelier place, its interval that of all places */
    double here = quantile(weight, sum, 0.5);
    sum = add_elsewhere(known, sum, weight);
    return (struct settled){.middle = known->elsewhere < 0.5 ? here : quantile(weight, sum, 0.5),
                            .low = fmin(quantile(weight, sum, 0.025), here),
                            .high = quantile(weight, sum, 0.975)};
}
