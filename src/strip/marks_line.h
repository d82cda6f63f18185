// SPDX-License-Identifier: GPL-3.0-or-later
/* Ruled lines: dark, narrow, straight, across most of the width. */
#ifndef STRANDLINE_STRIP_MARKS_LINE_H
#define STRANDLINE_STRIP_MARKS_LINE_H

#include "strip/marks_view.h"

struct sl_line {
    double v;        /* where its middle lies at mid-width, fraction of the length */
    double slant;    /* right end less left end, fraction of the length */
    double reach;    /* distance on both sides over which it stands out */
    double contrast; /* amount by which it stands out over the weaker side, on most of the width */
    double likeness; /* contrast, more for narrow lines; what lines are compared by */
    /* after sl_line_refine: */
    double width;     /* at half height, fraction of the length */
    double wander;    /* how far the lanes leave the straight line, fraction of the length */
    double sigma;     /* standard error of v */
    double skew;      /* reach of its foot above less below, over their sum: -1..1 */
    double colour[3]; /* -ln R of the channels at its middle less that beside it */
};

enum { SL_LINES_MAX = 24 };

/* Local maxima of likeness between two positions, from lower to upper. Returns their number. */
int sl_lines_find(const struct sl_view *view, double from, double to,
                  struct sl_line ret[SL_LINES_MAX]);

/* Settles the line's middle, slant, width and colour from the lanes. */
void sl_line_refine(const struct sl_view *view, struct sl_line *line);

#endif
