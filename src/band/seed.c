// SPDX-License-Identifier: GPL-3.0-or-later
/* Maxima of the load:
 * 1. Smooth the summed load, first finely enough to keep the ink line, then twice as much, and so
 *    on: narrow strong maxima show at the fine scales, broad weak ones at the coarse ones.
 * 2. At each scale take the maxima whose prominence exceeds the noise there, the light's error and
 *    the parts of their own height and of the highest maximum that make a band.
 * 3. A coarse maximum counts only where no finer one stands between its bases.
 * 4. Valleys between neighbours are read from the finest smoothing. */
#include <math.h>
#include <stdlib.h>

#include "band/seed.h"
#include "band/smooth.h"

/* The ink line keeps nine tenths of its height under this part of its width. */
static const double finest_of_line = 0.2;
static const double coarsest_rf = 0.045; /* a band narrower than this would be lost */
static const double scale_step = 1.7;
/* A prominence above noise: about one invented maximum in 10^4 strips of 10^3 samples. */
static const double noise_factor = 5.0;
/* The light's error changes slowly, so that little of it shows between a maximum and its bases. */
static const double light_factor = 0.7;
static const double light_height_factor = 2.0;
/* What makes a band: its dip to the neighbours in parts of its own height and of the highest one's.
 * Both as in the definition of a band that the project's truth uses. */
static const double own_part = 0.06, highest_part = 0.02;

struct scale {
    const struct track *track;
    const double *smooth, *smooth_se;
    double sigma, highest;
};

static bool is_maximum(const double *y, size_t n, size_t i)
{
    return i > 0 && i + 1 < n && y[i] > y[i - 1] && y[i] >= y[i + 1];
}

/* Lowest sample from i towards one end, up to the first that is higher than i. */
static size_t base(const double *y, size_t n, size_t i, int way)
{
    size_t lowest = i, k = i;
    while (way < 0 ? k > 0 : k + 1 < n) {
        k = way < 0 ? k - 1 : k + 1;
        if (y[k] > y[i])
            break;
        if (y[k] < y[lowest])
            lowest = k;
    }
    return lowest;
}

static struct seed look(const struct scale *scale, size_t i)
{
    const double *y = scale->smooth;
    size_t n = scale->track->count;
    size_t low = base(y, n, i, -1), high = base(y, n, i, 1);
    size_t key = y[low] > y[high] ? low : high;
    return (struct seed){.at = i,
                         .low = low,
                         .high = high,
                         .height = y[i],
                         .prominence = y[i] - y[key],
                         .error = hypot(scale->smooth_se[i], scale->smooth_se[key]),
                         .sigma = scale->sigma};
}

static bool stands_out(const struct scale *scale, const struct seed *seed)
{
    double light = scale->track->light_se[seed->at];
    return seed->prominence > noise_factor * seed->error + light_factor * light &&
           seed->height > light_height_factor * light &&
           seed->prominence > own_part * seed->height &&
           seed->prominence > highest_part * scale->highest;
}

/* The lowest sample between a and b. */
static size_t valley(const double *y, size_t a, size_t b)
{
    size_t lowest = a;
    for (size_t i = a; i <= b; i++)
        if (y[i] < y[lowest])
            lowest = i;
    return lowest;
}

static void part(const double *y, size_t n, struct seed *seed, size_t count)
{
    for (size_t k = 0; k < count; k++) {
        seed[k].low = k == 0 ? 0 : seed[k - 1].high;
        seed[k].high = k + 1 < count ? valley(y, seed[k].at, seed[k + 1].at) : n - 1;
    }
}

void seeds_part(const struct track *track, struct seeds *seeds)
{
    part(seeds->smooth, track->count, seeds->item, seeds->count);
}

static bool known_between(const struct seeds *seeds, size_t count, const struct seed *seed)
{
    for (size_t k = 0; k < count; k++)
        if (seeds->item[k].at >= seed->low && seeds->item[k].at <= seed->high)
            return true;
    return false;
}

static void collect(const struct scale *scale, struct seeds *seeds)
{
    size_t n = scale->track->count, count = 0, before = seeds->count;
    struct seed here[SEEDS_MAX];
    for (size_t i = 1; i + 1 < n && count < SEEDS_MAX; i++) {
        struct seed seed = {0};
        if (is_maximum(scale->smooth, n, i))
            seed = look(scale, i);
        if (seed.at > 0 && stands_out(scale, &seed))
            here[count++] = seed;
    }
    part(scale->smooth, n, here, count);
    for (size_t k = 0; k < count && seeds->count < SEEDS_MAX; k++)
        if (!known_between(seeds, before, &here[k]))
            seeds->item[seeds->count++] = here[k];
}

static int by_place(const void *a, const void *b)
{
    const struct seed *one = a, *other = b;
    return (one->at > other->at) - (one->at < other->at);
}

static double highest_of(const struct track *track, const double *smooth)
{
    double highest = 0.0;
    for (size_t i = 0; i < track->count; i++)
        if (track->weight[i] > 0.0)
            highest = fmax(highest, smooth[i]);
    return highest;
}

void seeds_remove(struct seeds *seeds, size_t index)
{
    for (size_t k = index; k + 1 < seeds->count; k++)
        seeds->item[k] = seeds->item[k + 1];
    seeds->count--;
}

sl_code seeds_find(const struct track *track, struct seeds *ret, struct sl_status *status)
{
    sl_code code = SL_E_MEMORY;
    size_t n = track->count;
    struct seeds seeds = {.smooth = calloc(n, sizeof(double)),
                          .smooth_se = calloc(n, sizeof(double)),
                          .sigma_samples = fmax(finest_of_line * track->line / track->step, 0.7)};
    double *smooth = calloc(n, 2 * sizeof *smooth);
    if (!smooth || !seeds.smooth || !seeds.smooth_se) {
        sl_status_set(status, code, "band/seed", "Close other programs and try again.",
                      "There is not enough memory for the bands.");
        goto done;
    }
    code = smooth_sum(track, seeds.sigma_samples, seeds.smooth, seeds.smooth_se, status);
    if (code)
        goto done;
    double highest = highest_of(track, seeds.smooth);
    double most = fmax(coarsest_rf / track->step, seeds.sigma_samples);
    for (double sigma = seeds.sigma_samples; sigma <= most; sigma *= scale_step) {
        code = smooth_sum(track, sigma, smooth, smooth + n, status);
        if (code)
            goto done;
        struct scale scale = {track, smooth, smooth + n, sigma * track->step, highest};
        collect(&scale, &seeds);
    }
    qsort(seeds.item, seeds.count, sizeof *seeds.item, by_place);
    seeds_part(track, &seeds);
done:
    free(smooth);
    if (code)
        seeds_finish(&seeds);
    else
        *ret = seeds;
    return code;
}

void seeds_finish(struct seeds *seeds)
{
    if (!seeds)
        return;
    free(seeds->smooth);
    free(seeds->smooth_se);
    *seeds = (struct seeds){0};
}
