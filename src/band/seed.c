// SPDX-License-Identifier: GPL-3.0-or-later
/* Maxima of the load:
 * 1. Smooth the summed load, first finely enough to keep the ink line, then more and more: narrow
 *    strong maxima show at the fine scales, broad weak ones at the coarse ones.
 * 2. What clean paper shows at a scale beyond the coarsest one is noise, whatever its reason.
 *    A scale that shows more ups and downs than a strip can hold bands shows the paper's texture:
 *    how high they are is the texture's part of the load there.
 * 3. Along the strip the load is calmer than its lanes differ: what a lane keeps all the way makes
 *    no maxima. Fourth differences say by how much; they leave bands out, which are smooth.
 * 4. At each scale take the maxima whose prominence exceeds the noise, the texture, the light's
 *    error and the parts of their own height and of the highest maximum that make a band. At the
 *    origin a maximum is looked for in one place only, which takes less evidence.
 * 5. A coarse maximum counts only where no finer one stands between its valleys. */
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>

#include "band/seed.h"
#include "band/smooth.h"

/* The ink line keeps nine tenths of its height under this part of its width. */
static const double finest_of_line = 0.2, finest_samples = 0.7;
static const double coarsest_rf = 0.045; /* a band narrower than this would be lost */
static const double scale_step = 1.6;
/* A prominence above noise: about one invented maximum in 10^4 strips of 10^3 samples. */
static const double noise_factor = 5.0;
/* At one known place about one in 10^3. */
static const double noise_factor_origin = 3.0;
/* Fourth differences over this many standard deviations of the kernel; their weights 1, -4, 6, -4,
 * 1 make of a smoothed sample's error this much, neighbours being correlated by exp(-9/4). */
static const double calm_lag = 3.0, calm_growth = 7.64;
/* Dyed samples that are independent and enough to judge by; calmer than this part is chance. */
static const double calm_least = 12.0, calm_most = 0.4;
/* Six bands rise and fall twelve times. Further ups and downs are texture; the largest of them is
 * about twice the one that comes thirteenth. */
enum { UPS_AND_DOWNS = 12 };
static const double texture_factor = 2.2;
static const double level_least = 8.0; /* errors; below, ups and downs are noise */
static const double clean_part = 0.05; /* of the highest load; what is below is nearly clean */
static const size_t clean_least = 20;  /* samples */
/* The light's error changes slowly: a brightness that is wrong alike at a maximum and at its bases
 * moves neither. It shows in full over this part of the strip's length. */
static const double light_reach = 0.2;
static const double light_factor = 0.7, ghost_factor = 2.0;
/* What makes a band: its dip to the neighbours in parts of its own height and of the highest one's.
 * Both as in the definition of a band that the project's truth uses. */
static const double own_part = 0.06, highest_part = 0.02;
/* Around the line, in its widths, the finest scale is shown; from the second on another. */
static const double fine_to = 1.0, coarse_from = 2.0;

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

static struct seed look(const struct seeds *seeds, size_t scale, size_t n, size_t i)
{
    const double *y = seeds->scale[scale].smooth, *se = seeds->scale[scale].smooth_se;
    size_t low = base(y, n, i, -1), high = base(y, n, i, 1);
    size_t key = y[low] > y[high] ? low : high;
    return (struct seed){
        .at = i,
        .low = low,
        .high = high,
        .base = key,
        .height = y[i],
        .prominence = y[i] - y[key],
        .error = hypot(seeds->scale[scale].calm * hypot(se[i], se[key]), seeds->scale[scale].paper),
        .scale = scale};
}

static bool stands_out(const struct track *track, const struct seeds *seeds, struct seed *seed,
                       double highest)
{
    double apart = fabs(track->rf[seed->at] - track->rf[seed->base]);
    double light = track->light_se[seed->at] * fmin(apart / (light_reach * track->length), 1.0);
    double texture = texture_factor * seeds->scale[seed->scale].texture * seed->height;
    bool origin = fabs(track->rf[seed->at]) < retained_limit(track);
    double noise = (origin ? noise_factor_origin : noise_factor) * seed->error;
    seed->clearness = seed->prominence / fmax(noise + light_factor * light, 1e-12);
    return seed->clearness > 1.0 && seed->prominence > texture &&
           seed->height > ghost_factor * track->ghost[seed->at] &&
           seed->prominence > own_part * seed->height && seed->prominence > highest_part * highest;
}

