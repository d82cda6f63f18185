// SPDX-License-Identifier: GPL-3.0-or-later
/* A strip cut wider at one end and one that is seen at a slant have the same outline. But all that
 * lies on the table has one vanishing line 1 + a x + b y = 0 (x, y from the photo's middle). The
 * map (x, y) / (1 + a x + b y) takes the perspective out up to an affine map (R. Hartley, A.
 * Zisserman, Multiple View Geometry, 2004, section 2.7), which keeps ratios of parallel lengths:
 * what the widths at a strip's ends then still differ by is its own taper.
 * 1. What is known of the slant (a, b): hands hold phones about TILT_SIGMA askew. Strips are cut by
 *    hand, with a taper and sides that wander, or by machine, with next to none. Straight edges of
 *    what lies about (find_straight.c) are parallel or square to others, as sides of cards and
 *    lines of pages are, or to none: the density of an edge's direction on the table is a mixture
 *    of normal ones about all others' directions and those square to them, and an even one.
 * 2. The likeliest slants from several starts for each way to cut, all directions' errors widened
 *    first (expectation and maximisation: A. Dempster, N. Laird, D. Rubin, J. R. Statist. Soc. B 39
 *    (1977) 1-38; Gauss-Newton).
 * 3. The taper is the mean over these, weighed by likelihood and by how wide the top is (Laplace's
 *    approximation). */
#include <gsl/gsl_math.h>
#include <math.h>

#include "strandline/strip.h"

#define TILT_SIGMA 0.1  /* radians, about each axis */
#define FOCAL_PART 0.75 /* of the photo's longer side: 26 mm on 36 mm film, a phone's main lens */
#define HAND_SIGMA 0.03 /* of the widths' logarithmic ratio: scissors by eye; drawn strips */
#define MACHINE_SIGMA 0.008 /* the same; no strip lies quite flat */
/* Parts of the length by which sides leave straight lines, and the spread of their logarithm, as
 * found on drawn strips. */
#define HAND_BEND 0.0055
#define HAND_BEND_WIDTH 0.6
#define MACHINE_BEND 0.0011
#define MACHINE_BEND_WIDTH 0.9
#define ODD_SIGMAS 4.0       /* from here on more and more a wrong corner: Student's distribution */
#define TAPER_MOST 0.15      /* more is no cut but a wrong corner */
#define STRAIGHT_SIGMA 0.001 /* radians; lenses bend lines as much */
#define SHORT_SIGMA 0.0006   /* the same of an edge as long as a strip; short ones are made worse */
#define STRAY_DENSITY 2.0    /* of edges that lie as they like, against those that do not */
#define SLANT_MOST 0.35      /* radians */
#define SAME_SLANT 0.01
static const double start_at[] = {-0.15, 0, 0.15};
static const double widened[] = {0.03, 0.015, 0.008, 0.004, 0.002, 0, 0}; /* radians */
enum { STARTS = 3, ROUNDS = 7, WAYS = 2, TOPS_MAX = STARTS * STARTS * WAYS };

/* Times the focal length: radians about the two axes. */
struct slant {
    double a, b;
};

struct table {
    const struct sl_outlines *outlines;
    double x0, y0, focal;
    double strip_px; /* the longest one */
};

/* A likeliest slant: the likelihood's curvature and slope there. */
struct top {
    struct slant slant;
    double aa, ab, bb, a, b, likelihood;
    bool by_hand;
};

static struct table table_of(const struct sl_photo_info *info, const struct sl_outlines *outlines)
{
    struct table t = {outlines, info->width_px / 2.0, info->height_px / 2.0,
                      FOCAL_PART * fmax(info->width_px, info->height_px), 1};
    for (size_t i = 0; i < outlines->count; i++) {
        const struct sl_point *c = outlines->item[i].corner_px;
        t.strip_px = fmax(t.strip_px, hypot(c[3].x - c[0].x, c[3].y - c[0].y));
    }
    return t;
}

static struct sl_point rectified(const struct table *t, struct sl_point p, struct slant slant)
{
    double x = p.x - t->x0, y = p.y - t->y0;
    double depth = fmax(1 + (slant.a * x + slant.b * y) / t->focal, 0.1);
    return (struct sl_point){x / depth, y / depth};
}

