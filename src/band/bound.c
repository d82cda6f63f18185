// SPDX-License-Identifier: GPL-3.0-or-later
/* Retained and bound:
 * 1. Retained: the area within half the line's width + 1 mm of the origin, of the total.
 * 2. Bound: see settle.c. Where that gives no answer, by the levels on either side of the line:
 *    what stands above them, less what a dye that is released slowly (first-order desorption at a
 *    rate kappa per distance that the water moves) still has there, the level next to the line over
 *    kappa.
 * 3. Neither share can be below 0, nor what is retained and not bound: estimate and interval are
 *    those of a distribution cut off there. */
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_math.h>
#include <gsl/gsl_randist.h>
#include <math.h>

#include "band/bound.h"

/* Without a fit: release per unit of Rf, the middle of what rendered strips with known rates show,
 * and where the streak's level is read. */
static const double usual_rate = 2.3;
static const double tail_from = 0.02, tail_length = 0.12;
/* Doubt of that rate, as a part of what it says is still to be released. For the interval it counts
 * more: that there is no slow release at all is possible too. */
static const double level_doubt = 0.6, wider = 2.2;
/* Doubt of the line's shape, as a part of its area. */
static const double shape_doubt = 0.04;
/* A narrow dark line is blurred by the lens: K/S of the mean is less than the mean of K/S, and what
 * is missing of the dark line is missing of the total. Part of the retained load. */
static const double blur_doubt = 0.18;
static const double share_se_least = 2e-4;
static const double one_end = 0.025; /* of a 95 % interval */
/* Bound shares are asked for up to this part of the retained one, and a little more. */
static const double most_part = 1.2, most_more = 0.03;

struct level {
    double load[3], sum;
};

/* Mean of a part of the track, of samples that are seen. */
static struct level level_of(const struct track *track, double from, double to)
{
    struct level level = {0};
    double n = 0.0;
    for (size_t i = 0; i < track->count; i++) {
        if (track->weight[i] <= 0.0 || track->rf[i] < from || track->rf[i] > to)
            continue;
        n += 1.0;
        for (int c = 0; c < 3; c++)
            level.load[c] += track->load[i][c];
    }
    for (int c = 0; c < 3; c++) {
        level.load[c] = fmax(level.load[c] / fmax(n, 1.0), 0.0);
        level.sum += level.load[c];
    }
    return level;
}

/* The lowest of the levels from the line's edge upwards. */
static struct level tail_level(const struct track *track, double edge)
{
    struct level lowest = level_of(track, edge, edge + tail_from);
    for (double at = edge + tail_from; at < edge + tail_length; at += tail_from) {
        struct level further = level_of(track, at, at + tail_from);
        if (further.sum < lowest.sum)
            lowest = further;
    }
    return lowest;
}

/* What stays on the line, and what of it is still to be released; areas. */
struct standing {
    double line, bound, bound_se, left;
};

static struct standing standing_by_levels(const struct track *track, double reach)
{
    struct level above = tail_level(track, reach);
    struct level below = level_of(track, -reach - tail_from, -reach);
    double ground = reach * (above.sum + fmin(below.sum, above.sum));
    double line = fmax(track_area(track, -reach, reach) - ground, 0.0);
    double left = above.sum / usual_rate;
    double se = hypot(track_area_se(track, -reach, reach), 0.2 * ground);
    return (struct standing){line, line - left, se, left};
}

/* Mean and interval of a normal distribution that is cut off at 0 and `most`. */
static double cut_off(double value, double se, double most, double ret_interval[2])
{
    double low = (0.0 - value) / se, high = (most - value) / se;
    double below = gsl_cdf_ugaussian_P(low), inside = gsl_cdf_ugaussian_P(high) - below;
    if (inside < 1e-6) { /* far outside: all of it lies at the nearer end */
        double end = value > 0.0 ? most : 0.0;
        ret_interval[0] = fmax(end - se, 0.0);
        ret_interval[1] = fmin(end + se, most);
        return end;
    }
    ret_interval[0] = value + se * gsl_cdf_ugaussian_Pinv(below + 0.025 * inside);
    ret_interval[1] = value + se * gsl_cdf_ugaussian_Pinv(below + 0.975 * inside);
    return value + se * (gsl_ran_ugaussian_pdf(low) - gsl_ran_ugaussian_pdf(high)) / inside;
}

/* What moves the retained and the bound share alike, in parts of the share: the total, blur, and
 * the paper's reflectance, on which K/S of dark places hangs less than that of pale ones. */
static double common_error(const struct track *track, double reach, double share,
                           const struct bound_total *total)
{
    double area = fmax(track_area(track, -reach, reach), 1e-9);
    double paper = track_area_paper(track, -reach, reach) / area - total->paper / total->area;
    return hypot(hypot(total->se / total->area, blur_doubt * (1.0 - share)), paper);
}

