// SPDX-License-Identifier: GPL-3.0-or-later
/* What several figures are put together from: the neutral colours, a strip's trace, axes, labels.
 */
#ifndef STRANDLINE_FIGURE_PARTS_H
#define STRANDLINE_FIGURE_PARTS_H

#include "figure/canvas.h"

enum { TRACE_SAMPLES_MAX = 360, TICKS_MAX = 16 };

/* Neutral greys, so that the surround does not tint the eye (ISO 3664 asks for neutral ones). */
#define PAINT_GROUND ((struct paint){{243, 243, 243}, 1})
#define PAINT_PLOT ((struct paint){{251, 251, 251}, 1})
#define PAINT_TEXT ((struct paint){{28, 28, 28}, 1})
#define PAINT_MUTED ((struct paint){{84, 84, 84}, 1})
#define PAINT_GRID ((struct paint){{222, 222, 222}, 1})
#define PAINT_EDGE ((struct paint){{120, 120, 120}, 1})
#define PAINT_OUTLINE ((struct paint){{50, 50, 50}, 1})
#define PAINT_DOUBT ((struct paint){{60, 60, 60}, 0.2})

/* A strip as it is drawn: thinned out, with the colour of each place. */
struct trace {
    size_t count;
    bool by_rf; /* false: origin or front unknown, `at` is the position along the strip */
    double at[TRACE_SAMPLES_MAX];
    double load[TRACE_SAMPLES_MAX]; /* sum of the channels; NAN where hidden */
    double low[TRACE_SAMPLES_MAX], high[TRACE_SAMPLES_MAX]; /* 95 % */
    uint8_t rgb[TRACE_SAMPLES_MAX][3];
    double lower_at, upper_at; /* the strip's ends on the same axis */
    double load_max;           /* 0 for a strip without ink */
};

void trace_make(const struct sl_strip *strip, const struct sl_lab *lab, struct trace *ret);

/* Data from..to lies on start..end of the canvas. */
struct axis {
    double from, to, start, end;
};
double axis_at(const struct axis *axis, double value);
/* Ends of an axis that shows the strip; paper far from origin and front is left out. */
double axis_from(const struct trace *trace);
double axis_to(const struct trace *trace);
/* The place of a value, held inside the axis. */
double axis_within(const struct axis *axis, double value);

/* Where dye counts as retained is lit up in a colour that no paper has. */
#define PAINT_RETAINED ((struct paint){{255, 196, 0}, 0.28})
#define PAINT_RETAINED_EDGE ((struct paint){{150, 105, 0}, 1})
/* Half the zone around the origin where dye is retained, in the trace's own measure. */
double origin_zone(const struct sl_strip *strip, const struct trace *trace);

/* Round steps (1, 2, 5) inside from..to, about `wanted` of them. */
struct ticks {
    size_t count;
    int decimals;
    double value[TICKS_MAX];
};
/* A tick's number, with a true minus sign. */
void tick_text(const struct ticks *ticks, size_t index, char *ret, size_t size);
void ticks_make(double from, double to, double wanted, struct ticks *ret);

/* The top of a load axis; noise on blank paper is not blown up to fill it. */
double load_axis_top(double load_max);

/* Moves `y`, the labels' upper parts' middles, apart: each keeps `height` units to the next, inside
 * top..bottom where there is room; `y` must rise. */
void spread_labels(double *y, const double *height, size_t count, double top, double bottom);

/* The highest load away from the peak that fills the axis: what a reader can't see beside it. */
double trace_rest(const struct trace *trace, double load_top);
/* 5, 10, 20 or 50 where the rest wants a second, larger scale; else 0. */
double load_factor(double rest, double load_top);
/* The profile's outline again, `factor` times as high, dashed. */
void draw_enlarged(struct canvas *canvas, const struct trace *trace, const struct axis *along,
                   double base_x, double per_load, double load_top, double factor);

/* A profile whose load grows from `base_x` by `per_load` units (negative: to the left). */
void draw_profile(struct canvas *canvas, const struct trace *trace, const struct axis *along,
                  double base_x, double per_load);
/* Where the profile's outline stands at a place. */
double trace_load_at(const struct trace *trace, double at);

/* The strip's colours along an axis, at least two samples. */
struct gradient trace_hues(const struct trace *trace, const struct axis *along, bool upright);

/* The strip's picture, or a ribbon of its colours where there is none, upright in a column. */
void draw_strip_column(struct canvas *canvas, const struct sl_strip *strip,
                       const struct trace *trace, const struct axis *along, double x, double width);
/* The width that shows a strip's picture undistorted, held inside low..high. */
double strip_column_width(const struct sl_strip *strip, const struct trace *trace,
                          const struct axis *along, double low, double high);

struct type_style type(double size, struct paint paint);
struct type_style type_bold(double size, struct paint paint);

#endif