/* Height of the rise or fall that comes after the largest twelve, in parts of the level. */
static double texture_of(const struct track *track, const struct seed_scale *scale, double *scratch)
{
    const double *y = scale->smooth;
    size_t count = 0, last = 0;
    bool rising = true;
    for (size_t i = 1; i < track->count; i++) {
        bool rises = y[i] > y[i - 1];
        double level = 0.5 * (y[last] + y[i - 1]);
        if (rises == rising || track->rf[i] < track->line)
            continue;
        if (fmin(y[last], y[i - 1]) > level_least * scale->smooth_se[i])
            scratch[count++] = fabs(y[last] - y[i - 1]) / level;
        last = i - 1;
        rising = rises;
    }
    if (count <= UPS_AND_DOWNS)
        return 0.0;
    gsl_sort(scratch, 1, count);
    return scratch[count - 1 - UPS_AND_DOWNS];
}

static double highest_of(const struct track *track, const double *smooth)
{
    double highest = 0.0;
    for (size_t i = 0; i < track->count; i++)
        if (track->weight[i] > 0.0)
            highest = fmax(highest, smooth[i]);
    return highest;
}

/* Spread of clean paper at a scale about the coarsest one; the median keeps weak bands out of it.
 */
static double paper_of(const struct track *track, const struct seed_scale *scale,
                       const struct seed_scale *coarsest, double *scratch)
{
    double most = clean_part * highest_of(track, coarsest->smooth);
    size_t count = 0;
    for (size_t i = 0; i < track->count; i++)
        if (track->weight[i] > 0.0 && coarsest->smooth[i] < most)
            scratch[count++] = fabs(scale->smooth[i] - coarsest->smooth[i]);
    return count > clean_least ? 1.4826 * gsl_stats_median(scratch, 1, count) : 0.0;
}

/* How much less the smoothed load goes up and down where there is dye than its error says, by the
 * median of fourth differences; at most 1, and `before` (a finer scale's) where there are few. */
