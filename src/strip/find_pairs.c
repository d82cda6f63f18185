// SPDX-License-Identifier: GPL-3.0-or-later
/* Pairs of lines that could be the two long sides of a strip.
 * 1. Nearly parallel (perspective, crooked cuts), side by side, at a strip's distance.
 * 2. Ranked by what both sides show where they overlap: a step from the outside to the inside, and
 *    the same colour just inside both sides at the same height, as ink bands cross the strip. */
#include "strip/find.h"

#include <math.h>
#include <stdlib.h>

static const double TURN_DEG = 7.0; /* between the sides; 15 degrees of tilt give under 5 */
/* A strip of 12 mm x 120 mm that fills a third of the picture's length is 3.3 % wide; one of
 * 25 mm x 57 mm that fills it is 44 %. */
static const double WIDTH_LEAST = 0.022, WIDTH_MOST = 0.40; /* of the picture's longer side */
static const double WIDTH_LEAST_PX = 10;
static const double OVERLAP_LEAST = 0.6; /* of the width */
static const double TAPER_MOST = 1.5;    /* between the ends of the overlap */
static const double UPRIGHT_DEG = 20;    /* flatter strips have their lower end on the left */
static const double SAME_TURN_DEG = 1.0;
enum { PLACES = 12 };

static void set_axis(struct find_quad *q, double x, double y)
{
    double length = hypot(x, y);
    x /= length;
    y /= length;
    bool flat = fabs(y) < sin(UPRIGHT_DEG * M_PI / 180);
    double sign = flat ? (x < 0 ? -1 : 1) : (y > 0 ? -1 : 1);
    q->axis_x = sign * x;
    q->axis_y = sign * y;
}

static void set_side(const struct find_quad *q, const struct find_line *line, double x, double y,
                     double point[2], double step[2])
{
    double along = line->dx * q->axis_x + line->dy * q->axis_y;
    double s = (line->x - x) * q->axis_x + (line->y - y) * q->axis_y;
    step[0] = line->dx / along;
    step[1] = line->dy / along;
    point[0] = line->x - s * step[0];
    point[1] = line->y - s * step[1];
}

static double width_at(const struct find_quad *q, double s)
{
    double x = q->right_x - q->left_x + s * (q->right_dx - q->left_dx);
    double y = q->right_y - q->left_y + s * (q->right_dy - q->left_dy);
    return hypot(x, y);
}

static double shift_along(const struct find_quad *q, const struct find_line *line, double x,
                          double y)
{
    return (line->x - x) * q->axis_x + (line->y - y) * q->axis_y;
}

/* Step 1. */
static bool pair(const struct find_picture *p, const struct find_line *a, const struct find_line *b,
                 struct find_quad *ret)
{
    double cosine = a->dx * b->dx + a->dy * b->dy, sign = cosine < 0 ? -1 : 1;
    if (fabs(cosine) < cos(TURN_DEG * M_PI / 180))
        return false;
    struct find_quad q = {0};
    set_axis(&q, a->dx + sign * b->dx, a->dy + sign * b->dy);
    double x = 0.5 * (a->x + b->x), y = 0.5 * (a->y + b->y);
    double sa = shift_along(&q, a, x, y), sb = shift_along(&q, b, x, y);
    q.lower = fmax(sa - a->half, sb - b->half);
    q.upper = fmin(sa + a->half, sb + b->half);
    if (q.upper - q.lower < WIDTH_LEAST_PX)
        return false;
    double middle = 0.5 * (q.lower + q.upper);
    x += middle * q.axis_x;
    y += middle * q.axis_y;
    double to_left = (a->x - x) * q.axis_y - (a->y - y) * q.axis_x;
    const struct find_line *left = to_left > 0 ? a : b, *right = to_left > 0 ? b : a;
    double point[2], step[2];
    set_side(&q, left, x, y, point, step);
    q.left_x = point[0], q.left_y = point[1], q.left_dx = step[0], q.left_dy = step[1];
    set_side(&q, right, x, y, point, step);
    q.right_x = point[0], q.right_y = point[1], q.right_dx = step[0], q.right_dy = step[1];
    q.lower -= middle;
    q.upper -= middle;
    q.width = width_at(&q, 0);
    double side = p->width > p->height ? p->width : p->height;
    if (q.width < fmax(WIDTH_LEAST * side, WIDTH_LEAST_PX) || q.width > WIDTH_MOST * side ||
        q.upper - q.lower < OVERLAP_LEAST * q.width)
        return false;
    double w0 = width_at(&q, q.lower), w1 = width_at(&q, q.upper);
    if (fmax(w0, w1) > TAPER_MOST * fmin(w0, w1))
        return false;
    *ret = q;
    return true;
}

/* Paper is among the brightest things in a photo. */
static double paper_brightness(const struct find_picture *p, float light[PLACES])
{
    float best = 0, second = 0;
    for (int i = 0; i < PLACES; i++) {
        if (light[i] > best) {
            second = best;
            best = light[i];
        } else if (light[i] > second) {
            second = light[i];
        }
    }
    return fmin((double)second / sqrt(fmax(p->light_high, 1e-3)), 1);
}

/* Axial coordinate of a place within the overlap. */
static double place_of(const struct find_quad *q, int i)
{
    return q->lower + (q->upper - q->lower) * (i + 0.5) / PLACES;
}

