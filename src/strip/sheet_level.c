// SPDX-License-Identifier: GPL-3.0-or-later
/* A strip cut wider at one end and one that is seen at a slant have the same outline. But all
 * strips lie on one table, which has one vanishing line 1 + a x + b y = 0 (x, y from the photo's
 * middle). The map (x, y) / (1 + a x + b y) takes the perspective out up to an affine map (R.
 * Hartley, A. Zisserman, Multiple View Geometry, 2004, section 2.7), which keeps ratios of parallel
 * lengths: what the widths at a strip's ends then still differ by is its own taper. a and b are the
 * likeliest, given that hands cut tapers of about TAPER_SIGMA and hold phones about TILT_SIGMA
 * askew (Gauss-Newton). */
#include <math.h>

#include "strandline/strip.h"

#define TAPER_SIGMA 0.02 /* scissors by eye; common practice, no source */
#define FLAT_SIGMA 0.008 /* of the widths' logarithmic ratio */
#define TILT_SIGMA 0.1   /* radians, about each axis */
#define FOCAL_PART 0.75  /* of the photo's longer side: 26 mm on 36 mm film, a phone's main lens */
#define TAPER_MOST 0.08  /* more is no cut but a wrong corner */
enum { ROUNDS = 4 };

struct slant {
    double a, b;
};

static struct sl_point rectified(struct sl_point p, const struct sl_photo_info *info,
                                 struct slant slant)
{
    double x = p.x - info->width_px / 2.0, y = p.y - info->height_px / 2.0;
    double depth = fmax(1 + slant.a * x + slant.b * y, 0.1);
    return (struct sl_point){x / depth, y / depth};
}

/* ln of the upper over the lower width without perspective. */
static double taper_left(const struct sl_outline *o, const struct sl_photo_info *info,
                         struct slant slant)
{
    struct sl_point p[4];
    for (int i = 0; i < 4; i++)
        p[i] = rectified(o->corner_px[i], info, slant);
    return log(hypot(p[2].x - p[3].x, p[2].y - p[3].y) / hypot(p[1].x - p[0].x, p[1].y - p[0].y));
}

static struct slant likeliest(const struct sl_outlines *outlines, const struct sl_photo_info *info)
{
    double focal = FOCAL_PART * fmax(info->width_px, info->height_px);
    double prior = (focal / TILT_SIGMA) * (focal / TILT_SIGMA);
    double weight = 1 / (TAPER_SIGMA * TAPER_SIGMA), h = 1e-4 / focal;
    struct slant slant = {0, 0};
    for (int round = 0; round < ROUNDS; round++) {
        double aa = prior, ab = 0, bb = prior, ga = -prior * slant.a, gb = -prior * slant.b;
        for (size_t i = 0; i < outlines->count; i++) {
            const struct sl_outline *o = &outlines->item[i];
            double r = taper_left(o, info, slant);
            double da = (r - taper_left(o, info, (struct slant){slant.a + h, slant.b})) / h;
            double db = (r - taper_left(o, info, (struct slant){slant.a, slant.b + h})) / h;
            aa += weight * da * da;
            ab += weight * da * db;
            bb += weight * db * db;
            ga += weight * da * r;
            gb += weight * db * r;
        }
        double det = aa * bb - ab * ab;
        slant.a += (ga * bb - gb * ab) / det;
        slant.b += (gb * aa - ga * ab) / det;
    }
    return slant;
}

static double normal(double x, double sigma)
{
    return exp(-x * x / (2 * sigma * sigma)) / sigma;
}

/* What is left may also be the strip's own slant, as none lies quite flat, and many strips are cut
 * by machine: the expected taper is that of a hand-cut strip times the odds that it is one. */
static double expected_taper(double left)
{
    if (!isfinite(left) || fabs(left) > TAPER_MOST)
        return 0;
    double both = hypot(TAPER_SIGMA, FLAT_SIGMA);
    double cut_by_hand = normal(left, both), machine = normal(left, FLAT_SIGMA);
    double part = TAPER_SIGMA * TAPER_SIGMA / (both * both);
    return left * part * cut_by_hand / (cut_by_hand + machine);
}

void sl_outlines_level(const struct sl_photo_info *info, struct sl_outlines *outlines)
{
    struct slant slant = likeliest(outlines, info);
    for (size_t i = 0; i < outlines->count; i++)
        outlines->item[i].taper = expected_taper(taper_left(&outlines->item[i], info, slant));
}
