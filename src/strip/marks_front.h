// SPDX-License-Identifier: GPL-3.0-or-later
/* The highest point that the water reached. */
#ifndef STRANDLINE_STRIP_MARKS_FRONT_H
#define STRANDLINE_STRIP_MARKS_FRONT_H

#include "strip/marks_line.h"

struct sl_front {
    double v, sigma; /* fraction of the length, mean across the width; standard error */
    enum sl_front_seen seen;
    double slant, spread; /* right less left; standard deviation across */
};

/* Looks above `origin`. `lines`: all lines of the strip, refined. */
struct sl_front sl_front_find(const struct sl_view *view, const struct sl_line *lines, int count,
                              double origin);

#endif