/* What the rank can't reach: as if the sides had all of the step and the inside were even. */
static double rank_bound(const struct find_picture *p, const struct find_line *a,
                         const struct find_line *b, const struct find_quad *q)
{
    float light[PLACES];
    for (int i = 0; i < PLACES; i++) {
        double s = place_of(q, i);
        double lx = q->left_x + s * q->left_dx, ly = q->left_y + s * q->left_dy;
        double rx = q->right_x + s * q->right_dx, ry = q->right_y + s * q->right_dy;
        float middle[FIND_PLANES];
        find_picture_sample(p, lx + 0.25 * 2 * (rx - lx), ly + 0.25 * 2 * (ry - ly), middle);
        light[i] = middle[0];
    }
    double bright = paper_brightness(p, light), side = p->width > p->height ? p->width : p->height;
    double length = fmin((q->upper - q->lower) / side, 0.3);
    return length * bright * bright * sqrt(a->covered * b->covered);
}

/* Step 2. */
static double rank(const struct find_picture *p, const struct find_quad *q, double bound)
{
    double off = fmax(2.5, 0.05 * q->width), step = 0, uneven = 0;
    double ux = -q->axis_y * off, uy = q->axis_x * off; /* towards the right */
    for (int i = 0; i < PLACES; i++) {
        double s = place_of(q, i);
        double lx = q->left_x + s * q->left_dx, ly = q->left_y + s * q->left_dy;
        double rx = q->right_x + s * q->right_dx, ry = q->right_y + s * q->right_dy;
        float in_left[FIND_PLANES], out_left[FIND_PLANES];
        float in_right[FIND_PLANES], out_right[FIND_PLANES];
        find_picture_sample(p, lx + ux, ly + uy, in_left);
        find_picture_sample(p, lx - ux, ly - uy, out_left);
        find_picture_sample(p, rx - ux, ry - uy, in_right);
        find_picture_sample(p, rx + ux, ry + uy, out_right);
        step += fmin(find_distance(in_left, out_left), find_distance(in_right, out_right)) / PLACES;
        uneven += find_distance(in_left, in_right) / (4 * PLACES);
        for (int k = 1; k < 4; k++) {
            float inner[FIND_PLANES];
            find_picture_sample(p, lx + 0.25 * k * (rx - lx), ly + 0.25 * k * (ry - ly), inner);
            uneven +=
                (find_distance(in_left, inner) + find_distance(in_right, inner)) / (8 * PLACES);
        }
    }
    return bound * step / (step + uneven + 4 * p->noise[0]);
}

/* Lines are often there twice, as a segment and as part of a longer line. */
static bool is_same(const struct find_quad *a, const struct find_quad *b)
{
    double s = (b->left_x - a->left_x) * a->axis_x + (b->left_y - a->left_y) * a->axis_y;
    double tolerance = fmax(1.5, 0.02 * a->width);
    double cosine = a->axis_x * b->axis_x + a->axis_y * b->axis_y;
    if (cosine < cos(SAME_TURN_DEG * M_PI / 180) || fabs(s) > 3 * a->width)
        return false;
    for (int k = -1; k <= 1; k += 2) {
        double t = k * a->width; /* compare one width from the middle on both sides */
        double ax = a->left_x + (s + t) * a->left_dx, ay = a->left_y + (s + t) * a->left_dy;
        double bx = b->left_x + t * b->left_dx, by = b->left_y + t * b->left_dy;
        double cx = a->right_x + (s + t) * a->right_dx, cy = a->right_y + (s + t) * a->right_dy;
        double dx = b->right_x + t * b->right_dx, dy = b->right_y + t * b->right_dy;
        if (fabs((bx - ax) * a->axis_y - (by - ay) * a->axis_x) > tolerance ||
            fabs((dx - cx) * a->axis_y - (dy - cy) * a->axis_x) > tolerance)
            return false;
    }
    return true;
}

/* What a pair must exceed to be kept at all. */
static double least_kept(const struct find_quads *quads)
{
    double least = HUGE_VAL;
    for (size_t i = 0; i < quads->count; i++)
        least = fmin(least, quads->item[i].quality);
    return quads->count < FIND_QUADS_MAX ? -HUGE_VAL : least;
}

static void keep(struct find_quads *quads, const struct find_quad *q)
{
    for (size_t i = 0; i < quads->count; i++)
        if (is_same(&quads->item[i], q)) {
            if (quads->item[i].quality < q->quality)
                quads->item[i] = *q;
            return;
        }
    if (quads->count < FIND_QUADS_MAX) {
        quads->item[quads->count++] = *q;
        return;
    }
    size_t worst = 0;
    for (size_t i = 1; i < quads->count; i++)
        if (quads->item[i].quality < quads->item[worst].quality)
            worst = i;
    if (quads->item[worst].quality < q->quality)
        quads->item[worst] = *q;
}

static int better_first(const void *a, const void *b)
{
    double x = ((const struct find_quad *)a)->quality, y = ((const struct find_quad *)b)->quality;
    return y > x ? 1 : y < x ? -1 : 0;
}

void find_quads_pair(const struct find_picture *picture, const struct find_lines *lines,
                     struct find_quads *ret)
{
    double least = -HUGE_VAL;
    ret->count = 0;
    for (size_t i = 0; i < lines->count; i++)
        for (size_t j = i + 1; j < lines->count; j++) {
            struct find_quad q;
            if (!pair(picture, &lines->item[i], &lines->item[j], &q))
                continue;
            double bound = rank_bound(picture, &lines->item[i], &lines->item[j], &q);
            if (bound <= least)
                continue;
            q.quality = rank(picture, &q, bound);
            if (q.quality <= least)
                continue;
            keep(ret, &q);
            least = least_kept(ret);
        }
    qsort(ret->item, ret->count, sizeof *ret->item, better_first);
}
