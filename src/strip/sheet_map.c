// SPDX-License-Identifier: GPL-3.0-or-later
/* 1. A homography takes the unit square (a trapezoid, for a strip that is known to be cut askew) to
 *    the four corners: it holds the perspective, so that equal steps in v are equal steps on flat
 *    paper.
 * 2. The edge points are taken back into the plane; their u at even steps of v says how far a
 *    crooked cut or a curl leaves the straight edges.
 * 3. A point (u, v) lies between the two edges at v, in parts of the width there. */
#include "strip/sheet_map.h"

#include <math.h>
#include <string.h>

/* P. Heckbert, Fundamentals of Texture Mapping and Image Warping, 1989, section 2.2.3. */
static bool square_to_quad(const struct sl_point p[4], double m[9])
{
    double dx1 = p[1].x - p[2].x, dx2 = p[3].x - p[2].x, sx = p[0].x - p[1].x + p[2].x - p[3].x;
    double dy1 = p[1].y - p[2].y, dy2 = p[3].y - p[2].y, sy = p[0].y - p[1].y + p[2].y - p[3].y;
    double det = dx1 * dy2 - dx2 * dy1;
    if (!(fabs(det) > 1e-9))
        return false;
    double g = (sx * dy2 - dx2 * sy) / det, h = (dx1 * sy - sx * dy1) / det;
    double result[9] = {p[1].x - p[0].x + g * p[1].x,
                        p[3].x - p[0].x + h * p[3].x,
                        p[0].x,
                        p[1].y - p[0].y + g * p[1].y,
                        p[3].y - p[0].y + h * p[3].y,
                        p[0].y,
                        g,
                        h,
                        1.0};
    memcpy(m, result, sizeof result);
    return g > -1.0 && h > -1.0 && g + h > -1.0;
}

static bool invert(const double m[9], double ret[9])
{
    double a = m[4] * m[8] - m[5] * m[7], b = m[5] * m[6] - m[3] * m[8],
           c = m[3] * m[7] - m[4] * m[6];
    double det = m[0] * a + m[1] * b + m[2] * c;
    if (!(fabs(det) > 1e-9))
        return false;
    double adjugate[9] = {a, m[2] * m[7] - m[1] * m[8], m[1] * m[5] - m[2] * m[4],
                          b, m[0] * m[8] - m[2] * m[6], m[2] * m[3] - m[0] * m[5],
                          c, m[1] * m[6] - m[0] * m[7], m[0] * m[4] - m[1] * m[3]};
    for (int i = 0; i < 9; i++)
        ret[i] = adjugate[i] / det;
    return true;
}

static struct sl_point apply(const double m[9], double x, double y)
{
    double w = m[6] * x + m[7] * y + m[8];
    return (struct sl_point){(m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w};
}

static void multiply(const double a[9], const double b[9], double ret[9])
{
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            ret[3 * i + j] = a[3 * i] * b[j] + a[3 * i + 1] * b[3 + j] + a[3 * i + 2] * b[6 + j];
}

/* Half the width at v of a strip whose widths average 1. */
static double half_width(double taper, double v)
{
    return (1 + tanh(taper / 2) * (2 * v - 1)) / 2;
}

/* Plane to photo. */
static bool init_plane(struct sl_sheet_map *map, const struct sl_outline *outline)
{
    double low = half_width(outline->taper, 0), high = half_width(outline->taper, 1);
    const struct sl_point cut[4] = {
        {0.5 - low, 0}, {0.5 + low, 0}, {0.5 + high, 1}, {0.5 - high, 1}};
    double photo[9], plane[9], back[9];
    if (!square_to_quad(outline->corner_px, photo) || !square_to_quad(cut, plane) ||
        !invert(plane, back))
        return false;
    multiply(photo, back, map->to_photo);
    return invert(map->to_photo, map->to_plane);
}

/* u of an edge at even steps of v; straight between the corners where the points can't be used.
 * `side` is -1 for the left edge, 1 for the right. */
static void edge_offsets(const double to_plane[9], const struct sl_point px[SL_EDGE_POINTS],
                         double taper, int side, double ret[SL_EDGE_POINTS])
{
    struct sl_point plane[SL_EDGE_POINTS];
    bool usable = true;
    for (int k = 0; k < SL_EDGE_POINTS; k++) {
        plane[k] = apply(to_plane, px[k].x, px[k].y);
        double straight = 0.5 + side * half_width(taper, (double)k / (SL_EDGE_POINTS - 1));
        usable = usable && isfinite(plane[k].x) && fabs(plane[k].x - straight) < 0.45;
        usable = usable && (k == 0 || plane[k].y > plane[k - 1].y);
    }
    int at = 0;
    for (int k = 0; k < SL_EDGE_POINTS; k++) {
        double v = (double)k / (SL_EDGE_POINTS - 1);
        ret[k] = 0.5 + side * half_width(taper, v);
        if (!usable)
            continue;
        while (at < SL_EDGE_POINTS - 2 && plane[at + 1].y < v)
            at++;
        double part = (v - plane[at].y) / (plane[at + 1].y - plane[at].y);
        part = fmin(fmax(part, 0.0), 1.0);
        ret[k] = plane[at].x + part * (plane[at + 1].x - plane[at].x);
    }
}

bool sl_sheet_map_init(struct sl_sheet_map *map, const struct sl_outline *outline)
{
    const struct sl_point *c = outline->corner_px;
    if (!init_plane(map, outline))
        return false;
    edge_offsets(map->to_plane, outline->left_px, outline->taper, -1, map->left);
    edge_offsets(map->to_plane, outline->right_px, outline->taper, 1, map->right);
    map->length_px =
        hypot((c[2].x + c[3].x - c[0].x - c[1].x) / 2, (c[2].y + c[3].y - c[0].y - c[1].y) / 2);
    map->width_px =
        hypot((c[1].x + c[2].x - c[0].x - c[3].x) / 2, (c[1].y + c[2].y - c[0].y - c[3].y) / 2);
    return isfinite(map->length_px) && isfinite(map->width_px);
}

struct sl_sheet_line sl_sheet_map_line(const struct sl_sheet_map *map, double v)
{
    double at = fmin(fmax(v, 0.0), 1.0) * (SL_EDGE_POINTS - 1);
    int k = at >= SL_EDGE_POINTS - 1 ? SL_EDGE_POINTS - 2 : (int)at;
    double part = at - k;
    double left = map->left[k] + part * (map->left[k + 1] - map->left[k]);
    double right = map->right[k] + part * (map->right[k + 1] - map->right[k]);
    double width = right - left;
    const double *m = map->to_photo;
    return (struct sl_sheet_line){m[0] * left + m[1] * v + m[2], m[0] * width,
                                  m[3] * left + m[4] * v + m[5], m[3] * width,
                                  m[6] * left + m[7] * v + m[8], m[6] * width};
}

struct sl_point sl_sheet_map_point(const struct sl_sheet_map *map, double u, double v)
{
    struct sl_sheet_line line = sl_sheet_map_line(map, v);
    return sl_sheet_line_point(&line, u);
}

void sl_outline_even(struct sl_outline *outline)
{
    struct sl_sheet_map map;
    if (!sl_sheet_map_init(&map, outline))
        return;
    for (int k = 0; k < SL_EDGE_POINTS; k++) {
        double v = (double)k / (SL_EDGE_POINTS - 1);
        outline->left_px[k] = sl_sheet_map_point(&map, 0, v);
        outline->right_px[k] = sl_sheet_map_point(&map, 1, v);
    }
}
