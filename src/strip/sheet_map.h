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

#endif
