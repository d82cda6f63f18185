// SPDX-License-Identifier: GPL-3.0-or-later
/* The colour of the light on clean paper: d[k] = c[0] + c[1] (v - 0.5) + c[2] (trend - level), for
 * log R/G (k = 0) and log B/G (k = 1). The last term is that of a shadow, which other light reaches
 * than what lies beside it; c[2] is 0 unless the grid's `tint_usual` is set. */
#ifndef STRANDLINE_STRIP_LIGHT_COLOUR_H
#define STRANDLINE_STRIP_LIGHT_COLOUR_H

#include "strip/light_grid.h"

/* Before anything was learnt of it: level c[1] = c[2] = 0 with the variances that are usual, c[0]
 * as the grid has it with a standard error of `se`. */
void sl_light_colour_start(struct sl_light_grid *g, double se);
/* Allows the last term from now on, with this standard deviation. */
void sl_light_colour_allow_tint(struct sl_light_grid *g, double usual);
/* From the clean blocks of rows that the trend is seen in. */
void sl_light_colour_learn(struct sl_light_grid *g);

double sl_light_colour_at(const struct sl_light_grid *g, int k, double v, double trend);
double sl_light_colour_variance(const struct sl_light_grid *g, int k, double v, double trend);

#endif
