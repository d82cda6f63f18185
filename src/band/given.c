// SPDX-License-Identifier: GPL-3.0-or-later
/* A band with limits that were set by hand:
 * 1. All load between the limits is one band, and no other band is looked for there.
 * 2. Its apex is the highest maximum between them. Where the load only rises or falls there, its
 *    place is the middle of the load, known no better than that it lies between the limits: an even
 *    distribution over a width w has the standard deviation w / sqrt(12).
 * 3. Found bands beside it end at its limits, so that no load is counted twice. */
#include "band/given.h"

#include <math.h>
#include <stdlib.h>

static const char where[] = "band/given";
static const double z_95 = 1.959964;
/* A smoothing that leaves the shape between the limits alone: its sigma in parts of their distance.
 */
static const double finest_part = 1.0 / 12.0;

static int by_place(const void *a, const void *b)
{
    const struct sl_band_limits *one = a, *other = b;
    return (one->from > other->from) - (one->from < other->from);
}

static sl_code check(const struct sl_band_limits *limits, size_t count, struct sl_status *status)
{
    for (size_t i = 0; i < count; i++) {
        const struct sl_band_limits *l = &limits[i];
        if (!(l->from >= 0.0 && l->to <= 1.0 && l->from < l->to))
            return sl_status_set(
                status, SL_E_RANGE, where, "Give two places between 0 and 1, the lower one first.",
                "A band can't go from %g to %g of the strip's length.", l->from, l->to);
        if (i > 0 && l->from < limits[i - 1].to)
            return sl_status_set(status, SL_E_RANGE, where, "Let one end where the other begins.",
                                 "The band from %g to %g overlaps the one from %g to %g.", l->from,
                                 l->to, limits[i - 1].from, limits[i - 1].to);
    }
    return SL_OK;
}

/* Of the found maximum between the limits that stands out most; else the coarsest that fits. */
static size_t scale_for(const struct track *track, const struct seeds *seeds, double from,
                        double to)
{
    const struct seed *best = NULL;
    size_t scale = 0;
    for (size_t k = 0; k < seeds->count; k++) {
        const struct seed *seed = &seeds->item[k];
        if (track->rf[seed->at] >= from && track->rf[seed->at] <= to &&
            (!best || seed->prominence > best->prominence))
            best = seed;
    }
    if (best)
        return best->scale;
    while (scale + 1 < seeds->scales &&
           seeds->scale[scale + 1].sigma_samples * track->step < finest_part * (to - from))
        scale++;
    return scale;
}

static size_t highest(const double *y, size_t low, size_t high)
{
    size_t at = low;
    for (size_t i = low; i <= high; i++)
        if (y[i] > y[at])
            at = i;
    return at;
}

/* Place of the middle of the load between two samples. */
static double middle_of_load(const struct track *track, size_t low, size_t high)
{
    double load = 0.0, moment = 0.0;
    for (size_t i = low; i <= high; i++) {
        double here = track->weight[i] * fmax(track->sum[i], 0.0);
        load += here;
        moment += here * track->rf[i];
    }
    return load > 0.0 ? moment / load : 0.5 * (track->rf[low] + track->rf[high]);
}

static struct seed seed_between(const struct track *track, const struct seeds *seeds, double from,
                                double to)
{
    struct seed seed = {.given = true, .from_rf = from, .to_rf = to};
    seed.low = track_at(track, from);
    seed.high = track_at(track, to);
    seed.scale = scale_for(track, seeds, from, to);
    const double *y = seeds->scale[seed.scale].smooth;
    seed.at = highest(y, seed.low, seed.high);
    seed.rises_on = seed.at == seed.low || seed.at == seed.high;
    if (seed.rises_on)
        seed.at = track_at(track, middle_of_load(track, seed.low, seed.high));
    seed.height = seed.prominence = y[seed.at];
    seed.error = seeds->scale[seed.scale].smooth_se[seed.at];
    return seed;
}

/* Those between the limits go, those beside them end there. */
static void make_room(const struct seed *given, struct seeds *seeds)
{
    size_t n = 0;
    for (size_t k = 0; k < seeds->count; k++) {
        struct seed seed = seeds->item[k];
        bool below = given->low > seed.at, above = given->high < seed.at;
        if (!seed.given && !below && !above)
            continue;
        if (!seed.given && below && seed.high > given->low)
            seed.high = given->low;
        if (!seed.given && above && seed.low < given->high)
            seed.low = given->high;
        seeds->item[n++] = seed;
    }
    seeds->count = n;
}

/* In order of their places; a full list loses the one found that stands out least. */
static void insert(const struct seed *given, struct seeds *seeds)
{
    size_t at = 0, least = SEEDS_MAX;
    for (size_t k = 0; seeds->count == SEEDS_MAX && k < seeds->count; k++)
        if (!seeds->item[k].given &&
            (least == SEEDS_MAX || seeds->item[k].prominence < seeds->item[least].prominence))
            least = k;
    if (least < SEEDS_MAX) {
        for (size_t k = least; k + 1 < seeds->count; k++)
            seeds->item[k] = seeds->item[k + 1];
        seeds->count--;
    }
    while (at < seeds->count && seeds->item[at].at < given->at)
        at++;
    for (size_t k = seeds->count; k > at; k--)
        seeds->item[k] = seeds->item[k - 1];
    seeds->item[at] = *given;
    seeds->count++;
}

sl_code given_seeds(const struct track *track, const struct sl_marks *marks,
                    const struct sl_strip_hints *hints, struct seeds *seeds,
                    struct sl_status *status)
{
    struct sl_band_limits limits[SL_HINT_BANDS_MAX];
    size_t count = hints ? hints->band_count : 0;
    for (size_t i = 0; i < count; i++)
        limits[i] = hints->band[i];
    qsort(limits, count, sizeof *limits, by_place);
    sl_code code = check(limits, count, status);
    for (size_t i = 0; code == SL_OK && i < count; i++) {
        struct seed seed =
            seed_between(track, seeds, sl_rf(limits[i].from, marks->origin, marks->front),
                         sl_rf(limits[i].to, marks->origin, marks->front));
        make_room(&seed, seeds);
        insert(&seed, seeds);
    }
    return code;
}

void given_measure(const struct track *track, const struct seed *seed, struct sl_band *ret)
{
    ret->given = true;
    ret->start_rf = seed->from_rf;
    ret->end_rf = seed->to_rf;
    if (!seed->rises_on)
        return;
    double se = (seed->to_rf - seed->from_rf) / sqrt(12.0);
    ret->rf = middle_of_load(track, seed->low, seed->high);
    ret->rf_interval[0] = ret->rf - z_95 * se;
    ret->rf_interval[1] = ret->rf + z_95 * se;
    ret->asymmetry = NAN;
}

bool given_holds(const struct sl_bands *bands, double rf)
{
    for (size_t k = 0; k < bands->count; k++)
        if (bands->item[k].given && rf >= bands->item[k].start_rf && rf <= bands->item[k].end_rf)
            return true;
    return false;
}
