// SPDX-License-Identifier: GPL-3.0-or-later
/* The retention index on the scale of its levels, as a part of a figure. */
#ifndef STRANDLINE_FIGURE_SCALE_H
#define STRANDLINE_FIGURE_SCALE_H

#include "figure/canvas.h"
#include "strandline/retention.h"

/* Upper left corner, width, and the size of its type. */
struct scale_box {
    double x, y, width, size;
};
double scale_height(double size);
/* `pair` has a verdict. */
void draw_scale(struct canvas *canvas, const struct sl_pair *pair, const struct scale_box *box);

#endif
