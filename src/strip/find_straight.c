// SPDX-License-Identifier: GPL-3.0-or-later
/* Straight edges of what lies about: cards, rulers, the lines of a page.
 * 1. Of the lines in the picture those that are long, lie outside the strips and are no part of a
 *    longer one, the longest first.
 * 2. Each is followed below a pixel on the look. A bowed one is no straight edge: a plate's rim, a
 *    fold, the grain of wood. Nor is one along the photo's own rows or columns: a gradient's step
 *    at the blocks of JPEG. */
#include "strip/find.h"
#include "strip/outline_trace.h"

#include <math.h>
#include <stdlib.h>

static const double LENGTH_LEAST = 0.08;         /* of the photo's longer side */
static const double COVERED_LEAST = 0.75;        /* part of the length with an edge */
static const double BESIDE_STRIP = 0.12;         /* widths; a strip's shadow ends there */
static const double REACH_PX = 3, MARGIN = 0.04; /* of the look; of the length */
static const double SAME_TURN = 0.03;            /* radians */
static const double SAME_PX = 3;                 /* of the picture */
static const double SCATTER_MOST_PX = 0.25;      /* of the look */
static const double BOW_MOST =
    0.003; /* of the length: a lens that bends lines as much is none of a phone */
static const double AXIS_TURN = 0.0015; /* radians; blocks of JPEG end in lines that run so */
enum { STATIONS = 33, TRIED_MOST = 64 };

static double along(const struct find_line *l, double x, double y)
{
    return (x - l->x) * l->dx + (y - l->y) * l->dy;
}

static double beside(const struct find_line *l, double x, double y)
{
    return (y - l->y) * l->dx - (x - l->x) * l->dy;
}

/* Whether a place, photo px, lies on a strip or close to one. */
static bool on_strip(const struct sl_outline *o, double x, double y)
{
    const struct sl_point *c = o->corner_px;
    double far = BESIDE_STRIP * hypot(c[1].x - c[0].x, c[1].y - c[0].y);
    for (int i = 0; i < 4; i++) {
        double dx = c[(i + 1) % 4].x - c[i].x, dy = c[(i + 1) % 4].y - c[i].y;
        /* corners run counter-clockwise as seen: the inside is where this is negative */
        if (((y - c[i].y) * dx - (x - c[i].x) * dy) / hypot(dx, dy) > far)
            return false;
    }
    return true;
}

static bool on_strips(const struct sl_outlines *outlines, const struct find_picture *p,
                      const struct find_line *l)
{
    for (size_t i = 0; i < outlines->count; i++)
        for (int k = -1; k <= 1; k++) {
            double x = l->x + 0.8 * k * l->half * l->dx, y = l->y + 0.8 * k * l->half * l->dy;
            if (on_strip(&outlines->item[i], p->x0 + p->scale * x, p->y0 + p->scale * y))
                return true;
        }
    return false;
}

static bool is_part_of(const struct find_line *a, const struct find_line *b)
{
    return fabs(a->dx * b->dy - a->dy * b->dx) < SAME_TURN &&
           fabs(beside(b, a->x, a->y)) < SAME_PX && fabs(along(b, a->x, a->y)) < a->half + b->half;
}

/* Step 2. */
static bool follow(const struct sl_image *look, const struct find_picture *p,
                   const struct find_line *l, struct sl_straight *ret)
{
    struct sl_point end[2];
    for (int k = 0; k < 2; k++) {
        double t = (2 * k - 1) * l->half;
        struct sl_point photo_px = {p->x0 + p->scale * (l->x + t * l->dx),
                                    p->y0 + p->scale * (l->y + t * l->dy)};
        end[k] = outline_to_look(look, photo_px);
    }
    struct outline_trace_how how = {REACH_PX, MARGIN, STATIONS, 2};
    struct outline_curve curve;
    if (!outline_trace(look, end[0], end[1], &how, &curve))
        return false;
    struct sl_point a = outline_curve_at(&curve, 0.25), b = outline_curve_at(&curve, 0.75);
    double length = curve.base.length, x = b.x - a.x, y = b.y - a.y, d = hypot(x, y);
    struct sl_point middle =
        outline_to_photo(look, (struct sl_point){0.5 * (a.x + b.x), 0.5 * (a.y + b.y)});
    *ret = (struct sl_straight){.x = middle.x,
                                .y = middle.y,
                                .dx = x / d,
                                .dy = y / d,
                                .length_px = length * look->scale,
                                .sigma = 2 * curve.scatter / length};
    if (fmin(fabs(ret->dx), fabs(ret->dy)) < AXIS_TURN)
        return false;
    return curve.scatter < SCATTER_MOST_PX && fabs(curve.coefficient[2]) < BOW_MOST * length;
}

static int longer_first(const void *a, const void *b)
{
    const struct find_line *s = *(const struct find_line *const *)a,
                           *t = *(const struct find_line *const *)b;
    return (t->half > s->half) - (t->half < s->half);
}

void find_straight(const struct sl_image *look, const struct find_picture *picture,
                   const struct find_lines *lines, struct sl_outlines *outlines)
{
    const struct find_line *all[FIND_LINES_MAX], *taken[SL_STRAIGHT_MAX];
    size_t count = 0, tried = 0, found = 0;
    double least = LENGTH_LEAST * fmax(picture->width, picture->height) / 2;
    for (size_t i = 0; i < lines->count; i++)
        if (lines->item[i].half >= least && lines->item[i].covered > COVERED_LEAST)
            all[count++] = &lines->item[i];
    qsort(all, count, sizeof *all, longer_first);
    for (size_t i = 0; i < count && tried < TRIED_MOST && found < SL_STRAIGHT_MAX; i++) {
        bool fresh = !on_strips(outlines, picture, all[i]);
        for (size_t k = 0; k < found && fresh; k++)
            fresh = !is_part_of(all[i], taken[k]);
        if (!fresh)
            continue;
        tried++;
        if (!follow(look, picture, all[i], &outlines->straight[found]))
            continue;
        taken[found++] = all[i];
    }
    outlines->straight_count = found;
}
