// SPDX-License-Identifier: GPL-3.0-or-later
/* White of clean paper at every row of a sheet: lighting times paper, as learnt from the places
 * without dye. Owns its arrays (finish, NULL fields allowed). */
#ifndef STRANDLINE_STRIP_LIGHT_H
#define STRANDLINE_STRIP_LIGHT_H

#include <stdbool.h>

#include "strandline/strip.h"

struct sl_light {
    int rows;
    double (*log_white)[3]; /* rows x 3: natural logarithm of clean paper's light, mid-width */
    double (*se)[3];        /* rows x 3: standard error of log_white */
    double colour_se[2];    /* of log R/G and log B/G, mean of the rows; holds clipped white */
    double level_se;        /* of all rows' log_white together: clipped white; not in `se` */
    double across[4];  /* how log light changes across: a slope and a bow, each with v (light.c) */
    double clean_part; /* of the strip's visible area that was taken for clean paper */
    bool *clean;       /* rows: clean paper over most of the width */
};

/* False without memory. A sheet without any clean paper still gets a white: its brightest parts,
 * with a large standard error. */
bool sl_light_learn(struct sl_light *light, const struct sl_sheet *sheet);
/* Divides the sheet by it and writes the sheet's `paper`. */
void sl_light_divide(const struct sl_light *light, struct sl_sheet *sheet);
void sl_light_finish(struct sl_light *light);

#endif