/* What the retained area itself is uncertain by. */
static double retained_error(const struct track *track, double reach)
{
    double random = track_area_se(track, -reach, reach);
    double light = track_area_light_se(track, -reach, reach);
    double edges = fmax(track->sum[track_at(track, reach)], 0.0) +
                   fmax(track->sum[track_at(track, -reach)], 0.0);
    double width = hypot(0.5 * track->ruled_se, track->mm_se) * edges;
    double place = track->origin_se *
                   fabs(track->sum[track_at(track, reach)] - track->sum[track_at(track, -reach)]);
    return hypot(hypot(random, light), hypot(width, place));
}

/* Of the load that stands on the line, as a share: light there. */
static double line_error(const struct track *track, const struct bound_total *total)
{
    return track_area_light_se(track, -0.5 * track->line, 0.5 * track->line) / total->area;
}

static void bound_by_levels(const struct track *track, const struct bound_total *total,
                            double common, struct sl_bands *ret)
{
    double share = ret->retained_share;
    struct standing standing = standing_by_levels(track, retained_reach(track));
    double left = fmin(standing.left, share * total->area);
    double own = hypot(hypot(standing.bound_se, shape_doubt * standing.line) / total->area,
                       line_error(track, total));
    double doubt = level_doubt * left / total->area, bound = standing.bound / total->area;
    double near = fmax(fmin(hypot(own, doubt), share), share_se_least), unused[2];
    /* what is retained and not bound is what cannot be below 0: errors that both share leave it */
    double loose = cut_off(share - bound, near, fmax(share, share_se_least), unused);
    ret->bound_share = fmax(share - loose, 0.0);
    double wide = hypot(hypot(own, wider * doubt), common * fmin(fmax(bound, 0.0), share));
    wide = fmax(fmin(wide, share), share_se_least);
    cut_off(bound, wide, ret->retained_interval[1], ret->bound_interval);
}

/* What was retained if the line is where else it may be. */
static double retained_elsewhere(const struct track *track, const struct bound_total *total)
{
    double reach = retained_reach(track);
    double there = track_area(track, track->other - reach, track->other + reach) / total->area;
    return GSL_MIN(GSL_MAX(there, 0.0), 1.0);
}

/* An interval of 95 % reaches to what would be if the line is elsewhere as soon as that is likelier
 * than what it leaves out at one end. */
static void reach_elsewhere(const struct track *track, const struct bound_total *total,
                            double interval[2])
{
    if (track->elsewhere < one_end)
        return;
    double there = retained_elsewhere(track, total);
    interval[0] = GSL_MIN(interval[0], there);
    interval[1] = GSL_MAX(interval[1], there);
}

/* False where the fit's answers do not go with what was retained. */
static bool bound_by_fit(const struct track *track, const struct settle *settle,
                         const struct bound_total *total, double retained_se, double common,
                         struct sl_bands *ret)
{
    struct settle_known known = {.retained = ret->retained_share,
                                 .retained_se = retained_se,
                                 .line_se = line_error(track, total),
                                 .common = common,
                                 .elsewhere = track->elsewhere,
                                 .retained_elsewhere = retained_elsewhere(track, total)};
    struct settled settled = settle_weigh(settle, &known);
    if (isnan(settled.middle))
        return false;
    ret->bound_share = fmin(settled.middle, ret->retained_share);
    ret->bound_interval[0] = settled.low;
    ret->bound_interval[1] = fmin(settled.high, ret->retained_interval[1]);
    return true;
}

sl_code bound_settle(const struct track *track, const struct fit *fit, double total,
                     struct settle *ret, struct sl_status *status)
{
    double reach = retained_reach(track);
    double share = fmax(track_area(track, -reach, reach), 0.0) / total;
    return settle_make(track, fit, total, fmin(most_part * share + most_more, 1.0), ret, status);
}

void bound_measure(const struct track *track, const struct settle *settle,
                   const struct bound_total *total, struct sl_bands *ret)
{
    double reach = retained_reach(track);
    double share = fmin(fmax(track_area(track, -reach, reach), 0.0) / total->area, 1.0);
    double common = common_error(track, reach, share, total);
    double share_se = hypot(retained_error(track, reach) / total->area, common * share);
    cut_off(share, fmax(share_se, share_se_least), 1.0, ret->retained_interval);
    ret->retained_interval[1] = fmax(ret->retained_interval[1], share);
    reach_elsewhere(track, total, ret->retained_interval);
    ret->retained_share = share;
    double own_se = retained_error(track, reach) / total->area;
    if (!settle || !bound_by_fit(track, settle, total, own_se, common, ret))
        bound_by_levels(track, total, common, ret);
    ret->bound_interval[0] = fmin(ret->bound_interval[0], ret->bound_share);
    ret->bound_interval[0] = fmin(ret->bound_interval[0], ret->retained_interval[0]);
    ret->bound_interval[1] = fmax(ret->bound_interval[1], ret->bound_share);
}
