// SPDX-License-Identifier: GPL-3.0-or-later
/* How sharp the sharpest clear edges are.
 * 1. Everywhere the step in lightness over a span in x and in y.
 * 2. Where it is among the photo's largest, the steepest slope within the span in parts of the
 *    step: a sharp edge makes the whole step within a few pixels, a blurred one spreads it.
 * 3. A high quantile of those parts, turned into the standard deviation of a Gaussian blur: one
 * sharp thing in the photo, ink or paper or table, and it was in focus somewhere. */
#include "strip/find.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SPAN = 24, BINS = 512, EVERY = 3 };
static const double STEP_BINS_FULL = 1.0;
static const double STEP_PART = 0.02;     /* of the places, with the largest steps */
static const double SHARP_QUANTILE = 0.9; /* of those */
static const double STEP_LEAST = 0.02;    /* below this a photo shows nothing to judge */

struct counts {
    size_t bin[BINS], sum;
};

static void count(struct counts *c, double v)
{
    int bin = (int)(v * BINS);
    c->bin[bin < 0 ? 0 : bin >= BINS ? BINS - 1 : bin]++;
    c->sum++;
}

static double quantile(const struct counts *c, double part)
{
    size_t below = 0, want = (size_t)(part * (double)c->sum);
    int bin = 0;
    while (bin < BINS - 1 && below + c->bin[bin] <= want)
        below += c->bin[bin++];
    return (bin + 0.5) / BINS;
}

static double steepest(const float *p, ptrdiff_t stride)
{
    double most = 0;
    for (int i = 0; i < SPAN; i++)
        most = fmax(most, fabs((double)p[(i + 1) * stride] - (double)p[i * stride]));
    return most;
}

/* Goes over all places twice: for the steps, then for the slopes of the large ones. */
static void survey(const struct find_picture *p, double least, struct counts *ret)
{
    for (int y = 0; y + SPAN < p->height; y += EVERY)
        for (int x = 0; x + SPAN < p->width; x += EVERY) {
            const float *v = p->plane[0] + (size_t)y * (size_t)p->width + (size_t)x;
            for (int k = 0; k < 2; k++) {
                ptrdiff_t stride = k ? p->width : 1;
                double step = fabs((double)v[SPAN * stride] - (double)v[0]);
                if (least < 0)
                    count(ret, step / STEP_BINS_FULL);
                else if (step >= least)
                    count(ret, steepest(v, stride) / step);
            }
        }
}

double find_blur_px(const struct find_picture *picture)
{
    struct counts *c = calloc(2, sizeof *c);
    double blur = 0;
    if (!c)
        return 0;
    survey(picture, -1, &c[0]);
    double least = fmax(quantile(&c[0], 1 - STEP_PART) * STEP_BINS_FULL, STEP_LEAST);
    survey(picture, least, &c[1]);
    if (c[1].sum > 20)
        blur = 1 / (quantile(&c[1], SHARP_QUANTILE) * sqrt(2 * M_PI));
    free(c);
    return blur;
}
