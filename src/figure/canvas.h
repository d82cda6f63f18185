// SPDX-License-Identifier: GPL-3.0-or-later
/* The sheet that figures are drawn on: a handful of strokes, and three ways to keep them.
 *
 * PNG and PDF are cairo's and pango's. SVG is written out here instead of by cairo, because cairo
 * turns letters into outlines: nobody could select, search or hear them, and most of the file
 * would be glyphs. Pango still measures the text for SVG, so one drawing code serves all three.
 *
 * Lengths are in units of 1/72 inch, (0, 0) is the top left corner, y points down. A stroke with a
 * coordinate that is not finite is left out; a line is broken there. Text is made valid UTF-8.
 * Ownership: create/destroy (NULL allowed); canvas_finish hands its bytes to the caller. */
#ifndef STRANDLINE_FIGURE_CANVAS_H
#define STRANDLINE_FIGURE_CANVAS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "strandline/figure.h"

struct canvas;

struct canvas_setup {
    enum sl_figure_format format;
    double width, height;    /* units */
    double px_per_unit;      /* PNG only */
    const char *title;       /* also what a screen reader says first */
    const char *description; /* the figure in words */
    const char *date;        /* "YYYY-MM-DD HH:MM:SS" or "": PDF's date of creation */
    const char *id_prefix;   /* SVG: keeps ids apart where several stand in one page */
};

struct paint {
    uint8_t rgb[3];
    double alpha;
};

struct pen {
    struct paint paint;
    double width;
    const double *dash; /* on, off ... in units; NULL: solid */
    int dash_count;
};

/* Colours spaced evenly from (x0, y0) to (x1, y1). */
struct gradient {
    double x0, y0, x1, y1;
    const uint8_t (*rgb)[3];
    size_t count;
};

struct type_style {
    double size;
    bool bold, italic;
    struct paint paint;
};

#define CANVAS_LINE_HEIGHT 1.32 /* baseline to baseline, parts of the type size */

enum text_align { TEXT_START, TEXT_MIDDLE, TEXT_END };

sl_code canvas_create(const struct canvas_setup *setup, struct canvas **ret,
                      struct sl_status *status);
void canvas_destroy(struct canvas *canvas);
/* The finished file, for free(). Warns where fonts lack a letter. */
sl_code canvas_finish(struct canvas *canvas, char **ret, size_t *ret_count,
                      struct sl_warnings *warnings, struct sl_status *status);

void canvas_rect(struct canvas *canvas, double x, double y, double width, double height,
                 struct paint paint);
void canvas_frame(struct canvas *canvas, double x, double y, double width, double height,
                  struct pen pen);
void canvas_circle(struct canvas *canvas, double x, double y, double radius, struct paint paint);
void canvas_line(struct canvas *canvas, double x0, double y0, double x1, double y1, struct pen pen);
void canvas_polyline(struct canvas *canvas, const struct sl_point *point, size_t count,
                     struct pen pen);
void canvas_polygon(struct canvas *canvas, const struct sl_point *point, size_t count,
                    struct paint paint);
void canvas_gradient(struct canvas *canvas, const struct sl_point *point, size_t count,
                     const struct gradient *gradient);
void canvas_gradient_rect(struct canvas *canvas, double x, double y, double width, double height,
                          const struct gradient *gradient);
/* The columns x..x+columns and rows y..y+rows of `picture` fill the rectangle. */
void canvas_picture(struct canvas *canvas, const struct sl_picture *picture, struct sl_rect part,
                    double x, double y, double width, double height);

/* One line of text on the baseline `y`, shortened with "…" to `max_width` (0: as long as it is).
 * Returns the width drawn. */
double canvas_text(struct canvas *canvas, struct type_style style, enum text_align align, double x,
                   double y, double max_width, const char *text);
double canvas_text_width(struct canvas *canvas, struct type_style style, const char *text);
/* Wrapped text, first baseline at `y`; at most `lines_max` lines, the last one shortened. Returns
 * the baseline that would come next. */
double canvas_paragraph(struct canvas *canvas, struct type_style style, double x, double y,
                        double width, int lines_max, const char *text);

#endif
