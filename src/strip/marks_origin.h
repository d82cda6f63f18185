// SPDX-License-Identifier: GPL-3.0-or-later
/* The ink line before the dip. */
#ifndef STRANDLINE_STRIP_MARKS_ORIGIN_H
#define STRANDLINE_STRIP_MARKS_ORIGIN_H

#include "strip/marks_front.h"

#define SL_LINE_TYPICAL 0.085 /* an ink line's width, of the strip's: 1.7 mm on 20 mm */

struct sl_origin {
    double v, sigma;         /* fraction of the length, at mid-width; standard error */
    double line_width;       /* fraction of the length */
    double other, elsewhere; /* where else it is likeliest; probability that it isn't at v */
};

/* On a strip whose row 0 is at the lower end. False without memory. */
bool sl_origin_find(const struct sl_view *view, const struct sl_seen *seen, struct sl_origin *ret);

#endif
