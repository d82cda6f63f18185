// SPDX-License-Identifier: GPL-3.0-or-later
/* State: level and slope. Between neighbours the slope makes a random step of variance q h and the
 * level follows. Diffuse start: a large variance of both. The likelihood is that of the prediction
 * errors, without the first two observations, which the diffuse start eats. */
#include "strip/light_trend.h"

#include <math.h>
#include <stdlib.h>

/* Variance of level and slope before anything was seen; log light is about 1. */
#define DIFFUSE 1e4

enum { ROUGHNESS_STEPS = 9 };
#define ROUGHNESS_MIN 0.01
#define ROUGHNESS_MAX 20.0 /* a shadow's edge: 0.3 over a fifth of the length */
/* Median of light on drawn photos, about that of a lamp half a metre away, which bends log light of
 * 100 mm by 0.1 to 0.2; curls and shadows are rougher, by some powers of e. */
#define ROUGHNESS_USUAL 0.1
#define ROUGHNESS_SPREAD 2.0 /* of its logarithm */
#define WEIGHT_LEAST 1e-3    /* of the likeliest one's: what is less makes no difference */

struct state {
    double level, slope;
    double v00, v01, v11;
};

struct walk {
    const double *y, *variance;
    int count;
    double step, roughness;
};

static bool observed(const struct walk *w, int i)
{
    return isfinite(w->y[i]) && isfinite(w->variance[i]) && w->variance[i] > 0;
}

static struct state predict(struct state s, const struct walk *w)
{
    double h = w->step, q = w->roughness;
    struct state p;
    p.level = s.level + h * s.slope;
    p.slope = s.slope;
    p.v00 = s.v00 + 2 * h * s.v01 + h * h * s.v11 + q * h * h * h / 3;
    p.v01 = s.v01 + h * s.v11 + q * h * h / 2;
    p.v11 = s.v11 + q * h;
    return p;
}

/* Adds minus twice the log likelihood to `deviance` where it is asked for. */
static struct state update(struct state p, double y, double variance, int *seen, double *deviance)
{
    double f = p.v00 + variance, error = y - p.level, k0 = p.v00 / f, k1 = p.v01 / f;
    if (deviance != NULL && *seen >= 2)
        *deviance += log(f) + error * error / f;
    (*seen)++;
    return (struct state){p.level + k0 * error, p.slope + k1 * error, p.v00 - k0 * p.v00,
                          p.v01 - k0 * p.v01, p.v11 - k1 * p.v01};
}

/* Filters forwards; keeps the states where `ret` is given. */
static double filter(const struct walk *w, struct state *ret)
{
    struct state s = {0, 0, DIFFUSE, 0, DIFFUSE};
    double deviance = 0;
    int seen = 0;
    for (int i = 0; i < w->count; i++) {
        if (i > 0)
            s = predict(s, w);
        if (observed(w, i))
            s = update(s, w->y[i], w->variance[i], &seen, &deviance);
        if (ret != NULL)
            ret[i] = s;
    }
    return deviance;
}

static void smooth_back(const struct walk *w, struct state *s)
{
    double h = w->step;
    for (int i = w->count - 2; i >= 0; i--) {
        struct state f = s[i], p = predict(f, w), next = s[i + 1];
        /* gain G = V F' P^-1 with F = [1 h; 0 1] */
        double det = p.v00 * p.v11 - p.v01 * p.v01;
        if (!(det > 0))
            continue;
        double a00 = f.v00 + h * f.v01, a01 = f.v01, a10 = f.v01 + h * f.v11, a11 = f.v11;
        double g00 = (a00 * p.v11 - a01 * p.v01) / det, g01 = (a01 * p.v00 - a00 * p.v01) / det;
        double g10 = (a10 * p.v11 - a11 * p.v01) / det, g11 = (a11 * p.v00 - a10 * p.v01) / det;
        double d0 = next.level - p.level, d1 = next.slope - p.slope;
        double c00 = next.v00 - p.v00, c01 = next.v01 - p.v01, c11 = next.v11 - p.v11;
        s[i].level = f.level + g00 * d0 + g01 * d1;
        s[i].slope = f.slope + g10 * d0 + g11 * d1;
        s[i].v00 = f.v00 + g00 * g00 * c00 + 2 * g00 * g01 * c01 + g01 * g01 * c11;
        s[i].v01 = f.v01 + g00 * g10 * c00 + (g00 * g11 + g01 * g10) * c01 + g01 * g11 * c11;
        s[i].v11 = f.v11 + g10 * g10 * c00 + 2 * g10 * g11 * c01 + g11 * g11 * c11;
    }
}

static double roughness_step(int k)
{
    return ROUGHNESS_MIN * pow(ROUGHNESS_MAX / ROUGHNESS_MIN, (double)k / (ROUGHNESS_STEPS - 1));
}

/* Minus twice the log posterior of each step's roughness; returns the least. */
static double weigh_roughness(struct walk walk, double ret[ROUGHNESS_STEPS])
{
    double least = INFINITY;
    for (int k = 0; k < ROUGHNESS_STEPS; k++) {
        walk.roughness = roughness_step(k);
        double off = log(walk.roughness / ROUGHNESS_USUAL) / ROUGHNESS_SPREAD;
        ret[k] = filter(&walk, NULL) + off * off;
        least = fmin(least, ret[k]);
    }
    return least;
}

bool sl_light_trend(const double *y, const double *variance, int count, double step,
                    double *ret_curve, double *ret_se)
{
    struct walk walk = {y, variance, count, step, 0};
    int seen = 0;
    for (int i = 0; i < count; i++)
        seen += observed(&walk, i);
    struct state *states = seen >= 2 ? calloc((size_t)count, 2 * sizeof *states) : NULL;
    if (states == NULL)
        return false;
    struct state *sum = states + count; /* level and its square, weighted */
    double deviance[ROUGHNESS_STEPS], weights = 0, least = weigh_roughness(walk, deviance);
    for (int k = 0; k < ROUGHNESS_STEPS; k++) {
        double weight = exp((least - deviance[k]) / 2);
        if (weight < WEIGHT_LEAST)
            continue;
        walk.roughness = roughness_step(k);
        filter(&walk, states);
        smooth_back(&walk, states);
        weights += weight;
        for (int i = 0; i < count; i++) {
            sum[i].level += weight * states[i].level;
            sum[i].v00 += weight * (fmax(states[i].v00, 0) + states[i].level * states[i].level);
        }
    }
    for (int i = 0; i < count; i++) {
        ret_curve[i] = sum[i].level / weights;
        ret_se[i] = sqrt(fmax(sum[i].v00 / weights - ret_curve[i] * ret_curve[i], 0));
    }
    free(states);
    return true;
}
