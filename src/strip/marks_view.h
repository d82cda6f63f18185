// SPDX-License-Identifier: GPL-3.0-or-later
/* A sheet, light removed, as it is looked at for marks: lanes side by side, each with the amount of
 * colour in every row. Owns its arrays (finish, NULL fields allowed). */
#ifndef STRANDLINE_STRIP_MARKS_VIEW_H
#define STRANDLINE_STRIP_MARKS_VIEW_H

#include <stdbool.h>
#include <stddef.h>

#include "strandline/strip.h"

enum { SL_VIEW_LANES = 24 };
#define SL_VIEW_FROM                                                                               \
    0.05 /* of the width; the middle 90 % is what origin and front are means over */
#define SL_VIEW_TO 0.95

struct sl_view {
    int rows;
    float (*colour)[SL_VIEW_LANES][3]; /* -ln R of the channels, mean of the lane's cells */
    float (*amount)[SL_VIEW_LANES];    /* the channels summed, paper's shading held back */
    bool *blind;                       /* rows: too little of the paper is seen to tell anything */
    double *mean;      /* rows: mean of the lanes' amounts, the outermost left out */
    double noise;      /* standard deviation of one amount on clean paper */
    double noise_mean; /* standard deviation of a mean there */
    double width_part; /* the strip's width over its length */
};

/* False without memory. Hidden and written cells are left out; a lane without cells takes the row's
 * mean. */
bool sl_view_init(struct sl_view *view, const struct sl_sheet *sheet);
void sl_view_finish(struct sl_view *view);
/* Row 0 becomes the last one and lane 0 the last lane. */
void sl_view_turn(struct sl_view *view);

/* Mean amount of a lane in the rows up to `half` away; at least one of them lies on the strip. */
double sl_view_mean_about(const struct sl_view *view, int lane, int row, int half);

static inline double sl_view_u(int lane)
{
    return SL_VIEW_FROM + (SL_VIEW_TO - SL_VIEW_FROM) * (lane + 0.5) / SL_VIEW_LANES;
}
/* lround, without the call, where there are millions. */
static inline int sl_view_nearest(double row)
{
    int whole = (int)row;
    double part = row - whole;
    return whole + (part >= 0.5) - (part <= -0.5);
}
static inline int sl_view_row(const struct sl_view *view, double v)
{
    int row = (int)(v * view->rows);
    return row < 0 ? 0 : row >= view->rows ? view->rows - 1 : row;
}

#endif
