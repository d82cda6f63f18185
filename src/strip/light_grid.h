// SPDX-License-Identifier: GPL-3.0-or-later
/* A sheet seen as blocks, and what is learnt of its light while it is being learnt (light.c). Owns
 * its arrays (finish, NULL fields allowed). */
#ifndef STRANDLINE_STRIP_LIGHT_GRID_H
#define STRANDLINE_STRIP_LIGHT_GRID_H

#include <stdbool.h>

#include "strandline/strip.h"

enum { SL_LIGHT_ACROSS = 8 };       /* blocks across */
#define SL_LIGHT_EDGE_LEFT_OUT 0.05 /* of the width on each side: the cut edge is blurred */

struct sl_light_block {
    double y, d[2]; /* brightness; log R - log G, log B - log G */
    bool seen, clean, clipped;
};

struct sl_light_grid {
    int along;
    struct sl_light_block *block; /* along x SL_LIGHT_ACROSS */
    double *mean, *variance;      /* along: observations of the trend; NAN where it is not seen */
    double *trend, *se;           /* along: white's brightness and its standard error */
    double across[4];             /* how brightness changes across (light.c) */
    double colour[2][3];          /* white's d, as light_colour.h has it */
    double colour_variance[2][9]; /* covariance of its coefficients, 3 x 3 */
    double level;                 /* brightness that the colour's last coefficient counts from */
    double tint_usual;            /* standard deviation of that coefficient; 0: it is held at 0 */
    double noise_y, noise_d[2];   /* of a block */
};

static inline double sl_light_v(const struct sl_light_grid *g, int i)
{
    return (i + 0.5) / g->along;
}

static inline double sl_light_u(int j)
{
    return SL_LIGHT_EDGE_LEFT_OUT + (1 - 2 * SL_LIGHT_EDGE_LEFT_OUT) * (j + 0.5) / SL_LIGHT_ACROSS;
}

static inline struct sl_light_block *sl_light_at(const struct sl_light_grid *g, int i, int j)
{
    return &g->block[(size_t)i * SL_LIGHT_ACROSS + (size_t)j];
}

/* Fills the blocks and measures their noise; all else is 0. False without memory. */
bool sl_light_grid_init(struct sl_light_grid *g, const struct sl_sheet *sheet);
void sl_light_grid_finish(struct sl_light_grid *g);
/* False without memory; `ret` is to be finished in any case. */
bool sl_light_grid_copy(const struct sl_light_grid *from, struct sl_light_grid *ret);

/* Sorts `values`; NAN if there are none. */
double sl_light_quantile(double *values, size_t count, double part);

#endif
