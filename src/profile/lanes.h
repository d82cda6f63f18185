// SPDX-License-Identifier: GPL-3.0-or-later
/* The middle of a sheet as some lanes side by side, each the mean reflectance of its cells in a
 * row, without cells that are hidden or written on. Owns its arrays (finish, NULL fields allowed).
 */
#ifndef STRANDLINE_PROFILE_LANES_H
#define STRANDLINE_PROFILE_LANES_H

#include <stdbool.h>
#include <stddef.h>

#include "strandline/profile.h"

enum { SL_LANES_MAX = 20 };

struct sl_lanes {
    size_t rows;
    int count;
    float (*value)[3]; /* rows x count, reflectance relative to paper */
    bool *seen;        /* rows x count */
};

/* False without memory. */
bool sl_lanes_init(struct sl_lanes *lanes, const struct sl_sheet *sheet, double across_from,
                   double across_to);
void sl_lanes_finish(struct sl_lanes *lanes);
static inline size_t sl_lanes_at(const struct sl_lanes *lanes, size_t row, int lane)
{
    return row * (size_t)lanes->count + (size_t)lane;
}

/* Shifts lanes along the strip so that a slanted or fingered front becomes level, where that
 * sharpens the profile; the mean shift is zero. `ret_rms` in fractions of the length, 0 where
 * nothing was shifted. False without memory. */
bool sl_lanes_straighten(struct sl_lanes *lanes, double *ret_rms);

#endif
