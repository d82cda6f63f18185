// SPDX-License-Identifier: GPL-3.0-or-later
/* Lower edges: where, from below, dye begins or grows on most of the width. A ruled line has one,
 * be it a line still, the start of a streak, or swallowed by a band. */
#ifndef STRANDLINE_STRIP_MARKS_EDGE_H
#define STRANDLINE_STRIP_MARKS_EDGE_H

#include "strip/marks_line.h"

enum { SL_EDGES_MAX = 40 };

/* Amounts are sums of -ln R; a `width` is that of a typical ink line. */
struct sl_edge {
    double v;             /* at mid-width, fraction of the length */
    double slant;         /* right end less left end, fraction of the length */
    double rise;          /* what a third of the lanes do not reach: amount above less that below */
    double step;          /* the middle lane's, of stretches a whole width long */
    double above, beyond; /* amount within a width above, and from there to two widths */
    double highest_below; /* the most in any row that lies more than a width below */
    bool hidden;          /* rows beside it are hidden, so that it may be the end of what is seen */
    bool risen;           /* a maximum of the rise; false: the lower flank of a line without one */
};

/* Between two positions, the lower flanks of `lines` among them. `width`: fraction of the length.
 * Returns their number, -1 without memory. */
int sl_edges_find(const struct sl_view *view, const struct sl_line *lines, int count, double width,
                  double from, double to, struct sl_edge ret[SL_EDGES_MAX]);

#endif