/* ln of the upper over the lower width without perspective. */
static double taper_left(const struct table *t, const struct sl_outline *o, struct slant slant)
{
    struct sl_point p[4];
    for (int i = 0; i < 4; i++)
        p[i] = rectified(t, o->corner_px[i], slant);
    return log(hypot(p[2].x - p[3].x, p[2].y - p[3].y) / hypot(p[1].x - p[0].x, p[1].y - p[0].y));
}

/* Log density of how far its sides leave straight lines: scissors wander. */
static double as_straight(const struct sl_outline *o, bool by_hand)
{
    if (!(o->bend > 0)) /* corners set by hand */
        return 0;
    double width = by_hand ? HAND_BEND_WIDTH : MACHINE_BEND_WIDTH;
    double off = log(o->bend / (by_hand ? HAND_BEND : MACHINE_BEND)) / width;
    return -0.5 * off * off - log(width);
}

/* A square off^2 weight / 2 taken off the log likelihood, where `off` has these slopes. */
static void add_square(struct top *top, double weight, double da, double db, double off)
{
    top->aa += weight * da * da;
    top->ab += weight * da * db;
    top->bb += weight * db * db;
    top->a -= weight * da * off;
    top->b -= weight * db * off;
}

static void add_strips(const struct table *t, struct top *top)
{
    const double h = 1e-4, sigma = top->by_hand ? HAND_SIGMA : MACHINE_SIGMA;
    struct slant s = top->slant;
    for (size_t i = 0; i < t->outlines->count; i++) {
        const struct sl_outline *o = &t->outlines->item[i];
        if (o->cut_off)
            continue;
        double r = taper_left(t, o, s), odd = r / (ODD_SIGMAS * sigma);
        double da = (taper_left(t, o, (struct slant){s.a + h, s.b}) - r) / h;
        double db = (taper_left(t, o, (struct slant){s.a, s.b + h}) - r) / h;
        add_square(top, 1 / (sigma * sigma * (1 + odd * odd)), da, db, r);
        top->likelihood -= 0.5 * ODD_SIGMAS * ODD_SIGMAS * log1p(odd * odd) + log(sigma);
        top->likelihood += as_straight(o, top->by_hand);
    }
}

/* An edge's direction on the table: where the plane through the camera and the edge meets it. The
 * camera looks along z, n is the table's normal, e and f lie in the table. */
static double direction(const struct table *t, const struct sl_straight *edge, struct slant s)
{
    double x = (edge->x - t->x0) / t->focal, y = (edge->y - t->y0) / t->focal;
    double plane[3] = {-edge->dy, edge->dx, x * edge->dy - y * edge->dx};
    double n = sqrt(1 + s.a * s.a + s.b * s.b), na = s.a / n, nb = s.b / n, nz = 1 / n;
    double line[3] = {plane[1] * nz - plane[2] * nb, plane[2] * na - plane[0] * nz,
                      plane[0] * nb - plane[1] * na};
    double e[3] = {1 - na * na, -na * nb, -na * nz}, f[3] = {0, nz, -nb}; /* both as long */
    return atan2(line[1] * f[1] + line[2] * f[2], line[0] * e[0] + line[1] * e[1] + line[2] * e[2]);
}

static double within_half(double angle, double period)
{
    return angle - period * floor(angle / period + 0.5);
}

/* Edges' directions, how they turn with the slant, and their variances. */
struct edges {
    size_t count;
    double angle[SL_STRAIGHT_MAX], da[SL_STRAIGHT_MAX], db[SL_STRAIGHT_MAX],
        variance[SL_STRAIGHT_MAX];
};

static void edges_at(const struct table *t, struct slant s, struct edges *ret)
{
    const double h = 1e-4;
    ret->count = t->outlines->straight_count;
    for (size_t i = 0; i < ret->count; i++) {
        const struct sl_straight *edge = &t->outlines->straight[i];
        double angle = direction(t, edge, s), part = t->strip_px / fmax(edge->length_px, 1);
        double own = STRAIGHT_SIGMA + SHORT_SIGMA * part * part;
        ret->angle[i] = angle;
        ret->da[i] =
            within_half(direction(t, edge, (struct slant){s.a + h, s.b}) - angle, M_PI) / h;
        ret->db[i] =
            within_half(direction(t, edge, (struct slant){s.a, s.b + h}) - angle, M_PI) / h;
        ret->variance[i] = edge->sigma * edge->sigma + own * own;
    }
}

