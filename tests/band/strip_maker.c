// SPDX-License-Identifier: GPL-3.0-or-later
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdlib.h>

#include "band/shape.h"
#include "strandline/colour.h"
#include "strip_maker.h"

static const double origin = 0.15, front = 0.85; /* of a strip 100 mm long */
static const double line_width_rf = 0.02, line_blur_rf = 0.003;
static const double load_noise = 0.02;
enum { CORRELATION = 3 };

static double uniform01(uint64_t *seed)
{
    uint64_t x = *seed ? *seed : 0x9e3779b97f4a7c15u;
    x ^= x >> 12;
    x ^= x << 25;
    x ^= x >> 27;
    *seed = x;
    return (double)((x * 0x2545f4914f6cdd1du) >> 11) * 0x1p-53;
}

double maker_uniform(uint64_t *seed, double low, double high)
{
    return low + (high - low) * uniform01(seed);
}

static double normal(uint64_t *seed)
{
    double sum = 0.0; /* of twelve uniform values: variance 1, good to three sigma and more */
    for (int i = 0; i < 12; i++)
        sum += uniform01(seed);
    return sum - 6.0;
}

static double true_load(const struct maker *maker, double rf, int c)
{
    double still = shape_line(rf, 0.0, line_width_rf, line_blur_rf).value;
    double load = maker->gradient * rf / 3.0 + maker->line_area * maker->line_colour[c] * still;
    if (maker->streak_area > 0.0) {
        double streak =
            shape_streak(rf, line_blur_rf, maker->streak_end, 0.04, maker->streak_rate).value;
        double left = exp(-maker->streak_rate * maker->streak_end);
        load += maker->streak_area * maker->streak_colour[c] * (streak + left * still);
    }
    for (size_t b = 0; b < maker->bands; b++) {
        const struct maker_band *band = &maker->band[b];
        load +=
            band->area * band->colour[c] * shape_emg(rf, band->rf, band->sigma, band->tau).value;
    }
    return load;
}

static void allocate(struct sl_profile *profile)
{
    size_t n = MAKER_SAMPLES;
    *profile = (struct sl_profile){.count = n, .correlation_samples = CORRELATION};
    profile->position = calloc(n, sizeof(double));
    profile->reflectance = calloc(n, sizeof *profile->reflectance);
    profile->reflectance_se = calloc(n, sizeof *profile->reflectance_se);
    profile->load = calloc(n, sizeof *profile->load);
    profile->load_se = calloc(n, sizeof *profile->load_se);
    profile->density = calloc(n, sizeof *profile->density);
    profile->lab_d50 = calloc(n, sizeof *profile->lab_d50);
    profile->lab_se = calloc(n, sizeof *profile->lab_se);
    profile->light_se = calloc(n, sizeof *profile->light_se);
    profile->flags = calloc(n, sizeof *profile->flags);
    assert_true(profile->position && profile->reflectance && profile->reflectance_se &&
                profile->load && profile->load_se && profile->density && profile->lab_d50 &&
                profile->lab_se && profile->light_se && profile->flags);
}

/* Mean of CORRELATION neighbours of white noise, scaled to variance 1. */
static void correlated(uint64_t *seed, double *ret)
{
    double white[MAKER_SAMPLES + CORRELATION];
    for (size_t i = 0; i < MAKER_SAMPLES + CORRELATION; i++)
        white[i] = normal(seed);
    for (size_t i = 0; i < MAKER_SAMPLES; i++) {
        ret[i] = 0.0;
        for (size_t k = 0; k < CORRELATION; k++)
            ret[i] += white[i + k] / sqrt(CORRELATION);
    }
}

static void fill_channel(const struct maker *maker, int c, uint64_t *seed,
                         struct sl_profile *profile)
{
    double noise[MAKER_SAMPLES];
    correlated(seed, noise);
    for (size_t i = 0; i < MAKER_SAMPLES; i++) {
        double load = true_load(maker, (profile->position[i] - origin) / (front - origin), c);
        double se = hypot(maker->noise, load_noise * load);
        profile->load[i][c] = load + se * noise[i];
        profile->load_se[i][c] = se;
        profile->light_se[i][c] = 0.2 * maker->noise;
        profile->lab_se[i][c] = 0.2;
        profile->reflectance[i][c] = sl_kubelka_munk_inverse(fmax(profile->load[i][c], 0.0));
    }
}

void strip_make(const struct maker *maker, struct strip *ret)
{
    struct sl_lab *lab = NULL;
    uint64_t seed = maker->seed * 0x9e3779b97f4a7c15u + 1u;
    allocate(&ret->profile);
    for (size_t i = 0; i < MAKER_SAMPLES; i++)
        ret->profile.position[i] = ((double)i + 0.5) / MAKER_SAMPLES;
    for (int c = 0; c < 3; c++)
        fill_channel(maker, c, &seed, &ret->profile);
    assert_int_equal(sl_lab_create(&lab, NULL), SL_OK);
    sl_lab_from_linear(lab, (const double(*)[3])ret->profile.reflectance, MAKER_SAMPLES,
                       ret->profile.lab_d50);
    sl_lab_destroy(lab);
    ret->marks = (struct sl_marks){.origin = origin,
                                   .origin_sigma = 1e-4,
                                   .front = front,
                                   .front_sigma = 1e-4,
                                   .line_width = line_width_rf * (front - origin)};
}

void strip_finish(struct strip *strip)
{
    struct sl_profile *profile = &strip->profile;
    free(profile->position);
    free(profile->reflectance);
    free(profile->reflectance_se);
    free(profile->load);
    free(profile->load_se);
    free(profile->density);
    free(profile->lab_d50);
    free(profile->lab_se);
    free(profile->light_se);
    free(profile->flags);
}
