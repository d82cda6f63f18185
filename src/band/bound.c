// SPDX-License-Identifier: GPL-3.0-or-later
/* Retained and bound:
 * 1. Retained: the area within half the line's width + 1 mm of the origin, of the total.
 * 2. What stands on the line without the ground it stands on: less the tail's level above it and
 *    the stain's level below it.
 * 3. A dye that the paper lets go slowly feeds a tail as long as the water runs. If it is released
 *    at a rate kappa per distance that the water moves, the tail's level next to the line is kappa
 *    times what is still to be released. That part stands on the line but is not bound: it is taken
 *    off, channel by channel, as the tail's colour says. First-order desorption; kappa is not known
 *    for one tail, so its spread goes into the interval. */
#include <gsl/gsl_math.h>
#include <math.h>

#include "band/bound.h"

static const double z_95 = 1.959964;
/* Release per unit of Rf. A dye with a smaller rate stays and is as good as bound, one with a
 * larger rate has left the line by the end; from rendered strips with known rates. */
static const double release_rate = 2.3;
static const double release_spread = 0.45; /* of ln kappa */
/* The tail is read from the line's edge on over this many Rf. */
static const double tail_from = 0.02, tail_length = 0.12;

double retained_reach(const struct track *track)
{
    return 0.5 * track->line + track->mm;
}

struct level {
    double load[3], sum, se;
};

/* Mean of a part of the track, of samples that are seen. */
static struct level level_of(const struct track *track, double from, double to)
{
    struct level level = {0};
    double n = 0.0, variance = 0.0;
    for (size_t i = 0; i < track->count; i++) {
        if (track->weight[i] <= 0.0 || track->rf[i] < from || track->rf[i] > to)
            continue;
        n += 1.0;
        variance += gsl_pow_2(track->sum_se[i]);
        for (int c = 0; c < 3; c++)
            level.load[c] += track->load[i][c];
    }
    n = fmax(n, 1.0);
    for (int c = 0; c < 3; c++) {
        level.load[c] = fmax(level.load[c] / n, 0.0);
        level.sum += level.load[c];
    }
    level.se = sqrt(variance * fmin(track->correlation, n)) / n;
    return level;
}

/* The lower of the levels at the line's edge and further up. */
static struct level tail_level(const struct track *track, double edge)
{
    struct level near = level_of(track, edge, edge + tail_from);
    for (double at = edge + tail_from; at < edge + tail_length; at += tail_from) {
        struct level further = level_of(track, at, at + tail_from);
        if (further.sum < near.sum)
            near = further;
    }
    return near;
}

static double net_line(const struct track *track, double reach, const struct level *above,
                       const struct level *below, double ret[3])
{
    double sum = 0.0;
    for (int c = 0; c < 3; c++)
        ret[c] = 0.0;
    for (size_t i = 0; i < track->count; i++) {
        if (track->weight[i] <= 0.0 || fabs(track->rf[i]) > reach)
            continue;
        const struct level *ground = track->rf[i] > 0.0 ? above : below;
        for (int c = 0; c < 3; c++)
            ret[c] += (track->load[i][c] - ground->load[c]) * track->step;
    }
    for (int c = 0; c < 3; c++)
        sum += fmax(ret[c], 0.0);
    return sum;
}

static double less_unreleased(const double line[3], const struct level *tail, double rate)
{
    double sum = 0.0;
    for (int c = 0; c < 3; c++)
        sum += fmax(line[c] - tail->load[c] / rate, 0.0);
    return sum;
}

static void interval(double value, double low, double high, double ret[2])
{
    ret[0] = GSL_MIN(GSL_MAX(low, 0.0), value);
    ret[1] = GSL_MAX(GSL_MIN(high, 1.0), value);
}

void bound_measure(const struct track *track, const struct seeds *seeds, double total,
                   double total_se, struct sl_bands *ret)
{
    (void)seeds;
    double reach = retained_reach(track), line[3];
    double area = fmax(track_area(track, -reach, reach), 0.0);
    double error =
        hypot(track_area_se(track, -reach, reach), track_area_light_se(track, -reach, reach));
    double share = fmin(area / total, 1.0);
    double share_se = hypot(error / total, share * total_se / total);
    ret->retained_share = share;
    interval(share, share - z_95 * share_se, share + z_95 * share_se, ret->retained_interval);

    struct level above = tail_level(track, reach);
    struct level below = level_of(track, -reach - tail_from, -reach);
    if (below.sum > above.sum)
        below = above;
    net_line(track, reach, &above, &below, line);
    double bound = less_unreleased(line, &above, release_rate) / total;
    double most = less_unreleased(line, &above, release_rate * exp(z_95 * release_spread)) / total;
    double least =
        less_unreleased(line, &above, release_rate * exp(-z_95 * release_spread)) / total;
    ret->bound_share = fmin(bound, 1.0);
    interval(ret->bound_share, least - z_95 * share_se, most + z_95 * share_se,
             ret->bound_interval);
}
