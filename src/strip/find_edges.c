// SPDX-License-Identifier: GPL-3.0-or-later
/* Thin edges of all planes together.
 * 1. Each plane's gradient in units of its noise, so that what the table is patterned in counts
 *    less; summed as a structure tensor (Di Zenzo, Computer Vision, Graphics, and Image Processing
 *    33 (1986) 116-125): direction without a sign, since a dyed band may be darker than the table
 *    where the paper is brighter.
 * 2. Only maxima across the edge stay.
 * 3. Weak ones go: below a multiple of the noise, and below the strongest few per cent. */
#include "strip/find.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char where[] = "strip/find";
static const double LEAST = 3.0;        /* noise units; Rayleigh: passed by 1 % of noise pixels */
static const double PIXELS_MAX = 0.15;  /* more edges than this part of the pixels is texture */
static const double COLOUR_LEAST = 0.5; /* colour noise counts at least this part of lightness' */
enum { STRENGTH_BINS = 2048 };

struct tensor {
    float xx, xy, yy;
};

static struct tensor tensor_at(const struct find_picture *p, size_t at, const float weight[])
{
    struct tensor t = {0, 0, 0};
    for (int c = 0; c < FIND_PLANES; c++) {
        const float *v = p->plane[c] + at;
        float gx = 0.5f * (v[1] - v[-1]), gy = 0.5f * (v[p->width] - v[-p->width]);
        t.xx += weight[c] * gx * gx;
        t.xy += weight[c] * gx * gy;
        t.yy += weight[c] * gy * gy;
    }
    return t;
}

static float tensor_strength(struct tensor t)
{
    float half = 0.5f * (t.xx - t.yy);
    return sqrtf(0.5f * (t.xx + t.yy) + sqrtf(half * half + t.xy * t.xy));
}

/* Of the line, 0..pi: the gradient's turned by a quarter. */
static double tensor_direction(struct tensor t)
{
    double a = 0.5 * atan2(2.0 * (double)t.xy, (double)t.xx - (double)t.yy) + M_PI / 2;
    return a < 0 ? a + M_PI : a >= M_PI ? a - M_PI : a;
}

static void strengths(const struct find_picture *p, const float weight[], float *ret)
{
    for (int y = 1; y + 1 < p->height; y++)
        for (int x = 1; x + 1 < p->width; x++) {
            size_t at = (size_t)y * (size_t)p->width + (size_t)x;
            ret[at] = tensor_strength(tensor_at(p, at, weight));
        }
}

/* Compares with the two neighbours across the edge, between pixels. */
static bool is_ridge(const float *s, int w, double direction)
{
    double nx = -sin(direction), ny = cos(direction);
    double ax = fabs(nx), ay = fabs(ny);
    ptrdiff_t sx = nx < 0 ? -1 : 1, sy = ny < 0 ? -w : w;
    ptrdiff_t straight = ax > ay ? sx : sy, diagonal = sx + sy;
    float f = (float)(ax > ay ? ay / ax : ax / ay);
    float one = s[straight] + f * (s[diagonal] - s[straight]);
    float two = s[-straight] + f * (s[-diagonal] - s[-straight]);
    return s[0] >= one && s[0] > two;
}

static double adapted_floor(const struct find_edges *e)
{
    size_t bins[STRENGTH_BINS] = {0}, n = (size_t)e->width * (size_t)e->height;
    for (size_t i = 0; i < n; i++)
        if (e->direction[i]) {
            size_t bin = (size_t)(e->strength[i] * 8);
            bins[bin < STRENGTH_BINS ? bin : STRENGTH_BINS - 1]++;
        }
    size_t allowed = (size_t)(PIXELS_MAX * (double)n), bin = STRENGTH_BINS - 1, kept = 0;
    while (bin > 0 && kept + bins[bin] <= allowed)
        kept += bins[bin--];
    double floor = (double)(bin + 1) / 8;
    return floor > LEAST ? floor : LEAST;
}

static void mark_ridges(const struct find_picture *p, const float weight[], struct find_edges *e)
{
    for (int y = 2; y + 2 < e->height; y++)
        for (int x = 2; x + 2 < e->width; x++) {
            size_t at = (size_t)y * (size_t)e->width + (size_t)x;
            if (e->strength[at] < (float)LEAST)
                continue;
            double direction = tensor_direction(tensor_at(p, at, weight));
            if (is_ridge(e->strength + at, e->width, direction))
                e->direction[at] = (uint8_t)(1 + (int)(direction * 180 / M_PI) % 180);
        }
}

sl_code find_edges_fill(const struct find_picture *picture, struct find_edges *ret,
                        struct sl_status *status)
{
    size_t n = (size_t)picture->width * (size_t)picture->height;
    struct find_edges e = {.width = picture->width, .height = picture->height};
    float weight[FIND_PLANES];
    for (int c = 0; c < FIND_PLANES; c++) {
        double noise = fmax(picture->noise[c], c ? COLOUR_LEAST * picture->noise[0] : 0);
        weight[c] = (float)(1 / (noise * noise));
    }
    e.direction = calloc(n, 1);
    e.strength = calloc(n, sizeof *e.strength);
    if (!e.direction || !e.strength) {
        find_edges_finish(&e);
        return sl_status_set(status, SL_E_MEMORY, where,
                             "Close other programs or use a smaller photo.",
                             "There is not enough memory to look for edges.");
    }
    strengths(picture, weight, e.strength);
    mark_ridges(picture, weight, &e);
    e.floor = adapted_floor(&e);
    for (size_t i = 0; i < n; i++)
        if (e.strength[i] < (float)e.floor)
            e.direction[i] = 0;
    *ret = e;
    return SL_OK;
}

void find_edges_finish(struct find_edges *edges)
{
    if (!edges)
        return;
    free(edges->direction);
    free(edges->strength);
    edges->direction = NULL;
    edges->strength = NULL;
}
