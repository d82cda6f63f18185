// SPDX-License-Identifier: GPL-3.0-or-later
/* Water lines: faint, narrow, brownish lines from edge to edge that follow the front's fingers. The
 * water carries them out of the paper and leaves them at its highest point. */
#ifndef STRANDLINE_STRIP_MARKS_TIDE_H
#define STRANDLINE_STRIP_MARKS_TIDE_H

#include "strip/marks_view.h"

struct sl_tide {
    double v, sigma; /* fraction of the length, mean across the width; standard error */
    double slant;    /* right less left, fraction of the length */
    double spread;   /* standard deviation across */
    double width;    /* at half height, of the lanes laid on top of each other */
    double strength; /* evidence over the most that the paper's own texture gives: 1 is the same */
};

enum { SL_TIDES_MAX = 6 };

/* Looks between the lanes' `from` and `to`; from lower to upper. Returns their number, -1 without
 * memory. */
int sl_tides_find(const struct sl_view *view, const double from[SL_VIEW_LANES], double to,
                  struct sl_tide ret[SL_TIDES_MAX]);

#endif
