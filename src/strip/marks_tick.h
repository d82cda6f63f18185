// SPDX-License-Identifier: GPL-3.0-or-later
/* Pencil ticks: short grey strokes at one long edge, or one at each at the same height. */
#ifndef STRANDLINE_STRIP_MARKS_TICK_H
#define STRANDLINE_STRIP_MARKS_TICK_H

#include "strandline/strip.h"

struct sl_tick {
    double v, sigma; /* fraction of the length; standard error */
    double slant;    /* right less left, fraction of the length */
    double strength; /* amount of the weaker stroke over its noise */
    bool both;       /* one at each edge */
};

enum { SL_TICKS_MAX = 8 };

/* On a sheet whose light is removed, from lower to upper. Returns their number, -1 without memory.
 */
int sl_ticks_find(const struct sl_sheet *sheet, struct sl_tick ret[SL_TICKS_MAX]);

#endif
