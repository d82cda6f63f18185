// SPDX-License-Identifier: GPL-3.0-or-later
/* Running sums down a view's lanes, which make means of any length cheap, and what most lanes say.
 */
#ifndef STRANDLINE_STRIP_MARKS_SUMS_H
#define STRANDLINE_STRIP_MARKS_SUMS_H

#include "strip/marks_view.h"

/* Quantile of the lanes that speaks for all: writing, ticks and stains fill only part of the width,
 * and lines stop up to 15 % short of each edge. */
#define SL_SPEAKING_PART 0.33

struct sl_sums {
    int rows;
    double *sum; /* lanes x (rows + 1); owned (finish) */
};

/* False without memory. */
bool sl_sums_init(struct sl_sums *sums, const struct sl_view *view);
void sl_sums_finish(struct sl_sums *sums);

/* Mean amount of a lane in the rows up to `half` away; of the nearest row beyond the strip. */
static inline double sl_sums_about(const struct sl_sums *sums, int lane, double row, double half)
{
    int from = sl_view_nearest(row - half), to = sl_view_nearest(row + half) + 1;
    from = from < 0 ? 0 : from > sums->rows - 1 ? sums->rows - 1 : from;
    to = to > sums->rows ? sums->rows : to <= from ? from + 1 : to;
    const double *sum = sums->sum + (size_t)lane * ((size_t)sums->rows + 1);
    return (sum[to] - sum[from]) / (to - from);
}

/* The value that `part` of the lanes do not reach. */
double sl_lanes_quantile(const double lanes[SL_VIEW_LANES], double part);

#endif
