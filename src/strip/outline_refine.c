// SPDX-License-Identifier: GPL-3.0-or-later
/* The outline again, below a pixel, on the finer look.
 * 1. Both long sides as curves of third order (paper curls, scissors wander).
 * 2. Both ends as straight lines, corners left out, which may be torn or rounded.
 * 3. Corners where they meet; points along the sides between the corners.
 * 4. Once more from there, in a narrower reach. */
#include "strip/find.h"
#include "strip/outline_trace.h"

#include <math.h>
#include <string.h>

static const double REACH_FIRST = 0.12, REACH_AGAIN = 0.04; /* of the strip's width */
static const double REACH_LEAST_PX = 3;
static const double SCATTER_MOST = 0.06; /* of the width; more is not an edge */
static const double SIGMA_LEAST_PX = 0.05;

struct sides {
    struct outline_curve left, right, lower, upper;
};

static double apart(struct sl_point a, struct sl_point b)
{
    return hypot(b.x - a.x, b.y - a.y);
}

/* A side that can't be followed stays as it was. */
static bool trace(const struct sl_image *look, struct sl_point a, struct sl_point b,
                  struct outline_trace_how how, double width, struct outline_curve *ret)
{
    if (outline_trace(look, a, b, &how, ret) && ret->scatter < SCATTER_MOST * width)
        return true;
    *ret = (struct outline_curve){.base = {.a = a, .b = b}, .to = 1, .scatter = width};
    ret->sigma = how.reach_px / 2;
    return false;
}

/* Where a side meets an end line, by stepping along the side until it does. */
static struct sl_point meet(const struct outline_curve *side, double t,
                            const struct outline_curve *end)
{
    struct sl_point e0 = outline_curve_at(end, 0), e1 = outline_curve_at(end, 1), p = {0, 0};
    double ex = e1.x - e0.x, ey = e1.y - e0.y;
    for (int i = 0; i < 6; i++) {
        p = outline_curve_at(side, t);
        struct sl_point q = outline_curve_at(side, t + 1e-3);
        double off = (p.x - e0.x) * ey - (p.y - e0.y) * ex;
        double slope = ((q.x - p.x) * ey - (q.y - p.y) * ex) / 1e-3;
        if (fabs(slope) < 1e-9)
            break;
        t -= fmin(fmax(off / slope, -0.2), 0.2);
    }
    return outline_curve_at(side, t);
}

static double place_on(const struct outline_curve *side, struct sl_point p)
{
    const struct outline_base *b = &side->base;
    double x = b->b.x - b->a.x, y = b->b.y - b->a.y;
    return ((p.x - b->a.x) * x + (p.y - b->a.y) * y) / (x * x + y * y);
}

static double bow(const struct sl_point *p)
{
    double most = 0, length = apart(p[0], p[SL_EDGE_POINTS - 1]);
    double ux = (p[SL_EDGE_POINTS - 1].x - p[0].x) / length;
    double uy = (p[SL_EDGE_POINTS - 1].y - p[0].y) / length;
    for (int i = 0; i < SL_EDGE_POINTS; i++)
        most = fmax(most, fabs((p[i].x - p[0].x) * uy - (p[i].y - p[0].y) * ux));
    return most / length;
}

/* Step 3. */
static void assemble(const struct sl_image *look, const struct sides *s, struct sl_outline *o)
{
    struct sl_point corner[4] = {meet(&s->left, 0, &s->lower), meet(&s->right, 0, &s->lower),
                                 meet(&s->right, 1, &s->upper), meet(&s->left, 1, &s->upper)};
    double l0 = place_on(&s->left, corner[0]), l1 = place_on(&s->left, corner[3]);
    double r0 = place_on(&s->right, corner[1]), r1 = place_on(&s->right, corner[2]);
    for (int i = 0; i < 4; i++)
        o->corner_px[i] = outline_to_photo(look, corner[i]);
    for (int i = 0; i < SL_EDGE_POINTS; i++) {
        double t = (double)i / (SL_EDGE_POINTS - 1);
        o->left_px[i] = outline_to_photo(look, outline_curve_at(&s->left, l0 + t * (l1 - l0)));
        o->right_px[i] = outline_to_photo(look, outline_curve_at(&s->right, r0 + t * (r1 - r0)));
    }
    o->bend = fmax(bow(o->left_px), bow(o->right_px));
    o->edge_sigma_px = fmax(fmax(s->left.sigma, s->right.sigma), SIGMA_LEAST_PX) * look->scale;
}

static bool is_sane(const struct sl_outline *before, const struct sl_outline *after,
                    double width_px)
{
    for (int i = 0; i < 4; i++)
        if (!(apart(before->corner_px[i], after->corner_px[i]) < 0.5 * width_px))
            return false;
    return true;
}

static bool refine_once(const struct sl_image *look, struct sl_outline *o, double reach_widths)
{
    struct sl_point c[4];
    struct sides s;
    for (int i = 0; i < 4; i++)
        c[i] = outline_to_look(look, o->corner_px[i]);
    double width = 0.5 * (apart(c[0], c[1]) + apart(c[3], c[2]));
    double bow_px = o->bend * apart(c[0], c[3]); /* known from the round before */
    double reach = REACH_LEAST_PX + reach_widths * width + bow_px;
    struct outline_trace_how side = {reach, 0.02, 65, 3},
                             end = {1.3 * (reach - bow_px), 0.08, 33, 1};
    bool left = trace(look, c[0], c[3], side, width, &s.left);
    bool right = trace(look, c[1], c[2], side, width, &s.right);
    trace(look, c[0], c[1], end, width, &s.lower);
    trace(look, c[3], c[2], end, width, &s.upper);
    struct sl_outline after = *o;
    assemble(look, &s, &after);
    if (!is_sane(o, &after, width * look->scale))
        return false;
    *o = after;
    return left && right;
}

bool outline_refine(const struct sl_image *look, struct sl_outline *outline)
{
    return refine_once(look, outline, REACH_FIRST) && refine_once(look, outline, REACH_AGAIN);
}
