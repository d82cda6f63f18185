// SPDX-License-Identifier: GPL-3.0-or-later
/* The highest point that the water reached. */
#ifndef STRANDLINE_STRIP_MARKS_FRONT_H
#define STRANDLINE_STRIP_MARKS_FRONT_H

#include "strip/marks_line.h"
#include "strip/marks_tick.h"

struct sl_front {
    double v, sigma; /* fraction of the length, mean across the width; standard error */
    enum sl_front_seen seen;
    double slant, spread; /* right less left; standard deviation across */
    bool doubtful;        /* what was taken for the front may be something else; sigma says so */
};

/* All lines and ticks of the strip, from lower to upper, lines refined. */
struct sl_seen {
    int lines, ticks;
    struct sl_line line[SL_LINES_MAX];
    struct sl_tick tick[SL_TICKS_MAX];
    double writing; /* where it stands: -1 all near the lower end .. 1 all near the upper one */
};

/* What a line would be if it were a mark of the front: pencil, water line, or neither. */
enum sl_front_seen sl_front_kind(const struct sl_view *view, const struct sl_line *line);

/* Looks above `origin`. False without memory. */
bool sl_front_find(const struct sl_view *view, const struct sl_seen *seen, double origin,
                   struct sl_front *ret);

#endif
