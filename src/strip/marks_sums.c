// SPDX-License-Identifier: GPL-3.0-or-later
#include "strip/marks_sums.h"

#include <stdlib.h>

bool sl_sums_init(struct sl_sums *sums, const struct sl_view *view)
{
    sums->rows = view->rows;
    sums->sum = calloc(SL_VIEW_LANES * ((size_t)view->rows + 1), sizeof *sums->sum);
    if (sums->sum == NULL)
        return false;
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        double *sum = sums->sum + (size_t)lane * ((size_t)view->rows + 1);
        for (int row = 0; row < view->rows; row++)
            sum[row + 1] = sum[row] + (double)view->amount[row][lane];
    }
    return true;
}

void sl_sums_finish(struct sl_sums *sums)
{
    free(sums->sum);
    *sums = (struct sl_sums){0};
}

/* The highest of the least, as they come. */
double sl_lanes_quantile(const double lanes[SL_VIEW_LANES], double part)
{
    double least[SL_VIEW_LANES + 1];
    int count = 0, rank = (int)(part * SL_VIEW_LANES);
    for (int lane = 0; lane < SL_VIEW_LANES; lane++) {
        int at = count;
        if (count > rank && lanes[lane] >= least[rank])
            continue;
        for (; at > 0 && least[at - 1] > lanes[lane]; at--)
            least[at] = least[at - 1];
        least[at] = lanes[lane];
        count = count > rank ? count : count + 1;
    }
    return least[rank];
}