static void add_edges(const struct table *t, double wider, struct top *top)
{
    struct edges e;
    edges_at(t, top->slant, &e);
    for (size_t i = 0; i < e.count && e.count > 1; i++) {
        double sum = STRAY_DENSITY * (double)(e.count - 1) / M_PI_2;
        double density[SL_STRAIGHT_MAX] = {0}, off[SL_STRAIGHT_MAX], variance[SL_STRAIGHT_MAX];
        for (size_t j = 0; j < e.count; j++) {
            off[j] = within_half(e.angle[i] - e.angle[j], M_PI_2);
            variance[j] = e.variance[i] + e.variance[j] + wider * wider;
            if (j != i && off[j] * off[j] < 40 * variance[j])
                density[j] =
                    exp(-0.5 * off[j] * off[j] / variance[j]) / sqrt(2 * M_PI * variance[j]);
            sum += density[j];
        }
        top->likelihood += log(sum / (double)(e.count - 1));
        for (size_t j = 0; j < e.count; j++)
            add_square(top, density[j] / sum / variance[j], e.da[i] - e.da[j], e.db[i] - e.db[j],
                       off[j]);
    }
}

static void look_round(const struct table *t, double wider, struct top *top)
{
    const double prior = 1 / (TILT_SIGMA * TILT_SIGMA);
    struct slant s = top->slant;
    *top = (struct top){.slant = s,
                        .aa = prior,
                        .bb = prior,
                        .a = -prior * s.a,
                        .b = -prior * s.b,
                        .likelihood = -0.5 * prior * (s.a * s.a + s.b * s.b),
                        .by_hand = top->by_hand};
    add_strips(t, top);
    add_edges(t, wider, top);
}

static double determinant(const struct top *top)
{
    return top->aa * top->bb - top->ab * top->ab;
}

/* Step 2, from one start. */
static struct top climb(const struct table *t, struct slant start, bool by_hand)
{
    struct top top = {.slant = start, .by_hand = by_hand};
    for (int round = 0; round < ROUNDS; round++) {
        look_round(t, widened[round], &top);
        double det = determinant(&top);
        struct slant *s = &top.slant;
        s->a += (top.a * top.bb - top.b * top.ab) / det;
        s->b += (top.b * top.aa - top.a * top.ab) / det;
        double most = fmax(hypot(s->a, s->b) / SLANT_MOST, 1);
        s->a /= most;
        s->b /= most;
    }
    look_round(t, 0, &top);
    top.likelihood -= 0.5 * log(determinant(&top));
    return top;
}

static size_t tops_of(const struct table *t, struct top ret[TOPS_MAX])
{
    size_t count = 0;
    bool even = t->outlines->straight_count < 2; /* one top, then */
    for (int way = 0; way < WAYS; way++)
        for (int k = 0; k < (even ? 1 : STARTS * STARTS); k++) {
            struct slant start = {even ? 0 : start_at[k / STARTS], even ? 0 : start_at[k % STARTS]};
            struct top top = climb(t, start, way == 1);
            bool fresh = isfinite(top.likelihood);
            for (size_t i = 0; i < count && fresh; i++)
                fresh =
                    ret[i].by_hand != top.by_hand ||
                    hypot(ret[i].slant.a - top.slant.a, ret[i].slant.b - top.slant.b) > SAME_SLANT;
            if (fresh)
                ret[count++] = top;
        }
    return count;
}

/* Step 3. A strip cut by machine has none. */
static double expected_taper(const struct table *t, const struct sl_outline *o,
                             const struct top *tops, size_t count)
{
    double best = -HUGE_VAL, sum = 0, taper = 0;
    for (size_t i = 0; i < count; i++)
        best = fmax(best, tops[i].likelihood);
    for (size_t i = 0; i < count; i++) {
        double weight = exp(tops[i].likelihood - best);
        sum += weight;
        if (tops[i].by_hand)
            taper += weight * taper_left(t, o, tops[i].slant);
    }
    taper /= sum;
    return isfinite(taper) && fabs(taper) < TAPER_MOST ? taper : 0;
}

void sl_outlines_level(const struct sl_photo_info *info, struct sl_outlines *outlines)
{
    struct table table = table_of(info, outlines);
    struct top tops[TOPS_MAX];
    size_t count = tops_of(&table, tops);
    for (size_t i = 0; i < outlines->count; i++)
        outlines->item[i].taper = expected_taper(&table, &outlines->item[i], tops, count);
}
