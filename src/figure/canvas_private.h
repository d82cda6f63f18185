// SPDX-License-Identifier: GPL-3.0-or-later
/* Inside of the canvas: canvas.c checks and measures, one file a way of keeping draws. */
#ifndef STRANDLINE_FIGURE_CANVAS_PRIVATE_H
#define STRANDLINE_FIGURE_CANVAS_PRIVATE_H

#include <cairo.h>
#include <pango/pangocairo.h>
#include <stdio.h>

#include "figure/canvas.h"

struct canvas;

/* What a way of keeping must draw; all coordinates are finite by then. `fill` or `pen` is NULL. */
struct canvas_shape {
    const struct sl_point *point;
    size_t count;
    bool closed;
    const struct paint *fill;
    const struct gradient *gradient;
    const struct pen *pen;
};

struct canvas_backend {
    sl_code (*open)(struct canvas *canvas, struct sl_status *status);
    void (*shape)(struct canvas *canvas, const struct canvas_shape *shape);
    void (*circle)(struct canvas *canvas, double x, double y, double radius, struct paint paint);
    void (*picture)(struct canvas *canvas, const struct sl_picture *part, double x, double y,
                    double width, double height);
    /* `layout` holds `text` in `style`; x is the left end, y the baseline. */
    void (*text)(struct canvas *canvas, PangoLayout *layout, const char *text,
                 struct type_style style, double x, double y, double width);
    sl_code (*close)(struct canvas *canvas, struct sl_status *status);
};

struct canvas {
    struct canvas_setup setup;
    const struct canvas_backend *backend;
    char *title, *description; /* made valid; for g_free() */
    cairo_surface_t *surface;  /* PNG and PDF; a dummy that measures text for SVG */
    cairo_t *cairo;
    PangoContext *context;
    FILE *out; /* writes to bytes, count */
    char *bytes;
    size_t count;
    int missing_glyphs;
    unsigned gradients; /* SVG: ids used so far */
    bool failed;        /* out of memory on the way */
};

extern const struct canvas_backend canvas_png_backend, canvas_pdf_backend, canvas_svg_backend;

#endif
