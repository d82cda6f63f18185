// SPDX-License-Identifier: GPL-3.0-or-later
/* Where a point of the paper lies in the photo. u runs across the paper (0 left, 1 right edge), v
 * along it (0 lower, 1 upper edge). Plain values, nothing to free. */
#ifndef STRANDLINE_STRIP_SHEET_MAP_H
#define STRANDLINE_STRIP_SHEET_MAP_H

#include <stdbool.h>

#include "strandline/strip.h"

struct sl_sheet_map {
    double to_photo[9], to_plane[9];                    /* unit square <-> photo, row-major 3 x 3 */
    double left[SL_EDGE_POINTS], right[SL_EDGE_POINTS]; /* edges' u in the plane, v = k / (n - 1) */
    double length_px, width_px;
};

/* False if the four corners span no convex area. */
bool sl_sheet_map_init(struct sl_sheet_map *map, const struct sl_outline *outline);
struct sl_point sl_sheet_map_point(const struct sl_sheet_map *map, double u, double v);

/* All points of one v: x = (x0 + u xu) / (w0 + u wu), y likewise. */
struct sl_sheet_line {
    double x0, xu, y0, yu, w0, wu;
};
struct sl_sheet_line sl_sheet_map_line(const struct sl_sheet_map *map, double v);
static inline struct sl_point sl_sheet_line_point(const struct sl_sheet_line *line, double u)
{
    double w = 1 / (line->w0 + u * line->wu);
    return (struct sl_point){(line->x0 + u * line->xu) * w, (line->y0 + u * line->yu) * w};
}

#endif