static double calm_of(const struct track *track, const struct seed_scale *scale, double before,
                      double *scratch)
{
    const double *y = scale->smooth;
    double least = clean_part * highest_of(track, y);
    size_t lag = (size_t)ceil(calm_lag * scale->sigma_samples), count = 0;
    for (size_t i = 2 * lag; i + 2 * lag < track->count; i++) {
        bool seen = y[i] > least && scale->smooth_se[i] > 0.0 && track->rf[i] > 2.0 * track->line;
        for (size_t k = i - 2 * lag; seen && k <= i + 2 * lag; k += lag)
            seen = track->weight[k] > 0.0;
        if (seen)
            scratch[count++] = fabs(y[i - 2 * lag] - 4.0 * y[i - lag] + 6.0 * y[i] -
                                    4.0 * y[i + lag] + y[i + 2 * lag]) /
                               scale->smooth_se[i];
    }
    if ((double)count < calm_least * (double)lag)
        return before;
    double ratio = 1.4826 * gsl_stats_median(scratch, 1, count) / calm_growth;
    return fmin(fmax(ratio, calm_most), 1.0);
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

/* A maximum of the first `count` that lies between the valleys of `seed`, or NULL. */
static struct seed *known_between(struct seeds *seeds, size_t count, const struct seed *seed)
{
    for (size_t k = 0; k < count; k++)
        if (seeds->item[k].at >= seed->low && seeds->item[k].at <= seed->high)
            return &seeds->item[k];
    return NULL;
}

static void collect(const struct track *track, struct seeds *seeds, size_t scale, double highest)
{
    const double *y = seeds->scale[scale].smooth;
    size_t n = track->count, count = 0, before = seeds->count;
    struct seed here[SEEDS_MAX];
    for (size_t i = 1; i + 1 < n && count < SEEDS_MAX; i++) {
        if (!is_maximum(y, n, i))
            continue;
        struct seed seed = look(seeds, scale, n, i);
        if (stands_out(track, seeds, &seed, highest))
            here[count++] = seed;
    }
    part(y, n, here, count);
    for (size_t k = 0; k < count; k++) {
        struct seed *known = known_between(seeds, before, &here[k]);
        if (known)
            known->clearness = fmax(known->clearness, here[k].clearness);
        else if (seeds->count < SEEDS_MAX)
            seeds->item[seeds->count++] = here[k];
    }
}

static int by_place(const void *a, const void *b)
{
    const struct seed *one = a, *other = b;
    return (one->at > other->at) - (one->at < other->at);
}

/* The finest scale that a mobile band was seen at, or the first without texture. */
static size_t mobile_scale(const struct track *track, const struct seeds *seeds)
{
    size_t scale = seeds->scales;
    for (size_t k = 0; k < seeds->count; k++)
        if (track->rf[seeds->item[k].at] > coarse_from * track->line &&
            seeds->item[k].scale < scale)
            scale = seeds->item[k].scale;
    for (size_t s = 0; scale == seeds->scales && s < seeds->scales; s++)
        if (seeds->scale[s].texture <= 0.0 || s + 1 == seeds->scales)
            scale = s;
    return scale;
}

static void blend(const struct track *track, struct seeds *seeds)
{
    const double *fine = seeds->scale[0].smooth;
    const double *coarse = seeds->scale[mobile_scale(track, seeds)].smooth;
    for (size_t i = 0; i < track->count; i++) {
        double away = (fabs(track->rf[i]) / track->line - fine_to) / (coarse_from - fine_to);
        double t = fmin(fmax(away, 0.0), 1.0);
        seeds->shown[i] = (1.0 - t) * fine[i] + t * coarse[i];
    }
}

static sl_code smooth_scales(const struct track *track, struct seeds *seeds, double *scratch,
                             struct sl_status *status)
{
    size_t n = track->count;
    double sigma = fmax(finest_of_line * track->line / track->step, finest_samples);
    double most = fmax(coarsest_rf / track->step, sigma);
    for (; sigma <= most && seeds->scales < SEED_SCALES_MAX; sigma *= scale_step) {
        double *at = seeds->block + 2 * n * seeds->scales;
        struct seed_scale *scale = &seeds->scale[seeds->scales];
        *scale = (struct seed_scale){.sigma_samples = sigma, .smooth = at, .smooth_se = at + n};
        sl_code code = smooth_sum(track, sigma, scale->smooth, scale->smooth_se, status);
        if (code)
            return code;
        scale->texture = texture_of(track, scale, scratch);
        double before = seeds->scales > 0 ? seeds->scale[seeds->scales - 1].calm : 1.0;
        scale->calm = calm_of(track, scale, before, scratch);
        seeds->scales++;
    }
    const struct seed_scale *coarsest = &seeds->scale[seeds->scales - 1];
    for (size_t s = 0; s < seeds->scales; s++)
        seeds->scale[s].paper = paper_of(track, &seeds->scale[s], coarsest, scratch);
    return SL_OK;
}

sl_code seeds_find(const struct track *track, struct seeds *ret, struct sl_status *status)
{
    sl_code code = SL_E_MEMORY;
    size_t n = track->count;
    struct seeds seeds = {.shown = calloc(n, sizeof(double)),
                          .block = calloc(2 * n * SEED_SCALES_MAX, sizeof(double))};
    double *scratch = calloc(n, sizeof *scratch);
    if (!scratch || !seeds.shown || !seeds.block) {
        sl_status_set(status, code, "band/seed", "Close other programs and try again.",
                      "There is not enough memory for the bands.");
        goto done;
    }
    code = smooth_scales(track, &seeds, scratch, status);
    if (code)
        goto done;
    double highest = highest_of(track, seeds.scale[0].smooth);
    for (size_t s = 0; s < seeds.scales; s++)
        collect(track, &seeds, s, highest);
    qsort(seeds.item, seeds.count, sizeof *seeds.item, by_place);
    blend(track, &seeds);
    part(seeds.shown, n, seeds.item, seeds.count);
done:
    free(scratch);
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
    free(seeds->shown);
    free(seeds->block);
    *seeds = (struct seeds){0};
}
