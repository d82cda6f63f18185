// SPDX-License-Identifier: GPL-3.0-or-later
/* One edge of a strip, followed below a pixel on the finer look. Coordinates are look pixels. */
#ifndef STRANDLINE_STRIP_OUTLINE_TRACE_H
#define STRANDLINE_STRIP_OUTLINE_TRACE_H

#include <stdbool.h>

#include "strandline/photo.h"
#include "strandline/strip.h"

enum { OUTLINE_ORDER_MAX = 3 };

/* The rough edge; `n` is its normal, `reach` how far along it the edge is looked for. */
struct outline_base {
    struct sl_point a, b;
    double length, dx, dy, nx, ny, reach;
};

/* Offset from the base along its normal: polynomial in 2 t - 1, t = 0 at a, 1 at b. */
struct outline_curve {
    struct outline_base base;
    double coefficient[OUTLINE_ORDER_MAX + 1];
    double from, to; /* range of t with stations */
    double scatter;  /* px, robust standard deviation of stations about the curve */
    double sigma;    /* px, standard error of the curve */
};

struct outline_trace_how {
    double reach_px;
    double margin; /* part of the length left out at both ends: corners are torn or round */
    int stations, order;
};

static inline struct sl_point outline_to_look(const struct sl_image *look, struct sl_point photo_px)
{
    return (struct sl_point){(photo_px.x + 0.5 - look->x0) / look->scale - 0.5,
                             (photo_px.y + 0.5 - look->y0) / look->scale - 0.5};
}

static inline struct sl_point outline_to_photo(const struct sl_image *look, struct sl_point look_px)
{
    return (struct sl_point){look->x0 + (look_px.x + 0.5) * look->scale - 0.5,
                             look->y0 + (look_px.y + 0.5) * look->scale - 0.5};
}

bool outline_trace(const struct sl_image *look, struct sl_point a, struct sl_point b,
                   const struct outline_trace_how *how, struct outline_curve *ret);

struct sl_point outline_curve_at(const struct outline_curve *curve, double t);

#endif
