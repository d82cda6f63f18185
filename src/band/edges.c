// SPDX-License-Identifier: GPL-3.0-or-later
/* A line that was ruled has a flat top and two flanks, whatever streak or band stands beside it:
 * the places where the load rises and falls the steepest. A step of height h that is blurred by a
 * Gaussian is h / (sigma sqrt(2 pi)) steep in its middle. */
#include <gsl/gsl_math.h>
#include <math.h>

#include "band/edges.h"

/* Chosen on rendered lines whose flanks are known, in widths of the line as the marks have it: that
 * width is right to a factor of two or so, as is the reach; nearer to the origin than `near_flank`
 * lies the top itself. */
static const double far_flank = 2.2, near_flank = 0.15;
static const double slope_over = 0.12; /* half of what a slope is taken over: less than a flank */
/* Least part of the top that a flank must fall (a streak beside it seldom reaches four fifths of
 * it), and the same in errors. */
static const double fall_least = 0.2, fall_errors = 4.0;
static const double widest = 3.5, narrowest = 0.3; /* more, and it is another line's flank */

static double slope_at(const struct track *track, size_t i, size_t half)
{
    if (i < half || i + half >= track->count)
        return 0.0;
    for (size_t k = i - half; k <= i + half; k++)
        if (track->weight[k] <= 0.0)
            return 0.0;
    return (track->sum[i + half] - track->sum[i - half]) /
           (track->rf[i + half] - track->rf[i - half]);
}

/* The steepest rise (sign 1) or fall (sign -1) from `from_rf` to `to_rf`. */
static size_t steepest(const struct track *track, double from_rf, double to_rf, double sign,
                       size_t half, double *ret_slope)
{
    size_t best = 0;
    *ret_slope = 0.0;
    for (size_t i = track_at(track, from_rf); i <= track_at(track, to_rf); i++) {
        double slope = sign * slope_at(track, i, half);
        if (slope > *ret_slope) {
            *ret_slope = slope;
            best = i;
        }
    }
    return best;
}

/* Lowest load from a flank outwards, within half the line's width. */
static double foot(const struct track *track, double rf, double width, double away)
{
    double lowest = INFINITY;
    size_t a = track_at(track, GSL_MIN(rf, rf + away * width));
    size_t b = track_at(track, GSL_MAX(rf, rf + away * width));
    for (size_t i = a; i <= b; i++)
        if (track->weight[i] > 0.0)
            lowest = GSL_MIN(lowest, track->sum[i]);
    return lowest;
}

struct edges edges_find(const struct track *track)
{
    struct edges edges = {0};
    double line = track->line, rise, fall;
    size_t half = (size_t)GSL_MAX(lround(slope_over * line / track->step), 1);
    size_t low = steepest(track, -far_flank * line, -near_flank * line, 1.0, half, &rise);
    size_t high = steepest(track, near_flank * line, far_flank * line, -1.0, half, &fall);
    if (!(rise > 0.0 && fall > 0.0))
        return edges;
    double width = track->rf[high] - track->rf[low];
    double top = track_area(track, track->rf[low] + 0.25 * width, track->rf[high] - 0.25 * width) /
                 (0.5 * width);
    double drop[2] = {top - foot(track, track->rf[low], width, -0.5),
                      top - foot(track, track->rf[high], width, 0.5)};
    double error = fall_errors * track->sum_se[track_at(track, 0.0)];
    double least = GSL_MAX(fall_least * top, error);
    if (!(drop[0] > least && drop[1] > least) || width > widest * line || width < narrowest * line)
        return edges;
    double soft[2] = {drop[0] / rise, drop[1] / fall};
    edges.blur = GSL_MIN(soft[0], soft[1]) / sqrt(2.0 * M_PI);
    edges.from = track->rf[low];
    edges.to = track->rf[high];
    edges.found = edges.blur < 0.5 * width;
    return edges;
}
